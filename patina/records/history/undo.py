"""Taking a deed back: a new deed that brings about what was before. The log keeps both.

What may be altered is put back as it was. Of what is never altered, movements and uses are answered by
their opposite and a revision by a new one that says what the one before said; all else is refused, and the
way to correct it is named.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from sqlalchemy import Date, func, inspect, select, text
from sqlalchemy.orm import Session

from patina.errors import NotFound, Refused, Withheld
from patina.records.access.rows import is_held
from patina.records.finding.record_words import recipe_words, search_text
from patina.records.finding.searching import forget_words
from patina.records.history.past import FARTHEST, UNDO, Deed, deeds, taken_back
from patina.records.history.past_words import kind_words
from patina.records.log.seals import table_named
from patina.records.log.snapshots import snapshot
from patina.records.recipes.recipes import fold_name, revise_recipe
from patina.records.tables.base import Base, Edited, JsonText, Money, Record, UtcMoment
from patina.records.tables.first import RecipeTable, RevisionTable, SettingRow
from patina.records.tables.recipe_json import recipe_from
from patina.records.tables.seals import AmendmentTable, SealTable
from patina.records.tables.shelf import BatchTable, BatchUse, ChangeTable, LotMovement, LotTable
from patina.sheets.history import UndoSheet

if TYPE_CHECKING:
    from patina.chemistry.substances import Catalogue

# columns that are kept by adding up: what a deed added is taken off again, whatever came after it
ADDED_UP = {"lot": "left_amount", "batch": "left_ml"}
CRUMB = 1e-6
LAST_ID = "last id "
# kind of record that is never altered -> the way to correct it
WAYS = {
    "revision": "Revise the recipe, or write in a new revision that it is not to be used.",
    "reading": "Withdraw the reading with a reason: patina withdraw {id}.",
    "treatment": "Write down other work that says what was really done, or amend: patina amend {id}.",
    "batch_weighed": "Discard the pot, and count the lots it was weighed from: what was poured cannot be unpoured.",
    "work_event": "Take it back at the torch with b: it stays on record as taken back.",
    "work": "Take up the work at the torch; what happened there is taken back with b, or end it.",
    "seal": "What was signed stays signed. Add an amendment: patina amend.",
    "amendment": "Add another amendment that says what is right.",
    "approval": "Hold another viewing and write down its answer.",
    "concession": "Write down another concession; the newest counts.",
    "tile_holding": "Write down who holds the tile now; the newest counts.",
    "making_fact": "Note it again with the right words; the newest counts.",
    "recipe_release": "Withdraw the release, or release the recipe again: patina release.",
    "exposure": "Write a correction of the exposure: patina exposure.",
    "waste": "Write down what was really put into the drum.",
}
TREATMENT_WAY = "Correct it or take it back with a reason: patina treatment correct or take-back {id}."
OTHER_WAY = "Write down what is right as a new record, or amend this one: patina amend {id}."


def find_deed(session: Session, by: str, *, redo: bool = False) -> Deed:
    """The last deed of a person that still stands; for redo, the last undo of that person that still stands.

    Raises NotFound where there is none.
    """
    for deed, gone in taken_back(deeds(session)):
        if deed.by != by or gone:
            continue
        target = deed.undoes
        if redo and target is not None and not _is_undo(session, target[0]):
            return deed
        if not redo and target is None:
            return deed
    who = f"by {by}" if by else "by somebody unnamed"
    what = "undo" if redo else "deed"
    raise NotFound(f"There is no {what} {who} that could be taken back.", "patina history shows who did what.")


def find_numbered(session: Session, n: int) -> Deed:
    """The deed to which a change of the log belongs. Raises NotFound."""
    one = session.get(ChangeTable, n)
    if one is None:
        raise NotFound(f"There is no change {n} in the log.", "patina history shows their numbers.")
    same = select(ChangeTable).where(ChangeTable.at == one.at, ChangeTable.by == one.by, ChangeTable.deed == one.deed)
    return Deed(tuple(session.scalars(same.order_by(ChangeTable.n))))


def require_standing(session: Session, deed: Deed) -> None:
    """Raises Refused where a deed was taken back already."""
    name = f"undo {deed.first}-{deed.last}"
    later = select(ChangeTable).where(ChangeTable.n > deed.last).order_by(ChangeTable.n.desc()).limit(FARTHEST)
    dead: set[int] = set()
    for change in session.scalars(later):
        target = UNDO.fullmatch(change.deed)
        if target is None or change.n in dead:
            continue
        if change.deed == name:
            raise Refused("That was taken back already.", "patina undo --redo puts it back.")
        dead.update(range(int(target[1]), int(target[2]) + 1))


def _is_undo(session: Session, n: int) -> bool:
    return (session.scalar(select(ChangeTable.deed).where(ChangeTable.n == n)) or "").startswith("undo ")


def take_back(session: Session, deed: Deed, known: Catalogue, *, by: str) -> UndoSheet:
    """Bring about what was before a deed. Raises Refused, naming what stands against it and the way that is left.

    known: the substances, by whose names a record is found again.
    """
    if deed.name.startswith("work: ") or deed.name == "start work":
        raise Refused(f"The last deed was at the torch ({deed.name}).", WAYS["work_event"])
    fixed = frozen_kinds(session)
    answered = _answered(deed, fixed)
    touched: list[Record] = []
    said = _said(session, deed)
    for change in reversed(deed.changes):
        before, after = said[change.n]
        if change.kind in answered:
            _answer(session, change, after or {}, known, by)
        elif before is None:
            _remove(session, change, after or {}, answered, fixed)
        elif after is None:
            touched.append(_put_again(session, change, before, fixed))
        elif change.kind != "recipe" or "revision" not in answered:
            touched.append(_put_back(session, change, before, after))
    session.flush()
    _find_again(session, touched, known)
    ids = tuple(dict.fromkeys(change.record for change in deed.changes))
    name = "undo" if deed.undoes else deed.name
    return UndoSheet(name, f"Taken back: {name} of {deed.at:%Y-%m-%d %H:%M} UTC ({_some(ids)}).", ids)


def _some(ids: tuple[str, ...]) -> str:
    return ", ".join(ids[:5]) + (f" and {len(ids) - 5} more" if len(ids) > 5 else "")


def _said(session: Session, deed: Deed) -> dict[int, tuple[dict[str, Any] | None, dict[str, Any] | None]]:
    """What each change of a deed was from and to, with what is not shown to whoever takes it back.

    Raises Withheld where a database server does not hand that out.
    """
    numbers = [change.n for change in deed.changes]
    query = select(ChangeTable.n, ChangeTable.kind, ChangeTable.before, ChangeTable.after)
    found = {}
    for n, kind, before, after in session.execute(query.where(ChangeTable.n.in_(numbers))):
        if any(value is not None and is_held(session, kind, value) for value in (before, after)):
            raise Withheld(
                f"The deed '{deed.name}' holds words or quantities that are kept from you.",
                "Ask somebody who may see them to take it back.",
            )
        found[n] = _json(before), _json(after)
    return found


def _json(text_of: str | None) -> dict[str, Any] | None:
    return None if text_of is None else json.loads(text_of)


def frozen_kinds(session: Session) -> frozenset[str]:
    """Tables whose rows the database never lets go."""
    if session.get_bind().dialect.name == "sqlite":
        names = session.scalars(text("SELECT name FROM sqlite_master WHERE type = 'trigger'"))
    else:
        names = session.scalars(text("SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"))
    found = {n.removeprefix("frozen_").removesuffix("_delete") for n in names if n.endswith("_delete")}
    return frozenset(found) | {"work"}


def _answered(deed: Deed, fixed: frozenset[str]) -> set[str]:
    """The kinds of this deed that are answered by an opposite. Raises Refused where something else is fixed."""
    added = {c.kind: c for c in deed.changes if c.before is None}
    answered: set[str] = set()
    revised = {c.kind for c in deed.changes if c.before is not None and c.after is not None}
    if "batch_weighed" not in added and "batch" not in added:
        answered |= {"lot_movement", "batch_use"} & set(added)
    if "revision" in added and "recipe" in revised and "recipe" not in added:
        answered.add("revision")
    for kind, change in added.items():
        if kind in fixed and kind not in answered:
            other = TREATMENT_WAY if kind.startswith("conservation_") else OTHER_WAY
            way = WAYS.get(kind, other).format(id=change.record)
            raise Refused(f"{change.record} ({kind_words(kind)}) is on record for good; it is never taken out.", way)
    for change in deed.changes:
        if change.after is None and change.kind in fixed:
            raise Refused(f"{change.record} was taken out when its time was over.", "It is not put back.")
    return answered


# -- answers to what is never altered --------------------------------------------------------------


def _answer(session: Session, change: ChangeTable, after: Mapping[str, Any], known: Catalogue, by: str) -> None:
    if change.kind == "lot_movement":
        lot = session.get_one(LotTable, after["lot_id"])
        left = lot.left_amount - after["amount"]
        if left < -CRUMB:
            raise Refused(
                f"More was taken from {lot.public_id} since than it would hold then.",
                "Take the later takings back first, or count the lot.",
            )
        lot.left_amount = 0.0 if abs(left) < CRUMB else left
        why = f"undo: {after['why']}"
        session.add(LotMovement(lot_id=lot.id, amount=-after["amount"], why=why, by=by, batch_id=after["batch_id"]))
    elif change.kind == "batch_use":
        batch = session.get_one(BatchTable, after["batch_id"])
        left = batch.left_ml + after["ml"]
        if left < -CRUMB:
            raise Refused(f"More was taken from {batch.public_id} since.", "Take the later takings back first.")
        batch.left_ml = 0.0 if abs(left) < CRUMB else left
        session.add(BatchUse(batch_id=batch.id, ml=-after["ml"], why=f"undo: {after['why']}", by=by))
    else:
        _revise_back(session, after, known, by)


def _revise_back(session: Session, after: Mapping[str, Any], known: Catalogue, by: str) -> None:

    recipe = session.get_one(RecipeTable, after["recipe_id"])
    if recipe.revision != after["number"]:
        raise Refused(
            f"'{recipe.name}' was revised again since (revision {recipe.revision}).",
            "Take that revision back first, or revise it to what it should be.",
        )
    one_before = select(RevisionTable.document).where(
        RevisionTable.recipe_id == recipe.id, RevisionTable.number == after["number"] - 1
    )
    old = recipe_from(session.scalars(one_before).one())
    reason = f"revision {after['number']} taken back"
    revise_recipe(session, recipe, old, by=by, reason=reason, version=None, words=recipe_words(known, old))


# -- what may be altered ---------------------------------------------------------------------------


def _remove(
    session: Session,
    change: ChangeTable,
    after: Mapping[str, Any],
    answered: set[str],
    fixed: frozenset[str],
) -> None:
    """Take out what the deed added, unless something hangs on it."""
    if change.kind == "lot" and "lot_movement" in answered:
        return  # the lot stays, with nothing in it
    row = _row(session, change)
    _require_same(session, row, change, after)
    for kind, hangs in _hanging(session, row):
        raise Refused(
            f"{change.record} cannot be taken back: {hangs} ({kind_words(kind)}) hangs on it.",
            "Take that back first." if kind not in fixed else f"Leave it, or amend it: patina amend {change.record}.",
        )
    if isinstance(row, Edited):
        forget_words(session, row)
    _remember_id(session, row)
    session.delete(row)
    session.flush()


def _hanging(session: Session, row: Record) -> Iterator[tuple[str, str]]:
    for mapper in Base.registry.mappers:
        kind = mapper.class_
        if not issubclass(kind, Record):
            continue
        for column in mapper.column_attrs:
            if any(key.column.table.name == row.__tablename__ for key in column.columns[0].foreign_keys):
                other = session.scalar(
                    select(kind.id)
                    .where(getattr(kind, column.key) == row.id)
                    .limit(1)
                    .execution_options(with_withdrawn=True)
                )
                if other is not None:
                    yield kind.__tablename__, f"{kind.LETTER}{other}"
    for signed in (SealTable, AmendmentTable):
        mine = select(signed.id).where(signed.kind == row.__tablename__, signed.record_id == row.id).limit(1)
        if (other := session.scalar(mine)) is not None:
            yield signed.__tablename__, f"{signed.LETTER}{other}"


def _remember_id(session: Session, row: Record) -> None:
    """Keep SQLite from giving the number to another record."""
    name = f"{LAST_ID}{row.__tablename__}"
    highest = max(row.id, session.scalar(select(func.max(type(row).id))) or 0)
    kept = session.get(SettingRow, name)
    if kept is None:
        session.add(SettingRow(name=name, value=str(highest)))
    else:
        kept.value = str(max(int(kept.value), highest))


def _put_again(session: Session, change: ChangeTable, before: Mapping[str, Any], fixed: frozenset[str]) -> Record:
    """Put what was taken out on record again, under its own number."""
    kind = table_named(change.kind)
    if session.get(kind, before["id"]) is not None or change.kind in fixed:
        raise Refused(f"{change.record} cannot be put back.", "Write it down anew.")
    row = kind(**{name: _typed(kind, name, value) for name, value in before.items()})
    session.add(row)
    session.flush()
    return row


def _put_back(session: Session, change: ChangeTable, before: Mapping[str, Any], after: Mapping[str, Any]) -> Record:
    """What a record said before; refused where it says something else by now."""
    row = _row(session, change)
    _require_same(session, row, change, after)
    for name, value in before.items():
        if name in ("id", "uid", "version", ADDED_UP.get(change.kind)) or value == after.get(name):
            continue
        setattr(row, name, _typed(type(row), name, value))
    session.flush()
    return row


def _row(session: Session, change: ChangeTable) -> Record:
    kind = table_named(change.kind)
    number = int(change.record.removeprefix(kind.LETTER))
    row = session.get(kind, number, execution_options={"with_withdrawn": True})
    if row is None:
        raise Refused(f"{change.record} is gone by now.", "patina history shows what became of it.")
    return row


def _require_same(session: Session, row: Record, change: ChangeTable, after: Mapping[str, Any]) -> None:
    left_out = {"version", ADDED_UP.get(change.kind, "")}
    if {k: v for k, v in snapshot(row).items() if k not in left_out} == {
        k: v for k, v in after.items() if k not in left_out
    }:
        return
    later = session.scalars(
        select(ChangeTable).where(ChangeTable.record == change.record, ChangeTable.n > change.n).limit(1)
    ).first()
    who = "" if later is None else f" by {later.by or 'somebody'} on {later.at:%Y-%m-%d} ({later.deed})"
    raise Refused(
        f"{change.record} was changed since{who}.", "Take that back first, or edit the record to what it should be."
    )


def _typed(kind: type[Record], name: str, value: Any) -> Any:
    """A logged value as its column holds it."""
    column = inspect(kind).column_attrs[name].columns[0].type
    if value is None or isinstance(column, JsonText):
        return value
    if isinstance(column, UtcMoment):
        return datetime.fromisoformat(value)
    if isinstance(column, Date):
        return date.fromisoformat(value)
    return Decimal(value) if isinstance(column, Money) else value


def _find_again(session: Session, rows: list[Record], known: Catalogue) -> None:
    """Let records that are as before be found by their words again."""

    for row in rows:
        if isinstance(row, Edited):
            row.search_text = search_text(session, row, known)
        if isinstance(row, RecipeTable):
            row.name_folded = fold_name(row.name)
    session.flush()
