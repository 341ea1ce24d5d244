"""Deeds on the shelf: lots, what is taken from them, and what stands on their labels."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import fields, replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patina.bench import upkeep
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.entries import NewLot
from patina.errors import BadQuantity, Changed, Incomplete, NotFound, Refused, ShortStock, UnknownSubstance
from patina.sheets import LotRow


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of such a studio, to be copied for each test."""
    folder = tmp_path_factory.mktemp("filled") / "studio"
    with open_studio(folder) as opened:
        shelf.add_lot(opened, NewLot("Liver of sulfur", 500.0, supplier="Own supplier", place="top left"), by="Ada")
    return folder


@pytest.fixture
def studio(filled: Path, tmp_path: Path) -> Iterator[Studio]:
    """A studio with a lot of liver of sulphur."""
    shutil.copytree(filled, tmp_path / "studio")
    with open_studio(tmp_path / "studio") as opened:
        yield opened


def _again(row: LotRow, **changes: Any) -> NewLot:
    """A lot as it would be entered again."""
    kept = {f.name: getattr(row, f.name) for f in fields(NewLot) if f.name != "substance"}
    return NewLot(substance=row.substance_key, **(kept | changes))


def test_a_lot_comes_back_whole(studio: Studio) -> None:
    """Every figure and word, the price figure for figure; the substance by its catalogue name."""
    today = date.today()
    entry = NewLot(
        "ferric nitrate", 1000.0, "g", "S", "technical", "2026/4", 98.5, today,
        today + timedelta(days=30), "cabinet", Decimal("12.50"), "EUR", "keep dry",
    )  # fmt: skip
    row = shelf.add_lot(studio, entry)
    assert row == shelf.lot_row(studio, "L2") and row.substance_key == "ferric_nitrate_9h2o"
    same = ("amount", "unit", "supplier", "grade", "lot_number", "assay_pct", "opened_on", "use_by", "place", "price")
    assert [getattr(row, f) for f in same] == [getattr(entry, f) for f in same]
    assert str(row.price) == "12.50" and row.state == "opened"


@pytest.mark.parametrize("word", ["sulphur", "sulf", "39365-88-3", "own supplier", "TOP", "l1", "potassa"])
def test_lots_are_found_by_any_name(studio: Studio, word: str) -> None:
    """By the substance's names in any spelling, CAS number, supplier, place or id."""
    assert [row.id for row in shelf.list_lots(studio, word)] == ["L1"]
    assert shelf.list_lots(studio, "xenon") == ()


def test_states_of_a_lot(studio: Studio) -> None:
    """New, opened by the first taking, past its date, spent; spent ones stand last."""
    assert shelf.lot_row(studio, "L1").state == ""
    shelf.add_lot(studio, NewLot("bismuth nitrate", 10.0, use_by=date.today() - timedelta(days=1)))
    shelf.add_lot(studio, NewLot("ammonium chloride", 10.0, use_by=date.today()))
    shelf.take_from_lot(studio, "L3", 10.0, "g", "test")
    assert shelf.take_from_lot(studio, "L1", 1.0, "g", "test").state == "opened"
    assert [(r.id, r.state) for r in shelf.list_lots(studio)] == [("L2", "expired"), ("L1", "opened"), ("L3", "spent")]


def test_other_forms_of_the_same_salt_are_offered(studio: Studio) -> None:
    """Asked for the trihydrate, the 2.5-hydrate on the shelf is shown, the very form first."""
    shelf.add_lot(studio, NewLot("cupric_nitrate_2_5h2o", 100.0))
    shelf.add_lot(studio, NewLot("cupric_nitrate_3h2o", 100.0))
    shelf.add_lot(studio, NewLot("cupric_sulfate_5h2o", 100.0))
    assert [row.id for row in shelf.lots_of(studio, "cupric nitrate trihydrate")] == ["L3", "L2"]
    shelf.count_lot(studio, "L3", 0.0, "g")
    assert [row.id for row in shelf.lots_of(studio, "cupric nitrate trihydrate")] == ["L2"]
    with pytest.raises(UnknownSubstance):
        shelf.lots_of(studio, "kryptonite")


@pytest.mark.parametrize(
    ("substance", "word"),
    [("nitric acid", "Danger"), ("sodium chloride", None), ("ferric nitrate", "Warning"), ("silver nitrate", "Danger")],
)
def test_the_signal_word_of_a_lot(studio: Studio, substance: str, word: str | None) -> None:
    """As the CLP labels of the pure substances have it (harmonised: nitric acid, silver nitrate; from memory)."""
    assert shelf.add_lot(studio, NewLot(substance, 10.0)).signal_word == word


def test_an_unknown_hazard_is_not_no_hazard(studio: Studio) -> None:
    """A substance that nobody has classified says "unknown", not nothing."""
    known = studio.catalogue().get("sodium_chloride")
    studio.add_substance(replace(known, key="own", name="own powder", other_names=(), cas=None, hazard_basis="unknown"))
    assert shelf.add_lot(studio, NewLot("own powder", 5.0)).signal_word == "unknown"


