"""The nearest finishes to a colour, exactly, among very many readings.

The first question after a start goes to the database, which hands out only what can be near. For
large studios the rack is then laid out in memory beside it, and asked from then on; a small one is
laid out at once. Either way the answer is that of comparing every reading.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

from patina.bench.readings.comparing import NamedColour, colour_of
from patina.colour.values import Lab
from patina.errors import BadQuantity, NotFound, PatinaError
from patina.recipe import METHODS
from patina.sheets import Match

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.records.matched.rack import Stand, Wanted

# Above this many readings the rack is laid out beside the first answers, not before them.
AT_ONCE = 30_000
_FIRST_ROWS = 400
# Kinds of record whose change alters which tiles a choice lets through.
_CHOICES = {"tile", "lot", "lot_movement", "revision", "substance"}


@dataclass
class _Laid:
    """A rack in memory. stand: of the records it was laid out from."""

    stand: Stand
    rack: Any
    tiles: Any
    readings: Any
    masks: dict[tuple[object, ...], Any] = field(default_factory=dict)


@dataclass
class _Kept:
    """The racks of a studio by (illuminant, observer, every), and which are being laid out."""

    laid: dict[tuple[str, str, bool], _Laid] = field(default_factory=dict)
    busy: dict[tuple[str, str, bool], threading.Thread] = field(default_factory=dict)


_STUDIOS: WeakKeyDictionary[Studio, _Kept] = WeakKeyDictionary()


def nearest(
    studio: Studio,
    target: str,
    *,
    alloy: str | None = None,
    top: int = 10,
    method: str | None = None,
    on_shelf: bool = False,
    avoid: Sequence[str] = (),
    every: bool = False,
    once: bool = False,
) -> tuple[Match, ...]:
    """The tiles whose latest reading is nearest to a colour, by CIEDE2000, nearest first.

    target: "L,a,b" or the id of a reading, tile, cast or agreed finish; a tile is not its own
    match. alloy: only tiles of this alloy, by any of its names. top: 1 or more. method: only tiles
    whose recipe is worked so. on_shelf: only where every chemical of the recipe is on the shelf.
    avoid: hazards one does not want: statements ("H350"), classes ("Carc."); a recipe with a
    substance whose hazards are unknown is left out as well, and so are tiles without a recipe.
    every: all readings of a tile count, not its latest alone. once: nothing more will be asked, so a
    large rack is not laid out in memory. Raises BadQuantity, NotFound.
    """
    from patina.records.matched.rack import Wanted, entries

    if top < 1:
        raise BadQuantity(f"{top} matches cannot be shown.", "Ask for 1 or more.", field="top")
    if method is not None and method.casefold() not in METHODS:
        raise BadQuantity(f"'{method}' is no method known here.", f"Use one of: {', '.join(METHODS)}.", field="method")
    goal = colour_of(studio, target)
    with studio.store.view() as session:
        wanted = Wanted(
            goal.lab.illuminant,
            goal.lab.observer,
            every,
            None if alloy is None else _alloys(session, alloy),
            _revisions(studio, session, method, on_shelf, avoid) if method or on_shelf or avoid else None,
        )
        found = _answer(studio, session, wanted, goal, top)
        shown = entries(session, [reading for reading, _ in found])
    if not once:
        _lay_out_beside(studio, wanted)
    return tuple(_match(shown[reading], difference, goal.lab) for reading, difference in found)


def _match(entry: Any, difference: float, goal: Lab) -> Match:
    return Match(
        tile=entry.tile,
        engraved=entry.engraved,
        recipe_id=entry.recipe_id,
        recipe=entry.recipe,
        revision=entry.revision,
        lab=Lab(entry.L, entry.a, entry.b, goal.illuminant, goal.observer),
        delta_e=difference,
        reading=entry.reading,
        wax_state=entry.wax_state,
    )


def _alloys(session: Any, alloy: str) -> tuple[str, ...]:
    from patina.records.matched.rack import alloys_kept

    key = alloy_key(alloy)
    return tuple(name for name in alloys_kept(session) if alloy_key(name) == key)


def alloy_key(name: str) -> str:
    """The catalogue's key of an alloy, or the name in lower case where the catalogue has none."""
    from patina.surface.alloys import find_alloy

    try:
        return find_alloy(name).key.casefold()
    except NotFound:
        return name.strip().casefold()


