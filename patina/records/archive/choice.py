"""The rows of a bundle, and how rows are read for one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from patina.records.archive.cells import RECORD, plain
from patina.records.archive.shape import Shape, letters, shapes

Row = dict[str, Any]
AT_ONCE = 400
WITHHELD = "the studio withholds the quantities of this recipe"
# a session reads everything for a bundle: also withdrawn readings, and what its reader would not be shown in a list
ALL = {"with_withdrawn": True, "of_the_door": True}


@dataclass(frozen=True, slots=True)
class Cut:
    """A cell that is left empty in a bundle, and why."""

    table: str
    record: str
    column: str
    why: str

    def as_json(self) -> dict[str, str]:
        """As bundle.json lists it."""
        return {"table": self.table, "record": self.record, "column": self.column, "why": self.why}


@dataclass
class Choice:
    """The rows of a bundle. target: id, empty for the whole studio. own: what belongs to it, by table.
    withheld: ids of recipes that were left out with all that tells their quantities."""

    target: str = ""
    rows: dict[str, dict[int, Row]] = field(default_factory=dict)
    own: dict[str, set[int]] = field(default_factory=dict)
    cut: list[Cut] = field(default_factory=list)
    withheld: list[str] = field(default_factory=list)
    for_owner: bool = False

    @property
    def whole(self) -> bool:
        """Whether it is the whole studio."""
        return not self.target

    def rows_of(self, session: Session, shape: Shape) -> Iterator[Row]:
        """The rows of a table, in order of their numbers."""
        if self.whole:
            yield from read_rows(session, shape, select_rows(shape).order_by(shape.table.c.id))
        else:
            yield from (row for _, row in sorted(self.rows.get(shape.name, {}).items()))


def select_rows(shape: Shape) -> Select[Any]:
    """The question for every row of a table, its columns in the order of a bundle."""
    table = shape.table
    by_key = {a.key: a.columns[0] for a in shape.kind.__mapper__.column_attrs}
    return select(*(by_key[key].label(f"c{n}") for n, key in enumerate(shape.keys))).select_from(table)


def read_rows(session: Session, shape: Shape, query: Select[Any]) -> Iterator[Row]:
    """Rows as a bundle has them: the id, then every column."""
    for values in session.execute(query.execution_options(yield_per=1000, **ALL)):
        row = {c.key: plain(v, c) for c, v in zip(shape.columns, values, strict=True)}
        yield {RECORD: f"{shape.letter}{row['id']}", **row}


def in_parts(ids: Iterable[Any]) -> Iterator[list[Any]]:
    """Ids in lists that any database takes in one question."""
    ordered = sorted(ids)
    for start in range(0, len(ordered), AT_ONCE):
        yield ordered[start : start + AT_ONCE]


def table_of(record: str) -> tuple[str, int] | None:
    """The table and number behind an id of any letters (C1, MZ4); None for what is none."""
    letter = record.rstrip("0123456789")
    number = record[len(letter) :]
    if letter not in letters() or not number or len(number) > 9:
        return None
    return letters()[letter], int(number)


def ids_of(session: Session, table: str) -> list[int]:
    """Numbers of all rows of a table."""
    column = shapes()[table].table.c.id
    return list(session.scalars(select(column).order_by(column).execution_options(**ALL)))


def uids_of(session: Session, records: Iterable[str]) -> dict[str, str]:
    """The uid of each record that there is, by its id."""
    wanted: dict[str, list[int]] = {}
    for record in records:
        found = table_of(record)
        if found is not None:
            wanted.setdefault(found[0], []).append(found[1])
    uids: dict[str, str] = {}
    for name, numbers in wanted.items():
        shape = shapes()[name]
        for part in in_parts(set(numbers)):
            query = select(shape.table.c.id, shape.table.c.uid).where(shape.table.c.id.in_(part))
            uids |= {f"{shape.letter}{row[0]}": row[1] for row in session.execute(query)}
    return uids
