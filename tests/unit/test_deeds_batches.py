"""Deeds on batches: mixed from lots, used, over their time, put to waste."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from patina.bench import upkeep
from patina.bench.pots import batches
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.chemistry.strength import parse_strength
from patina.entries import NewBatch, NewLot, Weighed
from patina.errors import BadQuantity, Incomplete, NotFound, Refused, ShortStock, UnknownSubstance
from patina.recipe import Ingredient, Recipe, Solution, Step

BROWN = Recipe(
    "Harbour brown",
    "even dark brown",
    ("C87300",),
    "own tiles",
    (
        Solution(
            "wash",
            "distilled_water",
            (Ingredient("liver_of_sulphur", parse_strength("5 g/L")),),
            use_within_h=12.0,
        ),
        Solution("ferric", "distilled_water", (Ingredient("ferric_nitrate_9h2o", parse_strength("20 g/L")),)),
    ),
    (Step("apply", solution="wash", method="torch", passes=4, coverage_ml_per_m2=40.0),),
)


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of such a studio, to be copied for each test."""
    folder = tmp_path_factory.mktemp("filled") / "studio"
    with open_studio(folder) as opened:
        finishes.save_recipe(opened, BROWN)
        shelf.add_lot(opened, NewLot("liver of sulphur", 10.0))
        shelf.add_lot(opened, NewLot("ferric nitrate", 100.0))
    return folder


@pytest.fixture
def studio(filled: Path, tmp_path: Path) -> Iterator[Studio]:
    """A studio with the recipe and two lots."""
    shutil.copytree(filled, tmp_path / "studio")
    with open_studio(tmp_path / "studio") as opened:
        yield opened


def mixed(studio: Studio, hours_ago: float = 0.0, **more: object) -> str:
    """A litre of the wash; its id."""
    weighed = (Weighed("liver of sulphur", 5.0, 5.1, "g", "L1"),)
    moment = datetime.now(UTC) - timedelta(hours=hours_ago)
    entry = NewBatch("R1", 1, "wash", 1000.0, weighed, made_at=moment, made_by="Ada", **more)  # type: ignore[arg-type]
    return batches.mix_batch(studio, entry).id


def test_a_batch_takes_from_its_lots(studio: Studio) -> None:
    """What was weighed leaves the shelf with the batch's id as the reason."""
    entry = NewBatch(
        "harbour brown", 1, "wash", 1500.0,
        (Weighed("liver of sulphur", 7.5, 7.6, "g", "L1"), Weighed("ferric nitrate", 0.0, 2.0, "g")),
        water="rain water", ph=9.5, temperature_c=21.5, note="cloudy",
    )  # fmt: skip
    sheet = batches.mix_batch(studio, entry)
    assert (sheet.id, sheet.recipe_id, sheet.revision, sheet.solution) == ("B1", "R1", 1, "wash")
    assert (sheet.volume_ml, sheet.left_ml, sheet.water, sheet.ph, sheet.temperature_c) == (
        *(1500.0, 1500.0, "rain water"),
        *(9.5, 21.5),
    )
    names = [s.name for s in map(studio.catalogue().get, ("liver_of_sulphur", "ferric_nitrate_9h2o"))]
    assert sheet.weighed == ((names[0], 7.5, 7.6, "g", "L1"), (names[1], 0.0, 2.0, "g", None))
    assert shelf.lot_row(studio, "L1").left == pytest.approx(2.4)
    assert shelf.lot_row(studio, "L2").left == 100.0
    last = shelf.lot_movements(studio, "L1")[-1]
    assert (last.amount, last.why, last.batch) == (-7.6, "batch B1", "B1")


def test_the_clock_of_a_batch(studio: Studio) -> None:
    """It may be used for as long as its solution says; one that keeps has no end."""
    sheet = batches.batch_sheet(studio, mixed(studio, hours_ago=2))
    assert sheet.use_until == sheet.made_at + timedelta(hours=12)
    assert batches.mix_batch(studio, NewBatch("R1", 1, "ferric", 500.0)).use_until is None


