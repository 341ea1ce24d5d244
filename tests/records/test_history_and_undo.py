"""Who did what, with every field; what a person did is taken back by a new deed, never by erasing."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import text

from patina.bench import upkeep
from patina.bench.finding import search
from patina.bench.history import deeds_on, undo, withdraw_reading
from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.entries import NewCast, NewLot, NewMaster, NewPiece, NewReading, NewTile, NewTreatment
from patina.errors import NotFound, Refused
from patina.recipe import Recipe


def counts(studio: Studio) -> int:
    """How many changes the log holds."""
    with studio.store.view() as session:
        return int(session.execute(text("SELECT n FROM chain_head")).scalar_one())


def test_the_history_of_a_tile_says_who_when_why_and_each_field(full: Studio) -> None:
    """A change is told field by field in the trade's words with units; what belongs to the tile is told with it."""
    tiles.change_tile(full, "T1", NewTile("A1", "C87300", wall_mm=4.5, recipe="R1", revision=2), by="Ida", version=1)
    told = deeds_on(full, "t1")
    first = told[0]
    assert (first.by, first.deed) == ("Ida", "change tile")
    fields = {f.words: (f.before, f.after) for f in first.alterations[0].fields}
    assert fields["wall"] == ("3 mm", "4.5 mm")
    assert fields["recipe"] == ("R1 revision 1", "R1 revision 2")
    assert {a.kind for deed in told for a in deed.alterations} >= {"test tile", "reading", "photograph of it"}
    assert [deed.last for deed in told] == sorted((deed.last for deed in told), reverse=True)


def test_the_history_of_a_recipe_compares_its_revisions(full: Studio, brown: Recipe) -> None:
    """A new revision is told by what it says otherwise than the one before: strengths as they were written."""
    from patina.chemistry.strength import parse_strength

    wash = brown.solutions[0]
    stronger = replace(wash, ingredients=(replace(wash.ingredients[0], strength=parse_strength("8 g/L")),))
    now = finishes.recipe_sheet(full, "R1").recipe
    finishes.revise_recipe(full, "R1", replace(now, solutions=(stronger, *now.solutions[1:])), reason="too pale")
    (revised, *_) = deeds_on(full, "R1")
    assert revised.why == "too pale"
    fields = {f.words: (f.before, f.after) for a in revised.alterations for f in a.fields}
    assert fields["sulphide wash, liver of sulphur"] == ("5 g/L", "8 g/L")
    assert not any("step" in words for words in fields)


def test_history_of_the_whole_studio_and_of_nothing(full: Studio) -> None:
    """Without an id every deed is told, the newest first; an id that is none is refused."""
    assert deeds_on(full)[0].deed == "change cast"
    assert len(deeds_on(full, limit=3)) == 3
    with pytest.raises(NotFound):
        deeds_on(full, "T99")


# deed -> what a person sees of it
def _tile(studio: Studio) -> object:
    return [replace(row, readings=0) for row in tiles.list_tiles(studio)]


def _lots(studio: Studio) -> object:
    return [replace(row, version=0) for row in shelf.list_lots(studio)]


DEEDS: list[tuple[str, Callable[[Studio], object], Callable[[Studio], object]]] = [
    ("start a tile", lambda s: tiles.start_tile(s, NewTile("B7", "C83600")), _tile),
    ("change a tile", lambda s: tiles.change_tile(s, "T1", NewTile("Z9", "C83600")), _tile),
    ("add a piece", lambda s: casts.add_piece(s, NewPiece("Heron")), lambda s: casts.list_pieces(s)),
    ("add a cast", lambda s: casts.add_cast(s, NewCast("W1", "7/9", "C87300")), lambda s: casts.list_casts(s)),
    (
        "change a cast",
        lambda s: casts.change_cast(s, "C1", NewCast("W1", "5/9", "C87300", owner="Ona")),
        lambda s: casts.list_casts(s),
    ),
    ("agree", lambda s: casts.agree_master(s, NewMaster("x", (30, 5, 6), 2)), lambda s: casts.list_masters(s)),
    ("take from a lot", lambda s: shelf.take_from_lot(s, "L1", 20.0, "g", "spilt"), _lots),
    ("count a lot", lambda s: shelf.count_lot(s, "L1", 20.0, "g"), _lots),
    ("use a pot", lambda s: batches.use_from_batch(s, "B1", 100, "test"), lambda s: batches.list_batches(s)[0].left_ml),
]


