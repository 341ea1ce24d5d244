"""Baths of substances with harmonised entries of their own: specific concentration limits of CLP Annex VI.

Source: CLP Annex VI, read in a third-party copy; named beside each check.
"""

from __future__ import annotations

import pytest
from mixtures import codes, made, mix, of

from patina.chemistry.substances import (
    SpecificLimit,
    catalogue,
)

# --- harmonised entries with their own limits (CLP Annex VI) ---


@pytest.mark.parametrize(
    ("key", "pct", "expected"),
    [
        ("nitric_acid", 10, {"Skin Corr. 1B"}),
        ("nitric_acid", 19.9, {"Skin Corr. 1B", "Acute Tox. 4"}),
        ("nitric_acid", 20, {"Skin Corr. 1A", "Acute Tox. 4"}),
        ("nitric_acid", 64.9, {"Skin Corr. 1A", "Acute Tox. 3"}),
        ("nitric_acid", 65, {"Skin Corr. 1A", "Acute Tox. 3", "Ox. Liq. 3"}),
        ("hydrochloric_acid", 5, set()),
        ("hydrochloric_acid", 9.99, set()),
        ("hydrochloric_acid", 10, {"Skin Irrit. 2", "Eye Irrit. 2", "STOT SE 3"}),
        ("hydrochloric_acid", 24.9, {"Skin Irrit. 2", "Eye Irrit. 2", "STOT SE 3"}),
        ("hydrochloric_acid", 25, {"Skin Corr. 1B", "STOT SE 3"}),
        ("sulfuric_acid", 4.9, set()),
        ("sulfuric_acid", 5, {"Skin Irrit. 2", "Eye Irrit. 2"}),
        ("sulfuric_acid", 14.9, {"Skin Irrit. 2", "Eye Irrit. 2"}),
        ("sulfuric_acid", 15, {"Skin Corr. 1A"}),
        ("acetic_acid", 9.9, set()),
        ("acetic_acid", 10, {"Skin Irrit. 2", "Eye Irrit. 2"}),
        ("acetic_acid", 25, {"Skin Corr. 1B"}),
        ("acetic_acid", 90, {"Skin Corr. 1A"}),
        ("acetic_acid", 99.7, {"Skin Corr. 1A", "Flam. Liq. 3"}),
        ("hydrogen_peroxide", 3, set()),
        ("hydrogen_peroxide", 5, {"Eye Irrit. 2"}),
        ("hydrogen_peroxide", 8, {"Eye Dam. 1"}),
        ("hydrogen_peroxide", 30, {"Acute Tox. 4", "Eye Dam. 1"}),
        ("hydrogen_peroxide", 35, {"Acute Tox. 4", "Eye Dam. 1", "Skin Irrit. 2", "STOT SE 3"}),
        ("hydrogen_peroxide", 50, {"Acute Tox. 4", "Skin Corr. 1B", "STOT SE 3", "Ox. Liq. 2"}),
        ("hydrogen_peroxide", 70, {"Acute Tox. 4", "Skin Corr. 1A", "STOT SE 3", "Ox. Liq. 1"}),
        ("sodium_hydroxide", 0.49, set()),
        ("sodium_hydroxide", 0.5, {"Skin Irrit. 2", "Eye Irrit. 2"}),
        ("sodium_hydroxide", 2, {"Skin Corr. 1B"}),
        ("sodium_hydroxide", 5, {"Skin Corr. 1A"}),
        ("ammonia_solution", 0.9, set()),
        ("ammonia_solution", 1, {"Skin Irrit. 2", "Eye Irrit. 2"}),
        ("ammonia_solution", 3, {"Skin Irrit. 2", "Eye Dam. 1"}),
        ("ammonia_solution", 5, {"Skin Corr. 1B", "STOT SE 3"}),
        ("silver_nitrate", 0.5, set()),
        ("silver_nitrate", 1, {"Skin Irrit. 2", "Eye Irrit. 2"}),
        ("silver_nitrate", 3, {"Skin Irrit. 2", "Eye Dam. 1"}),
        ("silver_nitrate", 5, {"Skin Corr. 1B"}),
        ("potassium_sulfide", 2, {"Skin Irrit. 2", "Eye Irrit. 2"}),
        ("potassium_sulfide", 5, {"Skin Corr. 1B"}),
        ("ferric_nitrate_9h2o", 9.4, set()),
        ("ferric_nitrate_9h2o", 10, {"Skin Irrit. 2", "Eye Irrit. 2"}),
    ],
)
def test_baths_at_several_dilutions(key: str, pct: float, expected: set[str]) -> None:
    """Acids, alkalis, silver and sulphides at their limits, without a pH and with no factor for water life given."""
    found = {c for c in codes(of(key, pct)) if not c.startswith("Aquatic")}
    assert found == expected


