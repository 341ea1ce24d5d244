"""Photographs in an S3-compatible store: a server of the test's own (moto), spoken to as any other."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image

from patina.bench import photo_places, upkeep
from patina.bench.readings import tiles
from patina.bench.settings import change_setting
from patina.bench.studio import Studio, open_studio
from patina.cli import main
from patina.entries import NewTile
from patina.errors import Damaged, Refused, StudioTrouble
from patina.records.photographs import store as photo_store
from patina.records.photographs.places import photographs_at
from patina.records.photographs.store import PhotographStore

BUCKET = "marsh-lane"
SECRET = "not-to-be-shown-anywhere"


@pytest.fixture(scope="module")
def s3() -> Iterator[str]:
    """The address of an S3 server with an empty bucket; the environment holds its credentials."""
    from moto.server import ThreadedMotoServer

    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    yield f"http://{host}:{port}"
    server.stop()


@pytest.fixture
def place(s3: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> str:
    """A prefix of its own in the bucket."""
    import fsspec

    monkeypatch.setenv("AWS_ENDPOINT_URL", s3)
    monkeypatch.setenv("AWS_ACCESS_KEY_ID", "bench")
    monkeypatch.setenv("AWS_SECRET_ACCESS_KEY", SECRET)
    monkeypatch.setenv("AWS_DEFAULT_REGION", "us-east-1")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(photo_store, "FIRST_WAIT_S", 0.01)
    system = fsspec.filesystem("s3", skip_instance_cache=True)
    if not system.exists(BUCKET):
        system.mkdir(BUCKET)
    return f"s3://{BUCKET}/{tmp_path.name}"


def picture(folder: Path, tone: int = 90) -> Path:
    """A photograph of its own."""
    file = folder / f"tile{tone}.png"
    Image.new("RGB", (160, 120), (tone, 60, 30)).save(file)
    return file


def stored(store: PhotographStore, sha256: str) -> bytes:
    """What lies in the store, read without the program's own code."""
    import fsspec

    return bytes(fsspec.filesystem("s3", skip_instance_cache=True).cat_file(f"{store.where}/{sha256[:2]}/{sha256}"))


def overwrite(store: PhotographStore, sha256: str, content: bytes | None) -> None:
    """Put other bytes in place of a photograph, or take it away."""
    import fsspec

    system, name = fsspec.filesystem("s3", skip_instance_cache=True), f"{store.where}/{sha256[:2]}/{sha256}"
    system.rm_file(name) if content is None else system.pipe_file(name, content)


@pytest.fixture
def store(place: str) -> PhotographStore:
    """The store at that prefix."""
    made = photographs_at(place)
    assert isinstance(made, PhotographStore)
    return made


def test_what_is_kept_is_there_under_its_hash(store: PhotographStore, tmp_path: Path) -> None:
    """SHA-256 (FIPS 180-4) of the bytes is the name; the bytes are untouched; a second time adds nothing."""
    file = picture(tmp_path)
    sha256 = store.keep(file)
    assert sha256 == hashlib.sha256(file.read_bytes()).hexdigest() == store.keep(file)
    assert stored(store, sha256) == file.read_bytes()
    assert store.size(sha256) == file.stat().st_size and store.fault(sha256, file.stat().st_size) is None
    assert list(store.strays({sha256})) == []
    assert store.size("0" * 64) is None and store.fault("0" * 64, 1) == "is missing"


def test_what_was_read_lies_in_the_cache_and_is_proved_there(store: PhotographStore, tmp_path: Path) -> None:
    """A spoilt copy in the cache is fetched again; a photograph in the cache is shown while the store is away."""
    file = picture(tmp_path)
    sha256 = store.keep(file)
    cached = store.existing(sha256)
    cached.write_bytes(b"spoilt")
    assert store.existing(sha256).read_bytes() == file.read_bytes()
    overwrite(store, sha256, None)
    assert store.existing(sha256).read_bytes() == file.read_bytes()
    store.existing(sha256).unlink()
    with pytest.raises(Damaged, match="is missing from"):
        store.existing(sha256)


