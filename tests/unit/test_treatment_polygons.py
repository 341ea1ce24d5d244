"""Areas on a condition map: polygons, overlaps, the outline, change between visits."""

from __future__ import annotations

from datetime import UTC, datetime
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.path import Path as Outline

from patina.conservation.condition import extent_of, latest_pairs, map_change, map_shares
from patina.conservation.overlay import overlay_svg
from patina.conservation.polygons import common_area, in_order, parse_polygons, shoelace, show_polygons, union_area
from patina.conservation.record import Kept
from patina.conservation.values import ConditionMap, Zone
from patina.errors import BadQuantity

NOW = datetime(2026, 3, 14, tzinfo=UTC)
SQUARE = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))


def kept(id: str, value: object) -> Kept:
    """A part as it is kept."""
    return Kept(id, value, NOW, "")


def drawn(id: str, on: str, name: str, polygons: str, term: str = "atacamite", **more: object) -> Kept:
    """A zone that was drawn."""
    return kept(id, Zone(map=on, name=name, term=term, polygons=parse_polygons(polygons), **more))


def test_the_surveyors_formula_on_a_published_figure() -> None:
    """The usual worked example of the formula: corners (1,6) (3,1) (7,2) (4,4) (8,5) hold 16.5 square units.

    The example stands in encyclopaedias under "shoelace formula"; written from memory and counted by hand.
    """
    assert shoelace([(1, 6), (3, 1), (7, 2), (4, 4), (8, 5)]) == pytest.approx(16.5)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(*[st.floats(0.05, 0.95)] * 2, st.floats(0.03, 0.4), st.integers(3, 7)), min_size=1, max_size=4)
)
def test_the_union_is_what_a_fine_grid_counts(shapes: list[tuple[float, float, float, int]]) -> None:
    """Exact union and common areas agree with counting points of a grid (matplotlib's point-in-polygon as referee)."""
    polygons = []
    for x, y, r, corners in shapes:
        turn = np.linspace(0, 2 * np.pi, corners, endpoint=False) + x * 7
        polygons.append(tuple((float(x + r * np.cos(t)), float(y + r * np.sin(t))) for t in turn))
    side = np.linspace(-0.4, 1.4, 361)
    grid = np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2)
    inside = [Outline(np.array(p)).contains_points(grid) for p in polygons]
    cell = (side[1] - side[0]) ** 2
    assert union_area(polygons) == pytest.approx(np.any(inside, axis=0).sum() * cell, abs=0.02)
    in_square = np.all((grid >= 0) & (grid <= 1), axis=1)
    common = (np.any(inside, axis=0) & in_square).sum() * cell
    assert common_area(polygons, [SQUARE]) == pytest.approx(common, abs=0.02)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("0,0 1,1", "2 points"),
        ("0,0 1,1 0,1 1,0", "crosses itself"),
        ("0,0 0.5,0.5 1,1", "one line"),
        ("0,0 1,0 1,1.2", "no place in the picture"),
        ("0,0 1,0 x,1", "no place in the picture"),
        ("0,0 1,0 nan,1", "no place in the picture"),
        ("0,0 1,0 1,1 0.5,0 0,1", "crosses itself"),
    ],
)
def test_an_outline_that_bounds_no_area_is_refused(typed: str, said: str) -> None:
    """An area that would be a guess is not taken."""
    with pytest.raises(BadQuantity, match=said):
        parse_polygons(typed)


def test_polygons_are_written_as_they_are_typed() -> None:
    """Typed, shown and typed again, a zone stays what it was."""
    zones = parse_polygons("0.1,0.2 0.6,0.2 0.6,0.9; 0,0 1,0 1,1 0,1")
    assert parse_polygons(show_polygons(zones)) == zones
    assert in_order([*zones[0], zones[0][0]]) == zones[0], "a closing point is not a corner"


def test_overlaps_count_once_and_are_told() -> None:
    """Two zones of one term that overlap are not added up; what was drawn twice is named."""
    one = kept("CM1", ConditionMap("before", "front", "ab" * 32, (SQUARE,)))
    zones = [drawn("CZ1", "CM1", "a", "0,0 0.6,0 0.6,1 0,1"), drawn("CZ2", "CM1", "b", "0.4,0 1,0 1,1 0.4,1")]
    shares = map_shares(one, zones)
    assert [shares.zones[z].pct for z in ("CZ1", "CZ2")] == pytest.approx([60, 60])
    assert shares.terms["atacamite"].pct == pytest.approx(100)
    assert shares.overlap_pct == pytest.approx(20)


