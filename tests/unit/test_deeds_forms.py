"""Forms: what was typed becomes an entry, or everything that is wrong is said beside its field."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from patina.bench import forms
from patina.bench.matched import matching_forms
from patina.bench.readings import tiles
from patina.bench.studio import open_studio
from patina.entries import NewCast, NewLot, NewMaster, NewPiece, NewReading, NewTile, NewTreatment, Weighed
from patina.errors import Incomplete


def troubles(form: Callable[[dict[str, str]], object], **fields: str) -> set[str | None]:
    """The fields that a form complains of."""
    with pytest.raises(Incomplete) as told:
        form(fields)
    assert all(trouble.what and trouble.remedy for trouble in told.value.troubles)
    named = [trouble.field for trouble in told.value.troubles]
    assert len(named) == len(set(named)), "one trouble for each field"
    return set(named)


def test_a_tile_as_typed() -> None:
    """Units, dates and lines; what is empty is not said."""
    made = forms.tile_form(
        {
            "engraved": " A1 ",
            "alloy": "silicon bronze",
            "wall": "5 mm",
            "as_done": "hot\n\n wet ",
            "made_on": "2026-03-14",
        }
    )
    assert made == NewTile("A1", "C87300", wall_mm=5.0, as_done=("hot", "wet"), made_on=date(2026, 3, 14))
    assert forms.tile_form({"engraved": "x", "alloy": "y", "made_on": "today"}).made_on == date.today()


def test_a_reading_as_typed() -> None:
    """Decimal commas and true minus signs."""
    made = forms.reading_form({"L": "35,2", "a": "\N{MINUS SIGN}3", "b": "4.5", "n": "3", "warmth": "cold"})
    assert made == NewReading(35.2, -3.0, 4.5, n=3, warmth="cold")


def test_a_lot_as_typed() -> None:
    """Weights become g, volumes mL, the assay per cent, the price exact."""
    made = forms.lot_form(
        {"substance": "liver of sulphur", "amount": "0.5 kg", "assay": "98 %", "price": "12,50", "currency": "EUR"}
    )
    assert made == NewLot("liver of sulphur", 500.0, assay_pct=98.0, price=Decimal("12.50"), currency="EUR")
    assert forms.lot_form({"substance": "nitric acid", "amount": "2.5 L"}).unit == "mL"
    assert forms.lot_form({"substance": "nitric acid", "amount": "2.5 L"}).amount == 2500.0


def test_a_piece_a_cast_and_a_treatment_as_typed() -> None:
    """Lengths in mm, weights in g, areas in m²."""
    assert forms.piece_form({"title": "Seal", "edition": "9", "height": "45 cm"}) == NewPiece(
        "Seal", edition=9, height_mm=450.0
    )
    assert forms.cast_form({"piece": "W1", "mass": "96 kg", "wall": "5 mm", "area": "20000 cm2"}) == NewCast(
        "W1", mass_g=96_000.0, wall_mm=5.0, area_m2=2.0
    )
    assert forms.treatment_form({"cast": "C1", "did": "waxed", "area": "1.8 m²", "recipe": "R1", "revision": "2"}) == (
        NewTreatment("C1", "waxed", area_m2=1.8, recipe="R1", revision=2)
    )


def test_a_batch_as_typed() -> None:
    """Volume in mL and temperature in °C."""
    line = Weighed("liver of sulphur", 5.0, 5.0, "g")
    made = forms.batch_form(
        {"recipe": "R1", "revision": "1", "solution": "wash", "volume": "2 L", "temperature": "68 °F", "ph": "9,5"},
        (line,),
    )
    assert (made.volume_ml, made.temperature_c, made.ph, made.weighed) == (2000.0, pytest.approx(20.0), 9.5, (line,))


def test_an_agreement_from_a_tile(tmp_path: Path) -> None:
    """The colour may be a tile's: its wax state, uncertainty and id come with it."""
    with open_studio(tmp_path) as studio:
        tiles.start_tile(studio, NewTile("A1", "C87300"))
        tiles.add_reading(studio, "T1", NewReading(30.0, 5.0, 6.0, wax_state="waxed", uncertainty_de00=0.5))
        made = matching_forms.master_form({"name": "agreed", "colour": "T1", "limit": "2"}, studio)
        assert made == NewMaster(
            "agreed", (30.0, 5.0, 6.0), 2.0, uncertainty_de00=0.5, tile="T1", wax_state="waxed", warmth="not stated"
        )
    typed = matching_forms.master_form({"name": "agreed", "colour": "30; 5,5; -6", "limit": "2", "limit_dL": "1,5"})
    assert typed == NewMaster("agreed", (30.0, 5.5, -6.0), 2.0, limit_dL=1.5)