def test_other_bytes_in_the_store_are_never_given_out(store: PhotographStore, tmp_path: Path) -> None:
    """Bytes that are not those of the name are refused, and the check says so, whatever the cache holds."""
    file = picture(tmp_path)
    sha256 = store.keep(file)
    overwrite(store, sha256, file.read_bytes()[:-1] + b"x")
    assert store.fault(sha256, file.stat().st_size) == "is not what it was: its bytes have changed"
    store.existing(sha256).unlink()
    with pytest.raises(Damaged, match="is not what it was"):
        store.existing(sha256)


def test_a_store_that_spoils_what_it_is_given(
    store: PhotographStore, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Bytes are read back: once spoilt, they are written again; spoilt for ever, nothing is acknowledged."""
    system, _ = store._opened(), store.where
    real = system.put_file
    calls: list[str] = []

    def spoiling(local: str, remote: str) -> None:
        calls.append(remote)
        if len(calls) <= spoilt:
            system.pipe_file(remote, b"half")
        else:
            real(local, remote)

    monkeypatch.setattr(system, "put_file", spoiling)
    spoilt = 1
    sha256 = store.keep(picture(tmp_path, 91))
    assert stored(store, sha256) == picture(tmp_path, 91).read_bytes() and len(calls) == 2
    calls.clear()
    spoilt = 99
    with pytest.raises(StudioTrouble, match="gave back other bytes"):
        store.keep(picture(tmp_path, 92))


def test_a_store_that_is_not_there(place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A wrong bucket, no network, no credentials, credentials in the address: a sentence each, and what still works."""
    with pytest.raises(StudioTrouble, match="no such bucket"):
        photographs_at("s3://no-such-bucket-here/x").keep(picture(tmp_path))
    with pytest.raises(StudioTrouble, match="name or password"):
        photographs_at(f"s3://bench:{SECRET}@bucket/x").keep(picture(tmp_path))
    with pytest.raises(StudioTrouble, match=r"not installed|cannot be used"):
        photographs_at("nonsense://x/y").keep(picture(tmp_path))
    monkeypatch.setenv("AWS_ENDPOINT_URL", "http://127.0.0.1:1")
    away = photographs_at(place)
    with pytest.raises(StudioTrouble, match="does not answer") as told:
        away.existing("0" * 64)
    assert "go on" in told.value.remedy and SECRET not in str(told.value)
    with pytest.raises(StudioTrouble, match="does not answer"):
        away.keep(picture(tmp_path))
    monkeypatch.delenv("AWS_ACCESS_KEY_ID")
    monkeypatch.delenv("AWS_SECRET_ACCESS_KEY")
    monkeypatch.setenv("AWS_EC2_METADATA_DISABLED", "true")
    monkeypatch.setenv("AWS_CONFIG_FILE", str(tmp_path / "none"))
    monkeypatch.setenv("AWS_SHARED_CREDENTIALS_FILE", str(tmp_path / "none"))
    with pytest.raises(StudioTrouble, match="no credentials"):
        photographs_at(place).existing("0" * 64)


def test_a_studio_takes_its_photographs_to_a_store(full: Studio, place: str, tmp_path: Path) -> None:
    """All are copied and proved; new ones go there; check reads them there; the setting holds no credentials."""
    moved = photo_places.move_photographs(full, place)
    assert (moved["photographs"], moved["copied"], moved["where"]) == (1, 1, place)
    tiles.start_tile(full, NewTile("A2", "C87300"))
    row = tiles.add_photograph(full, "T2", picture(tmp_path, 120))
    with open_studio(full.where) as again:
        assert again.store.files.where == place and again.setting("photographs") == place
        assert tiles.photograph_path(again, row.sha256).read_bytes() == picture(tmp_path, 120).read_bytes()
        found = upkeep.check(again)
        assert found.problems == () and found.photographs == 2 and found.notes == ()
        assert isinstance(again.store.files, PhotographStore)
        overwrite(again.store.files, row.sha256, b"other")
        assert upkeep.check(again).problems == (f"Photograph {row.sha256} is not what it was: its bytes have changed.",)
    assert SECRET not in repr(full.store) + full.setting("photographs")


def test_a_shared_folder_serves_as_well(full: Studio, tmp_path: Path) -> None:
    """A folder that several machines reach, by its path; back into the studio's own with an empty place."""
    share = tmp_path / "share"
    assert photo_places.move_photographs(full, str(share))["copied"] == 1
    sha256 = tiles.tile_sheet(full, "T1").photographs[0].sha256
    with open_studio(full.where) as again:
        assert tiles.photograph_path(again, sha256) == share / sha256[:2] / sha256
        assert upkeep.check(again).problems == ()


def test_without_the_store_the_rest_goes_on(full: Studio, place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Records are listed and written; a photograph is told of in a sentence; the check says it once."""
    change_setting(full, "photographs", place)
    monkeypatch.setenv("AWS_ENDPOINT_URL", "http://127.0.0.1:1")
    with open_studio(full.where) as away:
        assert tiles.start_tile(away, NewTile("A3", "C87300")).row.id == "T2"
        found = upkeep.check(away)
        assert len(found.problems) == 1 and "could not be proved" in found.problems[0]
    with pytest.raises(Refused, match="full path"):
        change_setting(full, "photographs", "some/folder")


@pytest.mark.one_engine("sqlite", why="a backup file holds a SQLite database")
def test_a_backup_holds_what_lies_in_the_store(full: Studio, place: str, tmp_path: Path) -> None:
    """It is fetched into the file; restored, it lies in the new studio's own folder and needs no store."""
    photo_places.move_photographs(full, place)
    sha256 = tiles.tile_sheet(full, "T1").photographs[0].sha256
    full.store.files.existing(sha256).unlink()
    assert upkeep.backup(full, tmp_path / "all.patina")["missing"] == []
    assert upkeep.restore(tmp_path / "again", tmp_path / "all.patina").problems == ()
    with open_studio(tmp_path / "again") as again:
        assert again.setting("photographs") == ""
        assert again.store.files.where == str(tmp_path / "again" / "photographs")
        assert tiles.photograph_path(again, sha256).is_file() and upkeep.check(again).ok


@pytest.mark.one_engine("sqlite", why="what the command prints")
def test_the_command_says_where_they_lie(full: Studio, place: str, capsys: pytest.CaptureFixture[str]) -> None:
    """`patina photographs` shows the place and takes them elsewhere; credentials are never printed."""
    for words in ([], ["--move", place], []):
        with pytest.raises(SystemExit) as left:
            main(["--studio", full.where, "photographs", *words, "--json"])
        assert left.value.code == 0
    said = capsys.readouterr().out.splitlines()
    assert json.loads(said[0])["where"].endswith("photographs")
    assert json.loads(said[1])["copied"] == 1 and json.loads(said[2])["where"] == place
    assert SECRET not in "".join(said)


def test_a_plain_share_is_written_beside_and_renamed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a store is no object store, a name stands only for a whole file (here fsspec's local files as one)."""
    from fsspec.implementations.local import LocalFileSystem

    monkeypatch.setattr(photo_store, "opened", lambda _: (LocalFileSystem(), str(tmp_path / "share")))
    store = PhotographStore("sftp://bench/share", tmp_path / "cache")
    sha256 = store.keep(picture(tmp_path))
    assert [p.name for p in (tmp_path / "share").rglob("*") if p.is_file()] == [sha256]
    monkeypatch.setattr(LocalFileSystem, "mv", lambda *_: (_ for _ in ()).throw(OSError("gone")))
    with pytest.raises(StudioTrouble, match="does not answer"):
        store.keep(picture(tmp_path, 10))
    assert [p.name for p in (tmp_path / "share").rglob("*") if p.is_file()] == [sha256]
