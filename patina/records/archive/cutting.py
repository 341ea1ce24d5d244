"""Cells that a bundle leaves empty: those that point out of it, and those that tell withheld quantities."""

from __future__ import annotations

from patina.records.access.withheld import without_amounts
from patina.records.archive.cells import RECORD
from patina.records.archive.choice import WITHHELD, Choice, Cut, Row, table_of
from patina.records.archive.shape import (
    CUT_WHERE_OUTSIDE,
    IDS_IN_LISTS,
    MAY_TELL_QUANTITIES,
    NOT_FOR_OWNERS,
    TELLS_QUANTITIES,
    WORDS_OF_ANY,
    Column,
    shapes,
)


def cut_cells(choice: Choice) -> None:
    """Empty the cells that point out of the bundle, and those that tell withheld quantities."""
    for name, here in choice.rows.items():
        shape = shapes()[name]
        for row in here.values():
            outside = [c for c in shape.columns if _points_outside(choice, name, c, row)]
            for column in outside:
                row[column.key] = None
                why = CUT_WHERE_OUTSIDE.get((name, column.key), WITHHELD)
                choice.cut.append(Cut(name, row[RECORD], column.key, why))
            for key in (k for t, k in NOT_FOR_OWNERS if t == name and choice.for_owner and row[k] is not None):
                row[key] = None
                choice.cut.append(Cut(name, row[RECORD], key, NOT_FOR_OWNERS[name, key]))
            if any(c.to == "revision" for c in outside):
                for key in (k for t, k in TELLS_QUANTITIES if t == name):
                    row[key] = [] if shape.column(key).sort == "list" else ""
                    choice.cut.append(Cut(name, row[RECORD], key, WITHHELD))
                _bare(choice, name, row, MAY_TELL_QUANTITIES)
            if choice.withheld:
                _bare(choice, name, row, WORDS_OF_ANY)
            for key, place in ((k, p) for (t, k), p in IDS_IN_LISTS.items() if t == name and p is not None):
                gone = [entry for entry in row[key] if entry[place] and not _chosen(choice, entry[place])]
                row[key] = [[*e[:place], "", *e[place + 1 :]] if e in gone else e for e in row[key]]
                if gone:
                    choice.cut.append(Cut(name, row[RECORD], key, "a record it names is not part of this bundle"))
    _without_unprovable_seals(choice)
    choice.cut.sort(key=lambda c: (c.table, int(c.record.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")), c.column))


def _bare(choice: Choice, name: str, row: Row, words: set[tuple[str, str]]) -> None:
    """Take amounts out of the words of a row, and what a search finds it by where words were changed."""
    for key in (k for t, k in sorted(words) if t == name and row[k]):
        if (bare := without_amounts(row[key])) == row[key]:
            continue
        row[key] = bare
        choice.cut.append(Cut(name, row[RECORD], key, WITHHELD))
        if row.get("search_text"):
            row["search_text"] = ""
            choice.cut.append(Cut(name, row[RECORD], "search_text", WITHHELD))


def _chosen(choice: Choice, record: str) -> bool:
    found = table_of(record)
    return found is not None and found[1] in choice.rows.get(found[0], {})


def _without_unprovable_seals(choice: Choice) -> None:
    """A signature over a row of which a cell is empty here could not be proved here."""
    cut = {(c.table, choice.rows[c.table][table_of(c.record)[1]]["uid"]) for c in choice.cut}  # type: ignore[index]
    seals = choice.rows.get("seal", {})
    for number in [i for i, row in seals.items() if cut & {(t, u) for t, u in row["covers"]}]:
        del seals[number]


def _points_outside(choice: Choice, name: str, column: Column, row: Row) -> bool:
    value = row[column.key]
    return column.to is not None and value is not None and value not in choice.rows.get(column.to, {})
