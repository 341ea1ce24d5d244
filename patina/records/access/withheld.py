"""Withheld quantities: which revisions they are of, and a recipe without them.

Withheld are the strength of every ingredient, the coverage of each pass, the share that reaches the metal, what is
kept back and what the tools swallow, and amounts in free text. Substances, the order of steps, tools, passes,
temperatures and how long a solution keeps stay: whoever repairs a finish needs them, and safety hangs on them.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.records.tables.first import RecipeTable
from patina.records.tables.people import WithholdingTable
from patina.sheets.access import WITHHELD, WithheldRow

BASIS = "withheld"
_STRENGTH = {"as_written": WITHHELD, "basis": BASIS, "value": 0.0, "by": "", "note": ""}
GAP = "…"

_NUMBER = r"(?<![\w.])[~≈<>±]?\d+(?:[.,]\d+)*(?:\s*(?:-|–|to|bis)\s*\d+(?:[.,]\d+)*)?"
_UNIT = (
    r"(?:%|‰|per ?cent|g|mg|kg|µg|mL|ml|cl|dl|L|l|litres?|liters?|cc|oz|lb|lbs|drops?|parts?|mol|mmol|M|mM|ppm|"
    r"grams?|ounces?|pints?|gallons?|gal|tsp|tbsp|teaspoons?|tablespoons?|spoons?|drachms?|grains?|scruples?)"
)
# A database server is told the same patterns, in this order, with what stands in for each.
PATTERNS = (
    (rf"(\d[\d.,]*)\s+(to|from|and|or)\s+(?={_NUMBER}\s*{_UNIT}(?![A-Za-zµ]))", rf"{GAP} \2 "),
    (
        r"(?<![\w.:+])\d+(?:[.,]\d+)?\s*:\s*\d+(?:[.,]\d+)?(?![\w:])|\b(?:\d+ parts? (?:in|to)|1 in|1 to) \d+\b",
        GAP,
    ),
    (
        rf"{_NUMBER}\s*{_UNIT}(?![A-Za-zµ])(?:\s*(?:/|per|in|auf)\s*\d*[.,]?\d*\s*{_UNIT}(?![A-Za-zµ])\d?)?",
        GAP,
    ),
    (f"{GAP} {GAP}", GAP),
)
_COMPILED = tuple((re.compile(pattern), instead) for pattern, instead in PATTERNS)


def without_amounts(text: str) -> str:
    """A text whose amounts and ratios are left out; temperatures, times, lengths and numbers of passes stay.

    >>> without_amounts("raised from 5 to 7.5 g/L, 4 passes at 85 °C; 1 part in 20 of it")
    'raised from … to …, 4 passes at 85 °C; … of it'
    >>> without_amounts("12 h, 450 mm, rev. 3, metal 80 to 95 °C")
    '12 h, 450 mm, rev. 3, metal 80 to 95 °C'
    """
    for pattern, instead in _COMPILED:
        text = pattern.sub(instead, text)
    return text


def masked(document: dict[str, Any]) -> dict[str, Any]:
    """The document of a recipe without its quantities."""
    solutions = [
        {**s, "ingredients": [{**i, "strength": dict(_STRENGTH)} for i in s["ingredients"]]}
        for s in document["solutions"]
    ]
    steps = [
        {**s, "coverage_ml_per_m2": None, "transfer": 1.0, "note": without_amounts(s.get("note", ""))}
        for s in document["steps"]
    ]
    return {
        **document,
        "solutions": solutions,
        "steps": steps,
        "reserve": 0.0,
        "dead_volume_ml": 0.0,
        "finish": without_amounts(document["finish"]),
        "provenance": without_amounts(document["provenance"]),
    }


@dataclass(frozen=True)
class Withheld:
    """What is withheld from one reader. rows: of each recipe's id, oldest first: revision or None for all, withheld
    or open, to whom it is open all the same."""

    rows: dict[int, tuple[tuple[int | None, bool, tuple[str, ...]], ...]]
    name: str
    role: str

    def of(self, recipe_id: int, number: int) -> bool:
        """Whether that revision's quantities are withheld from this reader."""
        for revision, withheld, open_to in reversed(self.rows.get(recipe_id, ())):
            if revision is None or revision == number:
                return withheld and not self._named(open_to)
        return False

    @property
    def anything(self) -> bool:
        """Whether any revision of any recipe is withheld from this reader."""
        return any(self.of(id, number or 0) for id, rows in self.rows.items() for number, _, _ in rows)

    def _named(self, open_to: Iterable[str]) -> bool:
        names = {entry.casefold() for entry in open_to}
        return bool(names & {self.name.casefold(), self.role.casefold()} - {""})


def withheld_from(session: Session, name: str, role: str) -> Withheld:
    """What is withheld from a reader whose role does not see everything."""
    rows: dict[int, list[tuple[int | None, bool, tuple[str, ...]]]] = defaultdict(list)
    query = select(
        WithholdingTable.recipe_id, WithholdingTable.number, WithholdingTable.withheld, WithholdingTable.open_to
    ).order_by(WithholdingTable.id)
    for recipe_id, number, withheld, open_to in session.execute(query.execution_options(of_the_door=True)):
        rows[recipe_id].append((number, withheld, tuple(open_to)))
    return Withheld({key: tuple(value) for key, value in rows.items()}, name, role)


def add_withholding(
    session: Session, recipe_id: int, *, number: int | None, withheld: bool, open_to: Iterable[str], why: str, by: str
) -> None:
    """From now on the quantities of a recipe (or of one revision) are withheld, or shown again."""
    row = WithholdingTable(recipe_id=recipe_id, number=number, withheld=withheld, open_to=list(open_to), why=why, by=by)
    session.add(row)
    session.flush()


def withheld_rows(session: Session) -> tuple[WithheldRow, ...]:
    """The recipes and revisions whose quantities are withheld from some, by name."""
    query = (
        select(WithholdingTable, RecipeTable.name)
        .join(RecipeTable, RecipeTable.id == WithholdingTable.recipe_id)
        .order_by(WithholdingTable.id)
    )
    standing: dict[tuple[int, int | None], WithheldRow] = {}
    for row, name in session.execute(query):
        if row.number is None:  # a word on the whole recipe ends what was said of its revisions
            standing = {key: value for key, value in standing.items() if key[0] != row.recipe_id}
        standing.pop((row.recipe_id, row.number), None)
        if row.withheld:
            standing[row.recipe_id, row.number] = WithheldRow(
                f"R{row.recipe_id}", name, row.number, tuple(row.open_to), row.why, row.by, row.at
            )
    return tuple(sorted(standing.values(), key=lambda r: (r.recipe.casefold(), r.revision or 0)))
