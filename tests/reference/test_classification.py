"""Classification of mixtures against worked examples and threshold tables of the rules themselves.

Sources named beside each check. UN examples: United Nations Sub-Committee of Experts on the GHS, documents
ST/SG/AC.10/C.4/2008/23 (annex 2) and ST/SG/AC.10/C.4/2012/25, read in copies. Threshold tables: CLP Annex I, with
table numbers, read in a third-party copy; UN GHS Rev. 11 Tables 3.1.1 and 3.1.2; 29 CFR 1910.1200 Appendix A.
"""

from __future__ import annotations

import pytest
from mixtures import codes, made, mix, of

from patina.chemistry.density import density_of
from patina.chemistry.strength import parse_strength
from patina.chemistry.substances import (
    AcuteToxicityEstimate,
    SpecificLimit,
    Substance,
    catalogue,
)
from patina.recipe import Ingredient, Recipe, Solution
from patina.safety.acute import additivity, category_of
from patina.safety.mixture import Component, classify
from patina.safety.notes import safety_of

# --- worked examples ---


def test_worked_example_of_a_copper_sulphate_and_sal_ammoniac_bath() -> None:
    """Per litre 50 g CuSO4.5H2O, 50 g NH4Cl, 20 g acetic acid: Eye Dam. 1, Acute 1, Chronic 2 and nothing else.

    Working: harmonised entries 029-023-00-4, 017-014-00-8, 607-002-00-6 of CLP Annex VI and the sums of Annex I;
    density 1.0467 by Laliberte 2009.
    """
    names = {"cupric_sulfate_5h2o": "50 g/L", "ammonium_chloride": "50 g/L", "acetic_acid": "20 g/L"}
    density, _, _ = density_of({catalogue().get(k): float(v.split()[0]) for k, v in names.items()})
    assert density == pytest.approx(1.0467, abs=0.0005)
    solution = Solution("bath", "distilled water", tuple(Ingredient(k, parse_strength(v)) for k, v in names.items()))
    pot = safety_of(Recipe("E1", "", (), "", (solution,)), catalogue()).solutions[0]
    assert [(c.class_code, c.h) for c in pot.classes] == [
        ("Eye Dam. 1", "H318"),
        ("Aquatic Acute 1", "H400"),
        ("Aquatic Chronic 2", "H411"),
    ]
    assert dict(pot.shares)["cupric sulphate pentahydrate"] == pytest.approx(4.777, abs=0.002)
    assert dict(pot.shares)["acetic acid"] == pytest.approx(1.911, abs=0.002)
    assert pot.signal_word == "Danger"
    assert pot.pictograms == ("GHS05", "GHS09")
    assert [u.class_code for u in pot.undecided] == ["Skin Corr. 1"] and "pH" in pot.undecided[0].needs


@pytest.mark.parametrize(
    ("parts", "unknown_pct", "printed"),
    [
        ([(16, 1600), (4, 200), (80, 3450)], 0, 1880),  # 2008/23 annex 2, oral
        ([(4, 1737)], 0, 43425),  # 2008/23 annex 2, example 3, oral
        ([(26, 2737), (23, 4500), (40, 400)], 0, 873),  # 2008/23 annex 2, two routes, oral
        ([(26, 11), (23, 19), (40, 4)], 11, 6.6),  # the same, inhalation, 11 % unknown
    ],
)
def test_additivity_formula_gives_the_united_nations_examples(
    parts: list[tuple[float, float]], unknown_pct: float, printed: float
) -> None:
    """100/ATEmix = sum(C/ATE), and the unknown share above 10 % leaves the hundred."""
    assert additivity(parts, unknown_pct)[0] == pytest.approx(printed, rel=0.0006, abs=0.05)


