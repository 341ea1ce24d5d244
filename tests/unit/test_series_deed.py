"""An edition cast by cast: register, order, charts, alarms, changes, what casts share, what few casts prove."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from patina.bench.matched import making, series
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.studio import Studio, open_studio
from patina.cli import patina
from patina.entries import NewCast, NewMaster, NewPiece, NewReading, NewTreatment
from patina.errors import BadQuantity, NotFound

MASTER = (26.0, 7.0, 10.0)


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    """An edition of nine with an agreed finish."""
    with open_studio(tmp_path / "studio") as opened:
        casts.agree_master(
            opened, NewMaster("Tern", MASTER, 2.0, uncertainty_de00=0.3, wax_state="waxed", warmth="cold")
        )
        casts.add_piece(opened, NewPiece("Tern", edition=9))
        yield opened


def cast(studio: Studio, n: int, lab: tuple[float, float, float], *, on: int | None = None, hand: str = "Ada") -> str:
    """A cast read waxed and cold by five spots."""
    day = date(2026, 1, 1) + timedelta(days=30 * (n if on is None else on))
    row = casts.add_cast(studio, NewCast("W1", number=f"{n}/9", alloy="C87300", master="M1", cast_on=day))
    casts.add_treatment(studio, NewTreatment(row.row.id, "patinated", done_on=day, done_by=hand))
    tiles.add_reading(
        studio,
        row.row.id,
        NewReading(
            *lab,
            source="instrument",
            sd=(0.3, 0.2, 0.2),
            n=5,
            uncertainty_de00=0.4,
            wax_state="waxed",
            warmth="cold",
            area="back",
        ),
    )
    return row.row.id


def test_a_steady_drift_is_told_and_the_verdicts_follow(studio: Studio) -> None:
    """0.9 darker with each cast: an alarm of drift, with its size and cast; late casts do not pass."""
    noise = (0.1, -0.15, 0.05, 0.1, -0.1, 0.0)
    for n, away in enumerate(noise, 1):
        cast(studio, n, (26.9 - 0.9 * n + away, 7.0 - away, 10.0 + away))
    sheet = series.series(studio, "Tern")
    assert [a.kind for a in sheet.alarms] == ["drift"]
    assert sheet.alarms[0].per_cast[0] == pytest.approx(-0.9, abs=0.1)
    assert sheet.casts[0].verdict == "pass" and sheet.casts[-1].verdict == "fail"
    assert sheet.not_on_record == ("7/9", "8/9", "9/9")
    assert sheet.charts[0].centre == 26.0
    assert sheet.widest_de is not None and sheet.widest_de > 3 and not sheet.widest_inside


def test_three_casts_prove_nothing(studio: Studio) -> None:
    """A tolerance interval from three casts says that they prove nothing; limits are provisional."""
    for n, L in ((1, 26.0), (2, 26.4), (3, 25.8)):
        cast(studio, n, (L, 7.0, 10.0 + n / 10))
    sheet = series.series(studio, "W1")
    assert sheet.charts[0].provisional
    assert "prove nothing" in sheet.intervals[0].words
    assert sheet.intervals[0].factor == pytest.approx(9.79, abs=0.01)  # n = 3, 95/95
    assert not sheet.alarms


def test_order_by_number_or_by_date(studio: Studio) -> None:
    """2/9 cast before 1/9 stands after it by number and before it by date; proofs come last by number."""
    cast(studio, 2, MASTER, on=1)
    cast(studio, 1, MASTER, on=2)
    casts.add_cast(studio, NewCast("W1", number="AP 1"))
    assert [c.label for c in series.series(studio, "Tern").casts] == ["1/9", "2/9", "AP 1"]
    assert [c.label for c in series.series(studio, "Tern", order="date").casts] == ["2/9", "1/9", "AP 1"]
    with pytest.raises(BadQuantity):
        series.series(studio, "Tern", order="weight")
    with pytest.raises(NotFound):
        series.series(studio, "Tern", zone="face")


def test_changes_are_marked_and_what_is_shared_is_said(studio: Studio) -> None:
    """Where the hand or the blast changed the chart is marked; what was not written down is named."""
    for n, hand in ((1, "Ada"), (2, "Ada"), (3, "Bo")):
        cast(studio, n, MASTER, hand=hand)
    making.note_facts(studio, "C2", {"blast": "glass bead, new"})
    making.note_facts(studio, "C3", {"blast": "glass bead, used", "weld rod": "same as cast"})
    sheet = series.series(studio, "Tern")
    assert (2, "hand: Ada → Bo") in sheet.changes
    assert any(i == 2 and "bead, used" in what for i, what in sheet.changes)
    last = sheet.shared[-1]
    assert (last.before, last.cast) == ("2/9", "3/9")
    assert "alloy of the cast" in last.same and "hand" in last.tiles
    assert "water" in last.blank


def test_other_editions_of_the_recipe_lend_their_spread(studio: Studio) -> None:
    """With earlier editions of the same recipe the spread is theirs, and a jump is told at once."""
    from patina.bench.recipes import finishes

    finishes.add_starters(studio)
    recipe = finishes.list_recipes(studio)[0].id
    for k, (title, master) in enumerate((("Plover", "M2"), ("Knot", "M3"), ("Ruff", "M4"))):
        casts.agree_master(
            studio, NewMaster(title, MASTER, 2.0, uncertainty_de00=0.3, recipe=recipe, wax_state="waxed", warmth="cold")
        )
        casts.add_piece(studio, NewPiece(title, edition=5))
        last = k == 2
        values = (26.0, 26.3, 25.9, 32.0) if last else (26.0, 26.4, 25.7, 26.2, 25.9)
        for n, L in enumerate(values, 1):
            row = casts.add_cast(studio, NewCast(title, number=f"{n}/5", master=master))
            tiles.add_reading(
                studio,
                row.row.id,
                NewReading(
                    L,
                    7.0 + 0.1 * n,
                    10.0 - 0.1 * n,
                    n=5,
                    sd=(0.3, 0.2, 0.2),
                    uncertainty_de00=0.4,
                    wax_state="waxed",
                    warmth="cold",
                ),
            )
    sheet = series.series(studio, "Ruff")
    assert sheet.spread_from == "2 other editions of this recipe"
    assert [(a.kind, sheet.labels[a.index]) for a in sheet.alarms if a.kind == "jump"] == [("jump", "4/5")]


def test_variation_is_split_between_spots_and_casts(studio: Studio) -> None:
    """Means of five spots with their spread split as the single readings would: NIST handbook 7.4.3, by hand.

    Three casts with means 25, 26, 27 and spread 0.5 of 5 spots: MS within 0.25, MS between 5, so casts vary by
    the root of (5 - 0.25) / 5 = 0.97.
    """
    for n, L in ((1, 25.0), (2, 26.0), (3, 27.0)):
        casts.add_cast(studio, NewCast("W1", number=f"{n}/9", master="M1"))
        tiles.add_reading(
            studio,
            f"C{n}",
            NewReading(L, 7.0, 10.0, n=5, sd=(0.5, 0.2, 0.2), uncertainty_de00=0.6, wax_state="waxed", warmth="cold"),
        )
    split = series.series(studio, "Tern").variation[0]
    assert split == (
        "L*: gauge not known; within a piece 0.50 (df 12), the gauge included; "
        "between pieces 0.97 (df 2, too few pieces to rely on)."
    )


def test_a_piece_without_readings_says_how_a_series_begins(studio: Studio) -> None:
    """Nothing read: no chart, and a sentence."""
    casts.add_cast(studio, NewCast("W1", number="1/9"))
    sheet = series.series(studio, "Tern")
    assert sheet.charts == () and "two casts" in sheet.words[-1]


def test_series_on_the_command_line(studio: Studio) -> None:
    """JSON with a chart for each of L*, a*, b*; text with the charts drawn."""
    for n, L in ((1, 26.0), (2, 26.6), (3, 25.7)):
        cast(studio, n, (L, 7.0, 10.0))
    run = CliRunner()
    said = json.loads(run.invoke(patina, ["--studio", studio.where, "series", "Tern", "--json"]).output)
    assert [c["of"] for c in said["charts"]] == ["L*", "a*", "b*"]
    assert said["casts"][1]["to_before_delta_e"] > 0
    text = run.invoke(patina, ["--studio", studio.where, "series", "Tern"]).output
    assert "●" in text and "┄" in text and "3/9" in text
