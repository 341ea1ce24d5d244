"""One search over every kind of record."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.records.finding.ranking import by_name, ranked_page
from patina.records.tables.first import RecipeTable, RevisionTable, TileTable
from patina.records.tables.pieces import CastTable, MasterTable, PieceTable
from patina.records.tables.shelf import BatchTable, LotTable
from patina.sheets import Found


def find(session: Session, text: str, limit: int) -> tuple[Found, ...]:
    """At most ``limit`` records of each kind; those whose id was typed come first, then those whose name answers
    best, whatever kind they are of."""
    found = _found(session, text, limit, anywhere=False) or _found(session, text, limit, anywhere=True)
    return in_order(found, text)


def in_order(found: Iterable[Found], text: str) -> tuple[Found, ...]:
    """Records of several kinds by how well their names answer; else they stay in their order."""
    return by_name(found, text, lambda f: f.name, lambda f: f.id)


def _found(session: Session, text: str, limit: int, *, anywhere: bool) -> list[Found]:
    found: list[Found] = []
    for kind, table, name, query in kinds():
        ids = ranked_page(session, table, text, table.id, backwards=True, limit=limit, anywhere=anywhere)
        if not ids:
            continue
        rows = sorted(session.execute(query.where(table.id.in_(ids))), key=lambda row: ids.index(row[0]))
        found += [Found(kind, f"{table.LETTER}{row[0]}", name(row)) for row in rows]
    return found


def kinds() -> list[tuple[str, Any, Any, Any]]:
    """Each kind of record: its word, table, the name of a row, and the query of those rows (id first)."""
    casts = select(CastTable.id, PieceTable.title, CastTable.number).join(
        PieceTable, PieceTable.id == CastTable.piece_id
    )
    batches = (
        select(BatchTable.id, RecipeTable.name, BatchTable.solution)
        .join(RevisionTable, RevisionTable.id == BatchTable.revision_id)
        .join(RecipeTable, RecipeTable.id == RevisionTable.recipe_id)
    )
    return [
        ("recipe", RecipeTable, lambda r: r[1], select(RecipeTable.id, RecipeTable.name)),
        ("tile", TileTable, lambda r: r[1], select(TileTable.id, TileTable.engraved)),
        ("agreed finish", MasterTable, lambda r: r[1], select(MasterTable.id, MasterTable.name)),
        ("piece", PieceTable, lambda r: r[1], select(PieceTable.id, PieceTable.title)),
        ("cast", CastTable, lambda r: f"{r[1]} {r[2]}".strip(), casts),
        ("lot", LotTable, lambda r: f"{r[1]} {r[2]}".strip(), select(LotTable.id, LotTable.name, LotTable.lot_number)),
        ("batch", BatchTable, lambda r: f"{r[1]}: {r[2]}", batches),
    ]


def has_treatments(session: Session) -> bool:
    """Whether any conservator's treatment is on record."""
    from patina.records.tables.treatments import ConservationTable

    return session.scalar(select(ConservationTable.id).limit(1)) is not None
