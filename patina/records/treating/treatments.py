"""Keeping a treatment record: its head, which is edited with a version, and its parts, which are only added."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

from sqlalchemy import func, inspect, select
from sqlalchemy.orm import Session

from patina.conservation.kinds import BY_LETTERS, KINDS, TREATMENT_LETTERS, Kind
from patina.conservation.record import Kept
from patina.conservation.saying import sayings
from patina.conservation.values import Head
from patina.errors import Changed, NotFound, Refused
from patina.records.photographs.rows import find_photograph
from patina.records.tables import treatments as first
from patina.records.tables import treatments_more as more
from patina.records.tables.base import Record
from patina.records.tables.first import ReadingTable
from patina.records.tables.ids import fetch
from patina.records.tables.photographs import PhotographTable
from patina.records.tables.pieces import CastTable
from patina.records.tables.shelf import LotTable
from patina.records.tables.treatments import ConservationTable, PartTable

_TABLES: dict[str, type[PartTable]] = {
    "person": first.PersonTable,
    "authority": first.AuthorityTable,
    "statement": first.StatementTable,
    "map": first.MapTable,
    "zone": first.ZoneTable,
    "proposal": first.ProposalTable,
    "patch": first.PatchTable,
    "action": first.ActionTable,
    "material": more.MaterialTable,
    "sample": more.SampleTable,
    "bath": more.BathTable,
    "bath-reading": more.BathReadingTable,
    "layer": more.LayerTable,
    "image": more.ImageTable,
    "care": more.CareTable,
    "care-visit": more.CareVisitTable,
    "care-end": more.CareEndTable,
    "signature": more.SignatureTable,
    "copy": more.CopyTable,
}
_OUTSIDE: dict[str, type[Record]] = {"cast": CastTable, "lot": LotTable, "reading": ReadingTable}


def table_of(kind: Kind) -> type[PartTable]:
    """The table that parts of a kind are kept in."""
    return _TABLES[kind.name]


def kind_of(part: PartTable) -> Kind:
    """The kind of a row."""
    return BY_LETTERS[part.LETTER]


def split_id(text: str) -> tuple[str, int]:
    """The letters and the number of an id such as "CO12"; ("", 0) where it is none.

    >>> split_id("co 12")
    ('CO', 12)
    """
    plain = "".join(text.split()).upper()
    letters = plain.rstrip("0123456789")
    figures = plain[len(letters) :]
    return (letters, int(figures)) if letters and figures and len(figures) < 10 else ("", 0)


def find_treatment(session: Session, which: str) -> ConservationTable:
    """The treatment of that id. Raises NotFound."""
    letters, number = split_id(which)
    row = session.get(ConservationTable, number) if letters == TREATMENT_LETTERS else None
    if row is None:
        raise NotFound(
            f"There is no treatment '{which}'.",
            "Give the id of a treatment, such as CT1; patina treatment list shows them.",
            field="treatment",
        )
    return row


def find_part(session: Session, which: str, field: str | None = None) -> PartTable:
    """The part of that id. Raises NotFound."""
    letters, number = split_id(which)
    kind = BY_LETTERS.get(letters)
    row = None if kind is None else session.get(table_of(kind), number)
    if row is None:
        raise NotFound(
            f"There is no part '{which}' of a treatment.", "Give its id, as the treatment shows it.", field=field
        )
    return row


def standing(session: Session, part: PartTable) -> PartTable:
    """The part itself. Raises Changed where another stands in its place or it was taken back."""
    table = type(part)
    later = session.scalars(select(table).where(table.replaces_id == part.id)).first()
    if part.withdrawn or (later is not None and later.withdrawn):
        raise Changed(f"{part.public_id} was taken back.", "Look at the treatment again.")
    if later is not None:
        raise Changed(
            f"{part.public_id} was corrected in the meantime: {later.public_id} stands in its place.",
            "Look at the treatment again and correct that one.",
        )
    return part


def _columns(session: Session, treatment: ConservationTable | None, value: Any) -> dict[str, Any]:
    """A value as the columns of its table. Raises NotFound, Refused for what it refers to."""
    columns: dict[str, Any] = {}
    for name, saying in sayings(type(value)).items():
        said = getattr(value, name)
        if name == "rests_on":  # by uid, which stays the same in another studio
            columns[name] = [find_part(session, id, name).uid for id in said]
        elif saying.how != "id":
            columns[name] = _listed(said)
        else:
            columns[f"{name}_id"] = None if said is None else _refer(session, treatment, saying.to, said, name)
    return columns


def _listed(value: Any) -> Any:
    return [_listed(one) for one in value] if isinstance(value, tuple) else value


def _refer(session: Session, treatment: ConservationTable | None, to: str, said: str, field: str) -> int:
    if to == "photograph":
        return find_photograph(session, said).id
    if to in _OUTSIDE:
        return fetch(session, _OUTSIDE[to], said, field=field).id
    part = find_part(session, said, field)
    if kind_of(part).name != to:
        raise Refused(f"{said} is no {to}.", f"Give the id of a {to} of this treatment.", field=field)
    if treatment is None or part.conservation_id != treatment.id:
        raise Refused(f"{said} belongs to another treatment.", f"Give a {to} of this treatment.", field=field)
    return standing(session, part).id


def add_head(session: Session, head: Head) -> ConservationTable:
    """Begin a treatment record. Raises NotFound."""
    row = ConservationTable(**_columns(session, None, head))
    session.add(row)
    session.flush()
    return row


def change_head(session: Session, row: ConservationTable, head: Head, version: int | None) -> None:
    """What the record says of itself, corrected; the log keeps what it was. Raises Changed, NotFound."""
    if version is not None and version != row.version:
        raise Changed(
            f"Treatment {row.public_id} was changed in the meantime.", "Look at it again and repeat the change."
        )
    for name, value in _columns(session, None, head).items():
        if getattr(row, name) != value:
            setattr(row, name, value)
    session.flush()


def add_part(
    session: Session,
    treatment: ConservationTable,
    kind: Kind,
    value: Any,
    *,
    by: str,
    replaces: PartTable | None = None,
    withdrawn: bool = False,
    reason: str = "",
    **more_columns: Any,
) -> PartTable:
    """Write a part. replaces: the part it corrects or takes back. Raises Changed, NotFound, Refused."""
    if replaces is not None:
        standing(session, replaces)
    row = table_of(kind)(
        conservation_id=treatment.id,
        written_by=by,
        withdrawn=withdrawn,
        reason=reason,
        replaces_id=None if replaces is None else replaces.id,
        **_columns(session, treatment, value),
        **more_columns,
    )
    session.add(row)
    session.flush()
    return row


def next_proposal(session: Session, treatment: ConservationTable) -> int:
    """The number of the next version of the proposal."""
    table = first.ProposalTable
    query = select(func.max(table.number)).where(table.conservation_id == treatment.id)
    return (session.scalar(query) or 0) + 1


def refers_to(session: Session, part: PartTable) -> list[str]:
    """Ids of the parts that stand and refer to this one."""
    found: list[str] = []
    for kind in KINDS:
        table = table_of(kind)
        for column in inspect(table).columns:
            if column.name == "replaces_id" or type(part).__tablename__ not in {
                key.column.table.name for key in column.foreign_keys
            }:
                continue
            replaced = select(table.replaces_id).where(table.replaces_id.is_not(None))
            query = select(table).where(column == part.id, table.withdrawn.is_(False), table.id.not_in(replaced))
            found += [row.public_id for row in session.scalars(query)]
    return found


def kept_parts(
    session: Session, treatment: ConservationTable, kinds: tuple[Kind, ...] = KINDS
) -> tuple[dict[str, list[Kept[Any]]], list[tuple[Kept[Any], str]]]:
    """All parts of a treatment by kind, as they stand; and those that stand no longer, each with what became of it.

    What refers to a part that was corrected refers to the correction. kinds: only these.
    """
    rows = {kind.name: _rows(session, kind, treatment) for kind in kinds}
    now_called = {old: new for kind in kinds for old, new in _followed(rows[kind.name]).items()}
    by_uid = {row.uid: row.public_id for row in rows.get("statement", ())}
    standing_parts: dict[str, list[Kept[Any]]] = {}
    earlier: list[tuple[Kept[Any], str]] = []
    for kind in kinds:
        later = {row.replaces_id: row for row in rows[kind.name] if row.replaces_id is not None}
        kept = standing_parts.setdefault(kind.many, [])
        for row in sorted(rows[kind.name], key=lambda row: _first_of(row, rows[kind.name])):
            if row.withdrawn:
                continue
            part = _kept(session, kind, row, now_called, by_uid)
            after = later.get(row.id)
            if after is None:
                kept.append(part)
            else:
                became = "taken back" if after.withdrawn else f"corrected: {after.public_id}"
                earlier.append((part, f"{became}, {after.written_by or 'nobody named'}: {after.reason}"))
    return standing_parts, earlier


def _rows(session: Session, kind: Kind, treatment: ConservationTable) -> list[PartTable]:
    table = table_of(kind)
    return list(session.scalars(select(table).where(table.conservation_id == treatment.id).order_by(table.id)))


def _followed(rows: list[PartTable]) -> dict[str, str]:
    """From each part's id to the id of the part that stands in its place."""
    newer = {row.replaces_id: row for row in rows if row.replaces_id is not None and not row.withdrawn}
    followed: dict[str, str] = {}
    for row in rows:
        last = row
        while last.id in newer:
            last = newer[last.id]
        if last is not row:
            followed[row.public_id] = last.public_id
    return followed


