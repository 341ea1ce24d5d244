"""The readings of the rack for searching by colour: near one in the database, or all of them as columns."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain
from typing import Any

from sqlalchemy import ColumnElement, and_, func, or_, select
from sqlalchemy.orm import Session

from patina.records.tables.first import ReadingTable, RecipeTable, RevisionSubstance, RevisionTable, TileTable
from patina.records.tables.shelf import ChainHead, ChangeTable, LotTable

_COLUMNS = (ReadingTable.tile_id, ReadingTable.id, ReadingTable.lab_l, ReadingTable.lab_a, ReadingTable.lab_b)


@dataclass(frozen=True, slots=True)
class RackEntry:
    """A reading of a tile, with what a search shows."""

    tile: str
    engraved: str
    alloy: str
    recipe_id: str | None
    recipe: str
    revision: int | None
    L: float
    a: float
    b: float
    reading: str = ""
    wax_state: str = ""


@dataclass(frozen=True, slots=True)
class Stand:
    """How far the records have come. change: number of the newest change; reading: of the newest reading."""

    change: int
    reading: int


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which readings count. every: also those that are not a tile's latest. alloys, revisions: only tiles of
    these (names as kept; numbers of revisions), None for all."""

    illuminant: str
    observer: str
    every: bool = False
    alloys: tuple[str, ...] | None = None
    revisions: tuple[int, ...] | None = None

    @property
    def all_tiles(self) -> bool:
        """Whether no tile is left out."""
        return self.alloys is None and self.revisions is None


def stand(session: Session) -> Stand:
    """How far the records have come; cheap at any size."""
    change = session.scalar(select(func.max(ChainHead.n))) or 0
    return Stand(change, session.scalar(select(func.max(ReadingTable.id))) or 0)


def changed_since(session: Session, change: int) -> set[str]:
    """Kinds of records changed after the change of that number."""
    return set(session.scalars(select(ChangeTable.kind).where(ChangeTable.n > change).distinct()))


def lightness_range(session: Session, wanted: Wanted) -> tuple[float, float] | None:
    """Lowest and highest L*, None where there is no reading."""
    ends = []
    for order in (ReadingTable.lab_l.asc(), ReadingTable.lab_l.desc()):
        found = [
            session.scalars(select(ReadingTable.lab_l).where(*_of(wanted, latest)).order_by(order).limit(1)).first()
            for latest in _kinds(wanted)
        ]
        ends.append([value for value in found if value is not None])
    return (min(ends[0]), max(ends[1])) if ends[0] else None


def nearest_in_lightness(session: Session, wanted: Wanted, lightness: float, most: int) -> tuple[Any, bool]:
    """Readings on either side of a lightness, at most so many on each, as ``columns`` gives them but in no
    order; and whether those are all there are."""
    import numpy as np

    parts = []
    whole = True
    for latest in _kinds(wanted):
        for side, order in (
            (ReadingTable.lab_l >= lightness, ReadingTable.lab_l.asc()),
            (ReadingTable.lab_l < lightness, ReadingTable.lab_l.desc()),
        ):
            query = select(*_COLUMNS).where(*_of(wanted, latest), *_tiles(wanted), side).order_by(order).limit(most)
            found = _table(session, query)
            whole = whole and len(found) < most
            parts.append(found)
    return np.concatenate(parts), whole


def within(
    session: Session,
    wanted: Wanted,
    *,
    low: float,
    high: float,
    centre: tuple[float, float],
    radius_warm: float,
    radius_cool: float,
) -> Any:
    """Readings of L* from low to high within a distance of a centre in a*b*, by whether b* is below 0, as
    ``columns`` gives them but in no order."""
    import numpy as np

    a, b = ReadingTable.lab_a - centre[0], ReadingTable.lab_b - centre[1]
    away = a * a + b * b
    near = or_(
        and_(ReadingTable.lab_b >= 0, away <= radius_warm**2), and_(ReadingTable.lab_b < 0, away <= radius_cool**2)
    )
    band = ReadingTable.lab_l.between(low, high)
    queries = [select(*_COLUMNS).where(*_of(wanted, k), band, near, *_tiles(wanted)) for k in _kinds(wanted)]
    return np.concatenate([_table(session, query) for query in queries])


