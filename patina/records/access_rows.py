"""What a question to the database leaves out for a role: whole tables, single rows, and quantities."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import event, false, or_, select
from sqlalchemy.orm import Session, with_loader_criteria
from sqlalchemy.orm.attributes import set_committed_value

from patina.records.access import Reader, access_of_table
from patina.records.access_withheld import Withheld, masked, withheld_from, without_amounts
from patina.records.base import Base, canonical
from patina.records.shelf_tables import BatchTable, BatchWeighed, ChangeTable, LotMovement
from patina.records.tables import GramRow, RevisionTable, WordRow

LIMITS = "limits"  # of a session's info
# kinds of record whose entries in the log hold quantities of recipes
FIGURE = r"^[\W_]*[0-9]"  # a word that is a figure
KINDS_WITH_QUANTITIES = ("recipe", "revision", "recipe_draft", "batch_weighed", "lot_movement", "open_safety")


def left_out(session: Session, reader: Reader) -> list[Any]:
    """The criteria that every question of this session is asked with; made once."""
    made: list[Any] | None = session.info.get("criteria")
    if made is None:
        session.info[LIMITS] = withheld_from(session, reader.name, reader.role)
        made = _criteria(session, reader)
        session.info["criteria"] = made
    return made


def _criteria(session: Session, reader: Reader) -> list[Any]:
    from patina.records.check import record_kinds

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
    if kind is ChangeTable:
        return [with_loader_criteria(kind, ChangeTable.kind.not_in(KINDS_WITH_QUANTITIES), include_aliases=True)]
    if kind in (WordRow, GramRow):  # a search for a figure must not answer whether it stands somewhere
        return [with_loader_criteria(kind, ~kind.word.regexp_match(FIGURE), include_aliases=True)]
    if kind not in (BatchWeighed, LotMovement):
        return []
    hidden = _hidden_batches(session)
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


def _on_load(row: Any, context: Any) -> None:
    session = context.session
    limits = None if session is None else session.info.get(LIMITS)
    if limits is None:
        return
    if isinstance(row, ChangeTable):
        for name in ("before", "after"):
            value = row.__dict__.get(name)
            if value:
                set_committed_value(row, name, canonical(_open(json.loads(value))))
        set_committed_value(row, "why", without_amounts(row.__dict__.get("why") or ""))
    elif limits.of(row.recipe_id, row.number):
        set_committed_value(row, "document", masked(row.__dict__["document"]))
        set_committed_value(row, "reason", without_amounts(row.__dict__.get("reason") or ""))
        set_committed_value(row, "finish", without_amounts(row.__dict__.get("finish") or ""))


def _open(value: Any) -> Any:
    if isinstance(value, str):
        return without_amounts(value)
    if isinstance(value, dict):
        return {key: _open(v) for key, v in value.items()}
    return [_open(v) for v in value] if isinstance(value, list) else value


for _kind in (RevisionTable, ChangeTable):
    event.listen(_kind, "load", _on_load)
    event.listen(_kind, "refresh", lambda row, context, _names: _on_load(row, context))
