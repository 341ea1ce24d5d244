"""A whole archive read again: compared, kept beside, stopped and gone on with, here and on a Dask cluster."""

from __future__ import annotations

import dataclasses
import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

import swatches
from patina.bench import upkeep
from patina.bench.readings import reading, shoot, tiles
from patina.bench.readings.cluster import over_cluster
from patina.bench.readings.rereading import reread
from patina.bench.readings.rereading_jobs import plan, read_job
from patina.bench.studio import Studio, open_studio
from patina.cli import main
from patina.entries import NewReading, NewTile
from patina.errors import Refused, StudioTrouble
from patina.records.readings import reading_how
from patina.sheets import RereadSheet
from swatches.render import jpeg_bytes, render_scene
from swatches.scenes import demo_scenes

NAME = "cupric-mottle.jpg"


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A studio with two photographs read by hand, one of them twice, two filed by their placards, one that was
    never read and one whose reading is from before its area was kept."""
    folder = tmp_path_factory.mktemp("archive")
    plain = dataclasses.replace(next(s for s in demo_scenes() if s.placard), size_px=(1000, 750))
    with open_studio(folder / "studio") as studio:
        for n in range(4):
            tiles.start_tile(studio, NewTile(f"A{n}", "C87300"))
        with studio.store.view() as session:
            from patina.records.tables.first import TileTable

            uids = [session.get_one(TileTable, n).uid for n in (1, 2)]
        (folder / "shoot").mkdir()
        for n, uid in enumerate(uids, 1):
            scene = dataclasses.replace(plain, placard=f"T{n}", seed=n)
            (folder / "shoot" / f"p{n}.jpg").write_bytes(_with_uid(scene, uid))
        filed = shoot.file_shoot(studio, folder / "shoot", edition="before-2014", workers=1)
        assert len(filed.filed) == 2, filed.unfiled
        for tile, name in (("T3", NAME), ("T4", "ferric-and-olive.jpg")):
            picture, spec = _half(name, folder)
            kept = tiles.add_photograph(studio, tile, picture).sha256
            reading.read_into(studio, tile, kept, areas=[spec], edition="before-2014", wax_state="waxed", warmth="cold")
            if tile == "T3":
                reading.read_into(studio, tile, kept, areas=[spec, "spot=150,380,40,40"], edition="before-2014")
                old = NewReading(30, 5, 6, source="photograph", photograph=kept, area="rim")
                tiles.add_reading(studio, tile, old)
        tiles.add_photograph(studio, "T4", _half("whites.jpg", folder)[0])
    return folder / "studio"


def _with_uid(scene: Any, uid: str) -> bytes:
    """The scene's photograph with a placard of that record's own id."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("swatches.sheet.uid_of", lambda _record: uid)
        return bytes(jpeg_bytes(render_scene(scene)[0], scene))


