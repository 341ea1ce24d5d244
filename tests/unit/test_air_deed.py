"""Air, dangers together and thresholds as deeds: from a recipe and a studio to figures.

References: NIOSH Pocket Guide for the limits (hydrogen sulphide: ceiling 10 ppm; ammonia: TWA 25 ppm), the general
dilution formula Q = K G / C, and CLP Annex VI for the specific limits of nitric acid (Skin Corr. 1B from 5 %, 1A
from 20 %) and hydrochloric acid (Skin Irrit. 2 from 10 %, Skin Corr. 1B from 25 %).
"""

from __future__ import annotations

import math
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from patina.bench.pots import batches, waste
from patina.bench.recipes import finishes
from patina.bench.recipes.drafts import recipe_of_text
from patina.bench.safe.air import air
from patina.bench.safe.air_words import changes_per_h, flow_m3_h, room_m3
from patina.bench.safe.dangers import (
    bench_together,
    dangers_now,
    lot_together,
    pot_together,
    shelf_together,
    waste_together,
)
from patina.bench.safe.thresholds import thresholds
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.chemistry.substances import catalogue
from patina.datafile import data_path
from patina.entries import NewBatch, NewLot
from patina.errors import BadQuantity, NotFound, PatinaError

TEXT = """\
patina_recipe = 1
name = "{name}"
finish = "test"
alloys = ["C87300"]
provenance = "own tiles"
[[solution]]
name = "bath"
solvent = "distilled water"
volume_is = "made up to"
[[solution.ingredient]]
substance = "{substance}"
strength = "{strength}"
[[step]]
do = "prepare"
[[step]]
do = "apply"
solution = "bath"
method = "{method}"
passes = 2
coverage = "50 mL/m2"
transfer = "50 %"
[[step]]
do = "rinse"
[[step]]
do = "apply"
solution = "bath"
method = "{method}"
coverage = "25 mL/m2"
[[step]]
do = "wax"
"""


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Baths of one substance each: R1 sodium sulphide, R2 ammonia, R3 nitric acid, R4 salt."""
    where = tmp_path_factory.mktemp("air") / "studio"
    with open_studio(where) as opened:
        for name, substance, strength in (
            ("Sulphide", "sodium sulfide nonahydrate", "5 g/L"),
            ("Ammonia", "ammonia solution", "100 g/L"),
            ("Nitric", "nitric acid", "30 g/L"),
            ("Salt", "sodium chloride", "50 g/L"),
        ):
            text = TEXT.format(name=name, substance=substance, strength=strength, method="cold brush")
            finishes.save_recipe(opened, recipe_of_text(opened, text))
    return where


@pytest.fixture
def studio(template: Path, tmp_path: Path) -> Iterator[Studio]:
    """A copy of it, open."""
    shutil.copytree(template, tmp_path / "studio")
    with open_studio(tmp_path / "studio") as opened:
        yield opened


def test_each_step_has_its_own_grams(studio: Studio) -> None:
    """1 m² × 50 mL/m² × 2 passes / 50 % = 200 mL; 25 mL for the last coat. All the sulphide of 5 g/L leaves as gas:
    5 g/L × 0.2 L / 240.18 g/mol × 34.08 g/mol = 0.1419 g."""
    sheet = air(studio, "Sulphide", room="60 m3", changes="6", area="1 m2")
    first, second, wax = sheet.steps
    assert (first.number, first.volume_ml, second.number, second.volume_ml) == (2, 200.0, 4, 25.0)
    gas = next(x for x in first.lines if x.gas == "hydrogen sulphide")
    assert gas.grams_at_most == pytest.approx(5 * 0.2 / 240.18 * 34.08, rel=2e-3)
    later = next(x for x in second.lines if x.gas == "hydrogen sulphide")
    assert later.grams_at_most == pytest.approx(gas.grams_at_most / 8, rel=1e-6)
    assert wax.do == "wax" and wax.solution is None and wax.lines
    assert sheet.flow_m3_h == 360.0 and "smell is no alarm" in " ".join(sheet.notes)
    assert "Smell is no alarm" in gas.note, "hydrogen sulphide dulls the nose"
    assert sheet.caution


def test_against_a_limit(studio: Studio) -> None:
    """Ammonia against NIOSH's 25 ppm: the figures are those of the published formulas, worked by hand.

    0.2 L × 100 g/L × fraction 10 % = 2 g in half an hour, 4000 mg/h.
    25 ppm at 20 °C = 25 × 17.03 / 24.06 = 17.70 mg/m³.
    """
    sheet = air(studio, "Ammonia", room="60 m3", changes="6", area="1 m2", fractions=["ammonia=10 %"], minutes="30")
    gas = next(x for x in sheet.steps[0].lines if x.gas == "ammonia")
    limit = next(a for a in gas.against if a.who == "NIOSH REL" and a.kind == "TWA")
    assert gas.grams_at_most == pytest.approx(2.0, rel=1e-6)
    assert limit.limit_mg_m3 == pytest.approx(17.70, rel=2e-3)
    assert limit.flow_needed_m3_h == pytest.approx(5 * 4000 / 17.70, rel=2e-3)
    mean = 4000 / 360 * (1 - math.exp(-6 * 0.5))
    assert limit.times == pytest.approx(mean / 17.70, rel=2e-3)
    assert limit.hours_to_limit is None, "4000 / 360 = 11 mg/m³ at most: the limit is never reached"
    still = air(studio, "Ammonia", room="60 m3", area="1 m2", fractions=["ammonia=10 %"])
    limit = next(a for a in still.steps[0].lines[0].against if a.who == "NIOSH REL" and a.kind == "TWA")
    assert limit.hours_to_limit == pytest.approx(17.70 * 60 / 4000, rel=2e-3)


def test_a_hood_adds_to_the_air_and_minutes_can_differ(studio: Studio) -> None:
    """0.5 m³/s are 1800 m³/h; a step may take longer than the others."""
    sheet = air(studio, "Ammonia", room="60 m3", changes="6", hood="0.5 m3/s", area="1 m2", minutes=["20", "4=5"])
    assert sheet.flow_m3_h == 2160.0
    assert [s.minutes for s in sheet.steps] == [20.0, 5.0, 20.0]
    assert all(a["minutes_to_limit"] is None or a["minutes_to_limit"] > 0
               for s in sheet.as_json()["steps"] for g in s["gases"] for a in g["limits"])  # fmt: skip


def test_an_amount_that_is_not_known_is_not_under_the_limit(studio: Studio) -> None:
    """Vapour of a wax tin: grams unknown, so "over" is neither yes nor no."""
    wax = air(studio, "Salt", room="60 m3", area="1 m2").as_json()["steps"][-1]
    assert wax["gases"] and all(g["known"] is False and g["over"] is None for g in wax["gases"])


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"room": "60"}, "room"),
        ({"room": "0 m3"}, "room"),
        ({"room": "-5 m3"}, "room"),
        ({"room": "60 m2"}, "room"),
        ({"room": "60 m3", "changes": "-1"}, "changes"),
        ({"room": "60 m3", "changes": "5000"}, "changes"),
        ({"room": "60 m3", "hood": "600"}, "hood"),
        ({"room": "60 m3", "hood": "0.5 m3"}, "hood"),
        ({"room": "60 m3", "minutes": "0"}, "minutes"),
        ({"room": "60 m3", "minutes": "3 g"}, "minutes"),
        ({"room": "60 m3", "fractions": ["120 %"]}, "fraction"),
        ({"room": "60 m3", "k": 11.0}, "k"),
        ({"room": "60 m3", "k": float("nan")}, "k"),
    ],
)
def test_what_cannot_be_reckoned_with(studio: Studio, options: dict[str, object], field: str) -> None:
    """No unit, another kind of unit, below zero, beyond all measure: refused beside its field."""
    with pytest.raises(BadQuantity) as trouble:
        air(studio, "Ammonia", area="1 m2", **options)  # type: ignore[arg-type]
    assert trouble.value.field == field


@pytest.mark.parametrize("options", [{"minutes": "9=5"}, {"fractions": ["unicorn gas=5 %"]}])
def test_names_that_are_not_there(studio: Studio, options: dict[str, object]) -> None:
    """A step or a gas nobody knows."""
    with pytest.raises(NotFound):
        air(studio, "Ammonia", room="60 m3", area="1 m2", **options)  # type: ignore[arg-type]


def test_units_of_air() -> None:
    """Exact factors of NIST Handbook 44: 1 ft = 0.3048 m."""
    assert room_m3("1000 cu ft") == pytest.approx(1000 * 0.3048**3)
    assert flow_m3_h("100 cfm") == pytest.approx(100 * 0.3048**3 * 60)
    assert flow_m3_h("50 L/s") == pytest.approx(180.0)
    assert (changes_per_h("6"), changes_per_h("6 per hour"), changes_per_h("0,5 ach")) == (6.0, 6.0, 0.5)


# -- what stands together ------------------------------------------------------------------------------


def test_pots_open_on_one_bench(studio: Studio) -> None:
    """A sulphide and an acid stand open at once: hydrogen sulphide. When one is gone, so is the danger."""
    batches.mix_batch(studio, NewBatch("Sulphide", 1, "bath", 500.0))
    assert bench_together(studio).bench == ()
    batches.mix_batch(studio, NewBatch("Nitric", 1, "bath", 500.0))
    found = bench_together(studio).bench
    assert found[0].level == "critical" and "hydrogen sulphide" in found[0].consequence
    assert any("B1" in name for name in found[0].between) and any("B2" in name for name in found[0].between)
    assert dangers_now(studio).worst == "critical"
    batches.discard_batch(studio, "B1", "sulphide drum")
    assert bench_together(studio).bench == () and dangers_now(studio).worst is None


def test_one_pot_among_many(studio: Studio) -> None:
    """Each pot is told what it must not meet; pots of one solution are named together, a used-up pot not at all."""
    for _ in range(9):
        batches.mix_batch(studio, NewBatch("Sulphide", 1, "bath", 500.0))
    batches.mix_batch(studio, NewBatch("Nitric", 1, "bath", 500.0))
    (danger, *_) = pot_together(studio, "B10").bench
    assert "B1, B2" in " ".join(danger.between) and "B10" in " ".join(danger.between)
    assert {d.rule for d in pot_together(studio, "B9").bench} == {d.rule for d in pot_together(studio, "B10").bench}
    assert len(bench_together(studio).bench) == len(pot_together(studio, "B10").bench)
    batches.discard_batch(studio, "B10", "acid drum")
    assert pot_together(studio, "B10").bench == () == pot_together(studio, "B1").bench


def test_one_lot_among_many(studio: Studio) -> None:
    """A lot is told what it must not stand beside; another lot of the same substance is no danger."""
    for _ in range(3):
        shelf.add_lot(studio, NewLot("nitric acid", 500.0, "mL", place="Cupboard A"))
    assert lot_together(studio, "L1").shelf == ()
    shelf.add_lot(studio, NewLot("sodium sulfide nonahydrate", 500.0, place="cupboard a"))
    found = lot_together(studio, "L4").shelf
    assert found and "L1, L2, L3 nitric acid" in " ".join(found[0].between)
    shelf.add_lot(studio, NewLot("sodium sulfide nonahydrate", 500.0, place="far shed"))
    assert lot_together(studio, "L5").shelf == ()


def test_lots_of_one_place(studio: Studio) -> None:
    """Sulphide and acid in one cupboard; in two they stand apart; where no place is said they may stand anywhere."""
    shelf.add_lot(studio, NewLot("sodium sulfide nonahydrate", 500.0, place="Cupboard A"))
    shelf.add_lot(studio, NewLot("nitric acid", 500.0, "mL", place="acid cabinet"))
    assert shelf_together(studio).shelf == ()
    shelf.add_lot(studio, NewLot("hydrochloric acid", 500.0, "mL", place="cupboard  a"))
    found = shelf_together(studio).shelf
    assert found and all("L2" not in " ".join(d.between) for d in found)
    shelf.add_lot(studio, NewLot("acetic acid", 500.0, "mL"))
    assert any("L4" in " ".join(d.between) for d in shelf_together(studio).shelf)


def test_a_lot_nobody_knows_is_named(studio: Studio) -> None:
    """Without tags and without hazard information nothing can be told, and that is said."""
    salt = catalogue().get("sodium_chloride")
    mystery = replace(salt, key="mystery", name="mystery powder", other_names=(), cas=None, formula="",
                      base="mystery", hazard_basis="unknown", hazards=(), tags=frozenset())  # fmt: skip
    studio.add_substance(mystery)
    shelf.add_lot(studio, NewLot("mystery powder", 10.0))
    assert shelf_together(studio).unknown == ("L1 mystery powder",)


def test_drums_that_must_not_meet(studio: Studio) -> None:
    """Two drums side by side: what one holds must not be poured into the other."""
    waste.log_waste(studio, "drum 1", "old sulphide", 200.0, substances=("sodium sulfide nonahydrate",))
    assert waste_together(studio).waste == ()
    waste.log_waste(studio, "drum 2", "acid rinse", 200.0, substances=("nitric acid",))
    assert waste_together(studio).waste[0].level == "critical"


# -- where a class begins ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("substance", "pct", "becomes"),
    [
        ("nitric acid", 5.0, "Skin Corr. 1B (H314)"),
        ("nitric acid", 20.0, "Skin Corr. 1A (H314)"),
        ("hydrochloric acid", 10.0, "Skin Irrit. 2 (H315)"),
        ("hydrochloric acid", 25.0, "Skin Corr. 1B (H314)"),
        ("sodium hydroxide", 2.0, "Skin Corr. 1B (H314)"),
        ("sodium hydroxide", 5.0, "Skin Corr. 1A (H314)"),
    ],
)
def test_classes_begin_at_their_published_limits(studio: Studio, substance: str, pct: float, becomes: str) -> None:
    """The specific limits of CLP Annex VI come out as the turns."""
    text = TEXT.format(name="One", substance=substance, strength="1 % w/w", method="cold brush")
    finishes.save_recipe(studio, recipe_of_text(studio, text))
    sheet = thresholds(studio, "One", "bath", substance)
    turn = next(t for t in sheet.turns if becomes in t.gains)
    assert turn.pct_ww == pytest.approx(pct, rel=1e-4)
    assert not turn.passed and becomes in turn.words


def test_the_strength_as_typed_says_what_is_passed(studio: Studio) -> None:
    """Just below 5 % nitric acid is not corrosive yet, at 5 % it is; the next turn is the one above."""
    below = thresholds(studio, "Nitric", "bath", "nitric acid", "4.99 % w/w")
    at = thresholds(studio, "Nitric", "bath", "nitric acid", "5 % w/w")
    assert not [c for c in below.safety.classes if c.h == "H314"] and [c for c in at.safety.classes if c.h == "H314"]
    assert below.next is not None and below.next.pct_ww == pytest.approx(5.0)
    assert at.next is not None and at.next.pct_ww > 5.0
    assert below.as_json()["caution"]


def test_a_turn_is_said_in_the_unit_of_the_recipe(studio: Studio) -> None:
    """5 % w/w of nitric acid is 51.3 g/L: published density of 5 % acid at 20 °C 1.0256 g/mL (CRC Handbook)."""
    sheet = thresholds(studio, "Nitric", "bath", "nitric acid")
    turn = next(t for t in sheet.turns if t.pct_ww == pytest.approx(5.0))
    assert turn.at is not None and turn.at.endswith("g/L")
    assert float(turn.at.split()[0]) == pytest.approx(50 * 1.0256, rel=5e-3)


@pytest.mark.parametrize("typed", ["", "lots", "5", "1:20", "-5 g/L", "101 % w/w"])
def test_a_strength_that_cannot_be_read(studio: Studio, typed: str) -> None:
    """Half-typed strengths are refused in words, never read as something else."""
    with pytest.raises(PatinaError) as trouble:
        thresholds(studio, "Nitric", "bath", "nitric acid", typed)
    assert trouble.value.remedy


def test_what_is_not_in_the_pot(studio: Studio) -> None:
    """An ingredient or a solution the recipe does not have."""
    with pytest.raises(NotFound, match="has no silver nitrate"):
        thresholds(studio, "Nitric", "bath", "silver nitrate")
    with pytest.raises(NotFound):
        thresholds(studio, "Nitric", "no such pot", "nitric acid")


def test_a_class_that_cannot_be_told_any_more_is_not_lost() -> None:
    """Wax in white spirit: with more wax the flash point is no longer that of the spirit alone, and must be measured;
    with less than 10 % of the spirit it cannot be an aspiration hazard (CLP Annex I, 3.10.3.3.1)."""
    paste = str(data_path("recipes") / "hot-wax.toml")
    sheet = thresholds(None, paste, "cold paste", "microcrystalline wax", "50 g/L")
    first = sheet.turns[0]
    assert {c.split(" (")[0] for c in first.doubtful} == {"Flam. Liq. 3", "Asp. Tox. 1"} and not first.loses
    assert "can no longer be told" in first.words and "no longer Flam" not in first.words
    assert [t for t in sheet.turns if "STOT SE 3 (H336)" in t.loses], "less than 20 % of the spirit is no STOT SE 3"