def _first_of(row: PartTable, rows: list[PartTable]) -> int:
    """The number of the part that a row began as, so that a correction keeps its place."""
    by_id = {one.id: one for one in rows}
    while row.replaces_id is not None:
        row = by_id[row.replaces_id]
    return row.id


def _kept(
    session: Session, kind: Kind, row: PartTable, now_called: dict[str, str], by_uid: dict[str, str]
) -> Kept[Any]:
    values: dict[str, Any] = {}
    refs: list[tuple[str, str]] = []
    for name, saying in sayings(kind.type).items():
        if name == "rests_on":
            uids = getattr(row, name)
            refs += [(name, uid) for uid in uids]
            said = [by_uid.get(uid, uid) for uid in uids]
            values[name] = tuple(now_called.get(one, one) for one in said)
        elif saying.how != "id":
            values[name] = _frozen(getattr(row, name))
        else:
            values[name], uid = _referred(session, saying.to, getattr(row, f"{name}_id"), now_called)
            refs += [(name, uid)] if uid else []
    return Kept(
        id=row.public_id,
        value=kind.type(**values),
        at=row.written_at,
        by=row.written_by,
        replaces=None if row.replaces_id is None else f"{row.LETTER}{row.replaces_id}",
        reason=row.reason,
        number=getattr(row, "number", 0) if kind.name == "proposal" else 0,
        sha256=getattr(row, "sha256", ""),
        uid=row.uid,
        refs=tuple(refs),
    )


