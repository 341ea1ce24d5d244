"""Shifts and ageing learnt from a house's own tiles: known shifts put in are found again, with their doubt."""

from __future__ import annotations

import json
import math
import random
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from patina.bench.matched import ageing, agreed
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.studio import Studio, open_studio
from patina.cli import patina
from patina.entries import NewCast, NewHolding, NewMaster, NewPiece, NewReading, NewTile, NewTreatment
from patina.errors import BadQuantity, NotFound

START = datetime(2024, 3, 1, 10, tzinfo=UTC)
WAX = (-3.0, 0.6, 0.9)
COOLING = (1.2, -0.2, -0.4)
AGED = (4.0, -1.0, -2.0)
TIME_DAYS = 60.0


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    """A studio with the recipes that come along."""
    with open_studio(tmp_path / "studio") as opened:
        finishes.add_starters(opened)
        yield opened


def tile(studio: Studio, name: str, recipe: str = "R1") -> str:
    """A tile of a recipe."""
    return tiles.start_tile(studio, NewTile(name, "C87300", recipe=recipe, revision=1, made_on=START.date())).row.id


def read(studio: Studio, target: str, lab: tuple[float, ...], wax: str, warmth: str, days: float = 0.0) -> None:
    """A reading so many days after the start."""
    reading = NewReading(
        lab[0],
        lab[1],
        lab[2],
        source="instrument",
        uncertainty_de00=0.4,
        wax_state=wax,
        warmth=warmth,
        read_at=START + timedelta(days=days),
        area="middle",
    )
    tiles.add_reading(studio, target, reading)


def pairs(studio: Studio, n: int, recipe: str = "R1") -> None:
    """Tiles read warm, cold and waxed, with known shifts and a little scatter."""
    rng = random.Random(4)
    for k in range(n):
        base = [28.0 + k, 6.0, 9.0]
        which = tile(studio, f"{recipe}-{k}", recipe)
        read(studio, which, tuple(base), "unwaxed", "warm", 0.0)
        cold = [b + s + rng.gauss(0, 0.2) for b, s in zip(base, COOLING, strict=True)]
        read(studio, which, tuple(cold), "unwaxed", "cold", 0.1)
        waxed = [b + s + rng.gauss(0, 0.2) for b, s in zip(cold, WAX, strict=True)]
        read(studio, which, tuple(waxed), "waxed", "cold", 1.0)


def test_a_warm_unwaxed_reading_becomes_cold_and_waxed(studio: Studio) -> None:
    """Both shifts are found from pairs of one tile each; the true value lies inside the interval."""
    pairs(studio, 6)
    new = tile(studio, "new")
    read(studio, new, (30.0, 6.0, 9.0), "unwaxed", "warm")
    sheet = ageing.foretell(studio, new)
    assert [s.of for s in sheet.shifts] == ["cooling", "wax"]
    assert all(len(s.tiles) == 6 and s.own for s in sheet.shifts)
    assert sheet.final is not None and sheet.final.half_width is not None
    truth = [30.0 + COOLING[0] + WAX[0], 6.0 + COOLING[1] + WAX[1], 9.0 + COOLING[2] + WAX[2]]
    got = (sheet.final.lab.L, sheet.final.lab.a, sheet.final.lab.b)
    assert all(abs(t - g) <= h for t, g, h in zip(truth, got, sheet.final.half_width, strict=True))
    assert all(0.3 < h < 1.6 for h in sheet.final.half_width)


def test_a_shift_never_seen_is_not_guessed(studio: Studio) -> None:
    """Without pairs nothing is foretold, and it is said which tiles to read."""
    new = tile(studio, "new")
    read(studio, new, (30.0, 6.0, 9.0), "unwaxed", "cold")
    sheet = ageing.foretell(studio, new)
    assert sheet.final is None and "before and after waxing" in sheet.missing[0]
    pairs(studio, 3, "R2")
    other = ageing.foretell(studio, new)
    assert other.final is not None and not other.shifts[0].own
    assert any("other recipes" in c for c in other.cautions)


