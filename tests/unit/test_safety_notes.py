"""The safety sheet of whole recipes: pots, dangers between steps, gases, persons, waste."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from patina.chemistry.strength import parse_strength
from patina.chemistry.substances import Catalogue, catalogue
from patina.errors import BadQuantity, NotFound
from patina.recipe import Ingredient, Recipe, Solution, Step
from patina.safety.advice import metal_g_per_l, rows
from patina.safety.composition import compose
from patina.safety.formula import count_of
from patina.safety.notes import safety_of
from patina.safety.values import SafetySheet
from patina.sources import bibliography

HOT = (90.0, 110.0)


def pot(
    name: str, *parts: tuple[str, str], solvent: str = "distilled water", volume_is: str = "made up to"
) -> Solution:
    ingredients = tuple(Ingredient(catalogue().find(n).key, parse_strength(s)) for n, s in parts)
    return Solution(name, solvent, ingredients, volume_is)


SULPHIDE = pot("sulphide wash", ("liver of sulphur", "20 g/L"))
FERRIC = pot("ferric wash", ("ferric nitrate nonahydrate", "100 g/L"))
COPPER = pot("copper wash", ("cupric nitrate trihydrate", "100 g/L"))
SILVER = pot("silver bath", ("silver nitrate", "17 g/L"))


def apply(name: str, method: str = "torch", surface: tuple[float, float] | None = HOT) -> Step:
    return Step("apply", solution=name, method=method, surface_temperature_c=surface)


def sheet(solutions: tuple[Solution, ...], steps: tuple[Step, ...] = (), **given: object) -> SafetySheet:
    return safety_of(Recipe("test", "", (), "", solutions, steps), catalogue(), **given)  # type: ignore[arg-type]


def levels(of: SafetySheet) -> dict[str, str]:
    return {d.rule: d.level for d in of.dangers}


def gas_names(of: SafetySheet) -> set[str]:
    return {e.gas for e in of.emits}


# --- dangers between steps ---


def test_sulphide_then_ferric_nitrate_is_critical_and_says_where() -> None:
    """Sulphide and an acid salt on the same metal: hydrogen sulphide; the missing rinse is named with its steps."""
    found = sheet((SULPHIDE, FERRIC), (apply("sulphide wash"), apply("ferric wash")))
    danger = next(d for d in found.dangers if d.rule == "sulphide_acid")
    assert danger.level == "critical" and danger in found.critical
    assert "liver of sulphur" in danger.between[0] and "ferric nitrate" in danger.between[1]
    assert "step 1 and step 2" in danger.where
    rinsed = sheet((SULPHIDE, FERRIC), (apply("sulphide wash"), Step("rinse"), apply("ferric wash")))
    danger = next(d for d in rinsed.dangers if d.rule == "sulphide_acid")
    assert danger.level == "critical" and "no rinse" not in danger.where


def test_nitrate_then_wax_on_a_hot_cast_is_critical() -> None:
    """Nitrate left on the metal and wax on the hot cast; rinsed and cooled it is serious still."""
    hot = sheet((FERRIC,), (apply("ferric wash"), Step("wax", surface_temperature_c=(70, 90))))
    assert levels(hot)["nitrate_fuel"] == "critical" and levels(hot)["fuel_hot"] == "critical"
    unsaid = sheet((FERRIC,), (apply("ferric wash"), Step("wax")))
    assert levels(unsaid)["nitrate_fuel"] == "critical" and levels(unsaid)["fuel_hot"] == "critical"
    cooled = sheet((FERRIC,), (apply("ferric wash"), Step("rinse"), Step("wax", surface_temperature_c=(20, 30))))
    assert levels(cooled)["nitrate_fuel"] == "serious" and "fuel_hot" not in levels(cooled)


def test_copper_nitrate_then_ammonia_fume_is_critical() -> None:
    """Ammine nitrates are energetic: an ammonia-fumed nitrate under the torch."""
    ammonia = pot("ammonia saucer", ("ammonia solution", "10 % w/w"))
    found = sheet((COPPER, ammonia), (apply("copper wash"), apply("ammonia saucer", "fume", None)))
    assert levels(found)["copper_nitrate_ammonia"] == "critical"


def test_silver_bath_under_the_torch_warns_of_acetylene() -> None:
    """Silver and unburnt acetylene: an explosive; not where no torch is used."""
    assert levels(sheet((SILVER,), (apply("silver bath"),)))["silver_acetylene"] == "critical"
    assert "silver_acetylene" not in levels(sheet((SILVER,), (apply("silver bath", "immersion", None),)))


def test_ammoniacal_silver_starts_the_discard_clock() -> None:
    """The clock stands on the danger and in the waste notes."""
    found = sheet((pot("black", ("silver nitrate", "10 g/L"), ("ammonia solution", "2 % w/w")),))
    danger = next(d for d in found.dangers if d.rule == "silver_ammonia")
    assert danger.discard_within_h == 8
    assert any("discard within 8 h" in line for line in found.waste)


def test_inhibitor_on_hot_metal_is_serious() -> None:
    """Benzotriazole breaks up on hot metal; on a cold one it does not."""
    guard = pot("inhibitor", ("benzotriazole", "30 g/L"), solvent="isopropanol")
    assert levels(sheet((guard,), (apply("inhibitor"),)))["inhibitor_hot"] == "serious"
    assert "inhibitor_hot" not in levels(sheet((guard,), (apply("inhibitor", "cold brush", (15.0, 25.0)),)))


def test_wax_alone_still_has_notes() -> None:
    """A recipe of hot wax without any solution: burns, vapour, fire watch, and the caution."""
    found = sheet((), (Step("heat", surface_temperature_c=(60, 80)), Step("wax", surface_temperature_c=(60, 80))))
    assert not found.solutions
    assert levels(found)["fuel_hot"] == "critical"
    assert "white spirit vapour" in gas_names(found)
    assert any("fire watch" in line for line in found.place) and any("Burns by wax" in line for line in found.place)
    assert found.ppe and "safety data sheet" in found.caution


def test_cold_wax_is_no_fire_alarm() -> None:
    """Wax on a cold cast with no flame before it."""
    assert not sheet((), (Step("wax", surface_temperature_c=(15, 25)),)).dangers


def test_water_alone_raises_no_alarm() -> None:
    """Distilled water under the torch: no class, no danger, no gas, no chemical gloves."""
    found = sheet((pot("water"),), (apply("water"),))
    assert not (found.dangers or found.emits or found.solutions[0].classes or found.solutions[0].undecided)
    assert not any("glove maker" in line for line in found.ppe)


# --- gases ---


def test_torch_makes_nitrous_fumes_of_nitrates() -> None:
    """Nitrogen dioxide from a nitrate on hot metal, with each body's limit; not from a cold brush."""
    hot = sheet((COPPER,), (apply("copper wash"),))
    emission = next(e for e in hot.emits if e.gas == "nitrogen dioxide")
    assert {x.who for x in emission.limits} == {"NIOSH REL", "OSHA PEL", "UK WEL", "EU IOELV", "NIOSH"}
    assert "step 1, torch" in emission.when and "lung" in emission.note
    assert "nitrogen dioxide" not in gas_names(sheet((COPPER,), (apply("copper wash", "cold brush", (15.0, 25.0)),)))


