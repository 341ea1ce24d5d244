"""Pieces, their casts, and what was done to each."""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, Select, func, or_, select
from sqlalchemy.orm import Session

from patina.colour.values import Lab
from patina.entries import NewCast, NewPiece, NewTreatment
from patina.errors import NotFound, Refused
from patina.records.access.rows import shown_text, shown_words
from patina.records.finding.ranking import by_name
from patina.records.finding.searching import found_by
from patina.records.log.meanwhile import changed_meanwhile
from patina.records.photographs.rows import photographs_of
from patina.records.readings.readings import readings_of
from patina.records.tables.base import searchable
from patina.records.tables.first import ReadingTable, RecipeTable, RevisionTable
from patina.records.tables.ids import number_of
from patina.records.tables.photographs import PhotographUse
from patina.records.tables.pieces import CastTable, MasterTable, PieceTable, TreatmentTable
from patina.records.tables.shelf import BatchTable
from patina.records.tables.treatments import ConservationTable
from patina.sheets import CastRow, CastSheet, PieceRow, TreatmentRow


def add_piece(session: Session, entry: NewPiece) -> PieceTable:
    """Put a work on record."""
    row = PieceTable(
        title=entry.title,
        maker=entry.maker,
        edition=entry.edition,
        height_mm=entry.height_mm,
        note=entry.note,
        search_text=searchable(entry.title, entry.maker, entry.note),
    )
    session.add(row)
    session.flush()
    return row


def piece_rows(session: Session, search: str = "") -> tuple[PieceRow, ...]:
    """Works in order of title, with how many casts are on record, in one query."""
    casts = select(func.count(CastTable.id)).where(CastTable.piece_id == PieceTable.id).scalar_subquery()
    query = select(PieceTable.id, PieceTable.title, PieceTable.maker, PieceTable.edition, casts)
    if search.strip():
        number = number_of(search, "W")
        words = found_by(session, PieceTable, search)
        query = query.where(words if number is None else or_(words, PieceTable.id == number))
    found = session.execute(query.order_by(func.lower(PieceTable.title), PieceTable.id))
    rows = (PieceRow(f"W{row[0]}", *row[1:]) for row in found)
    return by_name(rows, search, lambda row: row.title, lambda row: row.id)


def find_piece(session: Session, which: str) -> PieceTable:
    """The piece of that id, or the only one of that title. Raises NotFound."""
    number = number_of(which, "W")
    if number is not None and (row := session.get(PieceTable, number)) is not None:
        return row
    same = [p for p in session.scalars(select(PieceTable)) if p.title.casefold() == which.strip().casefold()]
    if len(same) == 1:
        return same[0]
    ids = ", ".join(p.public_id for p in same)
    raise NotFound(
        f"Several pieces are called '{which}' ({ids})." if same else f"There is no piece '{which}'.",
        "Give its id, such as W1, or put the piece on record first.",
        field="piece",
    )


def add_cast(session: Session, entry: NewCast, piece: PieceTable, master_id: int | None) -> CastTable:
    """Put a cast on record. Raises Refused where the piece has one of that number already."""
    row = CastTable(piece_id=piece.id)
    _fill(session, row, entry, piece, master_id)
    session.add(row)
    session.flush()
    return row


def change_cast(
    session: Session,
    row: CastTable,
    entry: NewCast,
    piece: PieceTable,
    *,
    master_id: int | None,
    version: int | None,
) -> None:
    """What is on record of a cast, corrected; the log keeps what it was. Raises Changed, Refused."""
    if version is not None and version != row.version:
        raise changed_meanwhile(session, row, version, f"Cast {row.public_id}")
    _fill(session, row, entry, piece, master_id)
    session.flush()


def _fill(session: Session, row: CastTable, entry: NewCast, piece: PieceTable, master_id: int | None) -> None:
    if entry.number:
        same = select(CastTable).where(CastTable.piece_id == piece.id, CastTable.number == entry.number)
        other = session.scalars(same).first()
        if other is not None and other is not row:
            raise Refused(
                f"'{piece.title}' has a cast {entry.number} already ({other.public_id}).",
                "Correct the number, or change that cast.",
                field="number",
            )
    row.piece_id, row.master_id = piece.id, master_id
    row.number, row.alloy, row.mass_g, row.wall_mm = entry.number, entry.alloy, entry.mass_g, entry.wall_mm
    row.area_m2, row.owner, row.place = entry.area_m2, entry.owner, entry.place
    row.cast_on, row.note = entry.cast_on, entry.note
    row.search_text = searchable(
        piece.title, piece.maker, entry.number, entry.alloy, entry.owner, entry.place, entry.note
    )


