"""Lists are read in parts: whole, in order, and with one object for words that stand in many rows."""

from __future__ import annotations

from dataclasses import replace

import pytest

from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.studio import Studio
from patina.entries import NewReading, NewTile
from patina.errors import Damaged
from patina.recipe import Recipe
from patina.records.finding import listing
from patina.records.finding.listing import Same


def test_a_list_read_in_parts_is_whole_and_in_order(
    studio: Studio, brown: Recipe, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever number of rows is read at once, the list is the same as page after page."""
    monkeypatch.setattr(listing, "AT_ONCE", 2)
    for n in range(5):
        finishes.save_recipe(studio, replace(brown, name=f"Harbour {n}"))
        tile = tiles.start_tile(studio, NewTile(f"h{n}", "C87300", recipe=f"Harbour {n % 2}"))
        tiles.add_reading(studio, tile.row.id, NewReading(30.0 + n, 1.0, 2.0))
    whole = finishes.list_recipes(studio)
    assert whole == tuple(row for n in range(5) for row in finishes.list_recipes(studio, limit=1, offset=n))
    assert [row.name for row in whole] == [f"Harbour {n}" for n in range(5)]
    assert [(row.tiles, len(row.colours)) for row in whole] == [(3, 3), (2, 2), (0, 0), (0, 0), (0, 0)]
    assert (whole[0].alloys, whole[0].methods) == (brown.alloys, brown.methods)
    rack = tiles.list_tiles(studio)
    assert rack == tuple(row for n in range(5) for row in tiles.list_tiles(studio, limit=1, offset=n))
    assert [row.lab.L for row in rack if row.lab] == [34.0, 33.0, 32.0, 31.0, 30.0]


def test_words_of_many_rows_are_held_once(studio: Studio, brown: Recipe) -> None:
    """Two rows with the same alloys, look or light share them, so that a long list stays small."""
    for n in range(2):
        finishes.save_recipe(studio, replace(brown, name=f"Quay {n}"))
        tile = tiles.start_tile(studio, NewTile(f"q{n}", "C87300", recipe="Quay 0"))
        tiles.add_reading(studio, tile.row.id, NewReading(30.0, 1.0, 2.0))
    one, other = finishes.list_recipes(studio)
    assert one.alloys is other.alloys
    assert one.finish is other.finish
    new, old = tiles.list_tiles(studio)
    assert new.lab is not None
    assert old.lab is not None
    assert new.recipe is old.recipe
    assert new.lab.illuminant is old.lab.illuminant


def test_a_list_of_words_that_cannot_be_read_is_told() -> None:
    """A stored list that is no list is a trouble with a name, not an empty list."""
    with pytest.raises(Damaged):
        Same().words("[torch")