def test_united_nations_example_with_an_unknown_ingredient() -> None:
    """26 % at 11, 23 % at 19, 40 % at 4 mg/L and 11 % unknown: category 3 by breath, and the unknown share is said."""

    def vapour(key: str, value: float) -> Substance:
        estimate = AcuteToxicityEstimate("vapour_mg_L", value, "MEMORY")
        return made(key, "Acute Tox. 4/inhalation", form="liquid", ates=(estimate,))

    unknown = made("unknown", hazard_basis="unknown")
    result = mix((vapour("a", 11), 26), (vapour("b", 19), 23), (vapour("c", 4), 40), (unknown, 11))
    assert [(f.code, f.h) for f in result.found] == [("Acute Tox. 3", "H331")]
    assert any("11 % of the mixture consists of ingredients of unknown acute toxicity" in n for n in result.notes)
    assert any(o.code == "all classes" for o in result.open)


def test_united_nations_example_not_classified_by_mouth() -> None:
    """4 % of LD50 1737 mg/kg, the rest above 2000 mg/kg: 43 425 mg/kg, no class (2008/23 annex 2, example 3)."""
    low = made("a", ates=(AcuteToxicityEstimate("oral", 1737, "MEMORY"),))
    high = made("b", ates=(AcuteToxicityEstimate("oral", 5400, "MEMORY"),))
    assert not mix((low, 4), (high, 91)).found


def test_united_nations_example_of_the_aquatic_summation() -> None:
    """0.01 % of Acute 1 / Chronic 1 with M 10, 1 % Chronic 2, 25 % Chronic 4: Chronic 4 alone (2012/25)."""
    one = made("a", "Aquatic Acute 1", "Aquatic Chronic 1", m_acute=10.0, m_chronic=10.0)
    result = mix((one, 0.01), (made("b", "Aquatic Chronic 2"), 1.0), (made("c", "Aquatic Chronic 4"), 25.0))
    assert [(f.code, f.h) for f in result.found] == [("Aquatic Chronic 4", "H413")]
    assert "26" in result.found[0].why


def test_helpdesk_example_below_and_above_the_cut_off() -> None:
    """An irritant at 0.8 % is below the cut-off of 1 % and does not count (ECHA Helpdesk exercises, 2012)."""
    irritant, other = made("a", "Skin Irrit. 2"), made("b", "Skin Irrit. 2")
    assert codes(mix((irritant, 0.8), (other, 9.5))) == set()
    assert codes(mix((irritant, 1.0), (other, 9.0))) == {"Skin Irrit. 2"}


# --- threshold tables: below, at, above ---

JUST = 0.01


