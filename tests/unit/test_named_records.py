"""Wherever a record is shown by its id, it is shown by its name too: on sheets, on paper, in answers of commands."""

from __future__ import annotations

from datetime import date

import pytest

from patina.bench.matched import agreed, reproduce, series
from patina.bench.matched.ageing import foretell
from patina.bench.matched.judging import judge
from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.commands.agreeing import agreed_text
from patina.commands.matching import verdict_text
from patina.entries import (
    NewBatch,
    NewCast,
    NewLot,
    NewMaster,
    NewPiece,
    NewReading,
    NewTile,
    NewTreatment,
    NewZone,
    Weighed,
)
from patina.reports.agreed_finish import agreed_document
from patina.reports.finish_record import done_table
from patina.reports.series_report import series_document
from tui.screens import matching_words, mix_words, record_words
from tui.screens.comparing import verdict_words

FINISH, SOLUTION = "Heron dark", "sulphide wash"


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Studio:
    """A cast with a finish that was agreed on a tile, both from one pot that was weighed from one lot."""
    with open_studio(tmp_path_factory.mktemp("named") / "studio") as studio:
        finishes.add_starters(studio)
        recipe = finishes.recipe_sheet(studio, "Torch sulphide brown")
        shelf.add_lot(studio, NewLot("liver of sulphur", 100.0, "g", lot_number="HY-2231"))
        weighed = (Weighed("liver of sulphur", 5.0, 5.0, "g", "L1"),)
        solution = recipe.recipe.solutions[0].name
        pot = batches.mix_batch(studio, NewBatch(recipe.id, 1, solution, 1000.0, weighed)).id
        tiles.start_tile(studio, NewTile("HM-1", "C87300", recipe=recipe.id, revision=1, batch=pot))
        finish = NewMaster(
            FINISH,
            (27.0, 6.5, 9.0),
            3.0,
            uncertainty_de00=0.5,
            tile="T1",
            recipe=recipe.id,
            wax_state="unwaxed",
            warmth="cold",
        )
        casts.agree_master(studio, finish)
        casts.add_piece(studio, NewPiece("Heron", edition=2))
        for number in ("1/2", "2/2"):
            casts.add_cast(studio, NewCast("W1", number=number, alloy="C87300", master="M1"))
        done = NewTreatment("C1", "coloured", recipe=recipe.id, revision=1, batch=pot, done_on=date(2026, 3, 2))
        casts.add_treatment(studio, done)
        for cast in ("C1", "C2"):
            tiles.add_reading(
                studio, cast, NewReading(27.5, 6.5, 9.0, uncertainty_de00=0.5, wax_state="unwaxed", warmth="cold")
            )
        for engraved, L in (("HM-light", 30.0), ("HM-dark", 25.0)):
            limit = tiles.start_tile(studio, NewTile(engraved, "C87300")).row.id
            tiles.add_reading(studio, limit, NewReading(L, 6.5, 9.0, wax_state="unwaxed", warmth="cold"))
        agreed.agree_zone(studio, NewZone("M1", "face", ("27.0,6.5,9.0",), light="T2", dark="T3"))
        yield studio


def _solution(studio: Studio) -> str:
    return batches.batch_sheet(studio, "B1").solution


def test_the_sheet_of_a_cast(house: Studio) -> None:
    """Its agreed finish, its piece, the recipe and the pot of each treatment."""
    told = record_words.cast_words(casts.cast_sheet(house, "C1")).plain
    assert f"M1 {FINISH}" in told
    assert f"pot B1 {_solution(house)}" in told
    assert "Torch sulphide brown" in told


def test_the_sheet_of_a_tile_and_of_a_finish(house: Studio) -> None:
    """A tile names its pot, a finish its tile and its recipe."""
    assert f"B1 {_solution(house)}" in record_words.tile_words(tiles.tile_sheet(house, "T1")).plain
    (finish,) = casts.list_masters(house)
    told = record_words.master_words(finish).plain
    assert "T1 HM-1" in told
    assert f"{finish.recipe_id} Torch sulphide brown" in told


def test_the_history_of_a_lot(house: Studio) -> None:
    """What was taken names the pot and what was in it."""
    told = record_words.lot_words(shelf.list_lots(house)[0], shelf.lot_movements(house, "L1")).plain
    assert f"(B1 {_solution(house)})" in told


def test_the_series_on_screen_and_on_paper(house: Studio) -> None:
    """The edition names the finish it is held against."""
    sheet = series.series(house, "W1")
    assert f"M1 {FINISH}" in matching_words.series_heading(sheet).plain
    assert f"M1 {FINISH}" in str(series_document(sheet, colour_of=lambda lab: "#000000", made_on=date(2026, 3, 3)))


def test_a_verdict_names_the_piece(house: Studio) -> None:
    """A verdict says which cast of what, against which finish."""
    verdict = judge(house, "M1", "C2")
    assert f"C2 Heron 2/2 against M1 {FINISH}" in verdict_words(verdict).plain.replace("\n", " ")
    assert f"C2 Heron 2/2 against M1 {FINISH}" in verdict_text(verdict)


def test_the_finish_record_on_paper(house: Studio) -> None:
    """The table of what was done and the facts of a tile name the pot."""
    assert f"B1 {_solution(house)}" in str(done_table(casts.cast_sheet(house, "C1").treatments))


def test_limit_tiles_of_a_zone(house: Studio) -> None:
    """On screen, in the answer of the command and on paper a limit tile is named by what is engraved on it."""
    sheet = agreed.agreed_sheet(house, "M1")
    told = (
        matching_words.agreed_words(sheet).plain,
        agreed_text(sheet),
        str(agreed_document(sheet, made_on=date(2026, 3, 3), colour_of=lambda lab: "#000000")),
    )
    for text in told:
        assert "T2 HM-light" in text and "T3 HM-dark" in text


def test_the_lot_that_a_pot_was_weighed_from(house: Studio) -> None:
    """A pot says of each substance the lot with the supplier's number."""
    (pot,) = batches.list_batches(house)
    assert pot.lot_name("L1") == "liver of sulphur HY-2231"
    assert "lot L1 liver of sulphur HY-2231" in mix_words.batch_words(pot).plain


def test_what_is_foretold_planned_and_traced(house: Studio) -> None:
    """A prediction, a plan and the causes of a miss say which cast of what they are about."""
    told = matching_words.prediction_words(foretell(house, "C1")).plain
    assert "C1 Heron 1/2" in told
    assert "C1 Heron 1/2" in matching_words.plan_words(reproduce.reproduce(house, "C1")).plain
    told = matching_words.cause_words(reproduce.causes(house, "C2", "C1")).plain
    assert "C2 Heron 2/2 against C1 Heron 1/2" in told.replace("\n", " ")