def _revisions(
    studio: Studio, session: Any, method: str | None, on_shelf: bool, avoid: Sequence[str]
) -> tuple[int, ...]:
    from patina.records.matched import rack

    there = rack.on_shelf(session) if on_shelf else set()
    known = studio.catalogue()
    fits: list[int] = []
    for id, methods, substances in rack.revision_facts(session):
        if method is not None and method.casefold() not in (m.casefold() for m in methods):
            continue
        if on_shelf and not all(key in there for key in substances):
            continue
        if avoid and any(_hazardous(known, key, avoid) for key in substances):
            continue
        fits.append(id)
    return tuple(fits)


def _hazardous(known: Any, key: str, avoid: Sequence[str]) -> bool:
    try:
        substance = known.get(key)
    except NotFound:
        return True
    if substance.hazard_basis == "unknown":
        return True
    words = [w.strip().casefold() for w in avoid if w.strip()]
    return any(
        h.h.casefold().startswith(w) or h.code.casefold().startswith(w) for h in substance.hazards for w in words
    )


def _answer(studio: Studio, session: Any, wanted: Wanted, goal: NamedColour, top: int) -> list[tuple[int, float]]:
    """Numbers of the readings and their differences, nearest first; the target's own tile left out."""
    own = None if goal.tile is None else int(goal.tile[1:])
    extra = 0 if own is None else (1 if not wanted.every else _own_readings(session, own))
    point = (goal.lab.L, goal.lab.a, goal.lab.b)
    laid = _laid_out(studio, session, wanted)
    if laid is not None:
        rows, differences = laid.rack.nearest(point, top + extra, among=_mask(session, laid, wanted))
        found = [(int(laid.tiles[r]), int(laid.readings[r]), float(d)) for r, d in zip(rows, differences, strict=True)]
    else:
        found = from_records(session, wanted, point, top + extra)
    return [(reading, d) for tile, reading, d in found if tile != own][:top]


def _own_readings(session: Any, tile: int) -> int:
    from patina.records.readings.readings import readings_of
    from patina.records.tables.first import ReadingTable

    return len(readings_of(session, ReadingTable.tile_id == tile))


def from_records(
    session: Any, wanted: Wanted, point: tuple[float, float, float], k: int
) -> list[tuple[int, int, float]]:
    """(tile, reading, difference) of the k nearest, from the database alone, nearest first.

    Readings near in lightness give a first reach; then everything within that reach is handed out
    and compared, at first a narrow band so that the reach gets short.
    """
    from patina.matching.reach import reach_of
    from patina.records.matched import rack

    ends = rack.lightness_range(session, wanted)
    if ends is None:
        return []
    if ends[0] < 0 or ends[1] > 100:  # the reach is worked out for surfaces
        return _compared(rack.columns(session, wanted), point, k)
    rows, whole = rack.nearest_in_lightness(session, wanted, point[0], max(_FIRST_ROWS, 2 * k))
    best = _compared(rows, point, k)
    if whole or len(best) < k:
        if whole:
            return best
        rows = rack.within(session, wanted, low=0, high=100, centre=point[1:], radius_warm=1e6, radius_cool=1e6)
        return _compared(rows, point, k)
    for share in (0.12, 1.0):
        reach = reach_of(point, best[-1][2])
        low, high = point[0] - share * (point[0] - reach.low), point[0] + share * (reach.high - point[0])
        rows = rack.within(
            session,
            wanted,
            low=low,
            high=high,
            centre=point[1:],
            radius_warm=reach.radius_warm,
            radius_cool=reach.radius_cool,
        )
        nearer = _compared(rows, point, k)
        if len(nearer) == k and (share == 1.0 or nearer[-1][2] <= best[-1][2]):
            best = nearer
    return best