@pytest.mark.parametrize(
    ("ingredient", "limit", "below", "at"),
    [
        ("Skin Corr. 1A", 5, "Skin Irrit. 2", "Skin Corr. 1A"),  # Table 3.2.3
        ("Skin Corr. 1B", 5, "Skin Irrit. 2", "Skin Corr. 1B"),
        ("Skin Corr. 1C", 5, "Skin Irrit. 2", "Skin Corr. 1C"),
        ("Skin Corr. 1", 5, "Skin Irrit. 2", "Skin Corr. 1"),
        ("Skin Corr. 1B", 1, None, "Skin Irrit. 2"),
        ("Skin Irrit. 2", 10, None, "Skin Irrit. 2"),
        ("Eye Dam. 1", 3, "Eye Irrit. 2", "Eye Dam. 1"),  # Table 3.3.3
        ("Eye Dam. 1", 1, None, "Eye Irrit. 2"),
        ("Skin Corr. 1B", 3, "Eye Irrit. 2", "Eye Dam. 1"),
        ("Eye Irrit. 2", 10, None, "Eye Irrit. 2"),
        ("Resp. Sens. 1", 1, None, "Resp. Sens. 1"),  # Table 3.4.5
        ("Resp. Sens. 1A", 0.1, None, "Resp. Sens. 1A"),
        ("Skin Sens. 1", 1, None, "Skin Sens. 1"),
        ("Skin Sens. 1B", 1, None, "Skin Sens. 1B"),
        ("Skin Sens. 1A", 0.1, None, "Skin Sens. 1A"),
        ("Muta. 1B", 0.1, None, "Muta. 1B"),  # Table 3.5.2
        ("Muta. 2", 1, None, "Muta. 2"),
        ("Carc. 1B", 0.1, None, "Carc. 1B"),  # Table 3.6.2
        ("Carc. 2", 1, None, "Carc. 2"),
        ("Repr. 1B", 0.3, None, "Repr. 1B"),  # Table 3.7.2
        ("Repr. 2", 3, None, "Repr. 2"),
        ("Lact.", 0.3, None, "Lact."),
        ("STOT SE 1", 10, "STOT SE 2", "STOT SE 1"),  # Table 3.8.3
        ("STOT SE 1", 1, None, "STOT SE 2"),
        ("STOT SE 2", 10, None, "STOT SE 2"),
        ("STOT SE 3/H335", 20, None, "STOT SE 3"),  # 3.8.3.4.5
        ("STOT SE 3/H336", 20, None, "STOT SE 3"),
        ("STOT RE 1", 10, "STOT RE 2", "STOT RE 1"),  # Table 3.9.4
        ("STOT RE 1", 1, None, "STOT RE 2"),
        ("STOT RE 2", 10, None, "STOT RE 2"),
        ("Aquatic Chronic 2", 25, "Aquatic Chronic 3", "Aquatic Chronic 2"),  # Table 4.1.2
        ("Aquatic Chronic 2", 2.5, None, "Aquatic Chronic 3"),
        ("Aquatic Chronic 3", 25, None, "Aquatic Chronic 3"),
        ("Aquatic Chronic 4", 25, None, "Aquatic Chronic 4"),
    ],
)
def test_generic_limits_below_at_and_above(ingredient: str, limit: float, below: str | None, at: str) -> None:
    """Each generic limit holds from the limit on, included."""
    substance = made("x", ingredient)
    step = min(JUST, limit / 100)
    under = codes(mix((substance, limit - step)))
    assert at not in under
    assert below is None or below in under
    assert at in codes(mix((substance, limit)))
    assert at in codes(mix((substance, limit + step)))


def test_limits_hold_at_the_limit_when_lots_add_up_to_it() -> None:
    """Ten lots of 0.5 % are 5 %, whatever the rounding of the machine."""
    corrosive = made("x", "Skin Corr. 1B")
    assert codes(mix(*[(corrosive, 0.5)] * 10)) >= {"Skin Corr. 1B"}
    assert codes(mix(*[(made("y", "Skin Irrit. 2"), 0.1)] * 100)) == {"Skin Irrit. 2"}


@pytest.mark.parametrize(
    ("shares", "expected"),
    [
        ((5, 0, 0), "Skin Corr. 1A"),
        ((4, 1, 0), "Skin Corr. 1B"),
        ((4, 0, 1), "Skin Corr. 1C"),
        ((2, 2, 1), "Skin Corr. 1C"),
        ((2, 3, 4), "Skin Corr. 1B"),
        ((2, 1, 1), "Skin Irrit. 2"),
    ],
)
def test_sub_category_that_the_running_sum_reaches(shares: tuple[float, ...], expected: str) -> None:
    """1A alone from 5 %, else 1A + 1B, else 1A + 1B + 1C (note to Table 3.2.3)."""
    parts = [(made(x, f"Skin Corr. 1{x}"), pct) for x, pct in zip("ABC", shares, strict=True) if pct]
    assert expected in codes(mix(*parts))


def test_weighted_sums_of_corrosive_and_irritant_ingredients() -> None:
    """10 x corrosive + irritant from 10 % irritates (Tables 3.2.3 and 3.3.3)."""
    corrosive, irritant = made("c", "Skin Corr. 1B"), made("i", "Skin Irrit. 2", "Eye Irrit. 2")
    assert not codes(mix((corrosive, 0.9), (irritant, 9.9)))  # below its cut-off the corrosive one does not count
    assert codes(mix((corrosive, 1.0), (irritant, 1.0))) == {"Skin Irrit. 2", "Eye Irrit. 2"}
    two = made("d", "Skin Irrit. 2")
    assert codes(mix((two, 5), (irritant, 5))) == {"Skin Irrit. 2"}


