"""From an old finish to a plan, and from a miss to its causes, by what this house's own records say."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from patina.bench.matched import making, reproduce
from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.cli import patina
from patina.entries import NewBatch, NewCast, NewLot, NewPiece, NewReading, NewTile, NewTreatment, Weighed
from patina.errors import BadQuantity, Refused
from tui.screens.matching_words import plan_words


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    """Tiles of one recipe by two blasts (the used bead 3 darker), a cast of an old pot, a new lot on the shelf."""
    with open_studio(tmp_path / "studio") as opened:
        opened.set_setting("who", "Bo")
        finishes.add_starters(opened)
        recipe = finishes.recipe_sheet(opened, "Torch sulphide brown")
        for lot, amount in (("OLD-1", 100.0), ("NEW-2", 500.0)):
            shelf.add_lot(opened, NewLot("liver of sulphur", amount, "g", lot_number=lot))
        batch = batches.mix_batch(
            opened,
            NewBatch(
                recipe.id,
                recipe.revision,
                recipe.recipe.solutions[0].name,
                2000.0,
                (Weighed("liver_of_sulphur", 100.0, 100.0, "g", "L1"),),
                water="distilled",
            ),
        )
        for k in range(6):
            used = k % 2
            tile = tiles.start_tile(
                opened, NewTile(f"K-{k}", "C87300", recipe=recipe.id, revision=1, made_by="Ada", wax_state="waxed")
            ).row.id
            making.note_facts(opened, tile, {"blast": "used bead" if used else "new bead"})
            read(opened, tile, (28.0 - 3.0 * used + 0.1 * (k // 2), 7.0, 10.0))
        casts.add_piece(opened, NewPiece("Snipe"))
        for n, (blast, L) in enumerate((("new bead", 28.1), ("used bead", 25.0)), 1):
            casts.add_cast(opened, NewCast("W1", number=f"{n}/3", alloy="C87300", wall_mm=5.0))
            casts.add_treatment(
                opened,
                NewTreatment(
                    f"C{n}",
                    "patinated",
                    recipe=recipe.id,
                    revision=1,
                    batch=batch.id,
                    as_done=("sulphide wash: 4 passes as written",),
                    done_on=date(2026, 3, n),
                    done_by="Ada",
                ),
            )
            making.note_facts(opened, f"C{n}", {"blast": blast})
            read(opened, f"C{n}", (L, 7.0, 10.0))
        yield opened


def read(studio: Studio, target: str, lab: tuple[float, float, float]) -> None:
    """A waxed cold reading."""
    tiles.add_reading(studio, target, NewReading(*lab, uncertainty_de00=0.4, wax_state="waxed", warmth="cold"))


def test_the_plan_says_what_was_done_and_what_is_different_now(studio: Studio) -> None:
    """Lot, hand and blast differ; the blast's effect comes from like tiles, the others have no data."""
    plan = reproduce.reproduce(studio, "C1", now={"blast": "used bead"}, area="0.34 m2")
    facts = {f.what: f.value for f in plan.facts}
    assert facts["passes"] == "4" and facts["lots of the chemicals"] == "OLD-1" and facts["water"] == "distilled"
    found = {e.what: e for e in plan.effects}
    assert (found["lots of the chemicals"].before, found["lots of the chemicals"].now) == ("OLD-1", "NEW-2")
    blast = found["blast medium and its age"]
    assert blast.vector is not None and blast.vector[0] == pytest.approx(-3.0, abs=0.3)
    assert found["lots of the chemicals"].vector is None and "no data" in found["lots of the chemicals"].words
    assert found["hand"].now == "Bo"
    assert "humidity" in " ".join(plan.blank)
    assert plan.unsaid and not set(facts) & set(plan.blank), "what is known above is not called unknown below"
    assert set(plan.unsaid) <= set(facts)
    told = plan_words(plan).plain
    below = told[told.index("not noted then") :]
    assert "lots of the chemicals" not in below.splitlines()[0]
    assert plan.tiles[0].startswith("One tile exactly as it was then")
    assert any("used bead" in t for t in plan.tiles) and plan.tiles[-1].startswith("One tile with everything")
    assert plan.mix is not None and plan.mix.solutions[0].volume_ml > 0 and plan.mix.revision == 1


def test_a_miss_is_traced_to_its_likeliest_cause(studio: Studio) -> None:
    """2/3 came out 3 darker than 1/3; the used bead explains it from like tiles."""
    found = reproduce.causes(studio, "C2", "C1")
    assert found.miss[0] == pytest.approx(-3.1)
    assert found.causes[0].what == "blast medium and its age"
    assert found.causes[0].explains == pytest.approx(1.0, abs=0.1)
    assert "humidity" in found.blank


def test_without_a_recipe_there_is_nothing_to_repeat(studio: Studio) -> None:
    """A tile outside all recipes is refused with the way on; an area without a unit is refused."""
    other = tiles.start_tile(studio, NewTile("X", "C87300")).row.id
    with pytest.raises(Refused) as refused:
        reproduce.reproduce(studio, other)
    assert "reconstruct" in refused.value.remedy
    with pytest.raises(BadQuantity):
        reproduce.reproduce(studio, "C1", area="2")


def test_a_circumstance_nobody_knows_is_refused_and_all_are_named(studio: Studio) -> None:
    """Facts are kept whole or not at all; the newest word counts."""
    before = making.known_facts(studio, "C1")
    with pytest.raises(Refused) as refused:
        making.note_facts(studio, "C1", {"water": "rain", "moon": "full"})
    assert "weld rod" in refused.value.remedy
    assert making.known_facts(studio, "C1") == before
    making.note_facts(studio, "C1", {"Weld rod": "same as cast"})
    making.note_facts(studio, "C1", {"weld_rod": "silicon bronze"})
    assert making.known_facts(studio, "C1")["weld_rod"] == "silicon bronze"


def test_reproduce_and_note_on_the_command_line(studio: Studio) -> None:
    """JSON with the differences and their effect, a plan in words, causes with --against."""
    run = CliRunner()
    where = ["--studio", studio.where]
    said = json.loads(run.invoke(patina, [*where, "note", "C1", "torch=propane", "--json"]).output)
    assert said["facts"]["torch"] == "propane"
    plan = run.invoke(patina, [*where, "reproduce", "C1", "--now", "blast=used bead", "--area", "0.3 m2", "--json"])
    document = json.loads(plan.output)
    assert document["mix"]["solutions"] and document["different"][0]["what"]
    text = run.invoke(patina, [*where, "reproduce", "C2", "--against", "C1"]).output
    assert "would explain" in text
    assert run.invoke(patina, [*where, "reproduce", "C1", "--now", "nothing"]).exit_code != 0
