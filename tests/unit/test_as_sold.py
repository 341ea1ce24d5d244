"""A substance as it stands on the shelf carries its own classes, or those of its grade."""

from __future__ import annotations

import pytest

from patina.chemistry.substances import catalogue
from patina.safety.as_sold import as_sold


def test_nitric_acid_is_classed_at_its_grade() -> None:
    """CLP Annex VI 007-030-00-3: Skin Corr. 1A from 20 %, Ox. Liq. 3 from 65 % (read in a copy)."""
    known = catalogue()
    acid = known.find("nitric acid")
    strong = {c.class_code for c in as_sold(acid, known, 65.0).classes}
    weak = {c.class_code for c in as_sold(acid, known, 30.0).classes}
    assert {"Ox. Liq. 3", "Skin Corr. 1A"} <= strong
    assert "Ox. Liq. 3" not in weak
    assert "Skin Corr. 1A" in weak


@pytest.mark.parametrize(
    ("name", "signal", "pictograms"),
    [
        ("silver nitrate", "Danger", ("GHS03", "GHS05", "GHS09")),
        ("potassium dichromate", "Danger", ("GHS03", "GHS05", "GHS06", "GHS08", "GHS09")),
        ("cupric sulphate pentahydrate", "Danger", ("GHS05", "GHS07", "GHS09")),
        ("sodium chloride", None, ()),
    ],
)
def test_solids_carry_the_label_of_their_own_entry(name: str, signal: str | None, pictograms: tuple[str, ...]) -> None:
    """Labels that follow from the Annex VI entries of these salts by CLP articles 19, 20 and 26."""
    known = catalogue()
    sold = as_sold(known.find(name), known)
    assert sold.signal_word == signal
    assert sold.pictograms == pictograms


def test_liver_of_sulphur_says_what_acid_does_to_it() -> None:
    """EUH031 stands with its words."""
    known = catalogue()
    sold = as_sold(known.find("liver of sulphur"), known)
    assert [(s.h, bool(s.text)) for s in sold.supplemental] == [("EUH031", True)]