def columns(session: Session, wanted: Wanted) -> Any:
    """All readings as an array of shape (n, 5): tile number, reading number, L*, a*, b*; by tile, then reading."""
    import numpy as np

    found = np.concatenate([_table(session, select(*_COLUMNS).where(*_of(wanted, k))) for k in _kinds(wanted)])
    return found[np.lexsort((found[:, 1], found[:, 0]))]


def _table(session: Session, query: Any) -> Any:
    """What a query finds, straight from the driver as an array of shape (n, 5): a million rows as objects
    would take longer than comparing them."""
    import numpy as np

    words = str(query.compile(dialect=session.get_bind().dialect, compile_kwargs={"literal_binds": True}))
    cursor: Any = session.connection().connection.cursor()
    try:
        with _no_collecting():
            cursor.execute(words)
            return np.fromiter(chain.from_iterable(cursor), dtype=np.float64).reshape(-1, 5)
    finally:
        cursor.close()


@contextmanager
def _no_collecting() -> Iterator[None]:
    """A million small tuples set off the collection of rubbish again and again, though none is rubbish."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _kinds(wanted: Wanted) -> tuple[bool, ...]:
    return (True, False) if wanted.every else (True,)


def _of(wanted: Wanted, latest: bool) -> list[ColumnElement[bool]]:
    return [
        ReadingTable.illuminant == wanted.illuminant,
        ReadingTable.observer == wanted.observer,
        ReadingTable.latest.is_(latest),
        ReadingTable.tile_id.is_not(None),
    ]


def _tiles(wanted: Wanted) -> list[ColumnElement[bool]]:
    return [] if wanted.all_tiles else [ReadingTable.tile_id.in_(_allowed(wanted))]


def _allowed(wanted: Wanted) -> Any:
    query = select(TileTable.id)
    if wanted.alloys is not None:
        query = query.where(TileTable.alloy.in_(wanted.alloys))
    if wanted.revisions is not None:
        query = query.where(TileTable.revision_id.in_(wanted.revisions))
    return query


def allowed_tiles(session: Session, wanted: Wanted) -> list[int]:
    """Numbers of the tiles that count."""
    return list(session.scalars(_allowed(wanted)))


def alloys_kept(session: Session) -> list[str]:
    """Every name of an alloy that a tile bears."""
    return list(session.scalars(select(TileTable.alloy).distinct()))


def revision_facts(session: Session) -> list[tuple[int, tuple[str, ...], tuple[str, ...]]]:
    """Every revision with its methods and the keys of its substances."""
    used: dict[int, list[str]] = {}
    for revision, substance in session.execute(select(RevisionSubstance.revision_id, RevisionSubstance.substance)):
        used.setdefault(revision, []).append(substance)
    query = select(RevisionTable.id, RevisionTable.methods)
    return [(id, tuple(methods), tuple(used.get(id, ()))) for id, methods in session.execute(query)]


def on_shelf(session: Session) -> set[str]:
    """Keys of the substances of which a lot still holds something."""
    return set(session.scalars(select(LotTable.substance).where(LotTable.left_amount > 0).distinct()))


def entries(session: Session, reading_ids: Sequence[int]) -> dict[int, RackEntry]:
    """Readings of tiles with what is shown of them, by number."""
    query = (
        select(
            ReadingTable.id,
            TileTable.id,
            TileTable.engraved,
            TileTable.alloy,
            RevisionTable.recipe_id,
            RecipeTable.name,
            RevisionTable.number,
            ReadingTable.lab_l,
            ReadingTable.lab_a,
            ReadingTable.lab_b,
            ReadingTable.wax_state,
        )
        .join(TileTable, TileTable.id == ReadingTable.tile_id)
        .outerjoin(RevisionTable, RevisionTable.id == TileTable.revision_id)
        .outerjoin(RecipeTable, RecipeTable.id == RevisionTable.recipe_id)
    )
    found: dict[int, RackEntry] = {}
    for start in range(0, len(reading_ids), 500):
        some = reading_ids[start : start + 500]
        for row in session.execute(query.where(ReadingTable.id.in_(some))):
            reading, tile, engraved, alloy, recipe_id, recipe, revision, L, a, b, wax = row
            found[reading] = RackEntry(
                f"T{tile}",
                engraved,
                alloy,
                None if recipe_id is None else f"R{recipe_id}",
                recipe or "",
                revision,
                L,
                a,
                b,
                f"D{reading}",
                wax,
            )
    return found
