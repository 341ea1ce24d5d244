"""What every record of a bundle is called here: the same record, a free number, or the next one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from patina.errors import Damaged, Refused
from patina.records.archive.cells import RECORD
from patina.records.archive.choice import in_parts, table_of
from patina.records.archive.opening import Bag
from patina.records.archive.shape import IDS_IN_LISTS, KNOWN_BY, Shape, shapes
from patina.records.tables.first import SettingRow
from patina.records.tables.shelf import ChangeTable

Row = dict[str, Any]
HIGHEST = 2_000_000_000


@dataclass
class Numbers:
    """here: by table, the number here of every row of the bundle. fresh: those that are not here yet. twins: rows
    known by their content, whose uid here is another."""

    here: dict[str, dict[int, int]] = field(default_factory=dict)
    fresh: dict[str, set[int]] = field(default_factory=dict)
    twins: set[tuple[str, int]] = field(default_factory=set)

    def renumbered(self) -> list[list[str]]:
        """Every id that is another here: [there, here]."""
        return [
            [f"{shapes()[name].letter}{there}", f"{shapes()[name].letter}{here}"]
            for name, numbers in self.here.items()
            for there, here in numbers.items()
            if there != here
        ]

    def called(self, record: str) -> str:
        """The id here of a record of the bundle; the same id where the bundle does not hold it."""
        found = table_of(record)
        if found is None:
            return record
        table, number = found
        return f"{shapes()[table].letter}{self.here.get(table, {}).get(number, number)}"

    def moved(self, shape: Shape, row: Row) -> Row:
        """A row with the numbers that its own and other records have here. Raises Damaged."""
        moved = dict(row)
        moved["id"] = self.here[shape.name][row["id"]]
        moved[RECORD] = f"{shape.letter}{moved['id']}"
        for column in shape.columns:
            if column.to is not None and row[column.key] is not None:
                moved[column.key] = self._there(column.to, row[column.key], row[RECORD])
        if shape.points_by_kind and row["kind"] in shapes():
            moved["record_id"] = self._there(row["kind"], row["record_id"], row[RECORD])
        if "record" in shape.keys:
            moved["record"] = self.called(row["record"])
        for (table, key), place in IDS_IN_LISTS.items():
            if table == shape.name:
                moved[key] = [self._entry(entry, place, row[RECORD]) for entry in row[key] or ()]
        return moved

    def _entry(self, entry: Any, place: int | None, record: str) -> Any:
        words = entry if place is None else entry[place] if isinstance(entry, list) and len(entry) > place else None
        if not isinstance(words, str):
            raise Damaged(f"{record} holds a list that is not well formed.", "Use another bundle.")
        if place is None:
            return self.called(words)
        return [*entry[:place], self.called(words), *entry[place + 1 :]]

    def _there(self, table: str, number: int, record: str) -> int:
        found = self.here.get(table, {}).get(number)
        if found is None:
            raise Damaged(f"{record} points at a row of {table} that is not in the bundle.", "Use another bundle.")
        return found


def numbers_for(session: Session, bag: Bag) -> Numbers:
    """What every record of a bundle is called here. Raises Damaged, Refused."""
    numbers = Numbers()
    uids: set[str] = set()
    for shape in bag.tables:
        there: dict[int, str] = {}
        known: dict[int, str] = {}
        for row in bag.rows(shape):
            there[row["id"]] = row["uid"]
            if shape.name in KNOWN_BY:
                known[row["id"]] = str(row[KNOWN_BY[shape.name]])
        if len(set(there.values())) != len(there) or not uids.isdisjoint(there.values()):
            raise Damaged(f"Two records in table {shape.name} have the same uid.", "Use another bundle.")
        uids |= set(there.values())
        _number(session, numbers, shape, there, known)
    return numbers


def _number(session: Session, numbers: Numbers, shape: Shape, there: dict[int, str], known: dict[int, str]) -> None:
    table = shape.table
    ours = _found(session, table.c.uid, table.c.id, there.values())
    here = {number: ours[uid] for number, uid in there.items() if uid in ours}
    if known:
        same = _found(session, table.c[KNOWN_BY[shape.name]], table.c.id, known.values())
        for number in there.keys() - here.keys():
            if known[number] in same:
                here[number] = same[known[number]]
                numbers.twins.add((shape.name, number))
    if len(set(here.values())) != len(here):
        raise Damaged(f"Two records in table {shape.name} are one record here.", "Use another bundle.")
    fresh = sorted(there.keys() - here.keys())
    used = _used(session, shape, fresh) if fresh else set()
    highest = max([*there, _highest(session, shape)]) if used else 0
    for number in fresh:
        if number in used:
            highest += 1
            if highest > HIGHEST:
                raise Refused("The numbers in the bundle are higher than any can be.", "Use another bundle.")
            here[number] = highest
        else:
            here[number] = number
    numbers.here[shape.name], numbers.fresh[shape.name] = here, set(fresh)


def _found(session: Session, key: Any, wanted: Any, values: Iterable[str]) -> dict[str, int]:
    found: dict[str, int] = {}
    for part in in_parts(set(values)):
        query = select(key, wanted).where(key.in_(part))
        found |= {row[0]: row[1] for row in session.execute(query)}
    return found


def _used(session: Session, shape: Shape, wanted: list[int]) -> set[int]:
    """Numbers that a record has here, or had before it was taken back."""
    table = shape.table
    used: set[int] = set()
    for part in in_parts(wanted):
        used |= set(session.scalars(select(table.c.id).where(table.c.id.in_(part))))
        names = [f"{shape.letter}{number}" for number in part]
        query = select(ChangeTable.record).where(ChangeTable.kind == shape.name, ChangeTable.record.in_(names))
        used |= {int(name.removeprefix(shape.letter)) for name in session.scalars(query)}
    return used


def _highest(session: Session, shape: Shape) -> int:
    kept = session.scalar(select(SettingRow.value).where(SettingRow.name == f"last id {shape.name}"))
    last = int(kept) if kept and kept.isdigit() else 0
    return max(last, session.scalar(select(func.max(shape.table.c.id))) or 0)
