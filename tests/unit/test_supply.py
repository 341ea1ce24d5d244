"""Weighing from the shelf: which lots, what is short, what it costs, and that no copper is lost by splitting."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from patina.bench.pots import batches
from patina.bench.pots.mixing import mix
from patina.bench.pots.what_if import bottles_for, strength_of
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.chemistry.strength import parse_strength
from patina.cli import patina
from patina.entries import NewBatch, NewLot, Weighed
from patina.errors import BadQuantity, Refused, ShortStock
from patina.recipe import Ingredient, Recipe, Solution, Step
from patina.reports.batch_sheet import batch_document
from patina.reports.figures import THIN
from patina.sheets import MixSheet

TRI, HEMI = "cupric nitrate trihydrate", "cupric nitrate hemipentahydrate"
# g/mol of Cu(NO3)2.3H2O and .2.5H2O from IUPAC 2021 atomic weights, added up by hand from memory.
M_TRI, M_HEMI = 241.60, 232.59
GREEN = Recipe(
    "Mole green",
    "thin green",
    ("C87300",),
    "own tiles",
    (
        Solution("green", "distilled_water", (Ingredient("cupric_nitrate_3h2o", parse_strength("20 g/L")),)),
        Solution("salmiac", "distilled_water", (Ingredient("ammonium_chloride", parse_strength("10 g/L")),)),
    ),
    (Step("apply", solution="green", method="torch", passes=4, coverage_ml_per_m2=40.0),),
)

pytestmark = pytest.mark.one_engine("sqlite", why="recipe files are written into the studio's folder")


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A studio with the recipe and an empty shelf, to be copied."""
    folder = tmp_path_factory.mktemp("supply") / "studio"
    with open_studio(folder) as opened:
        finishes.save_recipe(opened, GREEN)
    return folder


@pytest.fixture
def studio(filled: Path, tmp_path: Path) -> Iterator[Studio]:
    """A copy of it."""
    shutil.copytree(filled, tmp_path / "studio")
    with open_studio(tmp_path / "studio") as opened:
        yield opened


def lot(studio: Studio, substance: str, amount: float, unit: str = "g", **more: object) -> str:
    """Puts a lot on the shelf; its id."""
    return shelf.add_lot(studio, NewLot(substance, amount, unit, **more)).id  # type: ignore[arg-type]


def green(studio: Studio, volume: str = "1 L", **more: object) -> MixSheet:
    """The green pot alone, from the shelf."""
    sheet = mix(studio, "R1", volumes=[f"green={volume}", "salmiac=1 L"], from_shelf=True, **more)  # type: ignore[arg-type]
    return replace(sheet, solutions=sheet.solutions[:1])


def codes(sheet: MixSheet, word: str = "green") -> set[str]:
    """Codes of what is to be minded in one pot."""
    return {w.code for w in sheet.warnings if w.text.startswith(word)}


def test_one_lot_that_is_enough_is_taken_alone(studio: Studio) -> None:
    """A lot too small is passed over where one lot holds all of it: one lot makes one colour."""
    lot(studio, TRI, 5.0, opened_on=date(2026, 1, 2))
    enough = lot(studio, TRI, 500.0)
    (line,) = green(studio).solutions[0].weigh
    assert (line.lot, line.rounded, line.share_pct) == (enough, 20.0, 100.0)


def test_an_opened_lot_and_the_older_date_come_first(studio: Studio) -> None:
    """Of several lots that are enough: the opened one, then the one to be used soonest."""
    lot(studio, TRI, 500.0)
    sooner = lot(studio, TRI, 500.0, use_by=date(2199, 1, 1))
    assert green(studio).solutions[0].weigh[0].lot == sooner
    opened = lot(studio, TRI, 500.0, opened_on=date(2026, 1, 2))
    assert green(studio).solutions[0].weigh[0].lot == opened


def test_two_lots_of_two_hydrates_hold_the_copper_asked(studio: Studio) -> None:
    """15 g of trihydrate and the rest, 5 g, as 2.5-hydrate: 5 × 232.59 / 241.60 = 4.81 g; a step of colour may show."""
    lot(studio, TRI, 15.0)
    lot(studio, HEMI, 6.0)
    sheet = green(studio, balance="0.01 g")
    first, second = sheet.solutions[0].weigh
    assert (first.substance, first.rounded, second.substance) == (TRI, 15.0, HEMI)
    assert second.amount == pytest.approx(5 * M_HEMI / M_TRI, abs=0.005)
    moles = first.rounded / M_TRI + second.rounded / M_HEMI
    assert moles * M_TRI == pytest.approx(20.0, abs=0.02)
    assert first.achieved_g_per_l == second.achieved_g_per_l == pytest.approx(moles * M_TRI, abs=0.002)
    assert "colour-step" in codes(sheet)
    assert "short-stock" not in codes(sheet)
    assert [s.key for s in sheet.short] == ["ammonium_chloride"]


