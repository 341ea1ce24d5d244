"""A bundle that somebody spoilt, by accident or on purpose, is refused in words, and nothing is taken in."""

from __future__ import annotations

import json
import random
import resource
import shutil
import struct
import subprocess
import sys
import warnings
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from archive_files import Parts, parts_of, with_hashes, written
from archive_mutations import spoilt
from sqlalchemy import text

from patina.bench import upkeep
from patina.bench.paper import archive
from patina.bench.studio import Studio, open_studio
from patina.errors import Damaged, PatinaError, Refused
from patina.records.archive.cells import cell, escaped, from_cell, unescaped
from patina.records.archive.shape import shapes

pytestmark = pytest.mark.one_engine("sqlite", why="what is read is the file; the records take it in as any other")
Spoil = Callable[[Parts], Parts]


@pytest.fixture
def parts(full: Studio, tmp_path: Path) -> Parts:
    """A sound bundle of the whole studio, in parts."""
    archive.archive(full, "studio", tmp_path / "sound.zip", printed=False)
    return parts_of(tmp_path / "sound.zip")


def refused(studio: Studio, file: Path, said: str) -> PatinaError:
    """The file is refused by both doors with these words, and the studio is as empty as before."""
    with pytest.raises((Refused, Damaged), match=said):
        archive.verify(file)
    with pytest.raises((Refused, Damaged), match=said) as found:
        archive.take_in(studio, file)
    assert upkeep.check(studio).records == 0 and upkeep.check(studio).notes == ()
    assert found.value.remedy
    return found.value


def edit(name: str, old: str, new: str) -> Spoil:
    """Other words in one part, with hashes that agree."""

    def spoil(parts: Parts) -> Parts:
        assert old.encode() in parts[name]
        return with_hashes({**parts, name: parts[name].replace(old.encode(), new.encode(), 1)})

    return spoil


def document(**changed: object) -> Spoil:
    """Other facts in bundle.json, with hashes that agree."""

    def spoil(parts: Parts) -> Parts:
        found = {**json.loads(parts["data/bundle.json"]), **changed}
        return with_hashes({**parts, "data/bundle.json": json.dumps(found).encode()})

    return spoil


def without(name: str) -> Spoil:
    """A part missing, with hashes that agree."""
    return lambda parts: with_hashes({n: c for n, c in parts.items() if n != name})


TILE = "data/tables/tile.json"
CASES: list[tuple[Spoil, str]] = [
    (lambda p: {**p, TILE: p[TILE] + b" "}, "other amounts|not what the manifest"),
    (lambda p: {**p, TILE: p[TILE].replace(b"A1", b"B1")}, "not what the manifest says"),
    (lambda p: {**p, "data/tables/evil.json": b"{}"}, "other files than its manifest"),
    (lambda p: {n: c for n, c in p.items() if n != TILE}, "other files than its manifest"),
    (lambda p: {**p, "bag-info.txt": b"Payload-Oxum: 1.1\n"}, "not what the manifest|not what"),
    (lambda p: {**p, "manifest-sha256.txt": b"nonsense"}, "cannot be read|not what the manifest"),
    (without("data/bundle.json"), "has no data/bundle.json"),
    (edit(TILE, '"alloy":"C87300"', '"alloy":"C83600"'), "CSV of table tile does not say"),
    (edit(TILE, '"rows":[', '"rows": ['), "not laid out"),
    (edit(TILE, '"alloy":', '"colour":'), "does not know"),
    (edit(TILE, '"alloy":"C87300"', '"alloy":' + "[" * 3000 + "]" * 3000), "cannot be read"),
    (edit(TILE, '"alloy":"C87300"', '"alloy":NaN'), "cannot be read"),
    (edit(TILE, '"alloy":"C87300"', '"alloy":"x","alloy":"C87300"'), "a name twice"),
    (edit(TILE, '"id":1,', '"id":0,'), "wrong number"),
    (edit(TILE, '"id":1,', f'"id":{10**30},'), "wrong number"),
    (document(schema="9999"), "newer program"),
    (document(version=2), "newer program"),
    (document(format="something"), "no archive bundle"),
    (document(tables={"tile": 10**12}), "not well formed"),
    (document(tables={"evil": 1}), "'evil' that this program lacks"),
    (document(left_out=[1]), "not well formed"),
    (document(log={"n": 1, "sha256": "0" * 64, "entries": 1}), "does not end where"),
    (edit("data/log/entries.jsonl", '"deed":"', '"deed":"x'), "is not what was written"),
    (edit("data/log/chain.csv", "\r\n1,", "\r\n1,f"), "chain of the log"),
    (without("data/log/chain.csv"), "has no data/log/chain.csv"),
]


@pytest.mark.parametrize(("spoil", "said"), CASES, ids=[said[:40] for _, said in CASES])
def test_what_is_spoilt_is_refused(parts: Parts, studio: Studio, tmp_path: Path, spoil: Spoil, said: str) -> None:
    """Wrong hashes, other parts, deep and doubled JSON, wrong versions, a log that was altered: each has its words."""
    refused(studio, written(tmp_path / "b.zip", spoil(parts)), said)


