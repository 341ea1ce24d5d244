"""What a question to the database leaves out for a role: whole tables, single rows, and quantities."""

from __future__ import annotations

import json
import re
from typing import Any

from sqlalchemy import event, false, or_, select
from sqlalchemy.orm import Session, with_loader_criteria
from sqlalchemy.orm.attributes import set_committed_value

from patina import errors
from patina.records.access.roles import Reader, access_of_table
from patina.records.access.withheld import GAP, Withheld, masked, withheld_from, without_amounts
from patina.records.tables.base import Base, canonical
from patina.records.tables.first import GramRow, RevisionTable, WordRow
from patina.records.tables.shelf import BatchTable, BatchWeighed, ChangeTable, LotMovement

LIMITS = "limits"  # of a session's info
HIDDEN_BATCHES = "hidden_batches"  # the same
FIGURE = r"^[\W_]*[0-9]"  # a word that is a figure
# kinds of record whose entries in the log say nothing where quantities are withheld: of which revision, or which batch
OF_REVISION = {"revision": "number", "recipe_draft": "met"}
OF_BATCH = ("batch_weighed", "lot_movement")
# columns of what people typed, by kind of record that belongs to a revision
TYPED = {"tile": ("as_done", "note"), "treatment": ("as_done", "note", "did")}
_NO_WORDS = re.compile(r"\d{4}-\d\d-\d\d|[0-9a-f]{32}")  # dates, moments, ids of records and of files


def left_out(session: Session, reader: Reader) -> list[Any]:
    """The criteria that every question of this session is asked with; made once."""
    made: list[Any] | None = session.info.get("criteria")
    if made is None:
        session.info[LIMITS] = withheld_from(session, reader.name, reader.role)
        session.info[HIDDEN_BATCHES] = frozenset(_hidden_batches(session))
        made = _criteria(session, reader)
        session.info["criteria"] = made
    return made


def _criteria(session: Session, reader: Reader) -> list[Any]:
    from patina.records.tables.kinds import record_kinds

    record_kinds()  # every table is known by then
    role = reader.role or "client"  # whoever is not registered sees what a client sees
    made = []
    for mapper in Base.registry.mappers:
        kind = mapper.class_
        if access_of_table(role, kind.__tablename__) == "-":
            made.append(with_loader_criteria(kind, false(), include_aliases=True))
        elif access_of_table(role, kind.__tablename__).startswith("o"):
            made += _rows(session, kind)
    return made


def _rows(session: Session, kind: type[Any]) -> list[Any]:
    if kind in (WordRow, GramRow):  # a search for a figure must not answer whether it stands somewhere
        return [with_loader_criteria(kind, ~kind.word.regexp_match(FIGURE), include_aliases=True)]
    if kind not in (BatchWeighed, LotMovement):
        return []
    hidden = session.info[HIDDEN_BATCHES]
    if not hidden:
        return []
    open_ = or_(kind.batch_id.is_(None), kind.batch_id.not_in(hidden))
    return [with_loader_criteria(kind, open_, include_aliases=True)]


def _hidden_batches(session: Session) -> list[int]:
    limits: Withheld = session.info[LIMITS]
    query = (
        select(BatchTable.id, RevisionTable.recipe_id, RevisionTable.number)
        .join(RevisionTable, RevisionTable.id == BatchTable.revision_id)
        .where(RevisionTable.recipe_id.in_(limits.rows))
    )
    rows = session.execute(query.execution_options(of_the_door=True))
    return [id for id, recipe_id, number in rows if limits.of(recipe_id, number)]


def limits_of(session: Session) -> Withheld | None:
    """What is withheld in this session; None where nothing is."""
    found: Withheld | None = session.info.get(LIMITS)
    return found


def hides(session: Session, recipe_id: int | None, number: int | None) -> bool:
    """Whether the quantities of a revision are withheld from whoever is at work in this session."""
    limits = limits_of(session)
    return limits is not None and recipe_id is not None and number is not None and limits.of(recipe_id, number)


def shown_text(session: Session, recipe_id: int | None, number: int | None, text: str) -> str:
    """A text that belongs to a revision, without amounts where they are withheld."""
    return without_amounts(text) if hides(session, recipe_id, number) else text


def shown_words(session: Session, text: str) -> str:
    """Words that belong to no one revision and may tell amounts of any: without them where anything is withheld."""
    limits = limits_of(session)
    return without_amounts(text) if limits is not None and limits.anything else text


def is_held(session: Session, kind: str, said: str) -> bool:
    """Whether a database server handed out a text of a record of that kind without what is withheld in it."""
    limits = limits_of(session)
    if session.get_bind().dialect.name == "sqlite" or limits is None or not limits.anything:
        return False
    return said == "{}" or (kind in TYPED and GAP in said)


def words_held(session: Session, row: Any, said: dict[str, Any] | None = None) -> bool:
    """Whether a database server handed out a tile or treatment without words that are withheld. said: its columns
    as they were read, where the row says something else by now."""
    names = TYPED.get(row.__tablename__, ())
    read = row.__dict__ if said is None else said
    if not any(is_held(session, row.__tablename__, canonical(read.get(name) or "")) for name in names):
        return False
    query = select(RevisionTable.recipe_id, RevisionTable.number).where(RevisionTable.id == read["revision_id"])
    found = session.execute(query.execution_options(of_the_door=True)).one_or_none()
    return found is not None and hides(session, found[0], found[1])


def refuse_held(session: Session, row: Any, said: dict[str, Any]) -> None:
    """Raises Withheld where a row is about to be altered of which a server holds words back: they would be lost."""
    if words_held(session, row, said):
        raise errors.Withheld(
            f"{row.public_id} holds words that are kept from you.", "Ask somebody who may see them to change it."
        )


def _on_load(row: Any, context: Any) -> None:
    session = context.session
    limits = None if session is None else session.info.get(LIMITS)
    if limits is None:
        return
    if isinstance(row, ChangeTable):
        for name in ("before", "after"):
            value = row.__dict__.get(name)
            if value:
                said = _logged(session, limits, row.__dict__["kind"], json.loads(value))
                set_committed_value(row, name, canonical(said))
        set_committed_value(row, "why", without_amounts(row.__dict__.get("why") or ""))
    elif limits.of(row.recipe_id, row.number):
        set_committed_value(row, "document", masked(row.__dict__["document"]))
        set_committed_value(row, "reason", without_amounts(row.__dict__.get("reason") or ""))
        set_committed_value(row, "finish", without_amounts(row.__dict__.get("finish") or ""))


def _logged(session: Session, limits: Withheld, kind: str, said: dict[str, Any]) -> Any:
    """What the log shows of a record: nothing of one that tells quantities which are withheld, else its words
    without amounts."""
    if not said:  # a row that was loaded before
        return said
    if kind in OF_REVISION:
        return {} if limits.of(said["recipe_id"], said[OF_REVISION[kind]]) else said
    if kind in OF_BATCH:
        return {} if said["batch_id"] in session.info[HIDDEN_BATCHES] else said
    return _open(said) if limits.anything else said


def _open(value: Any) -> Any:
    if isinstance(value, str):
        return value if _NO_WORDS.match(value) else without_amounts(value)
    if isinstance(value, dict):
        return {key: _open(v) for key, v in value.items()}
    return [_open(v) for v in value] if isinstance(value, list) else value


for _kind in (RevisionTable, ChangeTable):
    event.listen(_kind, "load", _on_load)
    event.listen(_kind, "refresh", lambda row, context, _names: _on_load(row, context))