def test_a_salt_without_colour_may_come_from_two_lots(studio: Studio) -> None:
    """Two lots of ammonium chloride are told, and no step of colour is feared."""
    lot(studio, "ammonium chloride", 6.0)
    lot(studio, "ammonium chloride", 6.0)
    sheet = mix(studio, "R1", volumes=["green=1 L", "salmiac=1 L"], from_shelf=True)
    assert "several-lots" in codes(sheet, "salmiac")
    assert "colour-step" not in codes(sheet, "salmiac")


def test_short_stock_says_how_much_is_missing(studio: Studio) -> None:
    """12 g of 20 g stand there: 8 g are missing, and what is there makes 600 mL."""
    lot(studio, TRI, 12.0)
    sheet = green(studio)
    lines = sheet.solutions[0].weigh
    assert [(x.lot, x.rounded, x.missing) for x in lines] == [("L1", 12.0, False), (None, 8.0, True)]
    short = next(s for s in sheet.short if s.key == "cupric_nitrate_3h2o")
    assert (short.missing, short.unit) == (pytest.approx(8.0), "g")
    said = next(w for w in sheet.warnings if w.code == "short-stock" and w.text.startswith("green"))
    assert "8 g" in said.text
    assert "600 mL" in said.text
    assert sheet.warnings[0].code == "short-stock"


def test_expired_lots_are_left_out_and_said(studio: Studio) -> None:
    """A lot past its date gives nothing, however full."""
    old = lot(studio, TRI, 500.0, use_by=date(2020, 5, 6))
    sheet = green(studio)
    assert [line.lot for line in sheet.solutions[0].weigh] == [None]
    assert any(w.code == "expired-lot" and old in w.text and "2020-05-06" in w.text for w in sheet.warnings)


def test_the_second_pot_finds_what_the_first_left(studio: Studio) -> None:
    """Two pots of one salt: 20 g and 20 g from a lot of 30 g lack 10 g together, not nothing."""
    twice = replace(
        GREEN, name="Mole twice", solutions=(GREEN.solutions[0], replace(GREEN.solutions[0], name="second"))
    )
    finishes.save_recipe(studio, twice)
    lot(studio, TRI, 30.0)
    sheet = mix(studio, "Mole twice", volumes=["1 L"], from_shelf=True)
    assert [x.rounded for s in sheet.solutions for x in s.weigh if x.lot] == [20.0, 10.0]
    assert sheet.short[0].missing == pytest.approx(10.0)


def test_the_assay_of_the_lot_counts(studio: Studio) -> None:
    """A lot of 80 % needs 20 / 0.8 = 25 g."""
    lot(studio, TRI, 100.0, assay_pct=80.0)
    assert green(studio).solutions[0].weigh[0].amount == pytest.approx(25.0)


def test_a_liquid_kept_by_weight_is_weighed(studio: Studio) -> None:
    """Nitric acid kept in grams is put on the balance: millilitres × the catalogue's density."""
    acid = replace(
        GREEN,
        name="Mole acid",
        solutions=(Solution("acid", "distilled_water", (Ingredient("nitric_acid", parse_strength("50 g/L")),)),),
        steps=(Step("dwell"),),
    )
    finishes.save_recipe(studio, acid)
    plain = mix(studio, "Mole acid", volumes=["1 L"]).solutions[0].weigh[0]
    assert plain.unit == "mL"
    lot(studio, "nitric acid", 900.0, "g")
    line = mix(studio, "Mole acid", volumes=["1 L"], from_shelf=True).solutions[0].weigh[0]
    known = studio.catalogue().get("nitric_acid")
    assert (line.lot, line.unit) == ("L1", "g")
    assert known.assay_pct is not None
    assert known.density_g_ml is not None
    assert line.amount == pytest.approx(50 / (known.assay_pct / 100), rel=1e-3)
    assert line.amount == pytest.approx(plain.amount * known.density_g_ml, rel=1e-6)


