"""Which rows belong to a piece, a cast, a series, a recipe, a tile, a treatment or the whole studio.

From the record that is asked for, everything that points at it is its own (photographs, readings, works,
treatments and their parts), and everything its own rows point at is needed to understand them (the agreed
finish, the recipe, the pot, the lot). ``shape`` says where this stops.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.errors import NotFound, Refused
from patina.records.archive.choice import ALL, Choice, Row, in_parts, read_rows, select_rows, table_of
from patina.records.archive.cutting import cut_cells
from patina.records.archive.given import bundles_about
from patina.records.archive.shape import (
    BESIDE,
    CUT_WHERE_OUTSIDE,
    JOINS,
    NEEDED_WITH,
    NOT_NEEDED_WITH,
    STOPS,
    Column,
    Shape,
    pointing_at,
    shapes,
)
from patina.records.tables.first import RevisionTable

TARGETS = {"W": "piece", "C": "cast_piece", "M": "master", "R": "recipe", "T": "tile", "CT": "conservation"}
Held = Callable[[int, int], bool]


def choose(session: Session, target: str, *, held: Held | None = None, for_owner: bool = False) -> Choice:
    """The rows of a piece (W1), cast (C1), series (M1), recipe (R1), tile (T1) or treatment (CT1); empty: the whole
    studio.

    held: whether a revision (recipe's number, its own) is withheld from who is to have the bundle; such recipes are
    left out with all that tells their quantities. for_owner: leave out what is no owner's business as well. Raises
    NotFound, Refused.
    """
    if not target:
        if for_owner or held is not None:
            raise Refused(
                "A bundle of the whole studio is for those who may see all of it.",
                "Name what the bundle is to be about, such as C1.",
            )
        return Choice()
    letter, table, number = _target(target)
    finder = _Finder(session, letter)
    if not finder.by_id(table, {number}):
        raise NotFound(f"There is no record '{target}'.", "patina list shows what there is.", field="target")
    banned = set() if held is None else _withheld_recipes(session, held)
    if table == "recipe" and ("recipe", number) in banned:
        raise Refused(
            f"The quantities of {letter}{number} are withheld from who is to have the bundle.",
            "Ask whoever may open them (patina withheld lists them), or make a bundle of the tile or cast.",
        )
    while True:
        rows, own = _closed(finder, table, number, banned)
        more = _must_go(rows)
        if not more:
            break
        banned |= more
    choice = Choice(f"{letter}{number}", rows, own)
    choice.for_owner = for_owner
    choice.withheld = sorted({f"R{i}" for name, i in banned if name == "recipe" and _was_used(finder, rows, i)})
    cut_cells(choice)
    return choice


def _target(text: str) -> tuple[str, str, int]:
    """The letters, table and number of what a bundle is to be about. Raises NotFound."""
    found = table_of("".join(text.split()).upper())
    for letter, table in TARGETS.items():
        if found is not None and found[0] == table:
            return letter, table, found[1]
    raise NotFound(
        f"'{text}' is nothing that a bundle can be made of.",
        "Give the id of a piece (W1), cast (C1), agreed finish (M1), recipe (R1), tile (T1) or treatment (CT1), or "
        "studio.",
        field="target",
    )


def _withheld_recipes(session: Session, held: Held) -> set[tuple[str, int]]:
    """Recipes of which at least one revision is withheld."""

    query = select(RevisionTable.recipe_id, RevisionTable.number).execution_options(**ALL)
    return {("recipe", recipe_id) for recipe_id, number in session.execute(query) if held(recipe_id, number)}


class _Finder:
    """Reads rows once."""

    def __init__(self, session: Session, letter: str):
        self.session, self.letter = session, letter
        self._rows: dict[str, dict[int, Row | None]] = {}
        self._children: dict[tuple[str, str, int], list[int]] = {}

    def by_id(self, table: str, ids: Collection[int]) -> dict[int, Row]:
        """Those of the rows that there are."""
        known = self._rows.setdefault(table, {})
        missing = [i for i in ids if i not in known]
        for part in in_parts(missing):
            for row in self._read(table, "id", part):
                known[row["id"]] = row
            for i in part:
                known.setdefault(i, None)
        found = ((i, known[i]) for i in ids)
        return {i: row for i, row in found if row is not None}

    def children(self, table: str, key: str, ids: Collection[int]) -> set[int]:
        """Numbers of the rows of a table whose column holds one of the numbers."""
        missing = [i for i in ids if (table, key, i) not in self._children]
        for i in missing:
            self._children[table, key, i] = []
        for part in in_parts(missing):
            for row in self._read(table, key, part):
                self._rows.setdefault(table, {})[row["id"]] = row
                self._children[table, key, row[key]].append(row["id"])
        return {child for i in ids for child in self._children[table, key, i]}

    def _read(self, table: str, key: str, values: Collection[Any]) -> Iterator[Row]:
        shape = shapes()[table]
        column = shape.kind.__mapper__.column_attrs[key].columns[0]
        yield from read_rows(self.session, shape, select_rows(shape).where(column.in_(list(values))))

    def where(self, table: str, key: str, values: Collection[Any]) -> set[int]:
        """Numbers of the rows of a table whose column holds one of the values."""
        found = set()
        for part in in_parts(values):
            for row in self._read(table, key, part):
                self._rows.setdefault(table, {})[row["id"]] = row
                found.add(row["id"])
        return found


def _closed(
    finder: _Finder, table: str, number: int, banned: set[tuple[str, int]]
) -> tuple[dict[str, dict[int, Row]], dict[str, set[int]]]:
    """All rows of a bundle, and those of them that are the target's own."""
    seen: dict[tuple[str, int], bool] = {}
    waiting: list[tuple[str, set[int], bool]] = [(table, {number}, True), *_beside(finder, table, number)]
    while waiting:
        name, ids, mine = waiting.pop()
        fresh = {i for i in ids if (name, i) not in banned and (mine > seen.get((name, i), -1))}
        rows = finder.by_id(name, fresh)
        for i in rows:
            seen[name, i] = mine
        if rows:
            waiting += _upward(shapes()[name], rows) + _downward(finder, name, set(rows), mine)
        if not waiting:
            waiting += _by_name(finder, seen, banned)
    found: dict[str, dict[int, Row]] = {}
    own: dict[str, set[int]] = {}
    for (name, i), mine in seen.items():
        found.setdefault(name, {})[i] = dict(finder.by_id(name, {i})[i])
        if mine:
            own.setdefault(name, set()).add(i)
    return found, own


def _beside(finder: _Finder, table: str, number: int) -> list[tuple[str, set[int], bool]]:
    """Rows that point where the target points, and that its report shows."""
    row = finder.by_id(table, {number})[number]
    return [(child, finder.children(child, key, {row[key]}), False) for child, key in BESIDE.get(table, ())]


def _upward(shape: Shape, rows: dict[int, Row]) -> list[tuple[str, set[int], bool]]:
    return [
        (c.to, {row[c.key] for row in rows.values() if row[c.key] is not None}, False)
        for c in shape.columns
        if c.to is not None and (shape.name, c.key) not in CUT_WHERE_OUTSIDE
    ]


def _downward(finder: _Finder, name: str, ids: set[int], mine: bool) -> list[tuple[str, set[int], bool]]:
    found = []
    for child, column in pointing_at(name):
        if mine and finder.letter in STOPS.get((child, column.key), (finder.letter, ""))[0]:
            found.append((child, finder.children(child, column.key, ids), True))
        elif not mine and needed_with(shapes()[child], column):
            found.append((child, finder.children(child, column.key, ids), False))
    return found


def needed_with(child: Shape, column: Column) -> bool:
    """Whether rows come along with a row that they point at and that is only needed to understand others."""
    key = (child.name, column.key)
    if key in NEEDED_WITH:
        return True
    return not column.nullable and not child.edited and key not in NOT_NEEDED_WITH


def _by_name(
    finder: _Finder, seen: dict[tuple[str, int], bool], banned: set[tuple[str, int]]
) -> list[tuple[str, set[int], bool]]:
    """Rows that belong to a record by its name: signatures, additions, what was handed over, own substances."""
    found: list[tuple[str, set[int], bool]] = []
    for name, shape in shapes().items():
        ids: set[int] = set()
        if shape.points_by_kind:
            for table in {table for table, _ in seen}:
                mine = {i for t, i in seen if t == table}
                here = finder.by_id(name, finder.where(name, "record_id", mine))
                ids |= {i for i, row in here.items() if row["kind"] == table and _all_there(finder, seen, row)}
        elif "record" in shape.keys:
            names = {f"{shapes()[t].letter}{i}" for (t, i), mine in seen.items() if mine}
            ids = finder.where(name, "record", names)
        new = {i for i in ids if (name, i) not in seen and (name, i) not in banned}
        if new:
            found.append((name, new, True))
    for name, joined in JOINS.items():
        found += _joins(finder, seen, name, joined)
    about = bundles_about(finder.session, {f"{shapes()[t].letter}{i}" for t, i in seen})
    new = {i for i in about if ("taken_bundle", i) not in seen}
    if new:
        found.append(("taken_bundle", new, False))
    keys = {key for (t, i) in seen for key in substances_in(shapes()[t], finder.by_id(t, {i})[i])}
    for table in ("substance", "sheet_read"):
        new = {i for i in finder.where(table, "key", keys) if (table, i) not in seen}
        if new:
            found.append((table, new, False))
    return found


def _joins(
    finder: _Finder, seen: dict[tuple[str, int], bool], name: str, keys: tuple[str, ...]
) -> list[tuple[str, set[int], bool]]:
    """Rows that join two others, of which both are there."""
    columns = [shapes()[name].column(key) for key in keys]
    first = columns[0]
    rows = finder.by_id(name, finder.children(name, first.key, {i for t, i in seen if t == first.to}))
    new = {
        i for i, row in rows.items() if (name, i) not in seen and any((c.to, row[c.key]) in seen for c in columns[1:])
    }
    return [(name, new, False)] if new else []


def _all_there(finder: _Finder, seen: dict[tuple[str, int], bool], row: Row) -> bool:
    """Whether every row that was signed is in the bundle; else the signature could not be proved there."""
    covers = row.get("covers")
    if covers is None:
        return True
    there = {(t, finder.by_id(t, {i})[i]["uid"]) for t, i in seen}
    return all((name, uid) in there for name, uid in covers)


def substances_in(shape: Shape, row: Row) -> Iterator[str]:
    """Keys of the catalogue that a row names."""
    for key in ("substance", "substances"):
        value = row.get(key)
        if key in shape.keys and value:
            yield from [value] if isinstance(value, str) else [v for v in value if isinstance(v, str)]
    document = row.get("document")
    if shape.name == "revision" and isinstance(document, dict):
        for solution in document.get("solutions", ()):
            yield solution["solvent"]
            yield from (item["substance"] for item in solution["ingredients"])


def _must_go(rows: dict[str, dict[int, Row]]) -> set[tuple[str, int]]:
    """Rows that cannot be there, since they must point at a row that was left out."""
    gone = set()
    for name, here in rows.items():
        for column in shapes()[name].columns:
            if column.to is not None and not column.nullable:
                there = rows.get(column.to, {})
                gone |= {(name, i) for i, row in here.items() if row[column.key] not in there}
    return gone


def _was_used(finder: _Finder, rows: dict[str, dict[int, Row]], recipe_id: int) -> bool:
    """Whether a row of the bundle points at a withheld recipe or at one of its revisions."""
    revisions = finder.children("revision", "recipe_id", {recipe_id})
    targets = {"recipe": {recipe_id}, "revision": revisions}
    return (
        any(
            row[c.key] in targets[c.to]
            for name, here in rows.items()
            for c in shapes()[name].columns
            if c.to in targets
            for row in here.values()
        )
        or not revisions
    )
