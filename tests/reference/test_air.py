"""Gas in the room against published pairs and worked figures.

Pairs of ppm and mg/m3: NIOSH Pocket Guide and OSHA Table Z-1 values as printed in ``exposure_limits.csv`` (25 C).
Ventilation: equations of the ABIH sheet and the University of Toledo's page; figures worked here from them.
"""

from __future__ import annotations

import pytest

from patina.chemistry.substances import catalogue
from patina.errors import BadQuantity, NotFound
from patina.safety.air import (
    air_limits,
    constant,
    flow_needed_m3_h,
    gas,
    gases,
    hours_to_limit,
    limits_of,
    mg_m3_from_ppm,
    mixed_mg_m3,
    molar_volume_l,
    ppm_from_mg_m3,
    released_at_most_g,
    steady_mg_m3,
)
from patina.sources import bibliography

AGENT_TO_GAS = {agent: g for g in gases().values() if g.molar_mass_g_mol for agent in g.agents if len(g.agents) == 1}


# The body prints 15 mg/m3 for 10 ppm of hydrogen sulphide (13.9), 27 for 35 ppm of ammonia (24.4), 2 for 1 ppm of
# hydrogen chloride (1.5).
ROUNDED_BY_THE_BODY = {
    ("hydrogen sulphide", "NIOSH REL ceiling"),
    ("ammonia", "NIOSH REL STEL"),
    ("hydrogen chloride", "UK WEL TWA"),
}


def _pairs() -> list[tuple[str, str, float, float, float]]:
    pairs = []
    for x in air_limits():
        known = AGENT_TO_GAS.get(x.agent)
        if x.ppm and x.mg_m3 and known and known.molar_mass_g_mol:
            pairs.append((x.agent, f"{x.who} {x.kind}", x.ppm, x.mg_m3, known.molar_mass_g_mol))
    return pairs


@pytest.mark.parametrize(("agent", "who", "ppm", "printed", "mass"), _pairs())
def test_printed_pairs_of_ppm_and_milligrams_agree(
    agent: str, who: str, ppm: float, printed: float, mass: float
) -> None:
    """mg/m3 = ppm x M / molar volume, at 25 C for US bodies and 20 C for Europe's, within the rounding printed."""
    temperature = 25.0 if who.startswith(("NIOSH", "OSHA")) else 20.0
    computed = mg_m3_from_ppm(ppm, mass, temperature)
    close = computed == pytest.approx(printed, rel=0.06, abs=0.55 if printed >= 5 else 0.07)
    assert close is ((agent, who) not in ROUNDED_BY_THE_BODY)


def test_enough_pairs_are_compared() -> None:
    """The comparison covers the gases of the trade, not a remnant."""
    assert {"hydrogen sulphide", "nitrogen dioxide", "ammonia", "hydrogen chloride"} <= {p[0] for p in _pairs()}
    assert len(_pairs()) > 60


def test_molar_volumes() -> None:
    """24.45 L/mol at 25 C (NIOSH, OSHA), 24.04 to 24.06 at 20 C, 22.414 at 0 C."""
    assert molar_volume_l(25) == pytest.approx(24.45, abs=0.02)
    assert molar_volume_l(20) == pytest.approx(24.05, abs=0.02)
    assert molar_volume_l(0) == pytest.approx(22.414)
    with pytest.raises(BadQuantity):
        molar_volume_l(-300)


def test_nitrous_fumes_of_a_torched_nitrate_bath_are_beyond_dilution() -> None:
    """100 mL/h of 100 g/L Cu(NO3)2.3H2O, all to NO2, 0.5 ppm, K 5: 3.808 g/h and about 20 240 m3/h."""
    rate, words = released_at_most_g(catalogue().get("cupric_nitrate_3h2o"), 10.0, "nitrogen dioxide")
    assert rate == pytest.approx(3.808, abs=0.001) and "3.808" in words
    limit = 0.5 * gas("nitrogen dioxide").molar_mass_g_mol / 24.45  # type: ignore[operator]
    assert flow_needed_m3_h(rate * 1000, limit, 5) == pytest.approx(20240, rel=0.003)


def test_hydrogen_sulphide_of_spilt_sulphide_in_a_room() -> None:
    """5 g Na2S.9H2O into acid in 50 m3: 0.709 g H2S, 10.2 ppm when mixed."""
    grams, _ = released_at_most_g(catalogue().get("sodium_sulfide_9h2o"), 5.0, "hydrogen sulphide")
    assert grams == pytest.approx(0.709, abs=0.001)
    assert ppm_from_mg_m3(mixed_mg_m3(grams, 50), 34.081) == pytest.approx(10.2, abs=0.05)


def test_sal_ammoniac_fume() -> None:
    """10 g/h NH4Cl as fume at 10 mg/m3 with K 5: 5000 m3/h."""
    grams, _ = released_at_most_g(catalogue().get("ammonium_chloride"), 10.0, "ammonium chloride fume")
    assert flow_needed_m3_h(grams * 1000, 10, 5) == pytest.approx(5000, rel=1e-4)