def _half(name: str, folder: Path) -> tuple[Path, str]:
    """A demonstration photograph at half its size, and the area of its first tile."""
    with Image.open(swatches.photograph(name)) as picture:
        profile = picture.info.get("icc_profile")
        half = picture.resize((picture.width // 2, picture.height // 2), Image.Resampling.BOX)
    half.save(folder / f"{name}.png", icc_profile=profile)
    x, y, wide, high = (value / 2 for value in swatches.truth()[name]["tiles"][0]["rect"])
    return folder / f"{name}.png", f"face={x},{y},{wide},{high}"


@pytest.fixture
def old(archive: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Studio]:
    """A copy of that studio; what was read is kept aside in a new folder."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    shutil.copytree(archive, tmp_path / "studio")
    with open_studio(tmp_path / "studio") as opened:
        yield opened


@pytest.fixture
def otherwise(monkeypatch: pytest.MonkeyPatch) -> None:
    """A reading function that is another than the one of the archive: everything 1 lighter."""
    import patina.bench.readings.rereading_jobs as jobs

    real = jobs.as_readings

    def lighter(*given: Any, **more: Any) -> list[NewReading]:
        return [dataclasses.replace(one, L=one.L + 1.0) for one in real(*given, **more)]

    monkeypatch.setattr(jobs, "as_readings", lighter)
    monkeypatch.setattr("patina.bench.readings.rereading.reader_mark", lambda: "another")
    monkeypatch.setattr("patina.bench.readings.rereading_jobs.reader_mark", lambda: "another")
    monkeypatch.setattr(reading_how, "reader_mark", lambda: "another")


def test_the_same_function_gives_the_same(old: Studio) -> None:
    """Read again by the function that read them, all agree to the last figure; what cannot be read says why;
    nothing is written."""
    before = upkeep.check(old)
    found = reread(old, workers=1)
    assert (found.done, found.left, found.kept) == (found.photographs, 0, False)
    assert len(found.of("same")) == 6 and found.largest_de00 == 0.0 and not found.of("other")
    assert [row.area for row in found.of("cannot be read")] == ["rim"]
    assert "not kept" in found.of("cannot be read")[0].words
    assert len(found.of("nothing to read")) == 1
    assert upkeep.check(old) == before


def test_two_cores_give_what_one_gives(old: Studio) -> None:
    """Row for row."""
    one = reread(old, workers=1)
    two = reread(old, workers=2, fresh=True)
    assert one == two


def test_what_comes_out_otherwise_is_put_beside(old: Studio, otherwise: None) -> None:
    """Another function: differences are told; kept, each new reading stands beside the old at the old one's
    moment and says of which it is; a second run adds nothing."""
    told = reread(old, workers=1)
    assert len(told.of("other")) == 6 and told.rows and all(row.kept == "" for row in told.rows)
    assert all(row.de00 == pytest.approx(1.0, abs=0.35) for row in told.of("other"))
    was = {tile: tiles.tile_sheet(old, tile).readings for tile in ("T1", "T3")}
    kept = reread(old, workers=1, keep=True, by="Ada")
    assert kept.before == kept.done and len([row for row in kept.rows if row.kept]) == 6
    for tile, readings in was.items():
        now = tiles.tile_sheet(old, tile).readings
        assert set(readings) <= set(now) or {r.id for r in readings} <= {r.id for r in now}
        for row in kept.rows:
            if row.kept and row.target == tile:
                first, second = tiles.reading_of(old, row.reading), tiles.reading_of(old, row.kept)
                assert pytest.approx(first.lab.L + 1.0) == second.lab.L and second.read_at == first.read_at
                assert "Read again on" in second.note and second.read_by == "Ada"
    again = reread(old, workers=1, keep=True)
    assert not [row for row in again.rows if row.kept] and upkeep.check(old).problems == ()


def test_the_old_may_be_withdrawn(old: Studio, otherwise: None) -> None:
    """With withdrawal the old reading counts no more and stays on record."""
    with pytest.raises(Refused, match="only where new ones are kept"):
        reread(old, withdraw=True)
    found = reread(old, workers=1, keep=True, withdraw=True)
    row = next(row for row in found.rows if row.kept and row.target == "T1")
    assert [r.id for r in tiles.tile_sheet(old, "T1").readings] == [row.kept]
    assert upkeep.history(old, row.reading)[-1].deed == "file photograph" and upkeep.check(old).problems == ()


def test_a_stopped_run_goes_on_where_it_was(old: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped after two photographs; the next run reads the others alone and shows the same as one run."""
    whole = reread(old, workers=1, fresh=True)
    told: list[tuple[int, int, str]] = []
    part = reread(old, workers=1, fresh=True, progress=lambda *one: told.append(one), stop=lambda: len(told) == 2)
    assert (part.done, part.stopped, part.left) == (2, True, whole.photographs - 2)
    calls: list[str] = []
    import patina.bench.readings.rereading as place

    def counting(job: Any) -> Any:
        calls.append(job.sha256)
        return read_job(job)

    monkeypatch.setattr(place, "read_job", counting)
    rest = reread(old, workers=1)
    assert len(calls) == whole.photographs - 2 and rest.before == 2
    assert rest.rows == whole.rows
    with place.Aside(old, False).path.open("a") as out:
        out.write('["torn')
    assert reread(old, workers=1).before == whole.photographs


def test_photographs_that_are_gone(old: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One that is missing is told and the others are read; a store that does not answer ends the run."""
    sha256 = tiles.tile_sheet(old, "T4").photographs[0].sha256
    old.store.files.existing(sha256).unlink()
    found = reread(old, workers=1)
    gone = [row for row in found.rows if row.photograph == sha256]
    assert [row.outcome for row in gone] == ["cannot be read"] and "missing" in gone[0].words
    assert len(found.of("same")) == 5
    monkeypatch.setenv("AWS_ENDPOINT_URL", "http://127.0.0.1:1")
    old.set_setting("photographs", "s3://away/photographs")
    with open_studio(old.where) as away, pytest.raises(StudioTrouble, match="cannot be used"):
        reread(away, workers=1, fresh=True)


def test_since_takes_the_newer_alone(old: Studio) -> None:
    """Photographs added before that day are left alone."""
    from datetime import UTC, datetime, timedelta

    assert reread(old, workers=1, since=(datetime.now(UTC) + timedelta(days=1)).date()).photographs == 0


def test_a_cluster_gives_what_one_core_gives(old: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two workers of a Dask cluster, processes of their own: bytes sent out of a folder, then photographs fetched
    from an S3-compatible store by the workers; row for row what this process gives."""
    from distributed import LocalCluster
    from moto.server import ThreadedMotoServer

    from patina.bench.photo_places import move_photographs

    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    for name, value in (
        ("AWS_ENDPOINT_URL", f"http://{host}:{port}"),
        ("AWS_ACCESS_KEY_ID", "bench"),
        ("AWS_SECRET_ACCESS_KEY", "none"),
        ("AWS_DEFAULT_REGION", "us-east-1"),
    ):
        monkeypatch.setenv(name, value)
    here = reread(old, workers=1)
    try:
        with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster:
            address = cluster.scheduler_address
            assert reread(old, cluster=address, fresh=True) == here
            import fsspec

            fsspec.filesystem("s3", skip_instance_cache=True).mkdir("archive")
            move_photographs(old, "s3://archive/photographs")
            there: RereadSheet = reread(old, cluster=address, fresh=True)
            assert there == here
            jobs = plan(old, None).jobs
            places = [place for place, found in over_cluster(read_job, jobs, address) if found is not None]
            assert sorted(places) == list(range(len(jobs)))
    finally:
        server.stop()


def test_a_cluster_that_is_not_there(old: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is told in a sentence, and nothing is written."""
    monkeypatch.setattr("patina.bench.readings.cluster.CONNECT_S", 0.5)
    with pytest.raises(StudioTrouble, match="does not answer"):
        reread(old, cluster="tcp://127.0.0.1:1")


def test_the_command(old: Studio, capsys: pytest.CaptureFixture[str]) -> None:
    """`patina reread` compares and says so; --json gives every row."""
    for words in (["reread", "--workers", "1"], ["reread", "--json"]):
        with pytest.raises(SystemExit) as left:
            main(["--studio", old.where, *words])
        assert left.value.code == 0
    text, document = capsys.readouterr().out.rsplit("\n", 2)[:2]
    assert "Nothing was written" in text and "come out the same" in text
    found = json.loads(document)
    assert found["done_before"] == found["photographs"] and found["largest_de00"] == 0.0