def _compared(table: Any, point: tuple[float, float, float], k: int) -> list[tuple[int, int, float]]:
    import numpy as np

    from patina.matching.search import Rack

    if not len(table):
        return []
    table = table[np.lexsort((table[:, 1], table[:, 0]))]
    best, differences = Rack(table[:, 2:]).nearest(point, k)
    return [(int(table[r, 0]), int(table[r, 1]), float(d)) for r, d in zip(best, differences, strict=True)]


def _laid_out(studio: Studio, session: Any, wanted: Wanted) -> _Laid | None:
    """The rack in memory where it is what the records say; None while a large one is being laid out."""
    from patina.records.matched import rack

    kept = _STUDIOS.setdefault(studio, _Kept())
    key = (wanted.illuminant, wanted.observer, wanted.every)
    now = rack.stand(session)
    laid = kept.laid.get(key)
    if laid is not None and _still(session, laid, now):
        return laid
    kept.laid.pop(key, None)
    if now.reading <= AT_ONCE:
        kept.laid[key] = _lay_out(session, wanted, now)
        return kept.laid[key]
    return None


def _lay_out_beside(studio: Studio, wanted: Wanted) -> None:
    """After an answer from the database: begin to lay the rack out for the questions to come."""
    kept = _STUDIOS.setdefault(studio, _Kept())
    key = (wanted.illuminant, wanted.observer, wanted.every)
    busy = kept.busy.get(key)
    if key not in kept.laid and (busy is None or not busy.is_alive()):
        kept.busy[key] = threading.Thread(target=_beside, args=(studio, wanted, kept), daemon=True)
        kept.busy[key].start()


def _still(session: Any, laid: _Laid, now: Stand) -> bool:
    """Whether a rack is still what the records say. Choices made on it are dropped where they may not be."""
    from patina.records.matched import rack

    if laid.stand == now:
        return True
    if laid.stand.reading != now.reading or now.change < laid.stand.change:
        return False
    kinds = rack.changed_since(session, laid.stand.change)
    if "reading" in kinds:
        return False
    if kinds & _CHOICES:
        laid.masks.clear()
    laid.stand = now
    return True


def _lay_out(session: Any, wanted: Wanted, now: Stand) -> _Laid:
    from patina.matching.search import Rack
    from patina.records.matched import rack

    table = rack.columns(session, wanted)
    return _Laid(now, Rack(table[:, 2:]), table[:, 0].astype("int64"), table[:, 1].astype("int64"))


def _beside(studio: Studio, wanted: Wanted, kept: _Kept) -> None:
    from patina.records.matched import rack

    try:
        with studio.store.view() as session:
            now = rack.stand(session)
            laid = _lay_out(session, wanted, now)
    except PatinaError:
        return  # the studio was closed meanwhile; the next question asks the database again
    kept.laid[wanted.illuminant, wanted.observer, wanted.every] = laid


def wait_until_laid_out(studio: Studio, say: Callable[[str], None] = lambda _: None) -> None:
    """Wait for racks that are being laid out beside the first answers."""
    kept = _STUDIOS.get(studio)
    for thread in list(kept.busy.values()) if kept is not None else []:
        say("laying out the rack")
        thread.join()


def _mask(session: Any, laid: _Laid, wanted: Wanted) -> Any:
    if wanted.all_tiles:
        return None
    key = (wanted.alloys, wanted.revisions)
    if key not in laid.masks:
        import numpy as np

        from patina.records.matched import rack

        allowed = np.array(rack.allowed_tiles(session, wanted), dtype=np.int64)
        if len(laid.masks) > 20:
            laid.masks.clear()
        laid.masks[key] = np.isin(laid.tiles, allowed)
    return laid.masks[key]
