"""Variation of a piece's readings: within a cast, between casts, and the gauge, from a real studio."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from patina.bench.matched.variation import variation
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.studio import Studio, open_studio
from patina.cli import patina
from patina.entries import NewCast, NewPiece, NewReading, NewTile
from patina.errors import BadQuantity, NotFound
from patina.matching.three_sources import three_sources

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    """An edition without casts."""
    with open_studio(tmp_path / "studio") as opened:
        casts.add_piece(opened, NewPiece("Tern", edition=9))
        yield opened


def reading(L: float, area: str, *, instrument: str = "meter 1", days: int = 0, wax: str = "waxed") -> NewReading:
    """A single reading, a* and b* bound to L* so that each component has a spread of its own."""
    at = NOON + timedelta(days=days)
    return NewReading(
        L,
        L / 2,
        L / 4,
        source="instrument",
        area=area,
        instrument=instrument,
        wax_state=wax,
        warmth="cold",
        read_at=at,
    )


def fill(studio: Studio, groups: Sequence[Sequence[float]], *, instrument: str = "meter 1") -> None:
    """A cast for each group, each value one spot read once."""
    for values in groups:
        row = casts.add_cast(studio, NewCast("W1", alloy="C87300"))
        entries = [reading(x, f"spot {i}", instrument=instrument) for i, x in enumerate(values)]
        tiles.add_readings(studio, row.row.id, entries)


def test_a_simulated_truth_is_found_again(studio: Studio) -> None:
    """Twelve casts of six spots of three repeats drawn with 0.3, 0.8 and 2.0: found within a sampling error.

    Standard errors of a standard deviation are near sd / sqrt(2 df): 0.3 / 17, 0.8 / 11, 2.0 / 4.7; three of them
    are allowed. a* is half of L* and b* a quarter by construction.
    """
    rng = np.random.default_rng(20)
    for cast in rng.normal(30.0, 2.0, 12):
        row = casts.add_cast(studio, NewCast("W1", alloy="C87300"))
        spots = rng.normal(cast, 0.8, 6)
        repeats = [reading(x, f"spot {i}") for i, spot in enumerate(spots) for x in rng.normal(spot, 0.3, 3)]
        tiles.add_readings(studio, row.row.id, repeats)
    sheet = variation(studio, "Tern")
    L, a, b = sheet.components
    assert (L.gauge.df, L.within.df, L.between.df) == (144, 60, 11)
    assert L.gauge.sd == pytest.approx(0.3, abs=3 * 0.3 / 288**0.5)
    assert L.within.sd == pytest.approx(0.8, abs=3 * 0.8 / 120**0.5)
    assert L.between.sd == pytest.approx(2.0, abs=3 * 2.0 / 22**0.5)
    for source in ("gauge", "within", "between"):
        of_L = getattr(L, source).sd
        assert getattr(a, source).sd == pytest.approx(of_L / 2)
        assert getattr(b, source).sd == pytest.approx(of_L / 4)
    assert (sheet.casts, sheet.spots, sheet.repeat_sets, sheet.repeats) == (12, 72, 72, 216)


def test_without_repeats_the_gauge_is_not_known_and_the_handbook_is_met(studio: Studio) -> None:
    """NIST/SEMATECH e-Handbook 7.4.3.3 (memory), as three casts of five spots: mean squares 13.949 and 1.454.

    So a spread of sqrt(1.454) within and sqrt((13.949 - 1.454) / 5) between; the gauge is in the spots' spread.
    """
    fill(studio, [[6.9, 5.4, 5.8, 4.6, 4.0], [8.3, 6.8, 7.8, 9.2, 6.5], [8.0, 10.5, 8.1, 6.9, 9.3]])
    sheet = variation(studio, "W1")
    L = sheet.components[0]
    assert L.gauge.sd is None and L.gauge.words == "not known"
    assert L.within.sd == pytest.approx(1.454**0.5, abs=1e-3) and "gauge included" in L.within.words
    assert L.between.sd == pytest.approx((12.495 / 5) ** 0.5, abs=1e-3)
    assert (L.within.df, L.between.df) == (12, 2)
    said = " ".join(sheet.words)
    assert "Read one spot 5 times, lifting the instrument" in said
    assert "3 casts are too few" in said


def test_repeats_on_a_tile_tell_the_gauge_of_the_same_instrument_only(studio: Studio) -> None:
    """Five repeats on a tile by the instrument that read the casts give its gauge; another instrument's do not."""
    fill(studio, [[30.0, 31.0], [33.0, 34.0]])
    tiles.start_tile(studio, NewTile("K1", "C87300"))
    other = [reading(40 + x, "centre", instrument="meter 2") for x in (0.0, 5.0)]
    tiles.add_readings(studio, "T1", other)
    assert variation(studio, "Tern").components[0].gauge.sd is None
    tiles.add_readings(studio, "T1", [reading(40 + x, "centre") for x in (-0.2, -0.1, 0.0, 0.1, 0.2)])
    L = variation(studio, "Tern").components[0]
    assert L.gauge.sd == pytest.approx(0.025**0.5) and L.gauge.df == 4
    assert L.within.sd == pytest.approx((0.5 - 0.025) ** 0.5)


