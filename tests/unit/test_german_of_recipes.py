"""The lines of a recipe that is mixed and worked by read as German to somebody who reads German."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from patina.language import read_as, shown


@pytest.fixture(autouse=True)
def german() -> Iterator[None]:
    """German for one test."""
    read_as("de")
    yield
    read_as()


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (
            "apply Kupferwasser, by torch with Pinsel, 6 passes, 40 mL/m² each, 50 % lands, metal 80 to 95 °C",
            "auftragen: Kupferwasser, am Brenner mit Pinsel, 6 Gänge, je 40 mL/m², 50 % kommen an, Metall 80 bis 95 °C",
        ),
        (
            "apply Kupferwasser, by spray with Zerstäuber, 2 passes",
            "auftragen: Kupferwasser, gesprüht mit Zerstäuber, 2 Gänge",
        ),
        (
            "in distilled water, made up to the volume, use within 12 h",
            "in destilliertem Wasser, auf das Volumen aufgefüllt, verbrauchen in 12 h",
        ),
        ("asked 20 g/L; rounding exact; pot then 20 g/L", "verlangt 20 g/L; ohne Rundung; Topf dann 20 g/L"),
    ],
)
def test_a_line_of_a_recipe(line: str, said: str) -> None:
    """Verbs, passes, coverage, share that lands and temperatures are German; names that people gave stay."""
    assert shown(line) == said