@pytest.mark.parametrize(
    ("amount", "unit", "why", "trouble"),
    [
        (501.0, "g", "x", ShortStock),
        (1.0, "mL", "x", Refused),
        (0.0, "g", "x", BadQuantity),
        (-5.0, "g", "x", BadQuantity),
        (float("nan"), "g", "x", BadQuantity),
        (1.0, "g", " ", Refused),
    ],
)
def test_what_cannot_be_taken(studio: Studio, amount: float, unit: str, why: str, trouble: type[Exception]) -> None:
    """More than there is, in another unit, nothing, less than nothing, for no reason: the lot stays as it is."""
    with pytest.raises(trouble):
        shelf.take_from_lot(studio, "L1", amount, unit, why)
    with pytest.raises(NotFound):
        shelf.take_from_lot(studio, "L9", 1.0, "g", "x")
    assert shelf.lot_row(studio, "L1").left == 500.0
    assert len(shelf.lot_movements(studio, "L1")) == 1


def test_movements_are_history(studio: Studio) -> None:
    """Received, taken, corrected, counted: each with amount, reason and name."""
    shelf.take_from_lot(studio, "L1", 20.0, "g", "tile A1", by="Ben")
    row = shelf.lot_row(studio, "L1")
    shelf.change_lot(studio, "L1", _again(row, amount=450.0), version=row.version, by="Ada")
    shelf.count_lot(studio, "L1", 425.0, "g", by="Ada")
    shelf.count_lot(studio, "L1", 425.0, "g", by="Ada")
    moved = [(m.amount, m.why, m.by) for m in shelf.lot_movements(studio, "L1")]
    assert moved == [
        (500.0, "received", "Ada"),
        (-20.0, "tile A1", "Ben"),
        (-50.0, "amount received corrected", "Ada"),
        (-5.0, "stock-take", "Ada"),
    ]
    assert shelf.lot_row(studio, "L1").left == 425.0


def test_a_lot_is_corrected(studio: Studio) -> None:
    """Another substance or place; not another unit once something was taken, nor less than was taken."""
    row = shelf.change_lot(studio, "L1", NewLot("ferric nitrate", 500.0, place="cellar"), version=1)
    assert (row.substance_key, row.place) == ("ferric_nitrate_9h2o", "cellar")
    assert [r.id for r in shelf.list_lots(studio, "ferric")] == ["L1"] and shelf.list_lots(studio, "liver") == ()
    with pytest.raises(Changed):
        shelf.change_lot(studio, "L1", NewLot("ferric nitrate", 500.0), version=1)
    shelf.take_from_lot(studio, "L1", 400.0, "g", "x")
    with pytest.raises(Refused, match="More than 300"):
        shelf.change_lot(studio, "L1", NewLot("ferric nitrate", 300.0))
    with pytest.raises(Refused, match="unit"):
        shelf.change_lot(studio, "L1", NewLot("ferric nitrate", 500.0, "mL"))


@pytest.mark.parametrize(
    ("entry", "fields"),
    [
        (NewLot("", 0.0), {"substance", "amount"}),
        (NewLot("liver of sulphur", 1.0, "kg"), {"unit"}),
        (NewLot("liver of sulphur", 1.0, assay_pct=101.0), {"assay_pct"}),
        (NewLot("liver of sulphur", 1.0, price=Decimal("-1"), currency="EUR"), {"price"}),
        (NewLot("liver of sulphur", 1.0, price=Decimal("NaN")), {"price", "currency"}),
        (NewLot("liver of sulphur", 1.0, opened_on=date(2999, 1, 1)), {"opened_on"}),
    ],
)
def test_a_lot_that_cannot_be(studio: Studio, entry: NewLot, fields: set[str]) -> None:
    """All troubles at once, each with its field; the shelf stays as it is."""
    with pytest.raises(Incomplete) as told:
        shelf.add_lot(studio, entry)
    assert {t.field for t in told.value.troubles} == fields
    assert len(shelf.list_lots(studio)) == 1


@settings(max_examples=8, deadline=None)
@given(takes=st.lists(st.floats(0.001, 200.0), max_size=8))
def test_a_lot_never_goes_below_zero(takes: list[float]) -> None:
    """Whatever is asked for: what is left is what was received less what was given, and never negative."""
    with tempfile.TemporaryDirectory() as folder, open_studio(folder) as studio:
        shelf.add_lot(studio, NewLot("liver of sulphur", 500.0))
        given_out = 0.0
        for amount in takes:
            try:
                shelf.take_from_lot(studio, "L1", amount, "g", "x")
                given_out += amount
            except ShortStock:
                assert given_out + amount > 500.0 - 1e-3
        left = shelf.lot_row(studio, "L1").left
        assert left >= 0.0 and left == pytest.approx(500.0 - given_out, abs=1e-5)
        assert upkeep.check(studio).ok