@pytest.mark.parametrize(("name", "do", "see"), DEEDS, ids=[d[0] for d in DEEDS])
def test_undo_and_redo(full: Studio, name: str, do: Callable[..., object], see: Callable[..., object]) -> None:
    """After undo it is as before, after redo as after the deed; the log only grows and everything checks clean."""
    before, n = see(full), counts(full)
    do(full)
    after, done = see(full), counts(full)
    assert before != after
    undo(full)
    assert see(full) == before
    undo(full, redo=True)
    assert see(full) == after
    undo(full)
    assert see(full) == before
    assert n < done < counts(full)
    assert upkeep.check(full).problems == ()


def test_a_revision_is_taken_back_by_a_new_one(full: Studio) -> None:
    """The recipe says again what it said; its revisions go on, and none is gone."""
    old = finishes.recipe_sheet(full, "R1").recipe
    finishes.revise_recipe(full, "R1", replace(old, name="Quay brown", texture=1.7), reason="try")
    undo(full)
    sheet = finishes.recipe_sheet(full, "R1")
    assert sheet.recipe == old
    assert sheet.revision == 4
    assert next(iter(search.find_records(full, "harbour"))).id == "R1"
    undo(full, redo=True)
    assert finishes.recipe_sheet(full, "R1").recipe.name == "Quay brown"
    assert upkeep.check(full).problems == ()


def test_a_lot_taken_back_stays_with_nothing_in_it(full: Studio) -> None:
    """Movements are never taken out: the lot is emptied by another one, and filled again by the redo."""
    shelf.add_lot(full, NewLot("silver nitrate", 25.0))
    undo(full)
    assert shelf.lot_row(full, "L2").left == 0.0
    undo(full, redo=True)
    assert shelf.lot_row(full, "L2").left == 25.0
    assert upkeep.check(full).problems == ()


def test_a_photograph_is_taken_back_and_put_back(full: Studio, tmp_path: Path) -> None:
    """Its record goes and comes again under its own number; its file stays."""
    from PIL import Image

    Image.new("RGB", (64, 64), (10, 90, 60)).save(tmp_path / "one.png")
    tiles.add_photograph(full, "T1", tmp_path / "one.png")
    undo(full)
    assert len(tiles.tile_sheet(full, "T1").photographs) == 1
    undo(full, redo=True)
    assert len(tiles.tile_sheet(full, "T1").photographs) == 2
    assert upkeep.check(full).problems == ()


def test_undo_goes_further_back_deed_by_deed(full: Studio) -> None:
    """A second undo takes back the deed before, not the first undo."""
    tiles.start_tile(full, NewTile("B1", "C87300"))
    tiles.start_tile(full, NewTile("B2", "C87300"))
    undo(full)
    undo(full)
    assert [row.engraved for row in tiles.list_tiles(full)] == ["A1"]


def test_a_number_is_never_given_twice(full: Studio) -> None:
    """A tile begun after one that was taken back has a number of its own."""
    tiles.start_tile(full, NewTile("B1", "C87300"))
    undo(full)
    assert tiles.start_tile(full, NewTile("B2", "C87300")).row.id == "T3"
    assert upkeep.check(full).problems == ()


