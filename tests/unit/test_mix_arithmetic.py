"""What `patina mix` weighs, against sums done here from atomic weights, exact units and handbook densities.

Nothing of the program's own data is used on the expected side. Atomic weights: IUPAC, abridged standard atomic
weights 2021. Ounce and gallons: NIST Handbook 44, appendix C (exact). Densities at 20 °C: CRC Handbook of
Chemistry and Physics, concentrative properties of aqueous solutions (from memory, four figures).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from patina.bench.pots.mixing import mix
from patina.errors import BadQuantity, CannotConvert, PatinaError
from patina.sheets import MixedSolution, MixSheet

H, N, OX, CL, CU, AG = 1.008, 14.007, 15.999, 35.45, 63.546, 107.868
WATER = 2 * H + OX
COPPER_NITRATE = CU + 2 * (N + 3 * OX)
NITRIC, HYDROCHLORIC = H + N + 3 * OX, H + CL
SALMIAC = N + 4 * H + CL
SILVER_NITRATE = AG + N + 3 * OX
OUNCE_G, US_GALLON_L, IMPERIAL_GALLON_L = 28.349523125, 3.785411784, 4.54609
NITRIC_30_PCT, HYDROCHLORIC_30_PCT, SALMIAC_10_PCT = 1.180, 1.149, 1.0286  # g/mL

Mixer = Callable[..., MixSheet]

HEAD = """patina_recipe = 1
name = "Sums"
finish = "any"
alloys = ["C87300"]
provenance = "test"
texture = {texture}
reserve = "{reserve}"
dead_volume = "{dead}"
[[solution]]
name = "pot"
solvent = "distilled water"
volume_is = "{volume_is}"
"""


@pytest.fixture
def mixer(tmp_path: Path) -> Mixer:
    """Mixes a recipe of one pot from (substance, strength) pairs and (coverage, passes, transfer) steps."""

    def _mix(
        *ingredients: tuple[str, str],
        steps: tuple[tuple[str, int, str], ...] = (("40 mL/m2", 1, "100 %"),),
        volume_is: str = "made up to",
        texture: float = 1.0,
        reserve: str = "0 %",
        dead: str = "0 mL",
        **asked: object,
    ) -> MixSheet:
        text = HEAD.format(texture=texture, reserve=reserve, dead=dead, volume_is=volume_is)
        for substance, strength in ingredients:
            text += f'[[solution.ingredient]]\nsubstance = "{substance}"\nstrength = "{strength}"\n'
        for coverage, passes, transfer in steps:
            text += f'[[step]]\ndo = "apply"\nsolution = "pot"\nmethod = "torch"\npasses = {passes}\n'
            text += f'coverage = "{coverage}"\ntransfer = "{transfer}"\n'
        file = tmp_path / "sums.toml"
        file.write_text(text, encoding="utf-8")
        if "area" not in asked:
            asked.setdefault("volumes", ["1 L"])
        return mix(None, str(file), **asked)  # type: ignore[arg-type]

    return _mix


def only(sheet: MixSheet) -> MixedSolution:
    """The one solution of a sheet."""
    [solution] = sheet.solutions
    return solution


def amount(sheet: MixSheet) -> tuple[float, str]:
    """Amount and unit of the one ingredient."""
    [line] = only(sheet).weigh
    return line.amount, line.unit


@pytest.mark.parametrize(
    ("strength", "grams"),
    [
        ("5 g/L", 5.0),
        ("50 g / 500 mL", 100.0),
        ("2500 mg/dL", 25.0),
        ("5 % w/v", 50.0),
        ("0,5 % w/v", 5.0),
        ("2 oz/US gal", 2 * OUNCE_G / US_GALLON_L),
        ("2 oz/imp gal", 2 * OUNCE_G / IMPERIAL_GALLON_L),
        ("1/2 oz/US gal", 0.5 * OUNCE_G / US_GALLON_L),
        ("1 lb/US gal", 16 * OUNCE_G / US_GALLON_L),
        ("0.25 mol/L", 0.25 * SALMIAC),
        ("250 mmol/L", 0.25 * SALMIAC),
    ],
)
def test_weight_in_a_litre_of_solution(mixer: Mixer, strength: str, grams: float) -> None:
    """Each way of writing weight per volume gives the grams that exact units and atomic weights give."""
    found, unit = amount(mixer(("ammonium chloride", strength)))
    assert unit == "g"
    assert found == pytest.approx(grams, rel=1e-4)


def test_ounces_per_the_two_gallons_differ_by_a_fifth(mixer: Mixer) -> None:
    """The imperial gallon is 1.20095 US gallons, so the same ounces are weaker in it by that."""
    us, _ = amount(mixer(("ammonium chloride", "3 oz/US gal")))
    imperial, _ = amount(mixer(("ammonium chloride", "3 oz/imp gal")))
    assert us / imperial == pytest.approx(1.20095, abs=1e-5)


@pytest.mark.parametrize(("waters", "name"), [(3, "trihydrate"), (2.5, "hemipentahydrate")])
def test_moles_count_the_water_of_the_hydrate_that_is_named(mixer: Mixer, waters: float, name: str) -> None:
    """0.5 mol/L of a hydrate is half a mole of it with its own water."""
    found, _ = amount(mixer((f"cupric nitrate {name}", "0.5 mol/L")))
    assert found == pytest.approx(0.5 * (COPPER_NITRATE + waters * WATER), rel=1e-4)


def test_shares_by_weight_added_to_a_litre_of_water(mixer: Mixer) -> None:
    """5 % w/w added to a litre (998.2 g at 20 °C) is 5/95 of its weight; 1 part to 20 by weight is 1/20."""
    found, _ = amount(mixer(("ammonium chloride", "5 % w/w"), volume_is="added to"))
    assert found == pytest.approx(998.2 * 5 / 95, rel=1e-4)
    found, _ = amount(mixer(("ammonium chloride", "1 part to 20 by weight"), volume_is="added to"))
    assert found == pytest.approx(998.2 / 20, rel=1e-4)
    found, _ = amount(mixer(("ammonium chloride", "1 part in 20 by weight"), volume_is="added to"))
    assert found == pytest.approx(998.2 / 19, rel=1e-4)


def test_two_shares_by_weight_added_to_water_share_what_is_left(mixer: Mixer) -> None:
    """10 % and 20 % leave 70 % for the water: a litre of it takes 998.2 × 10/70 and 998.2 × 20/70 g."""
    sheet = mixer(("ammonium chloride", "10 % w/w"), ("sodium chloride", "20 % w/w"), volume_is="added to")
    assert [line.amount for line in only(sheet).weigh] == pytest.approx([998.2 / 7, 998.2 * 2 / 7], rel=1e-4)


def test_share_by_weight_made_up_to_a_litre_follows_the_density(mixer: Mixer) -> None:
    """A litre of 10 % w/w ammonium chloride weighs 1028.6 g, so 102.86 g of it are salt."""
    found, _ = amount(mixer(("ammonium chloride", "10 % w/w")))
    assert found == pytest.approx(1000 * SALMIAC_10_PCT * 0.10, rel=3e-3)


def test_parts_of_a_solid_made_up_to_a_litre(mixer: Mixer) -> None:
    """1 part in 10 by weight is 10 % w/w; 1 part to 9 is the same thing said otherwise."""
    inside, _ = amount(mixer(("ammonium chloride", "1 part in 10 by weight")))
    outside, _ = amount(mixer(("ammonium chloride", "1 part to 9 by weight")))
    assert inside == pytest.approx(1000 * SALMIAC_10_PCT * 0.10, rel=3e-3)
    assert outside == pytest.approx(inside, rel=1e-9)


@pytest.mark.parametrize(
    ("strength", "volume_is", "ml"),
    [
        ("5 % v/v", "made up to", 50.0),
        ("5 % v/v", "added to", 1000 * 5 / 95),
        ("1 part in 20 by volume", "made up to", 50.0),
        ("1 part to 20 by volume", "made up to", 1000 / 21),
        ("1 part to 20 by volume", "added to", 50.0),
        ("1 + 19", "made up to", 50.0),
        ("4 US fl oz / US gal", "made up to", 1000 * 4 / 128),
        ("8 imp fl oz / imp gal", "made up to", 1000 * 8 / 160),
    ],
)
def test_a_liquid_by_volume(mixer: Mixer, strength: str, volume_is: str, ml: float) -> None:
    """A share by volume counts the liquid as sold; 128 US fluid ounces make a gallon, 160 imperial ones."""
    found, unit = amount(mixer(("isopropanol", strength), volume_is=volume_is))
    assert unit == "mL"
    assert found == pytest.approx(ml, rel=1e-6)


@pytest.mark.parametrize(
    ("acid", "molar_mass", "density"),
    [("nitric acid", NITRIC, NITRIC_30_PCT), ("hydrochloric acid", HYDROCHLORIC, HYDROCHLORIC_30_PCT)],
)
def test_an_acid_is_measured_by_its_density_and_assay(
    mixer: Mixer, acid: str, molar_mass: float, density: float
) -> None:
    """Half a mole of acid from a bottle of 30 % is its grams over 0.30 over the bottle's density."""
    found, unit = amount(mixer((acid, "0.5 mol/L"), have=[f"{acid},assay=30%"]))
    assert unit == "mL"
    assert found == pytest.approx(0.5 * molar_mass / 0.30 / density, rel=1.5e-3)