@pytest.mark.parametrize(("pct", "h"), [(68, "H331"), (70, "H331"), (71, "H330")])
def test_nitric_acid_has_two_entries_parted_at_seventy_per_cent(pct: float, h: str) -> None:
    """Up to 70 % 007-030-00-3 (ATE 2.65 mg/L), above it 007-004-00-1 (Acute Tox. 1)."""
    assert h in {f.h for f in of("nitric_acid", pct).found if f.family == "acute inhalation"}


def test_thirty_per_cent_peroxide_leaves_the_breathed_form_open() -> None:
    """As vapour 36.7 mg/L no class, as mist 5.0 mg/L category 4: the form in the air decides (Table 3.1.2)."""
    open_classes = [o for o in of("hydrogen_peroxide", 30).open if o.family == "acute inhalation"]
    assert len(open_classes) == 1 and "mist" in open_classes[0].needs and "H332" in open_classes[0].needs


@pytest.mark.parametrize(
    ("pct", "expected"),
    [
        (0.09, set()),
        (0.1, {"Carc. 1B", "Muta. 1B"}),
        (0.3, {"Carc. 1B", "Muta. 1B", "Repr. 1B"}),
        (1.0, {"Carc. 1B", "Muta. 1B", "Repr. 1B", "Skin Sens. 1", "Resp. Sens. 1", "STOT RE 2", "Skin Irrit. 2"}),
        (10.0, {"Carc. 1B", "STOT RE 1", "Skin Corr. 1B", "STOT SE 3"}),
    ],
)
def test_chromate_baths(pct: float, expected: set[str]) -> None:
    """Potassium dichromate (024-002-00-6): carcinogen from 0.1 %, toxic for reproduction from 0.3 %."""
    assert expected <= codes(of("potassium_dichromate", pct))
    if not expected:
        assert not codes(of("potassium_dichromate", pct))


def test_limits_of_chromates_count_the_chromate_ion() -> None:
    """Sodium dichromate dihydrate, own limit 0.2 % as chromate (Note 3): 0.2 / 0.7785 = 0.257 % of the salt."""
    assert "Skin Sens. 1" not in codes(of("sodium_dichromate_2h2o", 0.256))
    assert {"Skin Sens. 1", "Resp. Sens. 1"} <= codes(of("sodium_dichromate_2h2o", 0.258))
    assert [e.code for e in of("sodium_dichromate_2h2o", 0.256).euh] == ["EUH208"]


def test_own_airway_limit_of_dichromate_counts_chromate() -> None:
    """STOT SE 3 from 5 % chromate: 5 / 0.7886 = 6.34 % potassium dichromate."""
    assert "STOT SE 3" not in codes(of("potassium_dichromate", 6.33))
    assert "STOT SE 3" in codes(of("potassium_dichromate", 6.35))


def test_limits_of_lead_salts_count_the_metal() -> None:
    """Lead acetate trihydrate, 0.3 % as lead (Note 1): 0.549 % of the salt."""
    assert "Repr. 1A" not in codes(of("lead_acetate_3h2o", 0.548))
    assert "Repr. 1A" in codes(of("lead_acetate_3h2o", 0.550))


def test_specific_limits_of_two_ingredients_add_by_their_ratios() -> None:
    """12.5 % hydrochloric (of 25) and 12.5 % acetic acid (of 25) are corrosive together (sum of C over limit = 1)."""
    acids = [(catalogue().get("hydrochloric_acid"), 12.5), (catalogue().get("acetic_acid"), 12.5)]
    assert "Skin Corr. 1B" in codes(mix(*acids))
    acids[1] = (catalogue().get("acetic_acid"), 12.4)
    assert "Skin Irrit. 2" in codes(mix(*acids))


def test_a_specific_limit_stands_in_place_of_the_generic_one() -> None:
    """An own limit above and one below the generic 5 % both rule."""
    high = made("h", "Skin Corr. 1B", limits=(SpecificLimit("Skin Corr. 1B", "H314", 25, None, "MEMORY"),))
    low = made("l", "Skin Corr. 1B", limits=(SpecificLimit("Skin Corr. 1B", "H314", 0.5, None, "MEMORY"),))
    assert "Skin Corr. 1B" not in codes(mix((high, 24)))
    assert "Skin Corr. 1B" in codes(mix((low, 0.5)))