def test_an_ingredient_that_is_corrosive_and_eye_damaging_counts_once() -> None:
    """1.6 % of Skin Corr. 1B + Eye Dam. 1 is 1.6, not 3.2: Eye Irrit. 2."""
    both = made("b", "Skin Corr. 1B", "Eye Dam. 1")
    assert "Eye Irrit. 2" in codes(mix((both, 1.6)))


@pytest.mark.parametrize(
    ("route", "edges"),
    [
        ("oral", (5, 50, 300, 2000)),
        ("dermal", (50, 200, 1000, 2000)),
        ("gas_ppmV", (100, 500, 2500, 20000)),
        ("vapour_mg_L", (0.5, 2, 10, 20)),
        ("dust_mist_mg_L", (0.05, 0.5, 1, 5)),
    ],
)
def test_bands_of_acute_toxicity(route: str, edges: tuple[float, ...]) -> None:
    """Each band reaches to its upper end, included (UN GHS Rev. 11 Table 3.1.1)."""
    for category, edge in enumerate(edges, 1):
        assert category_of(edge, route) == category
        assert category_of(edge * 1.001, route) == category + 1


@pytest.mark.parametrize("category", [1, 2, 3, 4])
@pytest.mark.parametrize(("route", "form"), [("oral", "solid"), ("dermal", "solid"), ("inhalation", "solid")])
def test_a_pure_ingredient_keeps_its_own_category(category: int, route: str, form: str) -> None:
    """The point that stands for a category may lie on the edge of the next worse one: 100 % stays what it is."""
    substance = made("x", f"Acute Tox. {category}/{route}", form=form)
    assert codes(mix((substance, 100))) == {f"Acute Tox. {category}"}


def test_ingredients_below_the_cut_off_of_their_category_do_not_count_for_acute_toxicity() -> None:
    """Category 4 from 1 %, categories 1 to 3 from 0.1 % (Table 1.1)."""
    assert codes(mix((made("a", "Acute Tox. 1/oral"), 0.1))) == {"Acute Tox. 4"}
    assert codes(mix((made("a", "Acute Tox. 1/oral"), 0.09))) == set()


@pytest.mark.parametrize(
    ("m", "share", "expected"),
    [(1, 25, True), (1, 24.9, False), (10, 2.5, True), (10, 2.4, False), (1000, 0.025, True), (1000, 0.0249, False)],
)
def test_aquatic_acute_with_its_factor(m: float, share: float, expected: bool) -> None:
    """sum(M x Acute 1) from 25 % (Table 4.1.1)."""
    substance = made("x", "Aquatic Acute 1", m_acute=float(m))
    assert ("Aquatic Acute 1" in codes(mix((substance, share)))) is expected


@pytest.mark.parametrize(("share", "expected"), [(25, 1), (24.9, 2), (2.5, 2), (2.49, 3), (0.25, 3), (0.249, None)])
def test_aquatic_chronic_1_thins_out_to_2_and_3(share: float, expected: int | None) -> None:
    """M x Chronic 1: 25 % for 1, ten times for 2, a hundred times for 3 (Table 4.1.2)."""
    result = codes(mix((made("x", "Aquatic Chronic 1", m_chronic=1.0), share)))
    assert result == (set() if expected is None else {f"Aquatic Chronic {expected}"})


# --- US hazard communication standard ---


@pytest.mark.parametrize(
    ("ingredient", "limit"),
    [
        ("Carc. 2", 0.1),  # Table A.6.1
        ("Repr. 1B", 0.1),  # Table A.7.1
        ("Repr. 2", 0.1),
        ("Skin Sens. 1", 0.1),  # Table A.4.5
        ("Resp. Sens. 1", 0.1),
        ("STOT RE 1", 1.0),  # Table A.9.3
        ("STOT RE 2", 1.0),
        ("STOT SE 2", 1.0),  # Table A.8.2
        ("Lact.", 0.1),
    ],
)
def test_limits_of_the_us_standard(ingredient: str, limit: float) -> None:
    """The US limits are lower and know no step from category 1 to 2."""
    substance = made("x", ingredient)
    assert codes(mix((substance, limit), regime="HCS")) == {ingredient}
    assert not codes(mix((substance, limit * 0.99), regime="HCS"))
    assert ingredient not in codes(mix((substance, limit)))


