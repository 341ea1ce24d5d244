"""Releasing a recipe for work on pieces: who answers for what, what blocks it, what a pot may be used for.

The clock of ammoniacal silver follows the published warnings (key AGN of the bibliography: a histology page on
silver stains, and a letter in Chemical and Engineering News, 8 January 1996): use at once, throw away the same day.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from patina.bench import upkeep
from patina.bench.pots import batches, pot_rules
from patina.bench.recipes import finishes, releases
from patina.bench.studio import Studio, open_studio
from patina.chemistry.strength import parse_strength
from patina.chemistry.substances import catalogue
from patina.entries import NewBatch, Weighed
from patina.errors import Incomplete, NotFound, Refused
from patina.recipe import Ingredient, Recipe, Solution, Step

REASON = "the sulphide is rinsed off with running water before the ferric comes to the bench"


def _solution(name: str, *parts: tuple[str, str]) -> Solution:
    return Solution(name, "distilled_water", tuple(Ingredient(k, parse_strength(s)) for k, s in parts))


def _recipe(name: str, *solutions: Solution) -> Recipe:
    steps = tuple(
        Step("apply", solution=s.name, method="cold brush", coverage_ml_per_m2=40.0, surface_temperature_c=(15, 25))
        for s in solutions
    )
    return Recipe(name, "brown", ("C87300",), "own tiles", solutions, steps)


SULPHIDE = _solution("sulphide", ("liver_of_sulphur", "5 g/L"))
FERRIC = _solution("ferric", ("ferric_nitrate_9h2o", "20 g/L"))
PLAIN = _recipe("Plain salt", _solution("salt", ("sodium_chloride", "5 g/L")))
TWO = _recipe("Sulphide and ferric", SULPHIDE, FERRIC)
SILVER = _recipe("Silver black", _solution("silver", ("silver_nitrate", "5 g/L"), ("ammonia_solution", "10 g/L")))


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three recipes: R1 plain, R2 with pots that must not meet, R3 ammoniacal silver."""
    where = tmp_path_factory.mktemp("release") / "studio"
    with open_studio(where) as opened:
        for recipe in (PLAIN, TWO, SILVER):
            finishes.save_recipe(opened, recipe)
    return where


@pytest.fixture
def studio(template: Path, tmp_path: Path) -> Iterator[Studio]:
    """A copy of it, open."""
    shutil.copytree(template, tmp_path / "studio")
    with open_studio(tmp_path / "studio") as opened:
        yield opened


def answer_all(studio: Studio, which: str) -> dict[str, str]:
    """A reason for every critical danger."""
    return {str(d.number): REASON for d in releases.release_state(studio, which).dangers}


def test_a_new_recipe_is_a_draft(studio: Studio) -> None:
    """Nothing is released by itself, however harmless."""
    state = releases.release_state(studio, "R1")
    assert (state.state, state.released, state.dangers, state.blocks) == ("draft", False, (), ())
    assert "test tiles only" in state.words
    assert state.caution


def test_a_harmless_recipe_is_released_by_a_named_person(studio: Studio) -> None:
    """A name is asked for; then it is released, once."""
    with pytest.raises(Refused, match="Nobody is named"):
        releases.release(studio, "R1")
    state = releases.release(studio, "R1", by="Ada Ness")
    assert state.state == "released" and "Ada Ness" in state.words
    with pytest.raises(Refused, match="released already"):
        releases.release(studio, "R1", by="Ada Ness")
    assert upkeep.check(studio).ok


def test_critical_dangers_block_until_each_is_answered(studio: Studio) -> None:
    """Sulphide and an acid salt on one bench: no release before a reason for every critical danger stands there."""
    state = releases.release_state(studio, "R2")
    assert state.dangers and all(d.danger.level == "critical" for d in state.dangers)
    assert any("hydrogen sulphide" in line for line in state.blocks)
    with pytest.raises(Refused, match="cannot be released"):
        releases.release(studio, "R2", by="Ada Ness")
    answers = answer_all(studio, "R2")
    first, *others = answers
    if others:
        with pytest.raises(Refused, match="cannot be released"):
            releases.release(studio, "R2", by="Ada Ness", answers={first: REASON})
        assert not releases.release_state(studio, "R2").dangers[0].answered, "a refused release keeps nothing"
    state = releases.release(studio, "R2", by="Ada Ness", answers=answers, note="seen on three tiles")
    assert state.released and not state.open
    assert {(a.by, a.reason, a.revision) for d in state.dangers for a in d.answers} == {("Ada Ness", REASON, 1)}
    assert state.history[-1].note == "seen on three tiles"


@pytest.mark.parametrize("reason", ["", "ok", "it's fine", "  "])
def test_a_reason_that_says_nothing_is_none(studio: Studio, reason: str) -> None:
    """One or two words are not a reason that somebody else could judge; nothing is kept."""
    with pytest.raises(Refused, match="does not say why"):
        releases.answer_danger(studio, "R2", "1", reason, by="Ada Ness")
    assert not releases.release_state(studio, "R2").dangers[0].answers


def test_all_wrong_answers_are_told_at_once(studio: Studio) -> None:
    """Each with its field; a danger that is not there is one of them."""
    with pytest.raises(Incomplete) as trouble:
        releases.release(studio, "R2", by="Ada Ness", answers={"1": "no", "99": REASON})
    assert [t.field for t in trouble.value.troubles] == ["answer1", "answer99"]
    with pytest.raises(NotFound, match="99"):
        releases.answer_danger(studio, "R2", "99", REASON, by="Ada Ness")


