"""Shares of area on a condition map, and how they changed between visits, with what the drawing leaves open."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from patina.conservation.polygons import Polygon, common_area, perimeter, union_area
from patina.conservation.record import Kept
from patina.conservation.values import EXTENTS, ConditionMap, Zone

WHOLE_PICTURE: tuple[Polygon, ...] = (((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)),)
# How far a drawn edge is from where another hand would draw it, in heights of the picture, and how much two
# photographs that were not laid over each other differ in what they show. Common practice, no source.
DRAWN_WITHIN = 0.005
UNREGISTERED_PCT = 10.0
UNREGISTERED_NO_OUTLINE_PCT = 25.0


@dataclass(frozen=True, slots=True)
class Share:
    """How much of an object or picture a zone or term covers, overlaps counted once.

    pct: None where nothing was drawn. u_pct: expanded (95 %), from the drawing of edges only. extent: the step
    of the scale that pct falls on, or what was said where nothing was drawn.
    """

    what: str
    pct: float | None
    u_pct: float
    extent: str


@dataclass(frozen=True, slots=True)
class MapShares:
    """Areas of one condition map. of: "object" where its outline was drawn, else "picture". zones: by zone's id;
    terms: by term's key. overlap_pct: drawn more than once, of the same whole; outside_pct: drawn beyond the
    outline, which counts for nothing."""

    map: str
    of: str
    zones: Mapping[str, Share]
    terms: Mapping[str, Share]
    active: Share
    overlap_pct: float
    outside_pct: float


def extent_of(pct: float) -> str:
    """The step of the scale of extents.

    >>> [extent_of(p) for p in (0, 3, 5, 25, 26, 80)]
    ['0', 'under 5', '5 to 25', '5 to 25', '25 to 50', 'over 50']
    """
    limits = (0.0, 5.0, 25.0, 50.0)
    if pct <= limits[0]:
        return EXTENTS[0]
    if pct < limits[1]:
        return EXTENTS[1]
    return EXTENTS[2] if pct <= limits[2] else EXTENTS[3] if pct <= limits[3] else EXTENTS[4]


def share_drawn(
    polygons: Sequence[Polygon],
    outline: Sequence[Polygon],
    aspect: float = 1.5,
    *,
    what: str = "",
    laid_within: float = 0.0,
) -> Share:
    """What polygons cover of an outline (of the whole picture where it is empty).

    aspect: width over height of the photograph. laid_within: how far edges may lie off besides the drawing, in heights
    of the picture."""
    within = outline or WHOLE_PICTURE
    whole = union_area(within)
    pct = 100.0 * common_area(polygons, within) / whole
    # the picture's area in square heights is its aspect
    edge = math.fsum(perimeter(polygon, aspect) for polygon in polygons)
    return Share(what, pct, 100.0 * (DRAWN_WITHIN + laid_within) * edge / (whole * aspect), extent_of(pct))


def map_shares(
    map: Kept[ConditionMap], zones: Sequence[Kept[Zone]], aspect: float = 1.5, *, laid_within: float = 0.0
) -> MapShares:
    """The areas of one map. zones: those that stand on it. aspect: width over height of the photograph.
    laid_within: how far edges may lie off besides the drawing, in heights of the picture."""
    outline = map.value.outline or WHOLE_PICTURE
    whole = union_area(outline)
    here = [z for z in zones if z.value.map == map.id]
    drawn = [polygon for z in here for polygon in z.value.polygons]
    within = common_area(drawn, outline) if drawn else 0.0
    alone = math.fsum(common_area(z.value.polygons, outline) for z in here if z.value.polygons)

    def share(what: str, of: Sequence[Kept[Zone]]) -> Share:
        polygons = [polygon for z in of for polygon in z.value.polygons]
        if not polygons:
            said = [z.value.extent for z in of if z.value.extent]
            return Share(what, None, 0.0, said[0] if len(said) == 1 else "")
        return share_drawn(polygons, outline, aspect, what=what, laid_within=laid_within)

    terms = dict.fromkeys(z.value.term for z in here)
    return MapShares(
        map=map.id,
        of="object" if map.value.outline else "picture",
        zones={z.id: share(z.value.name, [z]) for z in here},
        terms={term: share(term, [z for z in here if z.value.term == term]) for term in terms},
        active=share("active", [z for z in here if z.value.activity == "active"]),
        overlap_pct=100.0 * max(0.0, alone - within) / whole,
        outside_pct=100.0 * max(0.0, (union_area(drawn) if drawn else 0.0) - within) / whole,
    )


@dataclass(frozen=True, slots=True)
class ZoneChange:
    """One zone or term at two visits, in % of the same whole. u_pct: expanded (95 %), of the difference.

    verdict: "more", "less", "cannot be told" where the difference is within its uncertainty or one side was not
    drawn, "first drawn" and "no longer drawn" where it is there at one visit only (whether it was looked for
    there, the map does not say), "not drawn" where it never was.
    """

    what: str
    term: str
    before_pct: float | None
    after_pct: float | None
    u_pct: float
    verdict: str


@dataclass(frozen=True, slots=True)
class MapChange:
    """What changed between two maps of one view, by zone and by term. registered: whether the photographs lie on
    each other; otherwise ``doubt`` says what that adds."""

    before: str
    after: str
    registered: bool
    zones: tuple[ZoneChange, ...]
    terms: tuple[ZoneChange, ...]
    doubt: str


def map_change(
    before: Kept[ConditionMap],
    after: Kept[ConditionMap],
    zones: Sequence[Kept[Zone]],
    *,
    aspects: tuple[float, float] = (1.5, 1.5),
    registered: bool = False,
    laid_within: float = 0.0,
) -> MapChange:
    """Change of area between two maps, zones paired by their name and term.

    registered: the later map was drawn on, or carried over to, the earlier photograph. laid_within: how well
    the two pictures lie on each other, in heights of the earlier.
    """
    same = registered or before.value.photograph == after.value.photograph
    outlined = bool(before.value.outline and after.value.outline)
    extra = 0.0 if same else UNREGISTERED_PCT if outlined else UNREGISTERED_NO_OUTLINE_PCT
    one = map_shares(before, zones, aspects[0])
    other = map_shares(after, zones, aspects[1], laid_within=laid_within)
    by_zone = [_by(zones, m, shares.zones, _named) for m, shares in ((before.id, one), (after.id, other))]
    pairs = list(dict.fromkeys([*by_zone[0], *by_zone[1]]))
    return MapChange(
        before=before.id,
        after=after.id,
        registered=same,
        zones=tuple(_change(k[0], k[1], by_zone[0].get(k), by_zone[1].get(k), extra) for k in pairs),
        terms=tuple(
            _change("", term, one.terms.get(term), other.terms.get(term), extra)
            for term in dict.fromkeys([*one.terms, *other.terms])
        ),
        doubt=_doubt(same, outlined, extra, laid_within),
    )


def _doubt(same: bool, outlined: bool, extra: float, laid_within: float) -> str:
    edges = f"Edges count as drawn within {100 * DRAWN_WITHIN:g} % of the picture's height"
    if same and laid_within > 0.0:
        return f"{edges}; the pictures lie on each other within {100 * laid_within:.2g} % of it."
    if same:
        return f"{edges}; both maps lie on one picture."
    whole = "shares are of the outlined object" if outlined else "an outline of the object is missing"
    return f"{edges}; the photographs were not laid over each other, {whole}: {extra:g} % of each share are added."


def _named(zone: Kept[Zone]) -> tuple[str, str]:
    return (" ".join(zone.value.name.casefold().split()), zone.value.term)


def _by(
    zones: Sequence[Kept[Zone]],
    map: str,
    shares: Mapping[str, Share],
    key: Callable[[Kept[Zone]], tuple[str, str]],
) -> dict[tuple[str, str], Share]:
    found: dict[tuple[str, str], Share] = {}
    for zone in zones:
        if zone.value.map == map and zone.id in shares:
            found.setdefault(key(zone), shares[zone.id])
    return found


def _change(what: str, term: str, before: Share | None, after: Share | None, extra: float) -> ZoneChange:
    low, high = (None if s is None else s.pct for s in (before, after))
    parts = [s for s in (before, after) if s is not None and s.pct is not None]
    u = math.hypot(*(s.u_pct for s in parts), *(extra / 100 * (s.pct or 0.0) for s in parts))
    if low is None and high is None:
        verdict = "not drawn"
    elif before is None or after is None:
        verdict = "first drawn" if before is None else "no longer drawn"
    elif low is None or high is None:
        verdict = "cannot be told"
    else:
        verdict = "cannot be told" if abs(high - low) <= u else "more" if high > low else "less"
    return ZoneChange(what, term, low, high, u, verdict)


def latest_pairs(maps: Sequence[Kept[ConditionMap]]) -> tuple[tuple[Kept[ConditionMap], Kept[ConditionMap]], ...]:
    """For each view, its maps one after another in order of their days."""
    by_view: dict[str, list[Kept[ConditionMap]]] = {}
    for one in maps:
        by_view.setdefault(one.value.view.casefold(), []).append(one)
    pairs = []
    for same in by_view.values():
        in_time = sorted(same, key=lambda m: (m.value.seen_on or m.at.date(), m.at))
        pairs += list(itertools.pairwise(in_time))
    return tuple(pairs)