def test_shares_are_of_the_object_where_it_is_outlined() -> None:
    """With an outline the whole is the object, and what lies beyond it counts for nothing; without, the picture."""
    half = ((0.0, 0.0), (0.5, 0.0), (0.5, 1.0), (0.0, 1.0))
    zone = drawn("CZ1", "CM1", "a", "0.25,0 0.75,0 0.75,1 0.25,1")
    with_outline = map_shares(kept("CM1", ConditionMap("x", "y", "ab" * 32, (half,))), [zone])
    without = map_shares(kept("CM1", ConditionMap("x", "y", "ab" * 32)), [zone])
    assert (with_outline.of, with_outline.zones["CZ1"].pct) == ("object", pytest.approx(50))
    assert with_outline.outside_pct == pytest.approx(50)
    assert (without.of, without.zones["CZ1"].pct) == ("picture", pytest.approx(50))
    assert with_outline.zones["CZ1"].u_pct > without.zones["CZ1"].u_pct > 0


def test_what_is_not_drawn_is_not_measured() -> None:
    """A zone with an extent in words has no share: nothing is made up."""
    one = kept("CM1", ConditionMap("before", "front", "ab" * 32))
    zone = kept("CZ1", Zone(map="CM1", name="a", term="bloom", extent="5 to 25"))
    share = map_shares(one, [zone]).zones["CZ1"]
    assert (share.pct, share.extent) == (None, "5 to 25")
    assert extent_of(4.9) == "under 5"


def _two_maps(small: str, photograph: str = "cd" * 32) -> tuple[Kept, Kept, list[Kept]]:
    before = kept("CM1", ConditionMap("before", "front", "ab" * 32, (SQUARE,)))
    after = kept("CM2", ConditionMap("after", "Front", photograph, (SQUARE,)))
    zones = [drawn("CZ1", "CM1", "Left foot", "0,0 0.4,0 0.4,0.5 0,0.5"), drawn("CZ2", "CM2", "left  foot", small)]
    return before, after, zones


def test_change_is_paired_by_zone_and_term() -> None:
    """The same zone under the same term is compared with itself, however it was written."""
    before, after, zones = _two_maps("0,0 0.1,0 0.1,0.5 0,0.5")
    change = map_change(before, after, zones)
    (zone,) = change.zones
    assert (zone.before_pct, zone.after_pct, zone.verdict) == (pytest.approx(20), pytest.approx(5), "less")
    assert latest_pairs([after, before]) == ((after, before),) or latest_pairs([before, after]) == ((before, after),)


def test_a_change_within_its_doubt_cannot_be_told() -> None:
    """Photographs that were not laid over each other leave more open, and the verdict says so."""
    before, after, zones = _two_maps("0,0 0.37,0 0.37,0.5 0,0.5")
    loose = map_change(before, after, zones)
    assert loose.zones[0].verdict == "cannot be told"
    assert "not laid over each other" in loose.doubt
    laid = map_change(before, after, zones, registered=True)
    assert laid.zones[0].u_pct < loose.zones[0].u_pct
    bare = kept("CM2", ConditionMap("after", "front", "cd" * 32))
    assert map_change(before, bare, zones).zones[0].u_pct > loose.zones[0].u_pct


def test_a_zone_of_another_term_is_new() -> None:
    """Nothing is paired across terms: the old one is no longer drawn, another is drawn first."""
    before, after, zones = _two_maps("0,0 0.1,0 0.1,0.5 0,0.5")
    zones[1] = drawn("CZ2", "CM2", "left foot", "0,0 0.1,0 0.1,0.5", term="patina_loss")
    assert {c.term: c.verdict for c in map_change(before, after, zones).zones} == {
        "atacamite": "no longer drawn",
        "patina_loss": "first drawn",
    }


def test_the_overlay_is_well_formed_whatever_zones_are_called() -> None:
    """Names go into the picture as text, never as marks of the picture."""
    one = kept("CM1", ConditionMap('before "<1>" & after', "front", "ab" * 32, (SQUARE,)))
    zones = [drawn("CZ1", "CM1", "<script>&'\"</text>", "0.1,0.1 0.2,0.1 0.2,0.2", activity="suspect")]
    svg = overlay_svg(one, zones, map_shares(one, zones), (1600, 1200))
    root = ElementTree.fromstring(svg)
    assert "<script>&'\"</text>" in "".join(root.itertext())
    assert {e.tag.rpartition("}")[2] for e in root.iter()} <= {
        *("svg", "title", "defs", "pattern", "rect", "line", "polygon", "text"),
    }