def test_acetone_by_the_published_formula() -> None:
    """0.5 L/h acetone at 250 ppm with K 5 needs 3274 m3/h (1933 cfm by the US form of the equation)."""
    rate_g, _ = released_at_most_g(catalogue().get("acetone"), 0.5 * 791, "acetone vapour")
    limit = 250 * 58.0793 / 24.04
    flow = flow_needed_m3_h(rate_g * 1000, limit, 5)
    assert flow == pytest.approx(3274, rel=0.001)
    us = 403 * 0.791 * (0.5 / 0.473176 / 60) * 1e6 * 5 / (58.0793 * 250)
    assert flow * constant("ft3_min_per_m3_h") == pytest.approx(us, rel=0.006)


def test_build_up_and_time_to_limit() -> None:
    """G/Q (1 - exp(-Q t/V)), its slope G/V without flow, its end G/Q, and the time that undoes it."""
    assert steady_mg_m3(1000, 0, 50, 1) == pytest.approx(20)
    assert steady_mg_m3(1000, 1e-6, 50, 1) == pytest.approx(20, rel=1e-6)
    assert steady_mg_m3(1000, 100, 50, 1000) == pytest.approx(10)
    hours = hours_to_limit(1000, 100, 50, 5.0)
    assert hours is not None and steady_mg_m3(1000, 100, 50, hours) == pytest.approx(5.0)
    assert hours_to_limit(1000, 100, 50, 10.0) is None
    assert hours_to_limit(0, 0, 50, 10.0) is None


def test_what_cannot_be_is_refused() -> None:
    """Negative grams, a room of nothing, K beyond 1 to 10, a gas the substance does not give."""
    with pytest.raises(BadQuantity):
        mixed_mg_m3(-1, 50)
    with pytest.raises(BadQuantity):
        mixed_mg_m3(1, 0)
    with pytest.raises(BadQuantity):
        flow_needed_m3_h(1, 1, 0.5)
    with pytest.raises(BadQuantity):
        released_at_most_g(catalogue().get("acetone"), 1, "acetone vapour", 1.5)
    with pytest.raises(NotFound):
        released_at_most_g(catalogue().get("acetone"), 1, "hydrogen sulphide")
    with pytest.raises(NotFound):
        gas("argon")


@pytest.mark.parametrize(
    ("name", "who", "value"),
    [
        ("hydrogen sulphide", "NIOSH REL", "ceiling 10 ppm (15 mg/m³), 10 min"),
        ("hydrogen sulphide", "OSHA PEL", "ceiling 20 ppm; peak 50 ppm, 10 min"),
        ("nitrogen dioxide", "NIOSH REL", "STEL 1 ppm (1.8 mg/m³), 15 min"),
        ("ammonia", "OSHA PEL", "TWA 50 ppm (35 mg/m³)"),
        ("hydrogen chloride", "NIOSH", "IDLH 50 ppm"),
        ("ammonium chloride fume", "NIOSH REL", "TWA 10 mg/m³; STEL 20 mg/m³, 15 min"),
        ("chromium(VI) mist", "OSHA PEL", "TWA 0.005 mg/m³, as Cr(VI)"),
        ("selenium dioxide fume", "NIOSH REL", "TWA 0.2 mg/m³, as Se"),
    ],
)
def test_limits_say_what_the_bodies_print(name: str, who: str, value: str) -> None:
    """Values of NIOSH and OSHA as in the PubChem safety summaries and the NIOSH documentation."""
    assert value in [x.value for x in limits_of(name) if x.who == who]


def test_every_gas_the_catalogue_names_is_known_and_warned_of() -> None:
    """Each emitted gas has a row; each row's limits exist and name a source of the bibliography."""
    named = {g.gas for s in catalogue().substances.values() for g in s.gases}
    assert named <= set(gases())
    agents = {x.agent for x in air_limits()}
    assert {agent for g in gases().values() for agent in g.agents} <= agents
    assert {x.source for x in air_limits()} | {g.source for g in gases().values()} <= set(bibliography())
    for name in ("hydrogen sulphide", "nitrogen dioxide", "carbon monoxide", "hydrogen cyanide"):
        assert "no alarm" in gas(name).note or "No smell" in gas(name).note


def test_every_release_rule_fits_a_substance_and_a_gas() -> None:
    """Each row of the stoichiometry gives grams for some substance of the catalogue, and no more than the whole of it
    can hold where the gas is part of the substance."""
    given = {}
    for substance in catalogue().substances.values():
        for name in gases():
            try:
                given.setdefault(name, []).append((substance.key, released_at_most_g(substance, 1.0, name)[0]))
            except NotFound:
                continue
    assert {"hydrogen cyanide", "carbon dioxide", "nitric oxide", "manganese mist", "tin mist"} <= set(given)
    assert dict(given["hydrogen cyanide"])["potassium_ferrocyanide"] == pytest.approx(6 * 27.0253 / 422.3887, rel=1e-4)
    assert dict(given["carbon dioxide"])["sodium_bicarbonate"] == pytest.approx(44.0095 / 84.0067, rel=1e-4)
    assert all(0 < grams < 1.5 for found in given.values() for _, grams in found)