def test_cost_keeps_currencies_apart_and_says_what_is_unknown(studio: Studio) -> None:
    """15 g of 500 g at 40.00 EUR are 1.20 EUR; the rest of 100 g at 10 USD is 0.50 USD; what has no price is named."""
    lot(studio, TRI, 500.0, price=Decimal("40.00"), currency="EUR")
    shelf.take_from_lot(studio, "L1", 485.0, "g", "tiles")
    lot(studio, TRI, 100.0, price=Decimal("10"), currency="USD")
    shelf.take_from_lot(studio, "L2", 95.0, "g", "tiles")
    lot(studio, "ammonium chloride", 100.0)
    sheet = mix(studio, "R1", volumes=["1 L"], from_shelf=True)
    assert dict(sheet.cost) == {"EUR": Decimal("1.20"), "USD": Decimal("0.50")}
    assert sheet.unpriced == ("ammonium chloride",)


def test_strength_scales_every_ingredient_and_is_on_the_sheet(studio: Studio) -> None:
    """80 % of 20 g/L is 16 g/L, in the words of the line, in the working and among the deviations."""
    sheet = mix(studio, "R1", volumes=["1 L"], strength="80 %")
    line = sheet.solutions[0].weigh[0]
    assert (line.asked_g_per_l, line.rounded) == (pytest.approx(16.0), 16.0)
    assert "80 % of 20 g/L" in line.asked
    assert "80 % of 20 g/L" in line.working
    assert sheet.solutions[1].weigh[0].rounded == 8.0
    assert sheet.deviations == ("strength 80 % of the recipe's",)
    assert not any(w.code == "stronger" for w in sheet.warnings)
    assert any(w.code == "stronger" for w in mix(studio, "R1", volumes=["1 L"], strength="120%").warnings)


@pytest.mark.parametrize("words", ["0.8", "0 %", "-5 %", "900 %", "strong", "80 g", "nan %"])
def test_a_strength_that_cannot_be_is_refused(studio: Studio, words: str) -> None:
    """A share without %, of nothing, or absurd, is told beside its field."""
    with pytest.raises(BadQuantity) as trouble:
        mix(studio, "R1", volumes=["1 L"], strength=words)
    assert trouble.value.field == "strength"


def test_too_strong_for_the_pot_is_refused(studio: Studio) -> None:
    """200 % of 80 % by weight is more than the whole."""
    thick = replace(GREEN.solutions[0], ingredients=(Ingredient("cupric_nitrate_3h2o", parse_strength("80 % w/w")),))
    finishes.save_recipe(studio, replace(GREEN, name="Mole thick", solutions=(thick,)))
    with pytest.raises(BadQuantity, match="too much"):
        mix(studio, "Mole thick", volumes=["1 L"], strength="200 %")


def test_a_witness_is_more_of_the_pot(studio: Studio) -> None:
    """100 mL of witness on 1 L make 1.1 L, so 22 g, and the bottle is one that holds it with room at the top."""
    pot = mix(studio, "R1", volumes=["1 L"], witness="100 mL").solutions[0]
    assert (pot.volume_ml, pot.witness_ml, pot.weigh[0].rounded) == (1100.0, 100.0, 22.0)
    assert "100 mL of witness" in pot.working
    assert pot.bottles_ml == (2000.0,)
    assert mix(studio, "R1", volumes=["1 L"]).solutions[0].witness_ml == 0.0


@given(st.floats(0.01, 1e6))
def test_bottles_hold_the_volume_with_room(volume: float) -> None:
    """The bottles together hold the volume at nine tenths full, and no single smaller one of the last kind would."""
    found = bottles_for(volume)
    assert sum(found) * 0.9 >= volume - 1e-6
    assert len(found) == 1 or found[0] == 25_000


def test_by_hand_and_by_the_shelf_at_once_is_refused(studio: Studio) -> None:
    """What there is cannot be told twice; without a studio there is no shelf."""
    with pytest.raises(Refused, match="twice"):
        mix(studio, "R1", volumes=["1 L"], from_shelf=True, have=[HEMI])
    path = Path(studio.where) / "r.toml"
    path.write_text(finishes.export_recipe(studio, "R1"), "utf-8")
    with pytest.raises(Refused, match="no shelf"):
        mix(None, str(path), volumes=["1 L"], from_shelf=True)


