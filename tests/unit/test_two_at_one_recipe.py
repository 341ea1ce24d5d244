"""Two people at one recipe: the second is told, shown the difference and settles it; no text is lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from secret_studio import SECRET

from patina.bench import upkeep
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import conflicts, finishes
from patina.bench.recipes.conflicts_merge import differences, merged
from patina.bench.studio import Studio, open_studio
from patina.chemistry.strength import parse_strength
from patina.chemistry.substances import catalogue
from patina.entries import NewCast, NewPiece, NewTile
from patina.errors import Changed, Conflict, NotFound, Refused
from patina.recipe import Ingredient, Recipe

NOTE = replace(SECRET.steps[3], note="two thin coats")
MINE = replace(SECRET, steps=(*SECRET.steps[:3], NOTE))
STRONGER = replace(SECRET.solutions[0], ingredients=(Ingredient("liver_of_sulphur", parse_strength("9 g/L")),))
THEIRS = replace(SECRET, solutions=(STRONGER, SECRET.solutions[1]))


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    """A studio with one recipe, of which somebody has made revision 2 meanwhile."""
    with open_studio(tmp_path / "studio") as opened:
        finishes.save_recipe(opened, SECRET)
        finishes.revise_recipe(opened, "R1", THEIRS, reason="too light", by="Jon", version=1, based_on=1)
        yield opened


def _met(studio: Studio, recipe: Recipe = MINE) -> str:
    with pytest.raises(Conflict, match="Jon revised") as trouble:
        finishes.revise_recipe(studio, "R1", recipe, reason="wax ran", by="Ada", version=1, based_on=1)
    return trouble.value.draft


def test_the_second_is_told_and_the_text_is_kept(studio: Studio) -> None:
    """The recipe is as the first left it; the second's text and reason wait on record, in the log as well."""
    draft = _met(studio)
    assert finishes.recipe_sheet(studio, "R1").recipe == THEIRS
    (row,) = conflicts.list_drafts(studio)
    assert (row.id, row.by, row.reason, row.based_on, row.met) == (draft, "Ada", "wax ran", 1, 2)
    assert conflicts.conflict_sheet(studio, draft).mine == MINE
    assert upkeep.check(studio).problems == ()


def test_the_difference_is_shown_field_by_field(studio: Studio) -> None:
    """Before, mine and theirs of each field that is not alike in all three, and whether they clash."""
    sheet = conflicts.conflict_sheet(studio, _met(studio))
    told = {d.field: (d.before, d.mine, d.theirs, d.who, d.clash) for d in sheet.differences}
    assert told == {
        "solution 'sulphide wash', liver of sulphur": ("7.31 g/L", "7.31 g/L", "9 g/L", "theirs", False),
        "step 4": ("wax. thin", "wax. two thin coats", "wax. thin", "mine", False),
    }
    assert (sheet.by, sheet.reason, sheet.my_reason, sheet.based_on, sheet.met) == ("Jon", "too light", "wax ran", 1, 2)


def test_merged_holds_both(studio: Studio) -> None:
    """Both changes become the next revision; the text no longer waits."""
    made = conflicts.settle(studio, _met(studio), "merged", by="Ada")
    assert made.revision == 3
    assert made.recipe == replace(THEIRS, steps=MINE.steps)
    assert made.reason == "wax ran"
    assert conflicts.list_drafts(studio) == ()


def test_mine_goes_on_top_and_theirs_stays_below(studio: Studio) -> None:
    """My text as revision 3, theirs still there as 2."""
    made = conflicts.settle(studio, _met(studio), "mine", reason="mine after all")
    assert (made.revision, made.recipe, made.reason) == (3, MINE, "mine after all")
    assert finishes.recipe_sheet(studio, "R1", 2).recipe == THEIRS


def test_theirs_leaves_the_recipe_and_keeps_my_text_on_record(studio: Studio) -> None:
    """No new revision; the text does not wait any more and is still in the log."""
    draft = _met(studio)
    assert conflicts.settle(studio, draft, "theirs").revision == 2
    assert conflicts.list_drafts(studio) == ()
    assert any("two thin coats" in str(c.after) for c in upkeep.history(studio, draft))
    with pytest.raises(Refused, match="settled already"):
        conflicts.settle(studio, draft, "mine")


def test_a_clash_cannot_be_merged_by_itself(studio: Studio) -> None:
    """Both changed one strength: it is marked, merging is refused with its name, nothing changes; a text out of
    both settles it."""
    weaker = replace(SECRET.solutions[0], ingredients=(Ingredient("liver_of_sulphur", parse_strength("3 g/L")),))
    draft = _met(studio, replace(MINE, solutions=(weaker, SECRET.solutions[1])))
    sheet = conflicts.conflict_sheet(studio, draft)
    assert sheet.merged is None
    assert [d.field for d in sheet.differences if d.clash] == ["solution 'sulphide wash', liver of sulphur"]
    with pytest.raises(Refused, match="liver of sulphur"):
        conflicts.settle(studio, draft, "merged")
    assert finishes.recipe_sheet(studio, "R1").revision == 2
    both = replace(THEIRS, steps=MINE.steps, reserve=0.3)
    assert conflicts.settle(studio, draft, "mine", recipe=both, met=2).recipe == both