def test_answers_are_history(studio: Studio) -> None:
    """A second answer stands beside the first; a new revision begins as a draft and shows what was said before."""
    releases.answer_danger(studio, "R2", "1", REASON, by="Ada Ness")
    releases.answer_danger(studio, "R2", "1", "the sulphide pot stands in the other room", by="Ben Orr")
    danger = releases.release_state(studio, "R2").dangers[0]
    assert [a.by for a in danger.answers] == ["Ada Ness", "Ben Orr"]
    releases.release(studio, "R2", by="Ada Ness", answers=answer_all(studio, "R2"))
    finishes.revise_recipe(studio, "R2", replace(TWO, texture=1.3), reason="rougher blast")
    later = releases.release_state(studio, "R2")
    assert (later.revision, later.state) == (2, "draft")
    assert not later.dangers[0].answered and "Ada Ness" in {a.by for a in later.dangers[0].earlier}
    assert releases.release_state(studio, "R2", 1).released, "the revision that was released stays so"


def test_a_release_is_taken_back(studio: Studio) -> None:
    """With a reason and a name; then it is for tiles only again, and can be released again."""
    with pytest.raises(Refused, match="is not released"):
        releases.withdraw(studio, "R1", "a cast went green", by="Ada Ness")
    releases.release(studio, "R1", by="Ada Ness")
    with pytest.raises(Refused, match="not said why"):
        releases.withdraw(studio, "R1", " ", by="Ada Ness")
    state = releases.withdraw(studio, "R1", "a cast went green", by="Ben Orr")
    assert state.state == "withdrawn" and "Ben Orr" in state.words
    assert releases.release(studio, "R1", by="Ada Ness").released
    assert [e.released for e in releases.release_state(studio, "R1").history] == [True, False, True]
    assert upkeep.check(studio).ok


def test_a_substance_without_hazard_information_blocks_whatever_is_said(studio: Studio) -> None:
    """Unknown is not harmless: no reason lifts it, and a release given before lapses."""
    releases.release(studio, "R1", by="Ada Ness")
    salt = catalogue().get("sodium_chloride")
    studio.add_substance(replace(salt, hazard_basis="unknown", hazards=()))
    state = releases.release_state(studio, "R1")
    assert state.state == "lapsed" and not state.released and state.unknown == (salt.name,)
    with pytest.raises(Refused, match="no hazard information"):
        releases.release(studio, "R1", by="Ada Ness", answers=answer_all(studio, "R1"))
    with pytest.raises(Refused, match="not released for work"):
        batches.mix_batch(studio, NewBatch("R1", 1, "salt", 500.0, purpose="work"))


def test_an_unreleased_recipe_is_mixed_for_tiles_only(studio: Studio) -> None:
    """A pot for a piece is refused with what stands against it; one for tiles says that it is for tiles."""
    with pytest.raises(Refused, match="hydrogen sulphide"):
        batches.mix_batch(studio, NewBatch("R2", 1, "sulphide", 500.0, purpose="work"))
    assert batches.list_batches(studio) == ()
    assert batches.mix_batch(studio, NewBatch("R2", 1, "sulphide", 500.0)).tiles_only
    assert batches.mix_batch(studio, NewBatch("R2", 1, "sulphide", 500.0, purpose="test tiles")).tiles_only
    releases.release(studio, "R2", by="Ada Ness", answers=answer_all(studio, "R2"))
    assert not batches.mix_batch(studio, NewBatch("R2", 1, "sulphide", 500.0, purpose="work")).tiles_only
    assert batches.batch_sheet(studio, "B1").tiles_only, "it was mixed before the release"
    with pytest.raises(Incomplete):
        batches.mix_batch(studio, NewBatch("R2", 1, "sulphide", 500.0, purpose="show"))


def test_silver_with_ammonia_starts_a_clock(studio: Studio) -> None:
    """The pot must be gone within 8 h and on the day it was mixed; after that it may only be thrown away."""
    moment = datetime.now(UTC)
    sheet = batches.mix_batch(studio, NewBatch("R3", 1, "silver", 300.0, made_at=moment))
    assert sheet.discard_by == pot_rules.gone_by(moment, 8.0) == sheet.use_until
    assert sheet.discard_by is not None and sheet.discard_by <= moment + timedelta(hours=8)
    assert "fulminating silver" in sheet.discard_why
    old = batches.mix_batch(studio, NewBatch("R3", 1, "silver", 300.0, made_at=moment - timedelta(hours=30)))
    with pytest.raises(Refused, match="should have been gone") as trouble:
        batches.use_from_batch(studio, old.id, 10.0, "tile", though_old=True)
    assert trouble.value.title == "Do not touch this pot"
    assert batches.discard_batch(studio, old.id, "into salt solution").left_ml == 0.0
    assert upkeep.check(studio).ok


def test_the_clock_looks_at_what_was_really_weighed(studio: Studio) -> None:
    """Ammonia that only stands among the weighed things starts the clock too; without silver none runs."""
    finishes.save_recipe(studio, _recipe("Silver alone", _solution("s", ("silver_nitrate", "5 g/L"))))
    weighed = (Weighed("ammonia solution", 0.0, 20.0, "mL"),)
    assert batches.mix_batch(studio, NewBatch("R4", 1, "s", 300.0)).discard_by is None
    assert batches.mix_batch(studio, NewBatch("R4", 1, "s", 300.0, weighed)).discard_by is not None
    assert batches.mix_batch(studio, NewBatch("R1", 1, "salt", 300.0, weighed)).discard_by is None
