"""The data files of the safety rules: read, sourced, and without contradiction."""

from __future__ import annotations

import pytest

from patina.chemistry.substances import catalogue
from patina.datafile import data_path
from patina.errors import NotFound
from patina.safety.rules import REGIMES, acute_bands, cut_offs, limit, named, show
from patina.sources import bibliography

FILES = (
    "mixture_limits",
    "mixture_cutoffs",
    "acute_bands",
    "counted_as",
    "ph_matters",
    "flammable_in_water",
    "reactions",
    "release",
    "gases",
    "mists",
    "exposure_limits",
    "air_constants",
    "advice",
    "label_elements_new_classes",
)


@pytest.mark.parametrize("name", FILES)
def test_no_row_is_without_a_source_of_the_bibliography(name: str) -> None:
    """Every rule, limit and reaction names where it comes from."""
    import csv

    lines = data_path(f"{name}.csv").read_text(encoding="utf-8").splitlines()
    table = list(csv.DictReader(line for line in lines if line and not line.startswith("#")))
    assert table
    assert {row["source"] for row in table} <= set(bibliography())


def test_every_threshold_names_its_table() -> None:
    """A threshold is worth nothing without the paragraph that prints it."""
    for regime in REGIMES:
        assert limit("skin.corrosive_sum", regime).table
        for rows in cut_offs(regime).values():
            assert all(row.table for row in rows)
    with pytest.raises(NotFound):
        limit("aquatic.acute", "HCS")
    with pytest.raises(NotFound):
        limit("no.such", "CLP")


@pytest.mark.parametrize("route", ["oral", "dermal", "gas_ppmV", "vapour_mg_L", "dust_mist_mg_L"])
def test_bands_rise_and_hold_their_own_points(route: str) -> None:
    """Four categories, upper ends rising, each point inside or on the lower edge of its own band."""
    bands = acute_bands(route)
    assert [b.category for b in bands] == [1, 2, 3, 4]
    below = 0.0
    for band in bands:
        assert below <= band.converted <= band.upper
        below = band.upper


def test_counted_parts_match_the_catalogue() -> None:
    """Each ion that the catalogue counts has its note, with the factor by molar mass."""
    masses = {"chromate ion": 115.994, "lead": 207.2}
    for substance in catalogue().substances.values():
        if not substance.limit_ion:
            continue
        atoms = 2 if "Cr2O7" in substance.formula else 1
        expected = atoms * masses[substance.limit_ion] / (substance.molar_mass_g_mol or 1)
        assert substance.limit_factor == pytest.approx(expected, rel=0.002)


def test_shares_are_written_without_exponent() -> None:
    """Small shares stay readable."""
    assert show(0.00012) == "0.00012" and show(25.0) == "25" and show(0) == "0"
    assert named(()) == ""
