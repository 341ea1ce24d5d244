"""Deeds on pieces, casts, treatments and agreed finishes."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.studio import Studio, open_studio
from patina.entries import NewCast, NewMaster, NewPiece, NewReading, NewTile, NewTreatment
from patina.errors import Changed, Incomplete, NotFound, Refused
from patina.recipe import Recipe, Step
from patina.sheets import Lab

WAX = Recipe("Hot wax", "clear, satin", ("C87300",), "common practice", steps=(Step("wax", passes=2),))


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of such a studio, to be copied for each test."""
    folder = tmp_path_factory.mktemp("filled") / "studio"
    with open_studio(folder) as opened:
        finishes.save_recipe(opened, WAX)
        casts.add_piece(opened, NewPiece("Grey seal", "A. Maker", edition=9, height_mm=450.0))
        casts.agree_master(opened, NewMaster("client brown", (30.0, 5.0, 6.0), 2.0))
        casts.add_cast(
            opened, NewCast("grey SEAL", "1/9", "95-4-1", mass_g=96_000.0, wall_mm=5.0, master="Client brown")
        )
        casts.add_cast(opened, NewCast("W1", "2/9", "C87300", owner="Town hall", place="foyer"))
    return folder


@pytest.fixture
def studio(filled: Path, tmp_path: Path) -> Iterator[Studio]:
    """A studio with a piece of nine, two casts of it, an agreed finish and a recipe."""
    shutil.copytree(filled, tmp_path / "studio")
    with open_studio(tmp_path / "studio") as opened:
        yield opened


def test_pieces_are_listed_with_their_casts(studio: Studio) -> None:
    """In order of title, each with how many casts are on record."""
    casts.add_piece(studio, NewPiece("Anchor"))
    rows = casts.list_pieces(studio)
    assert [(r.id, r.title, r.edition, r.casts) for r in rows] == [("W2", "Anchor", None, 0), ("W1", "Grey seal", 9, 2)]
    assert [r.id for r in casts.list_pieces(studio, "maker seal")] == ["W1"]


def test_casts_are_listed_with_colour_and_treatments(studio: Studio) -> None:
    """The latest reading of each, and how often something was done to it."""
    tiles.add_reading(studio, "C1", NewReading(31.0, 4.0, 5.0))
    casts.add_treatment(studio, NewTreatment("C1", "waxed", recipe="hot wax"))
    one, two = casts.list_casts(studio, "Grey seal")
    assert (one.id, one.number, one.alloy, one.master, one.lab, one.treatments) == (
        *("C1", "1/9", "C87300", "M1"),
        *(Lab(31.0, 4.0, 5.0), 1),
    )
    assert (two.lab, two.treatments, two.owner) == (None, 0, "Town hall")
    assert [c.id for c in casts.list_casts(studio, search="foyer")] == ["C2"]


def test_a_number_is_given_once(studio: Studio) -> None:
    """Two casts of a piece do not bear one number; casts without a number are many."""
    with pytest.raises(Refused, match="C1"):
        casts.add_cast(studio, NewCast("W1", "1/9"))
    with pytest.raises(Refused, match="C1"):
        casts.change_cast(studio, "C2", NewCast("W1", "1/9"), version=1)
    assert {casts.add_cast(studio, NewCast("W1")).row.id for _ in range(2)} == {"C3", "C4"}


def test_a_cast_is_corrected_and_the_second_editor_is_told(studio: Studio) -> None:
    """The version seen must be the version there is; the sheet shows what is on record now."""
    changed = casts.change_cast(studio, "C2", NewCast("W1", "2/9", "C87300", owner="Museum"), version=1)
    assert (changed.row.owner, changed.row.place, changed.version) == ("Museum", "", 2)
    with pytest.raises(Changed):
        casts.change_cast(studio, "C2", NewCast("W1", "2/9"), version=1)