def test_the_command_weighs_from_the_shelf(studio: Studio) -> None:
    """patina mix --from-shelf: one document, the lots in the lines, what is short and what it costs."""
    lot(studio, TRI, 15.0, price=Decimal("3"), currency="EUR")
    words = ["mix", "R1", "--volume", "1 L", "--from-shelf", "--strength", "90 %", "--witness", "100 mL", "--json"]
    told = CliRunner().invoke(patina, [*words, "--studio", str(studio.where)], catch_exceptions=False)
    document = json.loads(told.stdout)
    lines = document["solutions"][0]["weigh"]
    assert [line["lot"] for line in lines] == ["L1", None]
    assert sum(line["share_pct"] for line in lines) == pytest.approx(100.0)
    assert document["short"][0] == {"substance": TRI, "missing": pytest.approx(4.8), "unit": "g"}
    assert document["cost"] == [{"currency": "EUR", "amount": 3.0}]
    assert document["strength_pct"] == pytest.approx(90.0)
    assert document["solutions"][0]["witness_mL"] == 100.0


amounts = st.lists(st.tuples(st.sampled_from([TRI, HEMI]), st.floats(0.05, 40.0)), min_size=1, max_size=5)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(amounts, st.floats(100.0, 4000.0), st.sampled_from(["0.1 g", "0.01 g", "1 g"]))
def test_copper_is_conserved_and_no_lot_goes_below_zero(
    filled: Path, tmp_path: Path, lots: list[tuple[str, float]], volume_ml: float, balance: str
) -> None:
    """Moles of copper over all lines are the strength said; what is said to be missing and what is weighed make what
    was asked, within half a step of the balance for each line; keeping the pot leaves every lot at zero or more."""
    where = tmp_path / "one"
    shutil.rmtree(where, ignore_errors=True)
    shutil.copytree(filled, where)
    step = float(balance.split()[0])
    with open_studio(where) as studio:
        ids = [lot(studio, name, round(amount, 3)) for name, amount in lots]
        before = {id: shelf.lot_row(studio, id).left for id in ids}
        pot = green(studio, f"{volume_ml!r} mL", balance=balance).solutions[0]
        of = {"cupric_nitrate_3h2o": M_TRI, "cupric_nitrate_2_5h2o": M_HEMI}
        moles = sum(line.rounded / of[line.key] for line in pot.weigh)
        asked_moles = 0.02 * volume_ml / M_TRI
        assert abs(moles - asked_moles) <= (len(pot.weigh) * step / 2 + 0.02 * 0.02 * volume_ml + 1e-6) / M_HEMI
        assert pot.weigh[0].achieved_g_per_l == pytest.approx(1000 * moles * M_TRI / volume_ml, rel=1e-4, abs=1e-9)
        taken = [line for line in pot.weigh if line.lot is not None]
        weighed = tuple(Weighed(x.key, x.amount, x.rounded, x.unit, x.lot) for x in taken)
        batches.mix_batch(studio, NewBatch("R1", 1, "green", volume_ml, weighed))
        after = {id: shelf.lot_row(studio, id).left for id in ids}
        assert all(left >= 0 for left in after.values())
        assert sum(before.values()) - sum(after.values()) == pytest.approx(sum(x.rounded for x in taken), abs=1e-5)


def test_two_people_cannot_take_the_same_grams(studio: Studio) -> None:
    """A lot that another pot has emptied since the mix was worked out is refused, and nothing of the split is taken."""
    lot(studio, TRI, 15.0)
    lot(studio, TRI, 6.0)
    pot = green(studio).solutions[0]
    shelf.take_from_lot(studio, "L2", 4.0, "g", "another pot")
    weighed = tuple(Weighed(x.key, x.amount, x.rounded, x.unit, x.lot) for x in pot.weigh)
    with pytest.raises(ShortStock):
        batches.mix_batch(studio, NewBatch("R1", 1, "green", 1000.0, weighed))
    assert [shelf.lot_row(studio, id).left for id in ("L1", "L2")] == [15.0, 2.0]


def test_the_label_of_a_weaker_pot_is_that_of_a_weaker_pot(studio: Studio) -> None:
    """The strength of a pot on record follows from what was asked of its lots, also where two hydrates were weighed."""
    lot(studio, TRI, 7.0)
    lot(studio, HEMI, 500.0, assay_pct=98.0)
    shelf.take_from_lot(studio, "L2", 488.0, "g", "tiles")
    for words, factor in (("60 %", 0.6), ("100 %", 1.0)):
        pot = green(studio, "500 mL", strength=words).solutions[0]
        weighed = tuple(Weighed(x.key, x.amount, x.rounded, x.unit, x.lot) for x in pot.weigh)
        made = batches.mix_batch(studio, NewBatch("R1", 1, "green", 500.0, weighed))
        assert strength_of(studio, made) == pytest.approx(factor, rel=1e-3)


