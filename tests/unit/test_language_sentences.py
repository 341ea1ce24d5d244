"""Sentences that are put together from messages are German to the last word, above all where they warn."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from functools import cache

import pytest

from patina.datafile import data_path
from patina.language import read_as, shown
from patina.language.catalogue import Catalogue


@pytest.fixture(autouse=True)
def in_german() -> Iterator[None]:
    """Texts are shown in German; English again afterwards."""
    read_as("de")
    yield
    read_as()


@cache
def _german() -> Catalogue:
    return Catalogue.of("de")


def _texts(name: str, *columns: str) -> list[str]:
    lines = [line for line in data_path(name).read_text("utf-8").splitlines() if not line.startswith("#")]
    rows = list(csv.DictReader(lines))
    return sorted({row[c].strip() for row in rows for c in columns if len((row[c] or "").split()) > 1})


@pytest.mark.parametrize("consequence", _texts("reactions.csv", "consequence"))
def test_a_danger_is_told_in_german_with_its_level_and_both_sides(consequence: str) -> None:
    """As the commands write it: level, the two substances with their solutions, and what comes of it."""
    said = shown(f"CRITICAL: nitric acid (first bath) and isopropanol (L11 isopropanol): {consequence}")
    known = _german().whole[consequence]
    assert said.startswith("KRITISCH: Salpetersäure (first bath) und Isopropanol (L11 isopropanol): ")
    assert said.endswith(shown(known))


@pytest.mark.parametrize("note", _texts("gases.csv", "note"))
def test_what_is_said_of_a_gas_stays_whole_behind_another_sentence(note: str) -> None:
    """A note of several sentences is not taken for another message because of a word in it."""
    known = re.sub(r"(\d)\.(\d)", r"\1,\2", _german().whole[note])
    assert shown(f"dilution does not do for this gas: local exhaust at the piece. {note}").endswith(f". {known}")


@pytest.mark.parametrize("instead", _texts("reactions.csv", "instead"))
def test_the_source_behind_a_sentence_is_no_part_of_it(instead: str) -> None:
    """What to do instead is German although a source key stands behind it."""
    said = shown(f"{instead} [CLIP-CUN]")
    assert said == f"{shown(instead)} [CLIP-CUN]"
    assert said != f"{instead} [CLIP-CUN]"


@pytest.mark.parametrize(
    ("english", "german"),
    [
        (
            "Gives off hydrogen sulphide from liver of sulphur in first bath: with any acid or acid salt: at once and"
            " much",
            "Setzt Schwefelwasserstoff frei aus Schwefelleber in first bath: mit jeder Säure oder jedem sauren Salz:"
            " sofort und viel",
        ),
        (
            "wall ±15 %, solid parts and base ±5 %, density ±1 %",
            "Wand ±15 %, massive Teile und Sockel ±5 %, Dichte ±1 %",
        ),
        (
            "1.8 m² × 1.1 texture × 40 mL/m² × 5 passes / 80 % transfer = 495 mL; + 25 % reserve; + 100 mL dead volume"
            " → 718.75 mL",
            "1,8 m² × 1,1 Textur × 40 mL/m² × 5 Gänge / 80 % Übertrag = 495 mL; + 25 % Reserve; + 100 mL Totvolumen"
            " → 718,75 mL",
        ),
        ("pass 1 back of it", "Gang 1 back of it"),
        ("first bath: 5 passes as written", "first bath: 5 Gänge wie geschrieben"),
    ],
)
def test_lines_of_several_parts_are_german(english: str, german: str) -> None:
    """Workings and entries of the log, with the names that somebody gave left as they are."""
    assert shown(english) == german


@pytest.mark.parametrize("words", ["the shine of tin, thin", "keep it warm, cold", "Ada said: come and see; not today"])
def test_somebodys_sentence_is_left_alone(words: str) -> None:
    """A word of the program at the end of what a person wrote does not turn half of it."""
    assert shown(words) == words