def test_treatments_stand_in_the_order_they_were_done(studio: Studio) -> None:
    """Oldest first by their own date, each with the recipe's revision it was done by."""
    casts.add_treatment(
        studio, NewTreatment("C1", "waxed", recipe="Hot wax", as_done=("two coats", ""), done_on=date(2026, 3, 2))
    )
    finishes.revise_recipe(studio, "R1", replace(WAX, finish="clear, matt"), reason="matt asked for")
    sheet = casts.add_treatment(
        studio, NewTreatment("C1", "patinated", zone="base", area_m2=1.8, done_by="Ada", done_on=date(2026, 3, 1))
    )
    assert [(t.id, t.did, t.recipe, t.revision) for t in sheet.treatments] == [
        ("A2", "patinated", "", None),
        ("A1", "waxed", "Hot wax", 1),
    ]
    assert sheet.treatments[1].as_done == ("two coats",)


@pytest.mark.parametrize(
    ("entry", "trouble"),
    [
        (NewTreatment("C9", "waxed"), NotFound),
        (NewTreatment("", " "), Incomplete),
        (NewTreatment("C1", "waxed", revision=2), Incomplete),
        (NewTreatment("C1", "waxed", recipe="R1", revision=2), NotFound),
        (NewTreatment("C1", "waxed", area_m2=0.0), Incomplete),
        (NewTreatment("C1", "waxed", batch="B1"), NotFound),
    ],
)
def test_a_treatment_that_cannot_be_kept(studio: Studio, entry: NewTreatment, trouble: type[Exception]) -> None:
    """Of no cast, without words, of a revision that is not there, on no area."""
    with pytest.raises(trouble):
        casts.add_treatment(studio, entry)
    assert casts.cast_sheet(studio, "C1").treatments == ()


def test_an_agreed_finish_keeps_how_it_was_agreed(studio: Studio) -> None:
    """Colour, limits, light, people and dates come back; found by id and by name."""
    tiles.start_tile(studio, NewTile("A1", "C87300", recipe="R1"))
    entry = NewMaster(
        "museum green", (55.5, -12.25, 8.0), 1.5, "cmc", 1.0, 0.75, 0.5, 0.25, "base", "T1", "hot wax", "D65 booth",
        "45:0", "waxed", "cold", "client, Ada", date(2026, 3, 1), "client and studio", date(2027, 3, 1), "note",
    )  # fmt: skip
    sheet = casts.agree_master(studio, entry)
    assert sheet == casts.master_sheet(studio, "m2") == casts.master_sheet(studio, "Museum GREEN")
    same = ("name", "limit_de", "formula", "limit_dL", "limit_dC", "limit_dH", "uncertainty_de00", "zone", "light")
    more = ("geometry", "wax_state", "warmth", "agreed_by", "agreed_on", "holders", "next_check", "note", "tile")
    assert [getattr(sheet, f) for f in (*same, *more)] == [getattr(entry, f) for f in (*same, *more)]
    assert (sheet.lab, sheet.recipe_id, sheet.recipe) == (Lab(55.5, -12.25, 8.0), "R1", "Hot wax")
    assert [m.id for m in casts.list_masters(studio)] == ["M2", "M1"]
    assert [m.id for m in casts.list_masters(studio, "museum")] == ["M2"]


@pytest.mark.parametrize(
    ("entry", "fields"),
    [
        (NewMaster("", (30.0, 0.0, 0.0), 2.0), {"name"}),
        (NewMaster("x", (130.0, 0.0, 0.0), 0.0, formula="de99"), {"colour", "limit_de", "formula"}),
        (
            NewMaster("x", (30.0, 0.0, 0.0), 2.0, agreed_on=date(2026, 3, 2), next_check=date(2026, 3, 1)),
            {"next_check"},
        ),
    ],
)
def test_an_agreement_that_cannot_be(studio: Studio, entry: NewMaster, fields: set[str]) -> None:
    """No name, a colour outside CIELAB, no limit, an unknown formula, dates the wrong way round."""
    with pytest.raises(Incomplete) as told:
        casts.agree_master(studio, entry)
    assert {t.field for t in told.value.troubles} == fields


def test_what_two_pieces_share_is_asked_about(studio: Studio) -> None:
    """Of two pieces with one title the id must be given."""
    casts.add_piece(studio, NewPiece("Grey Seal"))
    with pytest.raises(NotFound, match="W1, W2"):
        casts.add_cast(studio, NewCast("grey seal", "3/9"))
    assert casts.add_cast(studio, NewCast("W2", "1/9")).row.piece_id == "W2"
    for which in ("W9", "Grey whale", ""):
        with pytest.raises((NotFound, Incomplete)):
            casts.add_cast(studio, NewCast(which))