def test_sulphide_always_warns_of_hydrogen_sulphide() -> None:
    """Any acid will do, so it is said in every sulphide recipe; that this recipe holds acid is said as well."""
    alone = next(e for e in sheet((SULPHIDE,)).emits if e.gas == "hydrogen sulphide")
    assert "holds some" not in alone.when and "Smell is no alarm" in alone.note
    assert any("holds some" in e.when for e in sheet((SULPHIDE, FERRIC)).emits if e.gas == "hydrogen sulphide")


def test_decomposition_heat_is_heeded() -> None:
    """Copper sulphate gives sulphur dioxide only from 590 °C: not at patination heat."""
    bath = pot("blue", ("cupric sulfate pentahydrate", "50 g/L"))
    assert "sulphur dioxide" not in gas_names(sheet((bath,), (apply("blue"),)))
    sal = pot("sal", ("ammonium chloride", "50 g/L"))
    assert "ammonium chloride fume" in gas_names(sheet((sal,), (apply("sal"),)))
    assert "ammonium chloride fume" not in gas_names(sheet((sal,), (apply("sal", "oven", (80.0, 90.0)),)))


def test_chromate_always_counts_as_mist() -> None:
    """Chromium(VI) even from a brush."""
    bath = pot("chrome", ("potassium dichromate", "10 g/L"))
    assert "chromium(VI) mist" in gas_names(sheet((bath,), (apply("chrome", "cold brush", None),)))


