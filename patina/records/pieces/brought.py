"""Rows of old tables that were brought in: known again by their content, never altered."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.errors import NotFound
from patina.records.pieces.casts import find_piece
from patina.records.tables.brought import BroughtRow
from patina.records.tables.first import SettingRow, TileTable
from patina.records.tables.ids import fetch, letter_of
from patina.records.tables.pieces import CastTable, PieceTable

AT_ONCE = 500


def known_rows(session: Session, hashes: Sequence[str]) -> dict[str, BroughtRow]:
    """Those of the rows that were brought in before, by their hash."""
    wanted = list(dict.fromkeys(hashes))
    found: dict[str, BroughtRow] = {}
    for start in range(0, len(wanted), AT_ONCE):
        query = select(BroughtRow).where(BroughtRow.row_sha256.in_(wanted[start : start + AT_ONCE]))
        found |= {row.row_sha256: row for row in session.scalars(query)}
    return found


def setting_names(session: Session, start: str) -> tuple[str, ...]:
    """Names of the studio's settings that begin so, in order."""
    query = select(SettingRow.name).where(SettingRow.name.startswith(start, autoescape=True)).order_by(SettingRow.name)
    return tuple(session.scalars(query))


def marks(session: Session) -> dict[str, str]:
    """What is stamped on the tiles there are, and the id of each."""
    return {mark: f"T{id}" for id, mark in session.execute(select(TileTable.id, TileTable.engraved))}


def titles(session: Session) -> dict[str, str]:
    """Titles of the pieces there are, in small letters, and the id of each."""
    return {title.casefold(): f"W{id}" for id, title in session.execute(select(PieceTable.id, PieceTable.title))}


def cast_named(session: Session, text: str, number: str = "") -> CastTable:
    """The cast of an id, or of a piece's title with its number ("Cormorant 1/3"). Raises NotFound."""
    if letter_of(text) == "C" and not number:
        return fetch(session, CastTable, text, field="cast")
    title, called = (text, number) if number else (text.rpartition(" ")[0] or text, text.rpartition(" ")[2])
    if not number and text.strip().casefold() in titles(session):
        title, called = text, ""
    piece = find_piece(session, title)
    found = session.scalars(select(CastTable).where(CastTable.piece_id == piece.id).limit(500)).all()
    same = [c for c in found if c.number.casefold() == called.strip().casefold()] if called else list(found)
    if len(same) == 1:
        return same[0]
    known = ", ".join(f"{c.public_id} {c.number}".strip() for c in found[:6]) or "none"
    raise NotFound(
        f"'{piece.title}' has {'several casts' if same else f'no cast {called}'.rstrip()}.",
        f"Name one by its id; there are: {known}.",
        field="cast",
    )
