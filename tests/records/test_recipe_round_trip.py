"""A recipe comes back from the records equal in every field, whatever it says."""

from __future__ import annotations

import string
import tempfile
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from patina.bench.recipes import finishes
from patina.bench.studio import Studio, open_studio
from patina.chemistry.strength import BASES, Strength
from patina.errors import Changed, Refused
from patina.recipe import DOINGS, METHODS, VOLUME_IS, Ingredient, Recipe, Solution, Step
from patina.records.tables.recipe_json import content_sha256, recipe_document, recipe_from

words = st.text(st.characters(blacklist_categories=["Cs"], blacklist_characters="\x00"), max_size=60)
names = st.text(string.ascii_letters + "äöüß éÉ№ 東-'\"%_\\", min_size=1, max_size=40).filter(lambda t: t.strip())
amounts = st.floats(1e-9, 1e9, allow_nan=False)
keys = st.sampled_from(["liver_of_sulphur", "ferric_nitrate_9h2o", "cupric_nitrate_3h2o", "cupric_nitrate_2_5h2o"])
strengths = st.builds(
    Strength,
    as_written=words,
    basis=st.sampled_from(BASES),
    value=amounts,
    by=st.sampled_from(["", "weight"]),
    note=words,
)
solutions = st.builds(
    Solution,
    name=names,
    solvent=st.just("distilled_water"),
    ingredients=st.lists(st.builds(Ingredient, keys, strengths), min_size=1, max_size=3).map(tuple),
    volume_is=st.sampled_from(VOLUME_IS),
    use_within_h=st.none() | amounts,
)
steps = st.builds(
    Step,
    do=st.sampled_from(DOINGS),
    note=words,
    solution=st.none(),
    method=st.none() | st.sampled_from(METHODS),
    tool=words,
    passes=st.integers(1, 1000),
    coverage_ml_per_m2=st.none() | amounts,
    transfer=st.floats(1e-6, 1.0),
    surface_temperature_c=st.none() | st.tuples(st.floats(-50, 1500), st.floats(-50, 1500)),
)
recipes = st.builds(
    Recipe,
    name=names,
    finish=words,
    alloys=st.lists(words, max_size=3).map(tuple),
    provenance=words,
    solutions=st.lists(solutions, max_size=3).map(tuple),
    steps=st.lists(steps, min_size=1, max_size=4).map(tuple),
    texture=st.floats(1.0, 5.0),
    reserve=st.floats(0.0, 1.0),
    dead_volume_ml=st.floats(0.0, 1e6),
)


# Strengths that three ingredients of one pot can have together: a recipe that cannot be mixed is not kept.
MOST = {"g_per_l": 200, "pct_wv": 20, "pct_ww": 20, "parts_in": 0.2, "parts_to": 0.2}


def within_reason(recipe: Recipe) -> Recipe:
    """The recipe with each strength brought below what can be mixed."""

    def mixable(i: Ingredient) -> Ingredient:
        basis = i.strength.basis if i.strength.basis in MOST else "g_per_l"  # solids have no volume, mixtures no mole
        most = MOST[basis]
        return replace(i, strength=replace(i.strength, basis=basis, value=i.strength.value % most or most))

    return replace(
        recipe,
        solutions=tuple(replace(s, ingredients=tuple(mixable(i) for i in s.ingredients)) for s in recipe.solutions),
    )


@pytest.fixture(scope="module")
def kept_studio():
    """One studio for all examples; each example undoes nothing, so names are made new."""
    with tempfile.TemporaryDirectory() as folder, open_studio(folder) as opened:
        yield opened


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(recipe=recipes.map(within_reason), number=st.integers(0, 10**12))
def test_what_is_saved_is_what_is_found(kept_studio: Studio, recipe: Recipe, number: int) -> None:
    """Saving and finding a recipe gives an equal recipe, by its name and by its id."""
    mine = replace(recipe, name=f"{recipe.name} {number} {len(finishes.list_recipes(kept_studio))}")
    saved = finishes.save_recipe(kept_studio, mine)
    assert saved.recipe == mine
    assert finishes.recipe_sheet(kept_studio, saved.id).recipe == mine
    assert finishes.recipe_sheet(kept_studio, mine.name).recipe == mine


@settings(max_examples=200, deadline=None)
@given(recipe=recipes)
def test_the_document_of_a_recipe_loses_nothing(recipe: Recipe) -> None:
    """Recipe to document to recipe is the identity, and equal recipes have equal hashes."""
    document = recipe_document(recipe)
    assert recipe_from(document) == recipe
    assert content_sha256(recipe_document(recipe_from(document))) == content_sha256(document)


def test_an_old_revision_stays_what_it_was(studio: Studio, brown: Recipe) -> None:
    """Each revision is found as it was saved, with its reason; the sheet shows the latest."""
    finishes.save_recipe(studio, brown, by="Ada")
    second = replace(brown, texture=1.3)
    third = replace(second, name="Harbour brown, rough")
    finishes.revise_recipe(studio, "R1", second, reason="rougher blast", by="Ben", version=1)
    finishes.revise_recipe(studio, "harbour brown", third, reason="a name of its own", version=2)
    assert [finishes.recipe_sheet(studio, "R1", n).recipe for n in (1, 2, 3)] == [brown, second, third]
    sheet = finishes.recipe_sheet(studio, "HARBOUR BROWN,  ROUGH")
    assert (sheet.revision, sheet.recipe) == (3, third)
    assert [(r.number, r.reason) for r in sheet.revisions] == [
        (1, "first version"),
        (2, "rougher blast"),
        (3, "a name of its own"),
    ]
    assert [r.by for r in sheet.revisions] == ["Ada", "Ben", ""]


def test_a_stale_revision_is_told(studio: Studio, brown: Recipe) -> None:
    """Whoever edits an old version is told, and the other's work stays."""
    seen = finishes.save_recipe(studio, brown)
    finishes.revise_recipe(studio, "R1", replace(brown, texture=1.2), reason="one", version=seen.version)
    with pytest.raises(Changed, match="revision 2"):
        finishes.revise_recipe(studio, "R1", replace(brown, texture=1.4), reason="other", version=seen.version)
    assert finishes.recipe_sheet(studio, "R1").recipe.texture == 1.2


@pytest.mark.parametrize(
    ("change", "reason", "says"),
    [
        ({}, "because", "Nothing"),
        ({"texture": 1.2}, "  ", "reason"),
        ({"name": ""}, "x", "name"),
        ({"steps": ()}, "x", "steps"),
    ],
)
def test_a_revision_that_says_nothing_is_refused(studio: Studio, brown: Recipe, change, reason: str, says: str) -> None:
    """No change, no reason, no name or no steps: not done, and nothing is kept."""
    finishes.save_recipe(studio, brown)
    with pytest.raises(Refused, match=says):
        finishes.revise_recipe(studio, "R1", replace(brown, **change), reason=reason)
    assert finishes.recipe_sheet(studio, "R1").revision == 1


@pytest.mark.parametrize(
    "statement", ["UPDATE revision SET reason = 'x'", "DELETE FROM revision", "DELETE FROM change"]
)
def test_the_database_itself_refuses_to_alter_what_is_frozen(studio: Studio, brown: Recipe, statement: str) -> None:
    """Not even another program changes a revision or the log by mistake."""
    finishes.save_recipe(studio, brown)
    with pytest.raises(Refused, match="never altered"), studio.store.view() as session:
        session.execute(text(statement))