def both(parts: Parts, table: str, old: str, new: str, old_cell: str, new_cell: str) -> Parts:
    """Another value in the JSON and in the CSV of a table, with hashes that agree."""
    parts = edit(f"data/tables/{table}.json", old, new)(parts)
    return edit(f"data/tables/{table}.csv", old_cell, new_cell)(parts)


def test_records_that_disagree_are_refused(parts: Parts, studio: Studio, tmp_path: Path) -> None:
    """A row that is not what the log says of it, although the whole bag agrees with itself."""
    spoilt_parts = both(parts, "tile", '"alloy":"C87300"', '"alloy":"C83600"', "C87300", "C83600")
    file = written(tmp_path / "b.zip", spoilt_parts)
    archive.verify(file)
    with pytest.raises(Damaged, match="Tile T1 is not what the log of changes says"):
        archive.take_in(studio, file)
    assert upkeep.check(studio).records == 0


def test_a_reference_out_of_the_bundle_is_refused(parts: Parts, studio: Studio, tmp_path: Path) -> None:
    """A row that points at nothing would be half a record."""
    spoilt_parts = both(parts, "cast_piece", '"piece_id":1', '"piece_id":77', ",1,4/9,", ",77,4/9,")
    with pytest.raises(Damaged, match="C1 points at a row of piece that is not in the bundle"):
        archive.take_in(studio, written(tmp_path / "b.zip", spoilt_parts))
    assert upkeep.check(studio).records == 0


NAMES = ["../evil", "/etc/evil", "patina-C1/../../evil", "C:\\evil", "patina-C1/data/../evil", "other/bagit.txt"]


@pytest.mark.parametrize("name", NAMES)
def test_a_path_that_leads_elsewhere_is_refused(parts: Parts, studio: Studio, tmp_path: Path, name: str) -> None:
    """No part has a name that this program does not write, so none leads out of any folder."""
    file = written(tmp_path / "b.zip", parts)
    with zipfile.ZipFile(file, "a") as archive_file:
        archive_file.writestr(name, b"x")
    refused(studio, file, "no archive bundle of this program has|holds 2 folders")
    assert not (tmp_path / "evil").exists() and not (tmp_path.parent / "evil").exists()


@pytest.mark.parametrize("mode", [0o120777, 0o060644, 0o020644, 0o010644, 0o140644])
def test_links_and_devices_are_refused(parts: Parts, studio: Studio, tmp_path: Path, mode: int) -> None:
    """A part is a plain file: no link, device, pipe or socket."""
    file = tmp_path / "b.zip"
    with zipfile.ZipFile(file, "w") as archive_file:
        for name, content in parts.items():
            info = zipfile.ZipInfo(f"patina-C1/{name}")
            info.external_attr = (mode if name == TILE else 0o100644) << 16
            archive_file.writestr(info, content)
    refused(studio, file, "no archive bundle of this program has")


def test_a_name_twice_is_refused(parts: Parts, studio: Studio, tmp_path: Path) -> None:
    """Which of the two counts would depend on who reads it."""
    file = written(tmp_path / "b.zip", parts)
    with zipfile.ZipFile(file, "a") as archive_file, pytest.warns(UserWarning, match="Duplicate"):
        archive_file.writestr(f"patina-C1/{TILE}", parts[TILE])
    refused(studio, file, "no archive bundle of this program has")


def test_parts_on_top_of_each_other_are_refused(parts: Parts, studio: Studio, tmp_path: Path) -> None:
    """A small file whose parts share their bytes unpacks to much: the list of parts is looked at first."""
    file = written(tmp_path / "b.zip", parts)
    content = bytearray(file.read_bytes())
    places = [i for i in range(len(content)) if content[i : i + 4] == b"PK\x01\x02"]
    content[places[-1] + 42 : places[-1] + 46] = content[places[-2] + 42 : places[-2] + 46]
    file.write_bytes(content)
    refused(studio, file, "on top of each other|cannot be read|can be read")