def test_ammonia_from_its_salts_needs_an_alkali() -> None:
    """Sal ammoniac gives ammonia where the recipe holds an alkali."""
    sal = pot("sal", ("ammonium chloride", "50 g/L"))
    assert "ammonia" not in gas_names(sheet((sal,), (apply("sal", "cold brush", None),)))
    lye = pot("lye", ("sodium hydroxide", "10 g/L"))
    assert "ammonia" in gas_names(sheet((sal, lye), (apply("sal", "cold brush", None),)))


# --- strength, pH, density ---


def test_measured_ph_and_density_are_used() -> None:
    """pH 1.8 makes the ferric bath corrosive; a measured density moves the per cent."""
    found = sheet((FERRIC,), ph={"ferric wash": 1.8}, density={"ferric wash": 1.05})
    one = found.solutions[0]
    assert [(c.class_code, c.h) for c in one.classes] == [("Skin Corr. 1", "H314")]
    assert one.density_g_ml == 1.05 and one.density_note == "as measured" and one.ph == 1.8
    assert dict(one.shares)["ferric nitrate nonahydrate"] == pytest.approx(100 / 10.5)


def test_weight_per_volume_is_not_weight_per_weight() -> None:
    """100 g/L ferric nitrate is below 10 % w/w and so no irritant; 10 % w/w is one."""
    assert not sheet((FERRIC,)).solutions[0].classes
    by_weight = sheet((pot("f", ("ferric nitrate nonahydrate", "10 % w/w")),)).solutions[0]
    assert {c.class_code for c in by_weight.classes} == {"Skin Irrit. 2", "Eye Irrit. 2"}


def test_added_to_needs_no_density() -> None:
    """100 g added to a litre of water are 100 / 1098.2 by weight."""
    bath = pot("s", ("sodium chloride", "100 g/L"), volume_is="added to")
    assert compose(bath, catalogue()).components[0].pct_ww == pytest.approx(100 * 100 / 1098.2, rel=1e-4)
    assert compose(bath, catalogue()).components[0].error_pct_ww == 0


def test_solvent_other_than_water_is_an_ingredient() -> None:
    """3 % benzotriazole in isopropanol: the alcohol burns."""
    guard = pot("inhibitor", ("benzotriazole", "3 % w/w"), solvent="isopropanol")
    one = sheet((guard,)).solutions[0]
    assert "Flam. Liq. 2" in {c.class_code for c in one.classes} and "GHS02" in one.pictograms
    unknown = sheet((pot("x", ("benzotriazole", "3 % w/w"), solvent="moon spirit"),))
    assert "moon spirit" in unknown.solutions[0].undecided[-1].needs and not unknown.complete


def test_a_substance_without_hazard_information_is_said() -> None:
    """Unknown is printed as unknown, and the sheet is not complete."""
    strange = replace(catalogue().get("sodium_chloride"), key="strange", name="strange salt", hazard_basis="unknown")
    known: Catalogue = catalogue().with_added(strange)
    recipe = Recipe("t", "", (), "", (Solution("p", "water", (Ingredient("strange", parse_strength("50 g/L")),)),))
    found = safety_of(recipe, known)
    assert "strange salt" in found.solutions[0].undecided[-1].needs and not found.complete
    assert sheet((SULPHIDE,)).complete