def test_the_batch_sheet_tells_bottle_witness_strength_and_what_is_missing(studio: Studio) -> None:
    """On paper: which bottle, how much is sealed, which share of the strength, and which line the shelf lacks."""
    lot(studio, TRI, 7.0)
    sheet = green(studio, witness="100 mL", strength="80 %")
    document = batch_document(sheet, made_on=date(2026, 3, 4))
    kept = repr(document.blocks).replace(THIN, " ").replace("\\u202f", " ").replace("\\xa0", " ")
    assert "Bottle: 2000 mL." in kept
    assert "100 mL of it sealed" in kept
    assert "80 % of the recipe" in {value.replace(THIN, " ") for _, value in document.facts}
    assert "L1" in kept
    assert "not on the shelf yet" in kept


def test_lots_of_two_assays_hold_what_was_asked(studio: Studio) -> None:
    """8 g of 90 % and the rest of 100 %: 7.2 g are there, and 12.8 g more are weighed."""
    lot(studio, TRI, 8.0, assay_pct=90.0, opened_on=date(2026, 1, 2), grade="technical", place="dry cupboard")
    lot(studio, TRI, 15.0, assay_pct=100.0)
    first, second = green(studio).solutions[0].weigh
    assert (first.lot, first.rounded, second.lot, second.rounded) == ("L1", 8.0, "L2", 12.8)
    assert first.lot_words == "90 %, technical, dry cupboard"
    assert first.share_pct + second.share_pct == pytest.approx(100.0)


def test_a_powder_kept_in_millilitres_is_left_out_and_said(studio: Studio) -> None:
    """What is put on the balance cannot be taken from a lot that is kept by volume."""
    wrong = lot(studio, TRI, 500.0, "mL")
    sheet = green(studio)
    assert sheet.solutions[0].weigh[0].missing
    assert any(w.code == "lot-left-out" and wrong in w.text for w in sheet.warnings)


def test_a_strength_by_weight_is_shared_over_lots(studio: Studio) -> None:
    """10 % by weight in 1 L: what two lots bring together is what one lot would have brought."""
    thick = replace(GREEN.solutions[0], ingredients=(Ingredient("cupric_nitrate_3h2o", parse_strength("10 % w/w")),))
    finishes.save_recipe(studio, replace(GREEN, name="Mole ten", solutions=(thick,)))
    whole = mix(studio, "Mole ten", volumes=["1 L"]).solutions[0].weigh[0]
    lot(studio, TRI, 60.0)
    lot(studio, TRI, 60.0)
    lines = mix(studio, "Mole ten", volumes=["1 L"], from_shelf=True).solutions[0].weigh
    assert [line.lot for line in lines] == ["L1", "L2"]
    assert sum(line.rounded for line in lines) == pytest.approx(whole.rounded)


def test_nothing_is_taken_by_looking(studio: Studio) -> None:
    """Working a mix out changes no lot."""
    lot(studio, TRI, 30.0)
    green(studio)
    green(studio)
    assert shelf.lot_row(studio, "L1").left == 30.0
    assert len(shelf.lot_movements(studio, "L1")) == 1


@pytest.mark.parametrize(
    ("one", "other", "sealed"),
    [
        ("silver_nitrate", "ammonia_solution", False),
        ("sodium_bicarbonate", "citric_acid", False),
        ("hydrogen_peroxide", "sodium_chloride", False),
        ("liver_of_sulphur", "acetic_acid", False),
        ("cupric_nitrate_3h2o", "sodium_chloride", True),
    ],
)
def test_no_witness_is_sealed_of_what_gives_off_gas(studio: Studio, one: str, other: str, sealed: bool) -> None:
    """Ammoniacal silver, carbonate with acid, peroxide and sulphide with acid are never sealed: no witness is mixed,
    the volume stays, and it is said why; a quiet salt solution has its 100 mL."""
    parts = tuple(Ingredient(key, parse_strength("10 g/L")) for key in (one, other))
    pot = Solution("pot", "distilled_water", parts)
    path = Path(studio.where) / "pot.toml"
    finishes.save_recipe(studio, replace(GREEN, name="Mole pot", solutions=(pot,), steps=(Step("dwell"),)))
    path.write_text(finishes.export_recipe(studio, "Mole pot"), "utf-8")
    sheet = mix(studio, "Mole pot", volumes=["1 L"], witness="100 mL")
    assert sheet.solutions[0].volume_ml == (1100.0 if sealed else 1000.0)
    assert (sheet.solutions[0].witness_ml > 0) is sealed
    assert any(w.code == "no-witness" for w in sheet.warnings) is not sealed