def test_one_more_revision_meanwhile_is_told_again(studio: Studio) -> None:
    """Who settles by what was shown before a third revision came is told, and nothing is done."""
    draft = _met(studio)
    finishes.revise_recipe(studio, "R1", replace(THEIRS, texture=1.4), reason="rougher", by="Tom")
    with pytest.raises(Changed, match="once more"):
        conflicts.settle(studio, draft, "mine", met=2)
    assert conflicts.settle(studio, draft, "merged", met=3).recipe.texture == 1.4
    with pytest.raises(NotFound):
        conflicts.conflict_sheet(studio, "RD9")


def test_an_edited_file_meets_nobody_unseen(studio: Studio, tmp_path: Path) -> None:
    """A file says which revision it was written on; taken in over a newer one it waits instead of going over it."""
    text = finishes.export_recipe(studio, "R1", 1)
    assert "based_on = 1" in text
    file = tmp_path / "mine.toml"
    file.write_text(text.replace('note = "thin"', 'note = "two thin coats"'), "utf-8")
    with pytest.raises(Conflict) as trouble:
        finishes.import_files(studio, [file])
    assert finishes.recipe_sheet(studio, "R1").revision == 2
    assert conflicts.settle(studio, trouble.value.draft, "merged").recipe == replace(THEIRS, steps=MINE.steps)
    fresh = finishes.export_recipe(studio, "R1").replace("two thin coats", "one coat")
    file.write_text(fresh, "utf-8")
    assert finishes.import_files(studio, [file]) == ("House brown",)
    assert finishes.recipe_sheet(studio, "R1").revision == 4
    file.write_text(fresh.replace("based_on = 3", "based_on = 12"), "utf-8")
    with pytest.raises(Refused, match="revision 12"):
        finishes.import_files(studio, [file])


@pytest.mark.parametrize("change", [
    lambda s: tiles.change_tile(s, "T1", NewTile("A1", "C87300", note="mine"), version=1),
    lambda s: casts.change_cast(s, "C1", NewCast("W1", "1/3", "C87300", note="mine"), version=1),
])  # fmt: skip
def test_other_records_tell_what_was_changed(studio: Studio, change: Callable[[Studio], object]) -> None:
    """Who changed which field of a tile or cast meanwhile, from what to what, is said; theirs stands."""
    tiles.start_tile(studio, NewTile("A1", "C87300"))
    casts.add_piece(studio, NewPiece("Grey seal"))
    casts.add_cast(studio, NewCast("W1", "1/3", "C87300"))
    tiles.change_tile(studio, "T1", NewTile("A1", "C87300", note="theirs"), version=1, by="Jon")
    casts.change_cast(studio, "C1", NewCast("W1", "1/3", "C87300", note="theirs"), version=1, by="Jon")
    with pytest.raises(Changed, match=r"by Jon\. note: nothing → 'theirs'"):
        change(studio)
    assert tiles.tile_sheet(studio, "T1").note == casts.cast_sheet(studio, "C1").note == "theirs"


_STRENGTHS = st.sampled_from(["7.31 g/L", "5 g/L", "9 g/L"])


@st.composite
def _edited(draw: st.DrawFn) -> Recipe:
    wash = Ingredient("liver_of_sulphur", parse_strength(draw(_STRENGTHS)))
    ferric = Ingredient("ferric_nitrate_9h2o", parse_strength(draw(st.sampled_from(["2.83 % w/v", "4 % w/v"]))))
    first, second = SECRET.solutions
    solutions = (replace(first, ingredients=(wash,)), replace(second, ingredients=(ferric,)))
    steps = list(SECRET.steps)
    steps[1] = replace(steps[1], passes=draw(st.sampled_from([4, 6])))
    if draw(st.booleans()):
        steps.pop()
    return replace(
        SECRET, solutions=solutions[: draw(st.sampled_from([2, 2, 1]))], steps=tuple(steps),
        reserve=draw(st.sampled_from([0.619, 0.2])),
    )  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(_edited(), _edited())
def test_laying_together_loses_no_change(mine: Recipe, theirs: Recipe) -> None:
    """Merging is the same from both sides; where it can be done each field is one of the two that changed it, where
    it cannot, some field clashes. With one side unchanged the other is the result."""
    both, again = merged(SECRET, mine, theirs), merged(SECRET, theirs, mine)
    assert both == again
    assert merged(SECRET, mine, SECRET) == mine == merged(SECRET, mine, mine)
    told = differences(SECRET, mine, theirs, catalogue())
    if both is None:
        assert any(d.clash for d in told)
    else:
        for d in differences(SECRET, mine, both, catalogue()):
            assert d.mine == d.theirs or d.before == d.mine
