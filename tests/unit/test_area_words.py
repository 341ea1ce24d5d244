"""Areas as they are typed, textures offered from what works taught, and the bill and works on the command line."""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from patina.bench.pieces import casts
from patina.bench.pots import area, batches
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.bench.torch import work
from patina.chemistry.strength import parse_strength
from patina.cli import patina
from patina.entries import NewBatch, NewCast, NewLot, NewPiece, NewWork, Weighed
from patina.errors import BadQuantity, NotFound, PatinaError, Refused
from patina.recipe import Ingredient, Recipe, Solution, Step


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Studio]:
    """A studio in which two works by one recipe are done; each used more than planned."""
    wash = Solution("wash", "distilled_water", (Ingredient("liver_of_sulphur", parse_strength("5 g/L")),))
    steps = (
        Step("apply", solution="wash", method="torch", passes=4, coverage_ml_per_m2=40.0, transfer=0.5),
        Step("rinse"),
    )
    with open_studio(tmp_path_factory.mktemp("words") / "studio") as opened:
        finishes.save_recipe(opened, Recipe("Reed brown", "brown", ("C87300",), "own tiles", (wash,), steps, 1.1))
        casts.add_piece(opened, NewPiece("Heron"))
        casts.add_cast(opened, NewCast("W1", "1/9", "C87300", area_m2=1.0))
        shelf.add_lot(opened, NewLot("liver of sulphur", 500, price=Decimal("14.50"), currency="EUR"))
        weighed = (Weighed("liver of sulphur", 10, 10, "g", "L1"),)
        batches.mix_batch(opened, NewBatch("R1", 1, "wash", 2000, weighed))
        for used in (96.0, 120.0):
            left = batches.batch_sheet(opened, "B1").left_ml
            begun = work.start_work(opened, NewWork("C1", "R1", zones=(("all", 1.0),), batch="B1", done_by="Maren"))
            work.pass_done(opened, begun.row.id, left_ml=left - used)
            work.end_work(opened, begun.row.id)
        yield opened


def _run(studio: Studio, *words: str) -> Any:
    told = CliRunner().invoke(patina, [*words, "--studio", str(studio.where), "--json"], catch_exceptions=False)
    return json.loads(told.stdout)


def test_the_texture_of_past_works_is_offered_first_with_its_spread(studio: Studio) -> None:
    """96 and 120 mL went on 1 m2 where texture 1.1 plans 1.1 × 40 / 0.5 = 88 mL: textures 1.2 and 1.5, and the middle
    of ratios is their geometric mean, 1.34."""
    offers = area.texture_offers(studio, "R1")
    assert offers[0].learnt
    assert offers[0].factor == pytest.approx(math.sqrt(1.2 * 1.5), rel=0.01)
    assert "J1, J2" in offers[0].words
    assert "107 mL/m² and pass" in offers[0].words
    assert "e+" not in offers[0].words
    assert [o.learnt for o in offers].count(True) == 1


def test_starting_values_are_offered_where_nothing_was_learnt() -> None:
    """Polished 1.0, fine blast 1.1 (common practice of the trade, no source)."""
    offers = area.texture_offers(None)
    assert not any(offer.learnt for offer in offers)
    assert {1.0, 1.1} <= {offer.factor for offer in offers}


@pytest.mark.parametrize(
    ("method", "values", "expected_m2"),
    [
        ("weight", {"mass": "96 kg", "wall": "5 mm", "alloy": "C87300"}, 96_000 / (8.36 * 5000)),
        ("enlarge", {"area": "0.062 m2", "from": "450 mm", "to": "1800 mm"}, 0.992),
        ("wrap", {"foil": "310 g", "thickness": "0.015 mm", "overlap": "30 %"}, 7.654 * 0.7),
        ("wrap", {"paper": "168 g", "per_m2": "80 g"}, 2.1),
        ("shapes", {"sketch": "sphere 0.20 m"}, math.pi * 0.04),
    ],
)
def test_each_method_from_what_is_typed(method: str, values: dict[str, str], expected_m2: float) -> None:
    """Mass over density and wall; the square of the heights; grams over grams per square metre; π d² (by hand)."""
    assert area.by_form(method, values).area_m2 == pytest.approx(expected_m2, rel=1e-3)


