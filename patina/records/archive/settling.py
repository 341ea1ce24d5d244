"""What follows from records that came in: newest readings, substances of recipes, words, the next numbers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import insert, select, text, update
from sqlalchemy.exc import NoResultFound
from sqlalchemy.orm import Session

from patina.errors import Damaged, PatinaError
from patina.records.archive.choice import in_parts
from patina.records.archive.choosing import substances_in
from patina.records.archive.numbering import Numbers
from patina.records.archive.opening import Bag
from patina.records.archive.shape import shapes
from patina.records.finding.naming import words_of
from patina.records.finding.record_words import own_words
from patina.records.finding.searching import index_names, index_words
from patina.records.keeping.check import PARTS
from patina.records.tables.base import Edited, searchable
from patina.records.tables.first import ReadingTable, RevisionSubstance
from patina.records.tables.recipe_json import recipe_from
from patina.records.tables.seals import WithdrawalTable
from patina.records.tables.substance_json import added_substances

# parts of the check that are for a whole studio, or that settle has seen to
NOT_AMONG_RECORDS = (
    *("the database", "the log of changes", "the records"),
    *("the words", "the index of words", "the middles of words"),
)
# what a document raises that is not what it should be
NOT_WELL_FORMED = (TypeError, ValueError, AttributeError, LookupError, ArithmeticError, NoResultFound)


def problems_of(session: Session, *, whole: bool) -> Iterator[str]:
    """What the check finds in the records as they are in this transaction."""
    for words, part in PARTS:
        if whole or words not in NOT_AMONG_RECORDS:
            try:
                yield from part(session)
            except PatinaError as trouble:
                yield trouble.what
            except NOT_WELL_FORMED as trouble:
                yield f"{words[:1].upper()}{words[1:]} cannot be read ({type(trouble).__name__})."


def settle(session: Session, bag: Bag, numbers: Numbers, *, recount: bool) -> None:
    """Work out what hangs on the rows that came in. recount: which reading of a tile or cast is the newest."""
    _substances(session, bag, numbers)
    if recount:
        _latest(session, bag, numbers)
    _words(session, bag, numbers)
    _next_numbers(session, numbers)


def _substances(session: Session, bag: Bag, numbers: Numbers) -> None:
    from patina.chemistry.substances import catalogue

    try:
        known = set(catalogue().substances) | {s.key for s in added_substances(session)}
    except (PatinaError, *NOT_WELL_FORMED):
        raise Damaged("A substance in the bundle is not well formed.", "Use another bundle.") from None
    used: list[dict[str, Any]] = []
    for shape in bag.tables:
        for row in bag.rows(shape):
            if shape.name == "revision":
                recipe = _recipe(row)
                keys = dict.fromkeys(i.substance for s in recipe.solutions for i in s.ingredients)
                if row["id"] in numbers.fresh["revision"]:
                    here = numbers.here["revision"][row["id"]]
                    used += [{"revision_id": here, "substance": key} for key in keys]
            unknown = [key for key in substances_in(shape, row) if key not in known]
            if unknown and shape.name in ("revision", "lot", "batch_weighed"):
                raise Damaged(
                    f"{row['public_id']} names a substance '{unknown[0][:60]}' that nobody knows.",
                    "Use another bundle.",
                )
    if used:
        session.execute(insert(RevisionSubstance), used)


def _recipe(row: dict[str, Any]) -> Any:
    try:
        recipe = recipe_from(row["document"])
        texts = [recipe.name, recipe.finish, recipe.provenance, *recipe.alloys]
        texts += [w for s in recipe.solutions for w in (s.name, s.solvent, *(i.substance for i in s.ingredients))]
        if not all(isinstance(t, str) for t in texts):
            raise TypeError
    except (PatinaError, *NOT_WELL_FORMED):
        raise Damaged(f"{row['public_id']} holds a recipe that is not well formed.", "Use another bundle.") from None
    return recipe


def _latest(session: Session, bag: Bag, numbers: Numbers) -> None:

    if not numbers.fresh.get("reading") and not numbers.fresh.get("reading_withdrawal"):
        return
    gone = select(WithdrawalTable.reading_id)
    table, plain = ReadingTable, shapes()["reading"].table
    for column, name in ((table.tile_id, "tile"), (table.cast_id, "cast_piece")):
        for part in in_parts(numbers.here.get(name, {}).values()):
            query = select(table.id, column, table.latest).where(column.in_(part))
            query = query.order_by(column, table.read_at, table.id).execution_options(with_withdrawn=True)
            rows = session.execute(query).all()
            counted = set(session.scalars(select(table.id).where(column.in_(part), table.id.not_in(gone))))
            newest = {row[1]: row[0] for row in rows if row[0] in counted}
            for row in rows:
                if row.latest != (newest.get(row[1]) == row.id):
                    session.execute(update(plain).where(plain.c.id == row.id).values(latest=not row.latest))


def _words(session: Session, bag: Bag, numbers: Numbers) -> None:
    """Every record that came in is found by its own words, whatever words came with it."""

    for shape in bag.tables:
        if not issubclass(shape.kind, Edited):
            continue
        for part in in_parts(numbers.here[shape.name][i] for i in numbers.fresh[shape.name]):
            whole: list[Edited] = []
            for row in session.scalars(select(shape.kind).where(shape.kind.id.in_(part))).all():
                try:
                    own = searchable(*own_words(session, row))
                except (PatinaError, *NOT_WELL_FORMED):
                    raise Damaged(f"{row.public_id} cannot be read.", "Use another bundle.") from None
                if words_of(own) - words_of(row.search_text):
                    words = f"{row.search_text} {own}".strip()
                    session.execute(update(shape.table).where(shape.table.c.id == row.id).values(search_text=words))
                    session.expire(row)
                    index_words(session, [row])
                else:
                    whole.append(row)
            index_names(session, whole)


def _next_numbers(session: Session, numbers: Numbers) -> None:
    """A server counts on by itself, and must know where."""
    if session.get_bind().dialect.name != "postgresql":
        return
    for name in [*numbers.fresh, "taken_bundle"]:
        session.execute(
            text(
                f"SELECT setval(pg_get_serial_sequence('{name}', 'id'), (SELECT max(id) FROM {name})) "
                f"WHERE EXISTS (SELECT 1 FROM {name})"
            )
        )
