"""The bottle label of a pot that must be gone the same day, and of one that is for test tiles only.

The clock of ammoniacal silver: key AGN of the bibliography.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from patina.bench.pots import batches, mixing
from patina.bench.recipes import finishes, releases
from patina.bench.recipes.drafts import recipe_of_text
from patina.bench.studio import Studio, open_studio
from patina.entries import NewBatch
from patina.reports.label import label_data
from patina.sheets import BatchSheet, MixSheet

TEXT = """\
patina_recipe = 1
name = "Silver black"
finish = "black"
alloys = ["C87300"]
provenance = "own tiles"
[[solution]]
name = "silver"
solvent = "distilled water"
volume_is = "made up to"
[[solution.ingredient]]
substance = "silver nitrate"
strength = "5 g/L"
[[solution.ingredient]]
substance = "ammonia solution"
strength = "10 g/L"
[[solution]]
name = "salt"
solvent = "distilled water"
volume_is = "made up to"
use_within = "12 h"
[[solution.ingredient]]
substance = "sodium chloride"
strength = "5 g/L"
[[step]]
do = "apply"
solution = "silver"
method = "cold brush"
coverage = "40 mL/m2"
[[step]]
do = "rinse"
[[step]]
do = "apply"
solution = "salt"
method = "cold brush"
coverage = "40 mL/m2"
"""


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    """A studio with one recipe of two pots."""
    with open_studio(tmp_path / "studio") as opened:
        finishes.save_recipe(opened, recipe_of_text(opened, TEXT))
        yield opened


def labels(studio: Studio, solution: str) -> tuple[MixSheet, BatchSheet]:
    """A mix and a pot of it."""
    mixed = mixing.mix(studio, "R1", volumes=["500 mL"])
    return mixed, batches.mix_batch(studio, NewBatch("R1", 1, solution, 500.0))


def test_the_label_says_when_a_pot_must_be_gone(studio: Studio) -> None:
    """Not "use until" but "throw away by", with the pot's own time; without a pot, within 8 h of mixing."""
    mixed, pot = labels(studio, "silver")
    words, when = label_data(mixed, "silver", made_on=date(2026, 3, 2), batch=pot)["until"]
    assert words == "THROW AWAY BY" and pot.discard_by is not None
    assert f"{pot.discard_by.astimezone():%H:%M}" in when
    words, when = label_data(mixed, "silver", made_on=date(2026, 3, 2))["until"]
    assert words == "THROW AWAY" and "8" in when and "same day" in when


def test_other_pots_keep_their_own_time(studio: Studio) -> None:
    """The salt of the same recipe is used within its 12 h."""
    mixed, pot = labels(studio, "salt")
    assert label_data(mixed, "salt", made_on=date(2026, 3, 2), batch=pot)["until"][0] == "use until"
    assert label_data(mixed, "salt", made_on=date(2026, 3, 2))["until"][0] == "use within"


def test_the_label_says_for_tiles_only(studio: Studio) -> None:
    """Until the recipe is released; a pot mixed before stays a pot for tiles."""
    mixed, pot = labels(studio, "salt")
    assert "FOR TEST TILES ONLY" in label_data(mixed, "salt", made_on=date(2026, 3, 2), batch=pot)["recipe"]
    assert [w.code for w in mixed.warnings if w.code == "not-released"]
    answers = {str(d.number): "mixed, used and thrown into salt water within the hour"
               for d in releases.release_state(studio, "R1").dangers}  # fmt: skip
    assert answers, "silver with ammonia is a critical danger"
    releases.release(studio, "R1", by="Ada Ness", answers=answers)
    mixed, later = labels(studio, "salt")
    assert label_data(mixed, "salt", made_on=date(2026, 3, 2), batch=later)["recipe"] == "Silver black, revision 1"
    assert not [w for w in mixed.warnings if w.code == "not-released"]