@pytest.mark.parametrize("method", list(area.METHODS))
def test_a_method_without_its_figures_says_what_is_missing(method: str) -> None:
    """An empty form is refused with what is still to say."""
    with pytest.raises(BadQuantity):
        area.by_form(method, {})


def test_a_method_that_is_none_is_refused() -> None:
    """The five methods are named."""
    with pytest.raises(NotFound, match="weight"):
        area.by_form("guess", {})


def test_areas_said_in_words() -> None:
    """With and without method and doubt; a doubt that is not said is 10 %."""
    told = area.said("weight 2.3 m2 ± 16 %")
    assert (told.area_m2, told.uncertainty_pct, told.method) == (2.3, pytest.approx(16.0), "weight")
    assert area.said("12 sq ft +- 5 %").area_m2 == pytest.approx(1.1148, rel=1e-3)
    assert area.said("2 m2").uncertainty_pct == 10.0
    for bad in ("", "2.3", "weight", "2 m2 ± 0 %", "2 m2 ± 5", "-1 m2"):
        with pytest.raises(PatinaError):
            area.said(bad)


def test_two_areas_on_the_command_line(studio: Studio) -> None:
    """The weighted mean of two areas; too far apart is refused with the usual causes."""
    document = _run(studio, "area", "reconcile", "weight 2.0 m2 ± 10 %", "foil 2.2 m2 ± 10 %")
    wa, wb = 1 / 0.2**2, 1 / 0.22**2
    assert document["area_m2"] == pytest.approx((2.0 * wa + 2.2 * wb) / (wa + wb))
    with pytest.raises(Refused, match="25 %"):
        area.reconciled(area.said("weight 2 m2"), area.said("foil 3 m2"))


def test_the_bill_is_written_and_works_are_listed(studio: Studio, tmp_path: Path) -> None:
    """patina bill [WORK...] FILE.csv: all works or the named one; patina list works names them."""
    document = _run(studio, "bill", str(tmp_path / "all.csv"))
    rows = list(csv.DictReader((tmp_path / "all.csv").read_text("utf-8-sig").splitlines()))
    assert len(rows) == document["lines"] > 0
    assert {row["work"] for row in rows} == {"J1", "J2"}
    _run(studio, "bill", "J2", str(tmp_path / "one.csv"))
    assert {r["work"] for r in csv.DictReader((tmp_path / "one.csv").read_text("utf-8-sig").splitlines())} == {"J2"}
    listed = _run(studio, "list", "works")["items"]
    assert {item["id"] for item in listed} == {"J1", "J2"}
    assert all(item["ended"] for item in listed)


def test_a_bill_that_is_no_csv_is_refused(studio: Studio, tmp_path: Path) -> None:
    """A work named where the file should stand is told, and no file is written."""
    told = CliRunner().invoke(patina, ["bill", "J1", "--studio", str(studio.where)])
    assert isinstance(told.exception, Refused)
    assert "csv" in told.exception.remedy
    assert list(tmp_path.iterdir()) == []


@given(
    st.one_of(
        st.text(max_size=30),
        st.lists(st.sampled_from(["2", "m2", "±", "+-", "10 %", "foil", "sq ft", "-", "1e400"]), max_size=5).map(
            " ".join
        ),
    )
)
def test_whatever_is_typed_as_an_area_is_an_area_or_a_sentence(words: str) -> None:
    """Any text is an area with a doubt above zero, or refused with a remedy."""
    try:
        found = area.said(words)
    except PatinaError as trouble:
        assert trouble.remedy
    else:
        assert 0 < found.area_m2 < 1e6
        assert 0 < found.uncertainty_pct <= 100