def test_the_us_standard_has_no_aquatic_classes_and_no_eu_statements() -> None:
    """The same bath: aquatic under CLP, not under HCS."""
    assert not [f for f in of("cupric_sulfate_5h2o", 10, regime="HCS").found if "Aquatic" in f.code]
    assert not of("liver_of_sulphur", 2, regime="HCS").euh


# --- pH, unknown factors, density ---


@pytest.mark.parametrize(("ph", "corrosive"), [(2.0, True), (2.01, False), (11.49, False), (11.5, True), (0.5, True)])
def test_extreme_ph_is_corrosive_whatever_the_sums_say(ph: float, corrosive: bool) -> None:
    """pH 2 or below, 11.5 or above: Skin Corr. 1 (CLP Annex I 3.2.3.1.2)."""
    result = of("ferric_nitrate_9h2o", 9.4, ph=ph)
    assert (("Skin Corr. 1", "H314") in result.codes) is corrosive
    assert not [o for o in result.open if o.family == "skin"]


def test_ph_is_asked_for_only_where_it_could_matter() -> None:
    """Salt water and a trace of acid cannot reach pH 2; a per cent of it can."""
    assert not [o for o in of("sodium_chloride", 10).open if o.family == "skin"]
    assert not [o for o in of("acetic_acid", 0.01).open if o.family == "skin"]
    assert [o.code for o in of("acetic_acid", 1).open if o.family == "skin"] == ["Skin Corr. 1"]
    assert [o.code for o in of("liver_of_sulphur", 0.5).open if o.family == "skin"] == ["Skin Corr. 1"]


def test_a_missing_factor_is_not_one() -> None:
    """1 g/L silver nitrate: neither classed nor cleared for water life; 300 g/L is classed whatever the factor."""
    thin = of("silver_nitrate", 0.1)
    assert not [f for f in thin.found if "Aquatic" in f.code]
    assert {o.code for o in thin.open} >= {"Aquatic Acute 1", "Aquatic Chronic 1"}
    assert all("M-factor of silver nitrate" in o.needs for o in thin.open if "Aquatic" in o.code)
    assert {"Aquatic Acute 1", "Aquatic Chronic 1"} <= codes(of("silver_nitrate", 25))


def test_acute_and_long_term_factors_are_apart() -> None:
    """Copper sulphate has 10 and 1: 2.5 % is Acute 1 but only Chronic 2."""
    assert {c for c in codes(of("cupric_sulfate_5h2o", 2.5)) if "Aquatic" in c} == {
        "Aquatic Acute 1",
        "Aquatic Chronic 2",
    }


def test_a_class_that_hangs_on_the_density_is_open_and_names_it() -> None:
    """9.9 ± 0.2 % of an irritant: irritant at one end only."""
    irritant = made("x", "Skin Irrit. 2")
    result = classify([Component(irritant, 9.9, 0.2)])
    assert not result.found
    assert [o.code for o in result.open] == ["Skin Irrit. 2"] and "density" in result.open[0].needs
    milder = classify([Component(made("y", "Skin Corr. 1B"), 5.0, 0.1)])
    assert ("Skin Irrit. 2", "H315") in milder.codes
    assert "Skin Corr. 1B" in {o.code for o in milder.open}


# --- oxidisers, solvents, supplemental statements ---


def test_dilute_nitrate_is_no_oxidiser_but_is_warned_of() -> None:
    """No percentage sum exists for oxidising solids; dried on cloth the nitrate is one again."""
    result = of("cupric_nitrate_3h2o", 10)
    assert not [f for f in result.found if f.code.startswith("Ox.")]
    assert any("dried on cloth" in note for note in result.notes)
    assert "Ox. Sol. 2" in codes(of("silver_nitrate", 100))


