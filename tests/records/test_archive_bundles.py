"""An archive bundle needs no program, is proved by standard tools, and loses nothing when it is taken in again."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import shutil
import subprocess
import zipfile
from dataclasses import replace
from datetime import date
from pathlib import Path

import bagit  # type: ignore[import-untyped]
import jsonschema  # type: ignore[import-untyped]
import pytest
from archive_files import parts_of, payload_of, records_of
from sqlalchemy import func, select

from patina.bench import access, sealing, upkeep
from patina.bench.paper import archive
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.bench.treating import treat
from patina.entries import NewCast, NewLot, NewPiece, NewReading, NewTile, NewTreatment
from patina.errors import BadQuantity, NotFound, Refused
from patina.recipe import Recipe
from patina.records.archive.papers import layout
from patina.records.archive.shape import NOT_A_FILE, shapes
from patina.records.tables.base import Base
from patina.records.tables.shelf import ChangeTable

ONE = pytest.mark.one_engine("sqlite", why="what is looked at is the file, not the database it came from")


def made(studio: Studio, target: str, file: Path, **options: object) -> Path:
    """A bundle without printed reports, which other tests are about."""
    archive.archive(studio, target, file, printed=False, **options)  # type: ignore[arg-type]
    return file


@ONE
@pytest.mark.parametrize("target", ["W1", "studio"])
def test_standard_tools_prove_it(rich: Studio, target: str, tmp_path: Path) -> None:
    """The library bagit, sha256sum and the library jsonschema find it sound. Source: [BAGIT] [JSONSCHEMA2020]"""
    with zipfile.ZipFile(made(rich, target, tmp_path / "b.zip")) as packed:
        packed.extractall(tmp_path / "out")
    (bag,) = (tmp_path / "out").iterdir()
    bagit.Bag(str(bag)).validate()
    for manifest in ("manifest-sha256.txt", "tagmanifest-sha256.txt"):
        subprocess.run(["sha256sum", "--quiet", "--strict", "-c", manifest], cwd=bag, check=True)
    schema = json.loads((bag / "data/schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    files = [p for p in (bag / "data").rglob("*.json") if p.name != "schema.json"]
    assert len(files) > 2
    for file in files:
        name = f"table {file.stem}" if file.parent.name == "tables" else file.stem
        part = {"$ref": f"#/$defs/{name}".replace(" ", "%20"), "$defs": schema["$defs"]}
        checker = jsonschema.Draft202012Validator(part, format_checker=jsonschema.FormatChecker())
        checker.validate(json.loads(file.read_text("utf-8")))
    jsonschema.Draft202012Validator(schema).validate(json.loads((bag / "data/bundle.json").read_text("utf-8")))
    change = jsonschema.Draft202012Validator({"$ref": "#/$defs/change", "$defs": schema["$defs"]})
    lines = (bag / "data/log/entries.jsonl").read_text("utf-8").split("\n")[:-1]
    assert lines
    for line in lines:
        change.validate(json.loads(line))


@ONE
def test_a_wrong_value_is_not_valid(rich: Studio, tmp_path: Path) -> None:
    """The schema says no to a text where a number belongs, an unknown column, a half uid."""
    parts = parts_of(made(rich, "C1", tmp_path / "b.zip"))
    checker = jsonschema.Draft202012Validator(json.loads(parts["data/schema.json"]))
    table = json.loads(parts["data/tables/reading.json"])
    assert checker.is_valid(table)
    for key, value in (("lab_l", "30"), ("colour", 1), ("uid", "12"), ("read_by", None)):
        spoilt = {**table, "rows": [{**table["rows"][0], key: value}]}
        assert not checker.is_valid(spoilt), key


@ONE
def test_the_chain_is_proved_by_what_the_readme_says(rich: Studio, tmp_path: Path) -> None:
    """Whoever reads the README recomputes every hash with a few lines that use nothing of this program."""
    parts = parts_of(made(rich, "studio", tmp_path / "b.zip"))
    previous = "0" * 64
    chain = parts["data/log/chain.csv"].decode().split("\r\n")[1:-1]
    entries = [json.loads(line) for line in parts["data/log/entries.jsonl"].decode().split("\n")[:-1]]
    assert len(chain) == len(entries) == json.loads(parts["data/bundle.json"])["log"]["n"]
    for link, entry in zip(chain, entries, strict=True):
        fields = {k: entry[k] for k in ("after", "at", "before", "by", "deed", "kind", "n", "record", "why")}
        text = json.dumps(fields, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
        previous = hashlib.sha256((previous + text).encode()).hexdigest()
        assert f"{entry['n']},{previous}" == link


@ONE
def test_photographs_are_byte_for_byte(rich: Studio, tmp_path: Path) -> None:
    """Each lies under the SHA-256 of what the camera wrote, with an ending that opens it."""
    parts = parts_of(made(rich, "C1", tmp_path / "b.zip"))
    found = {n: c for n, c in parts.items() if n.startswith("data/photographs/")}
    assert (tmp_path / "front.png").read_bytes() in found.values()
    assert all(n == f"data/photographs/{hashlib.sha256(c).hexdigest()}.png" for n, c in found.items())


@ONE
def test_no_spreadsheet_runs_a_cell(rich: Studio, tmp_path: Path) -> None:
    """No cell of text begins as a formula does, and taking off the apostrophe gives what was there.
    Source: [CSV_FORMULA]"""
    parts = parts_of(made(rich, "studio", tmp_path / "b.zip"))
    seen = 0
    for name, shape in shapes().items():
        if f"data/tables/{name}.csv" not in parts:
            continue
        rows = list(csv.DictReader(io.StringIO(parts[f"data/tables/{name}.csv"].decode(), newline="")))
        told = json.loads(parts[f"data/tables/{name}.json"])["rows"]
        for row, says in zip(rows, told, strict=True):
            for column in (c for c in shape.columns if c.sort == "text"):
                cell = row[column.key]
                assert cell[:1] not in tuple("=+-@\t\r\n＝＋－＠"), cell
                plain = cell[1:] if cell.startswith("'") else cell
                assert plain == (says[column.key] or ""), column.key
                seen += cell.startswith("'")
    assert seen >= 4


@ONE
def test_the_readme_explains_every_file_and_column(rich: Studio, tmp_path: Path) -> None:
    """Every part of the bag and every column of its tables stands in the README."""
    parts = parts_of(made(rich, "studio", tmp_path / "b.zip", rights="All rights with the studio"))
    text = parts["data/README.txt"].decode()
    for table in (n.split("/")[-1][:-5] for n in parts if n.endswith(".json") and "/tables/" in n):
        assert f"\n  {table} (ids " in text
        section = text.split(f"\n  {table} (ids ")[1].split("\n\n")[0]
        assert all(f"- {key} (" in section for key in shapes()[table].keys), table
    kinds = {row["path"] for row in layout()}
    assert all(path in text for path in kinds)
    assert parts["data/RIGHTS.txt"] == b"All rights with the studio\n"
    assert b"Rights: All rights with the studio" in parts["bag-info.txt"]


def test_every_table_is_in_a_bundle_or_has_its_reason() -> None:
    """A new table comes along by itself; one that is no record of the log needs a line that says where it is."""
    in_it = set(shapes())  # this loads every table
    assert set(Base.metadata.tables) - in_it == set(NOT_A_FILE) - {"alembic_version"}
    assert not in_it & set(NOT_A_FILE)


def test_a_whole_studio_comes_back_to_the_byte(rich: Studio, other: Studio, tmp_path: Path) -> None:
    """Every file under data is the same again: rows, numbers, moments, photographs, the log, the settings."""
    rich.set_setting("studio_name", "Yard")
    first = made(rich, "studio", tmp_path / "one.zip")
    taken = archive.take_in(other, first)
    assert upkeep.check(other).problems == ()
    second = made(other, "studio", tmp_path / "two.zip")
    assert payload_of(first) == payload_of(second)
    assert taken.record == "" and taken.records == upkeep.check(rich).records + taken_photographs(taken)
    assert upkeep.history(other) == upkeep.history(rich)


def taken_photographs(taken: object) -> int:
    """Rows of photographs, which the check counts apart."""
    return sum(n for name, n in taken.added if name in ("photograph", "photograph_use"))  # type: ignore[attr-defined]


@pytest.mark.parametrize("target", ["C1", "M1", "R1", "CT1"])
def test_a_part_comes_back_to_the_byte(rich: Studio, other: Studio, target: str, tmp_path: Path) -> None:
    """Tables and photographs are the same again, and the log that came with them is kept as it was given."""
    first = made(rich, target, tmp_path / "one.zip")
    taken = archive.take_in(other, first, by="Oda")
    assert upkeep.check(other).problems == () and taken.renumbered == ()
    second = made(other, target, tmp_path / "two.zip")
    new = {n for n in records_of(second) if "taken_bundle" in n}
    assert len(new) == 2
    assert records_of(first) == {n: c for n, c in records_of(second).items() if n not in new}
    one, two = parts_of(first), parts_of(second)
    (chain,) = [n for n in two if n.startswith("data/log/earlier/") and n.endswith("chain.csv")]
    assert two[chain] == one["data/log/chain.csv"]
    assert two[chain.replace("chain.csv", "entries.jsonl")] == one["data/log/entries.jsonl"]
    assert archive.take_in(other, first).records == 0


def test_a_treatment_goes_alone_and_reads_the_same_there(rich: Studio, other: Studio, tmp_path: Path) -> None:
    """With the treatment come its cast, the photographs that its maps show and the readings that its report shows;
    not its other treatments, nor photographs that it does not name. Its signature is proved in the other studio."""
    from PIL import Image

    Image.new("RGB", (90, 120), (30, 60, 90)).save(tmp_path / "back.png")
    tiles.add_photograph(rich, "C1", tmp_path / "back.png", state="not of this treatment")
    treat.begin_treatment(rich, {"cast": "C1", "name": "another, years later"})
    signed = sealing.seal(rich, "CT1", by="Ida")
    sealing.amend(rich, "CT1", "Seen again in the rain.", "the owner asked", by="Ida")
    file = made(rich, "CT1", tmp_path / "one.zip")
    sheet = archive.verify(file)
    assert (sheet.target, sheet.kind, sheet.name, sheet.photographs) == ("CT1", "conservation", "cleaning", 1)
    archive.take_in(other, file)
    (row,) = treat.list_treatments(other)
    there, here = treat.treatment_sheet(rich, "CT1"), treat.treatment_sheet(other, row.id)
    assert here.record == there.record
    assert [r.lab for r in here.readings] == [r.lab for r in there.readings] != []
    assert [p.name for p in here.photographs] == ["front.png"]
    assert here.studio_work == there.studio_work
    seal = sealing.seal_of(other, row.id)
    assert (seal.sound, seal.sha256, [a.words for a in seal.amendments]) == (
        True,
        signed.sha256,
        ["Seen again in the rain."],
    )
    assert upkeep.check(other).problems == ()


@ONE
def test_given_logs_go_on_through_a_third_studio(rich: Studio, other: Studio, tmp_path: Path) -> None:
    """What was given twice is still there as it was first given, and the check proves it."""
    first = made(rich, "C1", tmp_path / "one.zip")
    archive.take_in(other, first)
    second = made(other, "C1", tmp_path / "two.zip")
    with open_studio(tmp_path / "third") as third:
        archive.take_in(third, second)
        assert upkeep.check(third).problems == ()
        parts = parts_of(made(third, "C1", tmp_path / "three.zip"))
    chains = [c for n, c in parts.items() if n.startswith("data/log/earlier/") and n.endswith("chain.csv")]
    assert parts_of(first)["data/log/chain.csv"] in chains and len(chains) == 2


def test_into_a_studio_with_things_of_its_own(rich: Studio, other: Studio, tmp_path: Path) -> None:
    """Numbers that are taken are given anew and told; what points at them follows; nothing here changes."""
    casts.add_piece(other, NewPiece("Own piece"))
    casts.add_cast(other, NewCast("W1", "1/2", "C87300", owner="here"))
    tiles.start_tile(other, NewTile("own", "C87300"))
    tiles.add_reading(other, "T1", NewReading(50, 1, 1))
    before = casts.cast_sheet(other, "C1")
    taken = archive.take_in(other, made(rich, "C1", tmp_path / "one.zip"))
    numbers = dict(taken.renumbered)
    assert {"W1": "W2", "C1": "C2"}.items() <= numbers.items()
    assert casts.cast_sheet(other, "C1") == before
    there, here = casts.cast_sheet(rich, "C1"), casts.cast_sheet(other, "C2")
    assert here.row.piece_id == "W2" and here.row.number == there.row.number
    assert [r.lab for r in here.readings] == [r.lab for r in there.readings]
    assert [p.sha256 for p in here.photographs] == [p.sha256 for p in there.photographs]
    again = archive.take_in(other, made(rich, "T1", tmp_path / "two.zip"))
    assert ("T1", "T2") in again.renumbered and tiles.tile_sheet(other, "T1").row.engraved == "own"
    assert tiles.tile_sheet(other, "T2").row.lab == tiles.tile_sheet(rich, "T1").row.lab
    rests = [s.value.rests_on for s in treat.treatment_sheet(other, "CT1").record.statements]
    assert rests[1] == (treat.treatment_sheet(other, "CT1").record.statements[0].id,)
    assert upkeep.check(other).problems == ()


def test_what_is_here_with_another_content_stops_it_all(rich: Studio, tmp_path: Path) -> None:
    """The records are listed with what differs; nothing is taken in. Told to keep ours, the rest comes in."""
    bundle = made(rich, "C1", tmp_path / "one.zip")
    casts.change_cast(rich, "C1", NewCast("W1", "4/9", "C87300", owner="another"), version=None)
    count = changes(rich)
    with pytest.raises(Refused, match=r"C1: .*owner"):
        archive.take_in(rich, bundle)
    assert changes(rich) == count
    taken = archive.take_in(rich, bundle, keep_ours=True)
    assert taken.records == 0 and len(taken.kept) == 1
    assert casts.cast_sheet(rich, "C1").row.owner == "another"


def changes(studio: Studio) -> int:
    """How many changes are in the log."""
    with studio.store.view() as session:
        return session.scalar(select(func.count()).select_from(ChangeTable)) or 0


def test_a_recipe_of_that_name_is_another_recipe(rich: Studio, other: Studio, brown: Recipe, tmp_path: Path) -> None:
    """Two recipes with one name would be mistaken for each other: refused, with nothing taken in."""
    finishes.save_recipe(other, replace(brown, texture=1.5))
    count = changes(other)
    with pytest.raises(Refused, match="Harbour brown"):
        archive.take_in(other, made(rich, "R1", tmp_path / "one.zip"))
    assert changes(other) == count


@ONE
def test_readings_are_counted_anew(full: Studio, tmp_path: Path) -> None:
    """A reading that comes back with its tile is the latest only where none is newer here."""
    with open_studio(tmp_path / "copy") as copy:
        archive.take_in(copy, made(full, "T1", tmp_path / "old.zip"))
        tiles.add_reading(copy, "T1", NewReading(44, 1, 1))
        archive.take_in(copy, made(full, "M1", tmp_path / "more.zip"))
        lab = tiles.tile_sheet(copy, "T1").row.lab
        assert lab is not None and lab.L == 44
        assert upkeep.check(copy).problems == ()


@ONE
def test_nothing_withheld_is_in_the_owners_bundle(rich: Studio, tmp_path: Path) -> None:
    """No strength, no coverage, no weighed amount and no price leaves with the owner, in any file; the bag says so."""
    casts.add_treatment(rich, NewTreatment("C1", "toned with 7.25 g/L", recipe="R1", as_done=("37 mL used",)))
    access.withhold(rich, "R1", why="house recipe")
    open_parts = parts_of(made(rich, "C1", tmp_path / "all.zip"))
    assert any(b"7.25 g/L" in c for c in open_parts.values()), "otherwise the test would prove nothing"
    sheet = archive.archive(rich, "C1", tmp_path / "owner.zip", made_for="owner")
    parts = parts_of(tmp_path / "owner.zip")
    for name, content in parts.items():
        text = content
        if name.endswith(".pdf"):
            (tmp_path / "p.pdf").write_bytes(content)
            text = subprocess.run(["pdftotext", str(tmp_path / "p.pdf"), "-"], capture_output=True, check=True).stdout
        for secret in (b"7.25 g/L", b"37 mL", b"2.5 % w/v", b"5 g/L", b"1 part in 20 by weight"):
            assert secret not in text, (name, secret)
    assert sheet.withheld == ("R1",) and not {"revision", "batch", "lot"} & dict(sheet.tables).keys()
    assert b"Withheld by the studio: R1." in parts["data/README.txt"]
    assert archive.verify(tmp_path / "owner.zip").withheld == ("R1",)
    with pytest.raises(Refused, match="withheld"):
        archive.archive(rich, "R1", tmp_path / "recipe.zip", made_for="owner")


def test_an_owners_bundle_is_taken_in_too(rich: Studio, other: Studio, tmp_path: Path) -> None:
    """What is there comes in and checks clean; into the studio it came from it brings nothing and changes nothing."""
    access.withhold(rich, "R1", why="house recipe")
    bundle = made(rich, "C1", tmp_path / "owner.zip", made_for="owner")
    assert archive.take_in(other, bundle).records > 5
    assert upkeep.check(other).problems == ()
    assert archive.take_in(rich, bundle).records == 0


@ONE
def test_a_bundle_is_written_once(full: Studio, tmp_path: Path) -> None:
    """A file that is there is never written over; what is no record is said."""
    (tmp_path / "b.zip").write_text("mine")
    with pytest.raises(Refused, match="there already"):
        made(full, "C1", tmp_path / "b.zip")
    assert (tmp_path / "b.zip").read_text() == "mine"
    for target in ("C99", "X1", "L1", "nothing"):
        with pytest.raises(NotFound):
            made(full, target, tmp_path / "c.zip")
    assert [p.name for p in tmp_path.glob("*.zip")] == ["b.zip"] and not list(tmp_path.glob(".archive*"))


@ONE
def test_a_missing_photograph_is_told(full: Studio, other: Studio, tmp_path: Path) -> None:
    """The bundle is made without it and says which; it is taken in, and the check names what is missing."""
    (row,) = tiles.tile_sheet(full, "T1").photographs
    path = full.store.files.existing(row.sha256)
    path.chmod(0o644)
    path.unlink()
    sheet = archive.archive(full, "T1", tmp_path / "b.zip", printed=False)
    assert sheet.missing == (row.sha256,)
    archive.take_in(other, tmp_path / "b.zip")
    assert upkeep.check(other).problems == (f"Photograph {row.sha256} is missing.",)


def test_own_substances_and_lots_come_along(full: Studio, other: Studio, tmp_path: Path) -> None:
    """A lot in a bundle still has what its movements leave, and its next use is counted on."""
    archive.take_in(other, made(full, "C1", tmp_path / "b.zip"))
    assert shelf.lot_row(other, "L1").left == shelf.lot_row(full, "L1").left
    shelf.take_from_lot(other, "L1", 1, "g", "test")
    shelf.add_lot(other, NewLot("liver of sulphur", 5))
    assert upkeep.check(other).problems == ()


@ONE
def test_the_receipt_names_the_file_in_two_copies(rich: Studio, tmp_path: Path) -> None:
    """One page: the SHA-256 twice, who gives, who receives; and it is on record who was given what."""
    bundle = made(rich, "C1", tmp_path / "b.zip")
    given = archive.hand_over_bundle(rich, bundle, tmp_path / "r.pdf", to="Orla Wend", as_what="owner", by="Ida")
    sha256 = hashlib.sha256(bundle.read_bytes()).hexdigest()
    assert (given.kind, given.record, given.sha256, given.to) == ("archive bundle", "C1", sha256, "Orla Wend")
    text = subprocess.run(["pdftotext", str(tmp_path / "r.pdf"), "-"], capture_output=True, check=True, text=True)
    assert text.stdout.replace("\n", "").count(sha256) == 2
    assert "Copy of the owner" in text.stdout and "Copy of the conservator" in text.stdout
    pages = subprocess.run(["pdfinfo", str(tmp_path / "r.pdf")], capture_output=True, check=True, text=True).stdout
    assert "Pages:           1" in pages
    assert upkeep.check(rich).problems == ()
    shutil.copy(bundle, tmp_path / "spoilt.zip")
    with (tmp_path / "spoilt.zip").open("r+b") as file:
        file.seek(2000)
        file.write(b"\0\0\0\0")
    with pytest.raises(Exception, match=r"manifest|read"):
        archive.hand_over_bundle(rich, tmp_path / "spoilt.zip", None, to="X")
    with pytest.raises(BadQuantity, match="no name"):
        archive.hand_over_bundle(rich, bundle, None, to="X" * 401)
    with pytest.raises(BadQuantity, match="still to come"):
        archive.hand_over_bundle(rich, bundle, None, to="X", on=date(2999, 1, 1))


@ONE
def test_what_is_printed_is_for_paper(rich: Studio, tmp_path: Path) -> None:
    """Finish record, treatment report and recipe lie in the bag as PDF/A-2b. Source: [PDFA2]"""
    sheet = archive.archive(rich, "C1", tmp_path / "b.zip")
    parts = parts_of(tmp_path / "b.zip")
    printed = {n: c for n, c in parts.items() if n.endswith(".pdf")}
    assert sheet.not_printed == ()
    assert {"data/printed/finish-record-C1.pdf", "data/printed/treatment-CT1.pdf"} <= set(printed)
    assert all(b"<pdfaid:part>2</pdfaid:part>" in content for content in printed.values())
    assert archive.verify(tmp_path / "b.zip").sha256 == sheet.sha256
