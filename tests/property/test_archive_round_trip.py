"""Property: export, import and export again gives the same rows, cells and photographs, whatever was put on record."""

from __future__ import annotations

import contextlib
import csv
import io
import shutil
import tempfile
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from patina.bench import upkeep
from patina.bench.paper import archive
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.shelves import shelf
from patina.bench.studio import open_studio
from patina.entries import NewCast, NewLot, NewPiece, NewReading, NewTile, NewTreatment
from patina.errors import PatinaError
from patina.records.archive.cells import cell, from_cell, plain, value_of
from patina.records.archive.shape import shapes

# what spreadsheets, CSV, JSON and databases stumble over, among any other text
ODD = st.sampled_from(
    ["=1+1", "'", "''", "-5", "+x", "@a", "\tx", "a\r\nb", '"', "a,b", "＝1", " ", "\u2028", "é\u0301", "日本", "\\N"]
)
TEXT = st.one_of(ODD, st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=30))
NAME = TEXT.filter(lambda text: bool(text.strip()))
MM = st.one_of(st.none(), st.floats(0.01, 999))
LAB = st.tuples(st.floats(0, 100), st.floats(-100, 100), st.floats(-100, 100))
TILES = st.lists(st.tuples(NAME, TEXT, MM, st.lists(TEXT, max_size=2)), max_size=3)
CASTS = st.lists(st.tuples(TEXT, TEXT, st.lists(LAB, max_size=2), st.lists(NAME, max_size=2)), min_size=1, max_size=2)
LOTS = st.lists(st.tuples(st.floats(0.1, 1e5), TEXT, TEXT), max_size=2)


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """The folder of a closed, empty studio; to be copied."""
    folder = tmp_path_factory.mktemp("empty") / "studio"
    open_studio(folder).close()
    yield folder


def payload(file: Path) -> dict[str, bytes]:
    """What lies under data, by name."""
    with zipfile.ZipFile(file) as packed:
        return {name: packed.read(name) for name in packed.namelist() if "/data/" in name}


def records(files: dict[str, bytes]) -> dict[str, bytes]:
    """The tables, but for that of bundles taken in."""
    return {n: c for n, c in files.items() if "/data/tables/" in n and "taken_bundle" not in n}


@settings(
    max_examples=5, deadline=None, phases=[Phase.generate], suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(title=NAME, maker=TEXT, made=TILES, cast_rows=CASTS, lots=LOTS)
def test_export_import_export_is_identical(
    empty: Path,
    title: str,
    maker: str,
    made: list,
    cast_rows: list,
    lots: list,  # type: ignore[type-arg]
) -> None:
    """A whole studio comes back to the byte in every file; a piece in every row and cell. Both check clean."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for place in ("one", "two", "three"):
            shutil.copytree(empty, folder / place)
        with open_studio(folder / "one") as one:
            for n, (engraved, note, wall, done) in enumerate(made):
                entry = NewTile(f"{engraved}{n}", "C87300", wall_mm=wall, note=note, as_done=tuple(done))
                with contextlib.suppress(PatinaError):  # what no deed takes is in no bundle
                    tiles.start_tile(one, entry)
            casts.add_piece(one, NewPiece(title, maker))
            for n, (owner, note, labs, deeds) in enumerate(cast_rows):
                cast = casts.add_cast(one, NewCast("W1", f"{n}", "C87300", owner=owner, note=note))
                for lab in labs:
                    tiles.add_reading(one, cast.row.id, NewReading(*lab))
                for did in deeds:
                    with contextlib.suppress(PatinaError):
                        casts.add_treatment(one, NewTreatment(cast.row.id, did))
            for amount, place, note in lots:
                shelf.add_lot(one, NewLot("liver of sulphur", amount, place=place, note=note))
            for target in ("studio", "W1"):
                archive.archive(one, target, folder / f"{target}-1.zip", printed=False)
        for place, target in (("two", "studio"), ("three", "W1")):
            with open_studio(folder / place) as other:
                archive.take_in(other, folder / f"{target}-1.zip")
                assert upkeep.check(other).problems == ()
                archive.archive(other, target, folder / f"{target}-2.zip", printed=False)
        assert payload(folder / "studio-1.zip") == payload(folder / "studio-2.zip")
        assert records(payload(folder / "W1-1.zip")) == records(payload(folder / "W1-2.zip"))


COLUMNS = [(shape, column) for shape in shapes().values() for column in shape.columns]
JSON = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(-9, 9), st.floats(allow_nan=False, allow_infinity=False), TEXT),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(TEXT, inner, max_size=3)),
    max_leaves=6,
)
VALUES = {
    "integer": st.integers(-(2**31) + 1, 2**31 - 1),
    "number": st.floats(allow_nan=False, allow_infinity=False).map(lambda x: x + 0.0),
    "yes or no": st.booleans(),
    "moment": st.datetimes(timezones=st.timezones())
    .map(lambda m: m.isoformat())
    .filter(lambda m: m[:4] not in ("0001", "9999")),
    "day": st.dates().map(lambda d: d.isoformat()),
    "money": st.decimals(allow_nan=False, allow_infinity=False, places=2, min_value=0, max_value=10**9).map(str),
}


@settings(max_examples=200, deadline=None)
@given(data=st.data())
def test_every_value_of_every_column_comes_back(data: st.DataObject) -> None:
    """A value goes to the database's form, to JSON, into a cell of a CSV file and back, and is the same."""
    shape, column = data.draw(st.sampled_from(COLUMNS))
    if column.sort == "text":
        said = data.draw(TEXT.filter(lambda t: len(t) <= (column.length or 10**6)))
    elif column.sort == "list":
        said = data.draw(st.lists(TEXT, max_size=3) if column.form == "list[str]" else st.just([]))
        said = data.draw(JSON.filter(lambda v: v is not None)) if column.form == "Any" else said
    else:
        said = data.draw(VALUES[column.sort])
    if column.nullable and data.draw(st.booleans()):
        said = None
    kept = plain(value_of(said, column, shape.name), column)
    file = io.StringIO(newline="")
    csv.writer(file).writerow(["x", cell(kept, column)])
    file.seek(0)
    ((_, back),) = csv.reader(file)
    assert from_cell(back, column) == kept
    assert value_of(kept, column, shape.name) == value_of(said, column, shape.name)