def test_what_stands_on_the_shelf_replaces_the_hydrate_at_its_assay(mixer: Mixer) -> None:
    """100 g/L of trihydrate by hemipentahydrate of 98 %: by moles of copper, over 0.98."""
    sheet = mixer(("cupric nitrate trihydrate", "100 g/L"), have=["cupric nitrate hemipentahydrate,assay=98%"])
    moles = 100 / (COPPER_NITRATE + 3 * WATER)
    assert amount(sheet)[0] == pytest.approx(moles * (COPPER_NITRATE + 2.5 * WATER) / 0.98, rel=1e-4)


def test_moles_of_one_hydrate_from_another(mixer: Mixer) -> None:
    """0.4 mol/L of trihydrate from hemipentahydrate is 0.4 mol of hemipentahydrate: the copper is the same."""
    sheet = mixer(("cupric nitrate trihydrate", "0.4 mol/L"), have=["cupric nitrate hemipentahydrate"])
    assert amount(sheet)[0] == pytest.approx(0.4 * (COPPER_NITRATE + 2.5 * WATER), rel=1e-4)


@pytest.mark.parametrize("assay", ["50%", "97,5 %", "100 %"])
def test_assay_of_a_solid(mixer: Mixer, assay: str) -> None:
    """A solid of so many per cent is weighed over that share; the decimal comma is read."""
    share = float(assay.rstrip("% ").replace(",", ".")) / 100
    sheet = mixer(("silver nitrate", "0.1 mol/L"), have=[f"silver nitrate,assay={assay}"])
    assert amount(sheet)[0] == pytest.approx(0.1 * SILVER_NITRATE / share, rel=1e-4)