@pytest.mark.parametrize(
    ("form", "fields", "named"),
    [
        (forms.tile_form, {}, {"engraved", "alloy"}),
        (forms.tile_form, {"engraved": "x", "wall": "3", "made_on": "3/4/2026"}, {"alloy", "wall", "made_on"}),
        (forms.tile_form, {"engraved": "x", "alloy": "y", "revision": "two"}, {"revision"}),
        (forms.tile_form, {"engraved": "x", "alloy": "y", "wall": "-3 mm"}, {"wall"}),
        (forms.tile_form, {"engraved": "x", "alloy": "y", "wall": "2 m", "wax_state": "?"}, {"wall", "wax_state"}),
        (forms.reading_form, {"L": "101", "a": "", "b": "1e9"}, {"L", "a", "b"}),
        (forms.reading_form, {"L": "nan", "a": "1", "b": "1", "n": "0", "read_at": "noon"}, {"L", "n", "read_at"}),
        (forms.lot_form, {}, {"substance", "amount"}),
        (forms.lot_form, {"substance": "x", "amount": "500"}, {"amount"}),
        (forms.lot_form, {"substance": "x", "amount": "8 oz"}, {"amount"}),
        (forms.lot_form, {"substance": "x", "amount": "2 m2", "assay": "0.98"}, {"amount", "assay"}),
        (forms.lot_form, {"substance": "x", "amount": "2 g", "price": "dear"}, {"price"}),
        (forms.lot_form, {"substance": "x", "amount": "1 g", "price": "3"}, {"currency"}),
        (forms.cast_form, {"mass": "96", "area": "0 m2"}, {"piece", "mass", "area"}),
        (forms.piece_form, {"edition": "0", "height": "tall"}, {"title", "edition", "height"}),
        (forms.treatment_form, {"area": "1.8"}, {"cast", "did", "area"}),
        (matching_forms.master_form, {"colour": "brown", "limit": "-1"}, {"name", "colour", "limit"}),
        (forms.batch_form, {"ph": "20", "volume": "2"}, {"recipe", "revision", "solution", "volume", "ph"}),
    ],
)  # fmt: skip
def test_all_that_is_wrong_is_said_at_once(
    form: Callable[[dict[str, str]], object], fields: dict[str, str], named: set[str]
) -> None:
    """Each wrong field once, by the name it has in the form, the good ones not at all."""
    assert troubles(form, **fields) == named


@pytest.mark.parametrize(
    ("form", "fields"),
    [
        (forms.tile_form, forms.TILE_FIELDS),
        (forms.reading_form, forms.READING_FIELDS),
        (matching_forms.master_form, matching_forms.MASTER_FIELDS),
        (forms.piece_form, forms.PIECE_FIELDS),
        (forms.cast_form, forms.CAST_FIELDS),
        (forms.treatment_form, forms.TREATMENT_FIELDS),
        (forms.lot_form, forms.LOT_FIELDS),
        (forms.batch_form, forms.BATCH_FIELDS),
    ],
)
def test_rubbish_in_every_field_is_no_crash(form: Callable[[dict[str, str]], object], fields: tuple[str, ...]) -> None:
    """Words, signs, emptiness, length: an entry or Incomplete, nothing else."""
    signs = ("", "  ", "x", "-1", "1e400", "\x00", "∞", "1 2 3", "9" * 5000, "٣", "½", "1,2,3", "2026-13-45", "%")
    for rubbish in signs:
        with pytest.raises(Incomplete):  # the first field of each form must not be empty
            form({**dict.fromkeys(fields, rubbish), fields[0]: ""})


def test_local_time_stays_local_until_it_is_kept() -> None:
    """A moment typed without a zone is this computer's own time."""
    made = forms.reading_form({"L": "30", "a": "0", "b": "0", "read_at": "2026-03-14 09:30"})
    assert made.read_at is not None and made.read_at == datetime(2026, 3, 14, 9, 30).astimezone()