@pytest.mark.one_engine("sqlite", why="another sum of the same question")
@pytest.mark.parametrize(
    "again",
    [
        reading(30.5, "back", days=1),
        reading(30.5, "back", instrument="meter 2"),
        reading(30.5, "back", wax="unwaxed"),
        reading(30.5, "front"),
    ],
    ids=["another day", "another instrument", "another wax", "another area"],
)
def test_what_is_no_repeat(studio: Studio, again: NewReading) -> None:
    """A second reading on another day, by another instrument, in another state or place tells nothing of the gauge."""
    casts.add_cast(studio, NewCast("W1", alloy="C87300"))
    tiles.add_readings(studio, "C1", [reading(30.0, "back"), again])
    assert variation(studio, "Tern").components[0].gauge.sd is None


@pytest.mark.one_engine("sqlite", why="another sum of the same question")
@pytest.mark.parametrize(("area", "instrument"), [("", "meter 1"), ("whole", "meter 1"), ("back", "")])
def test_a_spot_or_instrument_without_a_name_is_no_repeat(studio: Studio, area: str, instrument: str) -> None:
    """Two readings that do not say which spot, or by what, are two spots."""
    casts.add_cast(studio, NewCast("W1", alloy="C87300"))
    tiles.add_readings(studio, "C1", [reading(x, area, instrument=instrument) for x in (30.0, 31.0)])
    sheet = variation(studio, "Tern")
    assert sheet.components[0].gauge.sd is None
    assert sheet.spots == 2 and sheet.components[0].within.sd == pytest.approx(0.5**0.5)


def test_one_cast_says_too_few_pieces_and_none_says_all(studio: Studio) -> None:
    """Nothing is zero for want of readings: each source is not known, and the words say what is wanted."""
    empty = variation(studio, "Tern")
    assert all(s.sd is None for c in empty.components for s in (c.gauge, c.within, c.between))
    fill(studio, [[30.0, 31.0, 32.0]])
    sheet = variation(studio, "C1")
    assert sheet.components[0].within.sd == pytest.approx(1.0)
    assert sheet.components[0].between.sd is None
    assert any("Too few pieces" in line for line in sheet.words)


@pytest.mark.one_engine("sqlite", why="another sum of the same question")
def test_casts_read_on_one_spot_each_are_not_split(studio: Studio) -> None:
    """One spot a cast: pieces and spots cannot be told apart, and the sum of them is said."""
    fill(studio, [[30.0], [31.0], [32.0]])
    L = variation(studio, "Tern").components[0]
    assert L.within.sd is None and L.between.sd is None
    assert "together 1.00" in L.between.words


def test_a_gauge_that_hides_the_spots_is_said() -> None:
    """Where the gauge's part is more than was seen within a piece the words say so beside the 0."""
    found = three_sources([[(30.0, 1), (30.1, 1)], [(33.0, 1), (33.1, 1)]], [[30.0, 31.0, 32.0]])
    assert found.within.sd == 0.0 and "too small to be told from the gauge" in found.within.words
    alike = three_sources([[(30.0, 1), (32.0, 1)], [(30.1, 1), (32.1, 1)]], [])
    assert alike.between.sd == 0.0 and "too small to be told from the spots" in alike.between.words
    with pytest.raises(BadQuantity):
        three_sources([[(float("nan"), 1)]], [])
    with pytest.raises(BadQuantity):
        three_sources([[(30.0, 0)]], [])


def test_a_zone_and_its_numbered_spots(studio: Studio) -> None:
    """A zone takes the areas whose names begin with it; a zone never read is an error that names those read."""
    casts.add_cast(studio, NewCast("W1", alloy="C87300"))
    tiles.add_readings(studio, "C1", [reading(30.0, "back 1"), reading(31.0, "Back 2"), reading(60.0, "backdrop")])
    assert variation(studio, "Tern", zone="back").components[0].within.sd == pytest.approx(0.5**0.5)
    assert variation(studio, "Tern", zone="whole").spots == 3
    with pytest.raises(NotFound, match="face"):
        variation(studio, "Tern", zone="face")
    with pytest.raises(NotFound):
        variation(studio, "Heron")


def test_variation_on_the_command_line(studio: Studio) -> None:
    """JSON has null for what is not known; the text says it in words."""
    fill(studio, [[30.0, 31.0], [33.0, 34.0]])
    run = CliRunner()
    said = json.loads(run.invoke(patina, ["--studio", studio.where, "variation", "Tern", "--json"]).output)
    assert [c["of"] for c in said["components"]] == ["L*", "a*", "b*"]
    assert said["components"][0]["gauge"] == {"sd": None, "df": 0, "words": "not known"}
    assert said["components"][0]["within"]["sd"] == pytest.approx(0.5**0.5)
    text = run.invoke(patina, ["--studio", studio.where, "variation", "Tern"]).output
    assert "L*: gauge not known; within a piece 0.71 (df 2), the gauge included" in text
