"""Whatever is typed or written into a file is either read or refused in words; nothing else comes out."""

from __future__ import annotations

import csv
import io
import math
from datetime import UTC, date, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from patina.bench.safe.air_words import changes_per_h, flow_m3_h, room_m3
from patina.bench.safe.exposure import exposure_form
from patina.bench.safe.exposure_csv import exposure_csv, safe_cell
from patina.bench.shelves.substance_fields import PLACES, substance_form
from patina.bench.shelves.substance_file import EXAMPLE, read_substance_text
from patina.chemistry.substances import catalogue
from patina.errors import BadQuantity, Incomplete, PatinaError, Refused
from patina.safety.tag_offers import known_tags, offered_tags
from patina.sheets.safety import ExposureRow

TODAY = date(2026, 3, 2)
SAID = st.one_of(
    st.text(max_size=40),
    st.sampled_from(
        [
            "5 %",
            "-5 %",
            "1e400",
            "nan",
            "0",
            "∞",
            "٣ g/L",
            "Skin Corr. 1B H314",
            "H314",
            "oral 5 mg/kg",
            "10",
            ";",
            "=1",
        ]
    ),
)
FEW = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@FEW
@given(st.dictionaries(st.sampled_from(sorted(PLACES)), SAID))
def test_a_form_is_read_or_refused(fields: dict[str, str]) -> None:
    """Every trouble has its field and a remedy; what is read holds only finite figures."""
    try:
        new = substance_form(fields, catalogue(), TODAY)
    except Incomplete as trouble:
        assert all(t.field in PLACES and t.what and t.remedy for t in trouble.troubles)
    else:
        s = new.substance
        figures = [s.density_g_ml, s.assay_pct, s.solubility_g_per_l, s.molar_mass_g_mol, *(a.value for a in s.ates)]
        assert all(f is None or math.isfinite(f) for f in figures)


@FEW
@given(st.integers(0, len(EXAMPLE)), st.integers(0, 60), st.text(max_size=20))
def test_a_damaged_file_is_read_or_refused(at: int, cut: int, put: str) -> None:
    """A piece taken out and something put in: a substance, or a refusal in words."""
    text = EXAMPLE[:at] + put + EXAMPLE[at + cut :]
    try:
        new = read_substance_text(text, catalogue(), TODAY)
    except Refused as trouble:
        assert trouble.what and trouble.remedy
    else:
        assert new.substance.name.strip() and new.supplier.strip() and new.dated <= TODAY


@FEW
@given(
    st.one_of(
        st.text(max_size=30), st.from_regex(r"-?\d{1,9}([.,]\d{1,6})? ?(m3|m³/s|cfm|L/s|ft3|%|kg)?", fullmatch=True)
    )
)
@pytest.mark.parametrize("read", [room_m3, flow_m3_h, changes_per_h])
def test_rooms_and_flows(read: object, written: str) -> None:
    """A finite figure of zero or more, or a trouble that has a name."""
    try:
        value = read(written)  # type: ignore[operator]
    except BadQuantity as trouble:
        assert trouble.what and trouble.remedy
    else:
        assert math.isfinite(value) and value >= 0


@FEW
@given(st.dictionaries(st.sampled_from(["person", "minutes", "on", "flow", "substances", "batch", "corrects"]), SAID))
def test_an_exposure_form_is_read_or_refused(fields: dict[str, str]) -> None:
    """An entry with minutes within a day, or every trouble at once."""
    try:
        entry = exposure_form(fields)
    except PatinaError as trouble:
        assert trouble.what and trouble.remedy
    else:
        assert entry.person.strip() and 0 < entry.minutes <= 1440


@FEW
@given(st.text(max_size=60), st.text(max_size=60))
def test_no_text_gets_out_as_a_formula(person: str, note: str) -> None:
    """Whatever is written comes back word for word from the file, but for the apostrophe before a formula."""
    row = ExposureRow(
        "H1", person, TODAY, "", 5.0, "", None, None, (person,), "", "", None, "", note, TODAY, None, None, "",
        datetime(2026, 3, 2, tzinfo=UTC),
    )  # fmt: skip
    back = next(csv.DictReader(io.StringIO(exposure_csv([row]), newline="")))
    for key, written in (("person", person), ("note", note)):
        assert back[key] in (written, f"'{written}")
        assert not back[key].lstrip().startswith(("=", "+", "-", "@"))
        assert safe_cell(safe_cell(written)) == safe_cell(written)


@FEW
@given(st.text(max_size=30), st.lists(st.text(max_size=15), max_size=3))
def test_offers_are_tags(formula: str, classes: list[str]) -> None:
    """Whatever the formula, only known tags are offered."""
    assert set(offered_tags(formula, classes)) <= known_tags()