def test_each_takes_back_what_is_theirs(full: Studio) -> None:
    """The last deed of a person is meant, whatever others did since."""
    tiles.start_tile(full, NewTile("mine", "C87300", made_by="Ida"))
    tiles.start_tile(full, NewTile("hers", "C87300", made_by="Oda"))
    undo(full, by="Ida")
    assert {row.engraved for row in tiles.list_tiles(full)} == {"A1", "hers"}
    with pytest.raises(NotFound, match="by Ida"):
        undo(full, by="Ida")


def test_what_something_hangs_on_is_not_taken_back(full: Studio) -> None:
    """The sentence names what hangs on it; nothing is changed."""
    tiles.start_tile(full, NewTile("B1", "C87300", made_by="Ida"))
    tiles.add_reading(full, "T2", NewReading(30, 5, 6, read_by="Oda"))
    n = counts(full)
    with pytest.raises(Refused, match="reading"):
        undo(full, by="Ida")
    assert counts(full) == n
    casts.change_cast(full, "C1", NewCast("W1", "5/9", "C87300"), by="Ida")
    casts.change_cast(full, "C1", NewCast("W1", "6/9", "C87300"), by="Oda")
    with pytest.raises(Refused, match="changed since by Oda"):
        undo(full, by="Ida")


FOR_GOOD = [
    (lambda s, r: finishes.save_recipe(s, replace(r, name="new one")), "Revise the recipe"),
    (lambda s, r: tiles.add_reading(s, "T1", NewReading(30, 5, 6)), "Withdraw the reading"),
    (lambda s, r: casts.add_treatment(s, NewTreatment("C1", "waxed")), "other work"),
]


@pytest.mark.parametrize(("do", "way"), FOR_GOOD)
def test_what_is_on_record_for_good_names_the_way(full: Studio, brown: Recipe, do: object, way: str) -> None:
    """Rows that are never taken out are refused with the way to correct them."""
    do(full, brown)  # type: ignore[operator]
    with pytest.raises(Refused) as refused:
        undo(full)
    assert way in refused.value.remedy


def test_a_reading_is_withdrawn_and_counts_nowhere(full: Studio) -> None:
    """The tile's newest colour is that of the newest reading that still counts; the history keeps the reason."""
    tiles.add_reading(full, "T1", NewReading(90, 0, 0))
    assert tiles.tile_sheet(full, "T1").row.lab.L == 90  # type: ignore[union-attr]
    withdraw_reading(full, "D4", "white card lay on it", by="Ida")
    sheet = tiles.tile_sheet(full, "T1")
    assert sheet.row.lab.L == 29  # type: ignore[union-attr]
    assert (sheet.row.readings, [r.id for r in sheet.readings]) == (3, ["D3", "D2", "D1"])
    newest = deeds_on(full, "T1")
    assert any("D4" in {a.record for a in deed.alterations} for deed in newest)
    assert deeds_on(full, "D4")[0].why == "white card lay on it"
    assert upkeep.check(full).problems == ()
    with pytest.raises(Refused, match="already"):
        withdraw_reading(full, "D4", "again")
    with pytest.raises(Refused, match="not said why"):
        withdraw_reading(full, "D3", " ")


def test_an_undo_is_not_done_twice(full: Studio) -> None:
    """A deed of the log that was taken back already is refused by its number."""
    tiles.start_tile(full, NewTile("B1", "C87300"))
    n = deeds_on(full, "T2")[0].last
    undo(full, change=n)
    with pytest.raises(Refused, match="already"):
        undo(full, change=n)


def test_random_deeds_and_undos(full_folder: Path, tmp_path: Path) -> None:
    """Whatever is done and taken back in whatever order, everything checks clean at the end."""
    import random

    for seed in range(3):
        chance = random.Random(seed)
        shutil.copytree(full_folder, tmp_path / str(seed))
        with open_studio(tmp_path / str(seed)) as studio:
            for _ in range(25):
                try:
                    if chance.random() < 0.5:
                        chance.choice(DEEDS)[1](studio)
                    else:
                        undo(studio, redo=chance.random() < 0.4)
                except (Refused, NotFound):
                    continue
            assert upkeep.check(studio).problems == ()