def test_a_batch_over_its_time(studio: Studio) -> None:
    """It is not used unless the person says that it is used all the same; waste needs no such word."""
    old = mixed(studio, hours_ago=13)
    with pytest.raises(Refused, match="time of batch B1 was over"):
        batches.use_from_batch(studio, old, 100.0, "tile")
    assert batches.use_from_batch(studio, old, 100.0, "tile, tested on a strip", though_old=True).left_ml == 900.0
    assert batches.discard_batch(studio, old, "drum 2").left_ml == 0.0


def test_what_is_used_is_history(studio: Studio) -> None:
    """Each use with its amount, reason and name; an empty pot leaves the list of open batches."""
    which = mixed(studio)
    batches.use_from_batch(studio, which, 400.0, "tile A1", by="Ben")
    sheet = batches.discard_batch(studio, which, "sulphide drum", by="Ada")
    assert [(ml, why, by) for _, ml, why, by in sheet.used] == [
        (400.0, "tile A1", "Ben"),
        (600.0, "discarded: sulphide drum", "Ada"),
    ]
    assert batches.list_batches(studio) == () and [b.id for b in batches.list_batches(studio, open_only=False)] == [
        "B1"
    ]
    with pytest.raises(Refused, match="Nothing is left"):
        batches.discard_batch(studio, which, "again")
    assert upkeep.check(studio).ok


@pytest.mark.parametrize(
    ("ml", "why", "trouble"),
    [(1000.1, "x", Refused), (0.0, "x", BadQuantity), (-1.0, "x", BadQuantity), (5.0, "", Refused)],
)
def test_what_cannot_be_used(studio: Studio, ml: float, why: str, trouble: type[Exception]) -> None:
    """More than is left, nothing, for no reason: the batch stays as it is."""
    which = mixed(studio)
    with pytest.raises(trouble):
        batches.use_from_batch(studio, which, ml, why)
    assert batches.batch_sheet(studio, which).left_ml == 1000.0


@pytest.mark.parametrize(
    ("line", "trouble"),
    [
        (Weighed("liver of sulphur", 5.0, 11.0, "g", "L1"), ShortStock),
        (Weighed("liver of sulphur", 5.0, 5.0, "mL", "L1"), Refused),
        (Weighed("liver of sulphur", 5.0, 5.0, "g", "L2"), Refused),
        (Weighed("liver of sulphur", 5.0, 5.0, "g", "L9"), NotFound),
        (Weighed("kryptonite", 5.0, 5.0, "g"), UnknownSubstance),
        (Weighed("liver of sulphur", 5.0, -5.0, "g", "L1"), Incomplete),
        (Weighed("liver of sulphur", 5.0, float("nan"), "g", "L1"), Incomplete),
    ],
)
def test_a_batch_that_cannot_be_mixed(studio: Studio, line: Weighed, trouble: type[Exception]) -> None:
    """Short stock, the wrong unit or bottle, an unknown lot or substance: nothing is taken, nothing kept."""
    good = Weighed("ferric nitrate", 20.0, 20.0, "g", "L2")
    with pytest.raises(trouble):
        batches.mix_batch(studio, NewBatch("R1", 1, "wash", 1000.0, (good, line)))
    assert [row.left for row in shelf.list_lots(studio)] == [100.0, 10.0]
    assert batches.list_batches(studio, open_only=False) == ()


@pytest.mark.parametrize(
    ("entry", "trouble"),
    [
        (NewBatch("R1", 1, "no such pot", 1.0), NotFound),
        (NewBatch("R1", 2, "wash", 1.0), NotFound),
        (NewBatch("R2", 1, "wash", 1.0), NotFound),
        (NewBatch("R1", 1, "wash", 0.0), Incomplete),
        (NewBatch("R1", 1, "wash", 1.0, ph=20.0), Incomplete),
        (NewBatch("R1", 1, "wash", 1.0, made_at=datetime(2999, 1, 1)), Incomplete),
    ],
)
def test_a_batch_of_nothing(studio: Studio, entry: NewBatch, trouble: type[Exception]) -> None:
    """No such solution, revision or recipe; no volume; a pH that cannot be; the future."""
    with pytest.raises(trouble):
        batches.mix_batch(studio, entry)