def test_one_pair_gives_a_value_and_no_interval(studio: Studio) -> None:
    """How far one pair may be off is not known, and not taken as nothing."""
    pairs(studio, 1)
    new = tile(studio, "new")
    read(studio, new, (30.0, 6.0, 9.0), "unwaxed", "cold")
    sheet = ageing.foretell(studio, new)
    assert sheet.final is not None and sheet.final.half_width is None


def twins(studio: Studio, kept: str) -> None:
    """Two twins read waxed over a year, ageing by a known course."""
    rng = random.Random(8)
    for k in range(2):
        which = tile(studio, f"{kept}-{k}")
        agreed.hold_tile(studio, NewHolding(which, "studio", "twin", kept=kept))
        for days in (0, 7, 30, 90, 180, 365):
            done = 1 - math.exp(-days / TIME_DAYS)
            lab = tuple(b + s * done + rng.gauss(0, 0.1) for b, s in zip((25.0, 7.0, 10.0), AGED, strict=True))
            read(studio, which, lab, "waxed", "cold", days)


def test_as_delivered_of_an_old_cast(studio: Studio) -> None:
    """A cast read after 200 days is worked back by twins kept alike; the truth lies inside the interval."""
    twins(studio, "outdoors")
    casts.add_piece(studio, NewPiece("Dunlin"))
    casts.add_cast(studio, NewCast("W1", number="1/3", alloy="C87300"))
    casts.add_treatment(studio, NewTreatment("C1", "patinated and waxed", recipe="R1", done_on=START.date()))
    done = 1 - math.exp(-200 / TIME_DAYS)
    read(studio, "C1", tuple(b + s * done for b, s in zip((25.5, 7.0, 10.0), AGED, strict=True)), "waxed", "cold", 200)
    sheet = ageing.foretell(studio, "C1")
    assert sheet.delivered is not None and sheet.delivered.half_width is not None
    for truth, got, half in zip(
        (25.5, 7.0, 10.0),
        (sheet.delivered.lab.L, sheet.delivered.lab.a, sheet.delivered.lab.b),
        sheet.delivered.half_width,
        strict=True,
    ):
        assert abs(truth - got) <= half < 1.5
    (course,) = sheet.courses
    assert course.kept == "outdoors" and course.low_days < TIME_DAYS < course.high_days
    assert ageing.foretell(studio, "C1", kept="dark").delivered is None
    with pytest.raises(BadQuantity):
        ageing.foretell(studio, "C1", days=-1)


def test_a_stored_reading_from_delivery_goes_before_a_worked_back_one(studio: Studio) -> None:
    """Where the cast was read when it was finished, that reading is what it was."""
    twins(studio, "shelf")
    casts.agree_master(studio, NewMaster("D", (25.0, 7.0, 10.0), 2.0, recipe="R1", wax_state="waxed", warmth="cold"))
    casts.add_piece(studio, NewPiece("Dunlin"))
    casts.add_cast(studio, NewCast("W1", alloy="C87300", master="M1", cast_on=date(2024, 3, 1)))
    read(studio, "C1", (25.2, 7.0, 10.0), "waxed", "cold", 0.0)
    read(studio, "C1", (28.9, 6.1, 8.2), "waxed", "cold", 300.0)
    sheet = ageing.foretell(studio, "C1")
    assert sheet.delivered is not None and sheet.delivered.lab.L == 25.2 and sheet.delivered_words == "as read"
    assert sheet.master == "M1" and sheet.delta_e is not None and sheet.delta_e > 2


def test_predict_on_the_command_line(studio: Studio) -> None:
    """JSON with the final colour and its half-widths; a tile without a reading is told."""
    pairs(studio, 4)
    new = tile(studio, "new")
    with pytest.raises(NotFound):
        ageing.foretell(studio, new)
    read(studio, new, (30.0, 6.0, 9.0), "unwaxed", "cold")
    run = CliRunner()
    said = json.loads(run.invoke(patina, ["--studio", studio.where, "predict", new, "--json"]).output)
    assert said["final"]["lab"][0] == pytest.approx(27.0, abs=0.4)
    assert len(said["final"]["half_width"]) == 3
    assert "waxed and cold" in run.invoke(patina, ["--studio", studio.where, "predict", new]).output
