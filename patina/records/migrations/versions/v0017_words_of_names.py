"""The index of words holds the words of names once more, marked, and each whole name: names are found first."""

from __future__ import annotations

import json
import re

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None

# letter: each record's number and what it is called by
NAMES = {
    "R": "SELECT id, name FROM recipe",
    "T": "SELECT id, engraved FROM tile",
    "M": "SELECT id, name FROM master",
    "W": "SELECT id, title FROM piece",
    "L": "SELECT id, name || ' ' || lot_number FROM lot",
    "C": "SELECT c.id, p.title || ' ' || c.number FROM cast_piece c JOIN piece p ON p.id = c.piece_id",
}
POTS = "SELECT b.id, r.document, b.solution FROM batch b JOIN revision r ON r.id = b.revision_id"


def upgrade() -> None:
    """To this version: the names of every record that is there."""
    connection = op.get_bind()
    word = sa.table("word", sa.column("letter"), sa.column("word"), sa.column("record_id"))
    for letter, query in NAMES.items():
        _fill(word, letter, [(number, name) for number, name in connection.execute(sa.text(query))])
    pots = connection.execute(sa.text(POTS))
    _fill(word, "B", [(number, f"{_called(document)} {solution}") for number, document, solution in pots])


def _called(document: str) -> str:
    """What the recipe was called; nothing where its text is damaged, which the check of the studio tells."""
    try:
        return str(json.loads(document)["name"])
    except (ValueError, KeyError, TypeError):
        return ""


def _fill(word: sa.TableClause, letter: str, names: list[tuple[int, str]]) -> None:
    for first in range(0, len(names), 500):
        rows = [
            {"letter": letter, "word": found, "record_id": number}
            for number, name in names[first : first + 500]
            for found in _marked(name)
        ]
        if rows:
            op.bulk_insert(word, rows)


def _marked(name: str) -> set[str]:
    """As the program marks a name at this version."""
    level = name.casefold().replace("sulph", "sulf").split()
    found: set[str] = {"\x02" + " ".join(level)[:60]} if level else set()
    for written in level:
        found.add("\x01" + written[:60])
        found |= {"\x01" + part[:60] for part in re.split(r"[^\w]+", written) if part}
    return found