def test_volume_is_the_sum_over_all_steps_of_the_solution(mixer: Mixer) -> None:
    """Σ area × texture × coverage × passes / transfer, × (1 + reserve), + dead volume, each step its own."""
    sheet = mixer(
        ("ferric nitrate nonahydrate", "20 g/L"),
        steps=(("40 mL/m2", 6, "50 %"), ("0.06 L/m2", 2, "80 %"), ("25 mL/m2", 1, "100 %")),
        area="2.3 m2",
        texture=1.1,
        reserve="20 %",
        dead="250 mL",
    )
    volume_ml = 2.3 * 1.1 * (40 * 6 / 0.5 + 60 * 2 / 0.8 + 25) * 1.2 + 250
    assert only(sheet).volume_ml == pytest.approx(volume_ml)
    assert amount(sheet)[0] == pytest.approx(20 * volume_ml / 1000)


def test_the_worked_volume(mixer: Mixer) -> None:
    """2.3 m2, texture 1.1, 40 mL/m2, 6 passes, transfer 50 %, reserve 25 %, dead volume 250 mL make 1768 mL."""
    more = {"texture": 1.1, "reserve": "25 %", "dead": "250 mL"}
    sheet = mixer(("silver nitrate", "5 g/L"), steps=(("40 mL/m2", 6, "50 %"),), area="2.3 m2", **more)
    assert round(only(sheet).volume_ml) == 1768


