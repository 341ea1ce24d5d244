"""What is shown in another language: no message is lost, no figure is changed, no record touched."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path

import polib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from patina.cli import main
from patina.errors import Refused
from patina.language import read_as, shown
from patina.language.templates import FILES, HERE, templates

BOOKS = sorted((HERE / "de").glob("*.po"))


@pytest.fixture(autouse=True)
def english_again() -> Iterator[None]:
    """Every test leaves the program in English."""
    yield
    read_as()


def _entries() -> list[polib.POEntry]:
    return [e for book in BOOKS for e in polib.pofile(str(book)) if not e.obsolete]


@pytest.mark.parametrize("name", FILES)
def test_every_message_is_translated(name: str) -> None:
    """German is whole: each message of the source stands in its book with a translation."""
    book = {e.msgid: e.msgstr for e in polib.pofile(str(HERE / "de" / f"{name}.po")) if not e.obsolete}
    missing = [m for m in templates(FILES[name]) if not book.get(m)]
    assert not missing, f"{len(missing)}: {missing[:5]}"


def test_gaps_are_kept() -> None:
    """A translation holds the same gaps as its message, so that no figure is dropped or doubled."""
    wrong = [
        e.msgid
        for e in _entries()
        if e.msgstr and sorted(re.findall(r"\{\d\}", e.msgid)) != sorted(re.findall(r"\{\d\}", e.msgstr))
    ]
    assert not wrong


def test_figures_of_a_message_are_kept() -> None:
    """Figures that stand in a message itself stand in its translation."""
    wrong = [
        (e.msgid, e.msgstr)
        for e in _entries()
        if e.msgstr and sorted(re.findall(r"\d+", e.msgid)) != sorted(re.findall(r"\d+", e.msgstr))
    ]
    assert not wrong


@given(st.floats(-5000, 5000, allow_nan=False), st.integers(0, 3))
def test_a_decimal_comma_changes_the_mark_alone(value: float, places: int) -> None:
    """With a comma the same figures are read, and nothing else is changed."""
    read_as("en", ",")
    text = f"at {value:.{places}f} g/L"
    assert shown(text) == text.replace(".", ",")


@pytest.mark.parametrize(
    "text", ["2026-03-02 10:15", "3.2.3.1.2", "cast.svg", "10.1002/jrs.4167", "7722-84-1", "v0.1.0", "192.0.2.1"]
)
def test_what_is_no_figure_keeps_its_points(text: str) -> None:
    """Dates, paragraphs, file names and addresses are no decimal numbers."""
    read_as("en", ",")
    assert shown(text) == text


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("95 °C", "203 °F (95 °C)"),  # definition of the degree Fahrenheit, NIST SP 811 (2008) appendix B.8
        ("\N{MINUS SIGN}40 °C", "\N{MINUS SIGN}40 °F (\N{MINUS SIGN}40 °C)"),
        ("28.35 g", "1 oz (28.35 g)"),  # 1 oz = 28.349 523 125 g, same place
        ("473 mL", "16 fl oz (473 mL)"),  # 1 US fl oz = 29.573 53 mL, same place
        ("5 g/L", "5 g/L"),
        ("40 mL/m²", "40 mL/m²"),
    ],
)
def test_us_measures_stand_in_front_of_the_metric_ones(metric: str, us: str) -> None:
    """Fahrenheit and ounces are added in front; what is on record stays to be read."""
    read_as("en", ".", "US")
    assert shown(metric) == us


@pytest.mark.parametrize("choice", [("fr", "", ""), ("", ";", ""), ("", "", "imperial")])
def test_what_cannot_be_chosen_is_refused(choice: tuple[str, str, str]) -> None:
    """An unknown language, mark or measure is refused with the ones that are known."""
    with pytest.raises(Refused):
        read_as(*choice)


def _said(*words: str) -> str:
    out = StringIO()
    with redirect_stdout(out), pytest.raises(SystemExit):
        main(list(words))
    return out.getvalue()


def test_files_and_json_stay_as_they_are(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In German the words on screen change; a recipe file and JSON do not."""
    where = ("--studio", str(tmp_path / "studio"))
    _said(*where, "import", "--starters")
    recipe = _said(*where, "export", "recipe", "Torch sulphide brown")
    found = json.loads(_said(*where, "list", "recipes", "--json"))
    words = _said(*where, "check")
    monkeypatch.setenv("PATINA_LANGUAGE", "de")
    assert _said(*where, "export", "recipe", "Torch sulphide brown") == recipe
    assert json.loads(_said(*where, "list", "recipes", "--json")) == found
    assert _said(*where, "check") != words


def test_a_report_is_set_in_the_readers_language(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Paper and page speak German with decimal commas; the recipe's own name stays what it is."""
    where = ("--studio", str(tmp_path / "studio"))
    _said(*where, "import", "--starters")
    monkeypatch.setenv("PATINA_LANGUAGE", "de")
    page = tmp_path / "sheet.html"
    _said(*where, "mix", "Torch sulphide brown", "--area", "0.34 m2", "--sheet", str(page))
    text = page.read_text("utf-8")
    assert 'lang="de"' in text
    assert "Torch sulphide brown" in text
    assert "0,34 m²" in text
    assert "0.34 m²" not in text