def test_what_cannot_be_is_refused() -> None:
    """A pH for a pot that is not there, a density no solution has, a pH of 20."""
    with pytest.raises(NotFound):
        sheet((FERRIC,), ph={"another": 2.0})
    with pytest.raises(BadQuantity):
        sheet((FERRIC,), density={"ferric wash": 9.0})
    with pytest.raises(BadQuantity):
        sheet((FERRIC,), ph={"ferric wash": 20.0})
    with pytest.raises(BadQuantity):
        sheet((FERRIC,), regime="MOON")


def test_regimes_differ() -> None:
    """The US standard knows no aquatic class and no EU statement."""
    blue = pot("blue", ("cupric sulfate pentahydrate", "50 g/L"))
    assert any("Aquatic" in c.class_code for c in sheet((blue,)).solutions[0].classes)
    assert not any("Aquatic" in c.class_code for c in sheet((blue,), regime="HCS").solutions[0].classes)


# --- waste, persons, document ---


def test_metal_in_the_waste() -> None:
    """CuSO4.5H2O holds 63.546 / 249.685 of copper: 50 g/L are 12.7 g/L, 6.4 g in 500 mL."""
    blue = pot("blue", ("cupric sulfate pentahydrate", "50 g/L"))
    found = sheet((blue,), volumes_ml={"blue": 500.0})
    assert "blue: 12.7 g copper per litre, 6.36 g in 500 mL." in found.waste
    chrome = metal_g_per_l(((catalogue().get("potassium_dichromate"), 10.0),))
    assert chrome["Cr"] == pytest.approx(10 * 2 * 51.9961 / 294.1846)


def test_formulas_are_counted() -> None:
    """Brackets, hydrates and basic salts; words are not counted."""
    assert count_of("Bi5O(OH)9(NO3)4", "NO3") == 4 and count_of("K4[Fe(CN)6].3H2O", "Fe") == 1
    assert count_of("Cu(NO3)2.2.5H2O", "Cu") == 1 and count_of("(NH4)2CO3", "NH4") == 2
    assert count_of("waxes in white spirit", "S") == 0


def test_document_has_every_agreed_field() -> None:
    """The JSON document keeps the names that scripts rely on, and is plain JSON."""
    document = json.loads(
        json.dumps(sheet((SULPHIDE, FERRIC), (apply("sulphide wash"), apply("ferric wash"))).as_json())
    )
    assert {"solutions", "dangers", "emits", "ppe", "waste", "caution"} <= set(document)
    one = document["solutions"][0]
    assert {"name", "signal_word", "classes", "euh", "pictograms", "undecided"} <= set(one)
    assert {"class", "h", "why"} <= set(one["classes"][0]) and {"class", "needs"} <= set(one["undecided"][0])
    assert {"between", "consequence", "level", "source"} <= set(document["dangers"][0])
    assert {"gas", "from", "when", "limits"} <= set(document["emits"][0])
    assert {"who", "value", "source"} <= set(document["emits"][0]["limits"][0])
    assert len(document["dangers"][0]["between"]) == 2


def test_every_statement_cites_a_source_of_the_bibliography() -> None:
    """Classes, dangers, gases, limits and advice: no row without source."""
    known = set(bibliography())
    found = sheet((SULPHIDE, FERRIC, SILVER, COPPER), tuple(apply(s.name) for s in (SULPHIDE, FERRIC, SILVER, COPPER)))
    keys = {c.source for s in found.solutions for c in (*s.classes, *s.supplemental)}
    keys |= {d.source for d in found.dangers} | {e.source for e in found.emits}
    keys |= {x.source for e in found.emits for x in e.limits} | {row.source for row in rows()}
    assert {k.upper() for k in keys} <= {k.upper() for k in known}


def test_worst_dangers_come_first() -> None:
    """Critical before serious before caution."""
    found = sheet((SULPHIDE, FERRIC), (apply("sulphide wash"), apply("ferric wash"), Step("wax")))
    order = [("critical", "serious", "caution").index(d.level) for d in found.dangers]
    assert order == sorted(order) and order[0] == 0