def test_area_in_square_feet_and_passes_from_the_command(mixer: Mixer) -> None:
    """10 sq ft are 0.9290304 m2 exactly; passes asked for replace those of every step."""
    steps = (("40 mL/m2", 6, "50 %"), ("30 mL/m2", 2, "100 %"))
    sheet = mixer(("silver nitrate", "5 g/L"), steps=steps, area="10 sq ft", passes=3)
    assert only(sheet).volume_ml == pytest.approx(0.9290304 * (40 * 3 / 0.5 + 30 * 3))


def test_a_volume_asked_for_is_made_without_reserve_or_dead_volume(mixer: Mixer) -> None:
    """Who asks for 2 L gets 2 L, and twice the grams of a litre."""
    sheet = mixer(("silver nitrate", "5 g/L"), volumes=["2 L"], reserve="50 %", dead="300 mL")
    assert only(sheet).volume_ml == 2000
    assert amount(sheet)[0] == pytest.approx(10)


def test_rounding_says_its_error_and_what_the_strength_becomes(mixer: Mixer) -> None:
    """12.34 g on a balance of 0.5 g is 12.5 g, an error of 1.30 %, and makes 12.5 g/L."""
    [line] = only(mixer(("silver nitrate", "12.34 g/L"), balance="0.5 g")).weigh
    assert line.rounded == 12.5
    assert line.error_pct == pytest.approx(100 * (12.5 - 12.34) / 12.34)
    assert line.achieved_g_per_l == pytest.approx(12.5)


@pytest.mark.parametrize(
    "asked",
    [
        {"volumes": ["pot=1 L", "pot=2 L"]},
        {"volumes": ["1 L", "2 L"]},
        {"have": ["silver nitrate", "silver nitrate,assay=90%"]},
        {"volumes": ["1e-320 mL"]},
        {"volumes": ["0.001 mL"]},
        {"balance": "1e-300 g"},
        {"cylinder": "1e-12 mL"},
        {"area": "1e-300 m2"},
        {"area": "1,234 m2"},
    ],
)
def test_what_is_said_twice_or_cannot_be_meant_is_refused(mixer: Mixer, asked: dict[str, object]) -> None:
    """Two volumes for one pot, two bottles for one substance, and amounts next to nothing are asked about."""
    with pytest.raises(BadQuantity):
        mixer(("silver nitrate", "5 g/L"), **asked)


@pytest.mark.parametrize(
    ("substance", "strength", "volume_is"),
    [
        ("silver nitrate", "5 % v/v", "made up to"),
        ("silver nitrate", "100 % w/w", "added to"),
        ("liver of sulphur", "1 mol/L", "made up to"),
        ("nitric acid", "80 % w/w", "added to"),
        ("isopropanol", "100 % v/v", "added to"),
        ("silver nitrate", "1:20", "made up to"),
        ("silver nitrate", "5 %", "made up to"),
        ("silver nitrate", "5 oz", "made up to"),
        ("silver nitrate", "-5 g/L", "made up to"),
        ("silver nitrate", "nan g/L", "made up to"),
        ("silver nitrate", "5 g/L 3 g/L", "made up to"),
    ],
)
def test_a_strength_that_has_no_meaning_is_refused(mixer: Mixer, substance: str, strength: str, volume_is: str) -> None:
    """A solid by volume, a share that leaves no water, moles of a mixture, a bare ratio: none is guessed at."""
    with pytest.raises(PatinaError) as told:
        mixer((substance, strength), volume_is=volume_is)
    assert told.value.what
    assert told.value.remedy
    assert not isinstance(told.value, CannotConvert) or "meaning" in told.value.what or "fit" in told.value.what
