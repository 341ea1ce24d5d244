"""Data files are refused by row and column when malformed, and every fact has a source."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from patina.datafile import data_path, number, optional_number, read_table, text, words
from patina.errors import BadData
from patina.sources import bibliography

COLUMNS = {"key": text, "density": optional_number, "names": words}


def _file(folder: Path, content: str) -> Path:
    path = folder / "facts.csv"
    path.write_text(content, encoding="utf-8")
    return path


def test_a_good_file_is_read_with_its_types(tmp_path: Path) -> None:
    """Comments and blank lines are passed over; an empty number is unknown, not zero."""
    rows = read_table(_file(tmp_path, "# facts\nkey,density,names\n\na,1.5,x; y\nb,,\n"), COLUMNS)
    assert rows == [{"key": "a", "density": 1.5, "names": ("x", "y")}, {"key": "b", "density": None, "names": ()}]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("key,density\na,1\n", "row 1: column 'names' is missing"),
        ("key,density,names,colour\na,1,x,red\n", "row 1: column 'colour' is not known"),
        ("key,density,names\na,1\n", "row 2: 2 cells where the header has 3"),
        ("key,density,names\na,heavy,x\n", "row 2, column 'density'"),
        ("# one\n\nkey,density,names\na,1,x\n,2,y\n", "row 5, column 'key': is empty"),
        ("key,density,names\na,nan,x\n", "row 2, column 'density'"),
        ("", "is empty"),
    ],
)
def test_a_malformed_file_is_refused_by_row_and_column(tmp_path: Path, content: str, said: str) -> None:
    """The message names the file, the line in it and the column."""
    with pytest.raises(BadData) as trouble:
        read_table(_file(tmp_path, content), COLUMNS)
    assert "facts.csv" in trouble.value.what
    assert said in trouble.value.what


def test_bytes_that_are_no_text_are_refused(tmp_path: Path) -> None:
    """A file that is not UTF-8 gets a sentence."""
    path = tmp_path / "facts.csv"
    path.write_bytes(b"key\n\xff\xfe\n")
    with pytest.raises(BadData, match="cannot be read"):
        read_table(path, {"key": text})


def test_numbers_are_finite() -> None:
    """Infinity is no fact."""
    with pytest.raises(ValueError, match="finite"):
        number("inf")


def _tables() -> list[Path]:
    found = [p for p in sorted(data_path("sources.csv").parent.glob("*.csv")) if p.name != "sources.csv"]
    assert len(found) > 10
    return found


@pytest.mark.parametrize("path", _tables(), ids=lambda p: p.name)
def test_every_fact_names_a_source_that_the_bibliography_holds(path: Path) -> None:
    """Each row of each data file has at least one source column, filled, with known keys."""
    lines = [line for line in path.read_text("utf-8").splitlines() if line.strip() and not line.startswith("#")]
    rows = list(csv.DictReader(lines))
    columns = [c for c in rows[0] if c == "source" or c.endswith("_source")]
    assert columns, f"{path.name} has no source column"
    for row in rows:
        keys = [k.strip() for c in columns for k in (row[c] or "").split(";") if k.strip()]
        assert keys, f"{path.name}: no source in {row}"
        for key in keys:
            assert bibliography()[key].citation


def test_every_source_is_used() -> None:
    """The bibliography holds nothing that no data file or docstring names."""
    root = data_path("sources.csv").parent.parent
    tests = Path(__file__).parents[1]
    places = [
        *root.rglob("*.py"),
        *tests.rglob("*.py"),
        *(p for p in root.rglob("*.csv") if p.name != "sources.csv"),
        *root.rglob("*.toml"),
    ]
    everything = "\n".join(p.read_text("utf-8") for p in places)
    assert not [key for key in bibliography() if key not in everything]