def _referred(session: Session, to: str, number: int | None, now_called: dict[str, str]) -> tuple[str | None, str]:
    """What a field refers to, as it is called now, and its uid; a photograph by its hash."""
    if number is None:
        return None, ""
    if to == "photograph":
        return session.get_one(PhotographTable, number).sha256, ""
    if to in _OUTSIDE:
        # a reading that was withdrawn since is still the one that was named
        row = session.get_one(_OUTSIDE[to], number, execution_options={"with_withdrawn": True})
        return row.public_id, row.uid
    part = session.get_one(table_of(next(k for k in KINDS if k.name == to)), number)
    return now_called.get(part.public_id, part.public_id), part.uid


def _frozen(value: Any) -> Any:
    return tuple(_frozen(one) for one in value) if isinstance(value, list) else value


def head_of(row: ConservationTable) -> Head:
    """What the record says of itself."""
    values = {f.name: getattr(row, f.name) for f in fields(Head) if f.name != "cast"}
    return replace(Head(cast=f"C{row.cast_id}", name=row.name), **values)


def all_treatments(session: Session, cast_id: int | None = None) -> list[ConservationTable]:
    """Heads, newest first. cast_id: only those of one cast."""
    query = select(ConservationTable).order_by(ConservationTable.id.desc())
    if cast_id is not None:
        query = query.where(ConservationTable.cast_id == cast_id)
    return list(session.scalars(query))