def test_solvents_keep_or_ask_for_the_flash_point() -> None:
    """3 % benzotriazole in isopropanol burns as the alcohol; 30 % alcohol in water asks for the flash point."""
    conservation = mix((catalogue().get("benzotriazole"), 3), (catalogue().get("isopropanol"), 97))
    assert {"Flam. Liq. 2", "Eye Irrit. 2", "STOT SE 3"} <= codes(conservation)
    thinned = of("isopropanol", 30)
    assert [o.code for o in thinned.open] == ["Flam. Liq. 2"]
    assert "Flam. Liq. 3" in codes(of("isopropanol", 30, flash_point_c=30.0))
    assert not [o for o in of("acetic_acid", 20).open if o.code.startswith("Flam.")]


def test_aspiration_hangs_on_viscosity() -> None:
    """From 10 % with 20.5 mm2/s or less at 40 C (3.10.3.3.1)."""
    oil = made("x", "Asp. Tox. 1", form="liquid")
    assert "Asp. Tox. 1" in codes(mix((oil, 10), viscosity_mm2_s=20.5))
    assert "Asp. Tox. 1" not in codes(mix((oil, 10), viscosity_mm2_s=20.6))
    assert "Asp. Tox. 1" not in codes(mix((oil, 9.9), viscosity_mm2_s=1.0))
    assert [o.code for o in mix((oil, 50)).open] == ["Asp. Tox. 1"]
    assert "Asp. Tox. 1" in codes(of("toluene", 100))


@pytest.mark.parametrize("key", ["liver_of_sulphur", "potassium_sulfide", "barium_sulfide", "sodium_sulfide_9h2o"])
def test_sulphides_carry_the_acid_warning_at_any_strength(key: str) -> None:
    """EUH031: printed for the listed sulphides, and by chemistry for sodium sulphide, where the list is silent."""
    assert [e.code for e in of(key, 0.2).euh] == ["EUH031"]


def test_own_limit_of_the_acid_warning() -> None:
    """Ammonium (poly)sulphide: EUH031 from 1 % (016-008-00-2)."""
    assert not of("ammonium_sulfide_solution", 0.9).euh
    assert [e.code for e in of("ammonium_sulfide_solution", 1.0).euh] == ["EUH031"]


def test_elicitation_statement_where_the_sensitiser_is_below_its_limit() -> None:
    """EUH208 from 0.1 % (1, 1B), 0.01 % (1A), a tenth of an own limit below 0.1 % (Table 3.4.6)."""
    assert [e.code for e in mix((made("x", "Skin Sens. 1"), 0.1)).euh] == ["EUH208"]
    assert not mix((made("x", "Skin Sens. 1"), 0.09)).euh
    assert [e.code for e in mix((made("x", "Skin Sens. 1A"), 0.01)).euh] == ["EUH208"]
    assert not mix((made("x", "Skin Sens. 1"), 1.0)).euh
    own = (SpecificLimit("Skin Sens. 1", "H317", 0.01, None, "MEMORY"),)
    assert [e.code for e in mix((made("x", "Skin Sens. 1", limits=own), 0.001)).euh] == ["EUH208"]


def test_corrosive_to_the_airways_goes_with_the_breathing_class() -> None:
    """Nitric acid: EUH071 with H331 or H332, not on a 10 % acid that has neither."""
    assert [e.code for e in of("nitric_acid", 20).euh] == ["EUH071"]
    assert not of("nitric_acid", 10).euh


def test_every_reason_names_ingredient_limit_and_table() -> None:
    """Why: the ingredient, its per cent, the limit and where it is printed."""
    for found in of("potassium_dichromate", 6.5).found:
        assert "potassium dichromate" in found.why and "6.5" in found.why
        assert any(word in found.why for word in ("Table", "limit", "3.8.3"))