def test_bombs_are_refused_in_little_memory(parts: Parts, studio: Studio, tmp_path: Path) -> None:
    """A part that would grow to gigabytes, and a list of a million parts, are refused before they are unpacked."""
    bomb = tmp_path / "bomb.zip"
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as archive_file:
        for name, content in parts.items():
            if name != "data/README.txt":
                archive_file.writestr(zipfile.ZipInfo(f"patina-C1/{name}"), content)
        with archive_file.open(zipfile.ZipInfo("patina-C1/data/README.txt"), "w") as out:
            for _ in range(300):
                out.write(b"\0" * 1_000_000)
    if bomb.stat().st_size > 100_000_000:  # that entry was stored, not packed
        written(bomb, {**parts, "data/README.txt": b"\0" * 300_000_000}, pack=zipfile.ZIP_DEFLATED)
    many = tmp_path / "many.zip"
    entry = b"PK\x01\x02" + b"\0" * 24 + struct.pack("<HHHHHLL", 1, 0, 0, 0, 0, 0, 0) + b"x"
    listed = entry * 300_000
    end = b"PK\x05\x06" + struct.pack("<HHHHLLH", 0, 0, 0xFFFF, 0xFFFF, len(listed), 0, 0)
    many.write_bytes(listed + end)
    code = (
        "import sys\nfrom pathlib import Path\nfrom patina.bench.paper.archive import verify\n"
        "from patina.errors import Refused\n"
        "for name in sys.argv[1:]:\n    try:\n        verify(Path(name))\n    except Refused as trouble:\n"
        "        print(trouble.what)\n"
    )

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_DATA, (400_000_000, 400_000_000))

    done = subprocess.run(
        [sys.executable, "-c", code, str(bomb), str(many)],
        capture_output=True,
        text=True,
        preexec_fn=limit,
        check=True,
        cwd=Path(__file__).parents[2],
    )
    assert "would grow" in done.stdout and "more parts than any" in done.stdout, done.stderr


def test_what_is_no_bundle_is_said(full: Studio, studio: Studio, tmp_path: Path) -> None:
    """A text, an empty file, a ZIP of something else, a folder and a backup are no bundles, in words."""
    (tmp_path / "text.zip").write_text("hello")
    (tmp_path / "empty.zip").write_bytes(b"")
    with zipfile.ZipFile(tmp_path / "else.zip", "w") as other:
        other.writestr("readme.txt", b"x")
    upkeep.backup(full, tmp_path / "backup.zip")
    for name in ("text.zip", "empty.zip", "else.zip", "backup.zip", ".", "missing.zip"):
        with pytest.raises(Refused):
            archive.verify(tmp_path / name)
        assert not archive.is_bundle(tmp_path / name)
    assert archive.take_in_files(studio, [tmp_path / "backup.zip"])[0] == ("Harbour brown",)


def test_a_trouble_at_the_end_leaves_nothing(parts: Parts, studio: Studio, tmp_path: Path) -> None:
    """A photograph that turns out to be another one stops it all: no row and no file stays."""
    (name,) = [n for n in parts if n.startswith("data/photographs/")]
    spoilt_parts = with_hashes({**parts, name: parts[name] + b"!"})
    with pytest.raises(Damaged, match="photograph"):
        archive.take_in(studio, written(tmp_path / "b.zip", spoilt_parts))
    assert upkeep.check(studio).records == 0 and upkeep.check(studio).notes == ()


TEXTS = [
    "",
    "'",
    "''x",
    "=1",
    "'=1",
    "+",
    "-5",
    "@a",
    "\tx",
    "\rx",
    "\nx",
    "＝1",
    'a"b',
    "a,b",
    "a\r\nb",
    " x ",
    "null",
    "NaN",
]


@pytest.mark.parametrize("words", TEXTS)
def test_a_cell_gives_its_text_again(words: str) -> None:
    """Whatever the text, what stands in the cell is no formula and gives the text again, in any column."""
    for shape in shapes().values():
        for column in (c for c in shape.columns if c.sort == "text"):
            assert from_cell(cell(words, column), column) == words
            assert cell(words, column)[:1] not in tuple("=+-@\t\r\n＝")
            if column.nullable:
                assert from_cell(cell(None, column), column) is None
    assert unescaped(escaped(words)) == words


def test_spoilt_bundles_never_crash(full_folder: Path, empty_folder: Path, tmp_path: Path) -> None:
    """Sixty spoilt bundles: each is taken in and checks clean, or is refused in words and leaves nothing.
    The benchmark fuzz_archives.py does the same 20,000 times."""
    warnings.simplefilter("ignore")  # of the ZIP library on names given twice, which is what is wanted here
    shutil.copytree(full_folder, tmp_path / "full")
    with open_studio(tmp_path / "full") as full:
        archive.archive(full, "studio", tmp_path / "sound.zip", printed=False)
    sound, chance, refusals = parts_of(tmp_path / "sound.zip"), random.Random(7), 0
    taken_in = True
    for number in range(60):
        file = spoilt(chance, sound, tmp_path / "spoilt.zip")
        if taken_in:
            shutil.rmtree(tmp_path / "in", ignore_errors=True)
            shutil.copytree(empty_folder, tmp_path / "in")
        with open_studio(tmp_path / "in") as studio:
            try:
                taken_in = archive.take_in(studio, file).records > 0
            except PatinaError as trouble:
                assert trouble.what and trouble.remedy, number
                taken_in = False
                refusals += 1
                with studio.store.view_of_all() as session:
                    assert session.execute(text("SELECT count(*) FROM change")).scalar_one() == 0, number
            else:
                unsound = [p for p in upkeep.check(studio).problems if "is missing" not in p]
                assert unsound == [], number
    assert refusals > 20