def _query() -> Select[*tuple[Any, ...]]:
    treatments = select(func.count(TreatmentTable.id)).where(TreatmentTable.cast_id == CastTable.id).scalar_subquery()
    return (
        select(
            CastTable,
            PieceTable.title,
            ReadingTable.lab_l,
            ReadingTable.lab_a,
            ReadingTable.lab_b,
            ReadingTable.illuminant,
            ReadingTable.observer,
            treatments.label("treatments"),
            MasterTable.name,
        )
        .join(PieceTable, PieceTable.id == CastTable.piece_id)
        .outerjoin(ReadingTable, (ReadingTable.cast_id == CastTable.id) & ReadingTable.latest.is_(True))
        .outerjoin(MasterTable, MasterTable.id == CastTable.master_id)
        .order_by(func.lower(PieceTable.title), PieceTable.id, CastTable.id)
    )


def cast_rows(session: Session, where: ColumnElement[bool] | None = None, *, search: str = "") -> tuple[CastRow, ...]:
    """Casts in order of title, each with its latest colour, in one query."""
    query = _query()
    if where is not None:
        query = query.where(where)
    if search.strip():
        number = number_of(search, "C")
        words = found_by(session, CastTable, search)
        query = query.where(words if number is None else or_(words, CastTable.id == number))
    rows = (_row(found) for found in session.execute(query))
    return by_name(rows, search, lambda row: f"{row.piece} {row.number}", lambda row: row.id)


def _row(found: Any) -> CastRow:
    cast, title, L, a, b, illuminant, observer, treatments, finish = found
    return CastRow(
        id=cast.public_id,
        piece=title,
        piece_id=f"W{cast.piece_id}",
        number=cast.number,
        alloy=cast.alloy,
        owner=cast.owner,
        place=cast.place,
        master=None if cast.master_id is None else f"M{cast.master_id}",
        lab=None if L is None else Lab(L, a, b, illuminant, observer),
        treatments=treatments,
        master_name=finish or "",
    )


def cast_sheet(session: Session, cast: CastTable) -> CastSheet:
    """A cast with its treatments (oldest first), photographs and readings (newest first)."""
    (row,) = cast_rows(session, CastTable.id == cast.id)
    return CastSheet(
        row=row,
        mass_g=cast.mass_g,
        wall_mm=cast.wall_mm,
        area_m2=cast.area_m2,
        cast_on=cast.cast_on,
        note=shown_words(session, cast.note),
        treatments=_treatments(session, cast.id),
        photographs=photographs_of(session, PhotographUse.cast_id == cast.id),
        readings=readings_of(session, ReadingTable.cast_id == cast.id),
        version=cast.version,
        conserved=_conserved(session, cast.id),
    )


def _conserved(session: Session, cast_id: int) -> tuple[tuple[str, str], ...]:
    query = select(ConservationTable.id, ConservationTable.name).where(ConservationTable.cast_id == cast_id)
    rows = session.execute(query.order_by(ConservationTable.id.desc()))
    return tuple((f"{ConservationTable.LETTER}{number}", name) for number, name in rows)


def add_treatment(
    session: Session, entry: NewTreatment, cast: CastTable, *, revision_id: int | None, batch_id: int | None
) -> TreatmentTable:
    """Put an action on a cast on record; it is never edited."""
    row = TreatmentTable(
        cast_id=cast.id,
        did=entry.did,
        zone=entry.zone,
        revision_id=revision_id,
        batch_id=batch_id,
        as_done=list(entry.as_done),
        area_m2=entry.area_m2,
        done_on=entry.done_on,
        done_by=entry.done_by,
        note=entry.note,
    )
    session.add(row)
    session.flush()
    return row


def _treatments(session: Session, cast_id: int) -> tuple[TreatmentRow, ...]:
    query = (
        select(TreatmentTable, RecipeTable.id, RecipeTable.name, RevisionTable.number, BatchTable.solution)
        .outerjoin(BatchTable, BatchTable.id == TreatmentTable.batch_id)
        .outerjoin(RevisionTable, RevisionTable.id == TreatmentTable.revision_id)
        .outerjoin(RecipeTable, RecipeTable.id == RevisionTable.recipe_id)
        .where(TreatmentTable.cast_id == cast_id)
        .order_by(TreatmentTable.done_on, TreatmentTable.id)
    )
    return tuple(
        TreatmentRow(
            id=row.public_id,
            did=shown_text(session, recipe_id, revision, row.did),
            zone=row.zone,
            recipe_id=None if recipe_id is None else f"R{recipe_id}",
            recipe=recipe or "",
            revision=revision,
            batch=None if row.batch_id is None else f"B{row.batch_id}",
            as_done=tuple(shown_text(session, recipe_id, revision, line) for line in row.as_done),
            area_m2=row.area_m2,
            done_on=row.done_on,
            done_by=row.done_by,
            note=shown_text(session, recipe_id, revision, row.note),
            batch_name=solution or "",
        )
        for row, recipe_id, recipe, revision, solution in session.execute(query)
    )
