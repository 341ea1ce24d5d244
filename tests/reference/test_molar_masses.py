"""Molar masses against molmass and chemicals, two general-purpose libraries.

Both are wrong for some hydrates: molmass misreads fractional water, chemicals 1.5.2 has wrong masses
for four hydrates. Those are listed, and shown to be wrong, instead of being trusted.
"""

from __future__ import annotations

import re

import pytest

from patina.chemistry.substances import catalogue

molmass = pytest.importorskip("molmass")
chemicals = pytest.importorskip("chemicals")

DEFINITE = [s for s in catalogue().substances.values() if s.molar_mass_g_mol is not None]
WRONG_IN_CHEMICALS = {"cupric_nitrate_3h2o", "sodium_sulfide_9h2o", "zinc_nitrate_6h2o", "stannous_chloride_2h2o"}
# The library's entry for this number is the anhydrous compound, gas or another way of counting.
OTHER_FORM_IN_CHEMICALS = {"ammonia_solution"}


def dry_formula(formula: str) -> str:
    return re.sub(r"\.[\d.]*H2O$", "", formula).replace("CuCO3.Cu(OH)2", "Cu2CO3(OH)2")


@pytest.mark.parametrize("substance", DEFINITE, ids=lambda s: s.key)
def test_molar_mass_is_that_of_the_dry_salt_plus_its_water(substance):
    """IUPAC weights by molmass for the dry formula; water counted by hand, also where it is fractional."""
    dry = molmass.Formula(dry_formula(substance.formula)).mass
    water = molmass.Formula("H2O").mass
    assert substance.molar_mass_g_mol == pytest.approx(dry + substance.waters * water, abs=2e-3)
    written = re.search(r"\.([\d.]*)H2O$", substance.formula)
    assert substance.waters == (float(written.group(1) or 1) if written else 0.0)


def in_chemicals(cas: str) -> bool:
    """Whether the library knows the number at all."""
    try:
        chemicals.MW(cas)
    except (ValueError, KeyError):
        return False
    return True


def test_most_numbers_are_in_the_library():
    """The comparison below speaks of nearly the whole catalogue."""
    with_number = [s for s in DEFINITE if s.cas]
    assert sum(in_chemicals(s.cas) for s in with_number) >= 0.85 * len(with_number)


@pytest.mark.parametrize("substance", [s for s in DEFINITE if s.cas and in_chemicals(s.cas)], ids=lambda s: s.key)
def test_molar_mass_agrees_with_chemicals_by_cas_number(substance):
    """Where chemicals 1.5.2 knows the number, within 0.02 g/mol, but for the entries known to be wrong."""
    theirs = chemicals.MW(substance.cas)
    if substance.key in WRONG_IN_CHEMICALS:
        assert abs(theirs - substance.molar_mass_g_mol) > 10
    elif substance.key not in OTHER_FORM_IN_CHEMICALS:
        assert theirs == pytest.approx(substance.molar_mass_g_mol, abs=0.02)


def test_molmass_misreads_a_fractional_hydrate():
    """The reason for counting water by hand: the library reads the 2.5-hydrate as 142.56 g/mol without an error."""
    assert molmass.Formula("Cu(NO3)2.2.5H2O").mass < 150
    assert catalogue().get("cupric_nitrate_2_5h2o").molar_mass_g_mol == pytest.approx(232.594, abs=1e-3)


@pytest.mark.parametrize(
    ("key", "mass"),
    [
        ("cupric_sulfate_5h2o", 249.685),
        ("silver_nitrate", 169.873),
        ("ferric_chloride_6h2o", 270.295),
        ("potassium_permanganate", 158.034),
        ("sodium_thiosulfate_5h2o", 248.184),
        ("nitric_acid", 63.013),
        ("sulfuric_acid", 98.078),
        ("cupric_nitrate_3h2o", 241.602),
        ("zinc_nitrate_6h2o", 297.49),
        ("stannous_chloride_2h2o", 225.65),
        ("sodium_sulfide_9h2o", 240.18),
    ],
)
def test_molar_mass_agrees_with_the_handbook(key, mass):
    """CRC Handbook of Chemistry and Physics, Physical Constants of Inorganic Compounds (values from memory)."""
    assert catalogue().get(key).molar_mass_g_mol == pytest.approx(mass, abs=0.015)


def test_limit_shares_are_those_of_the_ion():
    """Share of CrO4 and Pb by molmass: two chromate ions to a dichromate."""
    chromate = 2 * molmass.Formula("CrO4").mass
    for key in ("potassium_dichromate", "sodium_dichromate_2h2o"):
        s = catalogue().get(key)
        assert s.limit_factor == pytest.approx(chromate / s.molar_mass_g_mol, abs=5e-5)
    lead = catalogue().get("lead_acetate_3h2o")
    assert lead.limit_factor == pytest.approx(molmass.Formula("Pb").mass / lead.molar_mass_g_mol, abs=5e-5)
