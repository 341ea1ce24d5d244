"""Photographs in the records: what a file says of itself, and to which tile or cast it belongs."""

from __future__ import annotations

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from patina.colour.values import PhotoFacts
from patina.errors import NotFound, Refused
from patina.records.tables.first import TileTable
from patina.records.tables.photographs import PhotographTable, PhotographUse
from patina.records.tables.pieces import CastTable
from patina.sheets import PhotographRow

NOT_TO_BE_MEASURED = "no chart: not to be measured"  # in the note of a photograph brought in as a picture alone
WITHOUT_CHART = "camera without chart"  # the instrument of a reading by the file's profile alone


def find_photograph(session: Session, sha256: str) -> PhotographTable:
    """The photograph of that hash, or of one that begins so (8 figures or more). Raises NotFound."""
    wanted = sha256.strip().lower()
    query = select(PhotographTable)
    if len(wanted) == 64:
        found = session.scalars(query.where(PhotographTable.sha256 == wanted)).all()
    elif len(wanted) >= 8:
        found = session.scalars(query.where(PhotographTable.sha256.startswith(wanted, autoescape=True))).all()
    else:
        found = []
    if len(found) != 1:
        raise NotFound(
            f"There is no photograph '{sha256}' in the studio.",
            "Give its SHA-256 as the tile or cast shows it.",
            field="photograph",
        )
    return found[0]


def add_photograph(
    session: Session,
    target: TileTable | CastTable,
    facts: PhotoFacts,
    *,
    name: str,
    size_bytes: int,
    state: str,
    note: str,
    by: str,
) -> PhotographUse:
    """Put a stored photograph on record with a tile or a cast. Raises Refused where it is there already."""
    photograph = session.scalars(select(PhotographTable).where(PhotographTable.sha256 == facts.sha256)).one_or_none()
    if photograph is None:
        photograph = PhotographTable(
            sha256=facts.sha256,
            size_bytes=size_bytes,
            width_px=facts.width,
            height_px=facts.height,
            format=facts.format,
            bits=facts.bits,
            profile=facts.profile or "",
            taken_at=facts.taken_at or "",
            camera=facts.camera or "",
            lens=facts.lens or "",
            exif=dict(facts.exif),
        )
        session.add(photograph)
        session.flush()
    here = PhotographUse.tile_id if isinstance(target, TileTable) else PhotographUse.cast_id
    already = session.scalars(
        select(PhotographUse).where(here == target.id, PhotographUse.photograph_id == photograph.id)
    ).first()
    if already is not None:
        raise Refused(
            f"This photograph is already with {target.public_id} (as '{already.name}').", "There is nothing to add."
        )
    use = PhotographUse(name=name, state=state, note=note, added_by=by, photograph=photograph)
    use.tile_id = target.id if isinstance(target, TileTable) else None
    use.cast_id = target.id if isinstance(target, CastTable) else None
    session.add(use)
    session.flush()
    return use


def photographs_of(session: Session, where: ColumnElement[bool]) -> tuple[PhotographRow, ...]:
    """Photographs in the order they were added, in one query."""
    uses = session.scalars(select(PhotographUse).where(where).order_by(PhotographUse.id))
    return tuple(photograph_row(use) for use in uses)


def uses_of_day(session: Session, photograph: PhotographTable) -> list[PhotographUse]:
    """Other photographs, each as it belongs to a tile or cast, taken on the same day as the camera says; where
    the camera did not say, those that were added on the same day and do not say either."""
    other = PhotographTable.sha256 != photograph.sha256
    query = select(PhotographUse).join(PhotographTable, PhotographTable.id == PhotographUse.photograph_id).where(other)
    if photograph.taken_at:
        query = query.where(PhotographTable.taken_at.startswith(photograph.taken_at[:10], autoescape=True))
        return list(session.scalars(query.order_by(PhotographUse.id)))
    silent = session.scalars(query.where(PhotographTable.taken_at == "").order_by(PhotographUse.id))
    return [use for use in silent if use.photograph.added_at.date() == photograph.added_at.date()]


def photograph_row(use: PhotographUse) -> PhotographRow:
    """A photograph as it is shown with one tile or cast."""
    photograph = use.photograph
    return PhotographRow(
        sha256=photograph.sha256,
        name=use.name,
        width_px=photograph.width_px,
        height_px=photograph.height_px,
        format=photograph.format,
        bits=photograph.bits,
        profile=photograph.profile,
        taken_at=photograph.taken_at,
        camera=photograph.camera,
        state=use.state,
        note=use.note,
        added_at=use.added_at,
    )


def require_use(session: Session, photograph: PhotographTable, target: TileTable | CastTable) -> None:
    """Raises Refused where a photograph does not belong to that tile or cast."""
    here = PhotographUse.tile_id if isinstance(target, TileTable) else PhotographUse.cast_id
    use = select(PhotographUse.id).where(here == target.id, PhotographUse.photograph_id == photograph.id)
    if session.scalar(use) is None:
        raise Refused(
            f"The photograph does not belong to {target.public_id}.",
            f"Add it to {target.public_id} first.",
            field="photograph",
        )


def require_measurable(session: Session, photograph: PhotographTable) -> None:
    """Raises Refused for a photograph that was brought in as a picture alone, since no chart is in it."""
    use = select(PhotographUse.id).where(
        PhotographUse.photograph_id == photograph.id, PhotographUse.note.endswith(NOT_TO_BE_MEASURED)
    )
    if session.scalars(use.limit(1)).first() is not None:
        raise Refused(
            "The photograph was brought in without a chart and is not to be measured.",
            "Take a new one with a chart, or read it by a card or by a chart photographed in the same light.",
            field="photograph",
        )


def is_with(session: Session, sha256: str, target: TileTable | CastTable) -> bool:
    """Whether a photograph on record belongs to that tile or cast."""
    here = PhotographUse.tile_id if isinstance(target, TileTable) else PhotographUse.cast_id
    query = select(PhotographUse.id).join(PhotographTable, PhotographTable.id == PhotographUse.photograph_id)
    return session.scalar(query.where(here == target.id, PhotographTable.sha256 == sha256)) is not None


def known_hashes(session: Session) -> frozenset[str]:
    """SHA-256 of every photograph on record."""
    return frozenset(session.scalars(select(PhotographTable.sha256)))


def known_sizes(session: Session) -> dict[str, int]:
    """Bytes of every photograph on record, by its SHA-256."""
    rows = session.execute(select(PhotographTable.sha256, PhotographTable.size_bytes)).all()
    return {row.sha256: row.size_bytes for row in rows}
