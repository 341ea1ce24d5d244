"""The index of words, so that finding takes as long in a large studio as in a small one."""

from __future__ import annotations

import re

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

LETTERS = {"recipe": "R", "tile": "T", "master": "M", "piece": "W", "cast_piece": "C", "lot": "L", "batch": "B"}


def upgrade() -> None:
    """To this version: the table, and the words of every record that is there."""
    word = op.create_table(
        "word",
        sa.Column("letter", sa.String(length=1), nullable=False),
        sa.Column(
            "word", sa.String(length=80).with_variant(sa.String(length=80, collation="C"), "postgresql"), nullable=False
        ),
        sa.Column("record_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.PrimaryKeyConstraint("letter", "word", "record_id", name=op.f("pk_word")),
    )
    op.create_index(op.f("ix_word_letter_record_id"), "word", ["letter", "record_id"])
    connection = op.get_bind()
    for table, letter in LETTERS.items():
        connection.execute(sa.text(f"UPDATE {table} SET search_text = replace(search_text, 'sulph', 'sulf')"))
        records = connection.execute(sa.text(f"SELECT id, search_text FROM {table}")).all()
        for first in range(0, len(records), 500):
            rows = [
                {"letter": letter, "word": found, "record_id": number}
                for number, text in records[first : first + 500]
                for found in _words(text)
            ]
            if rows:
                op.bulk_insert(word, rows)


def _words(text: str) -> set[str]:
    """As the program divides a text at this version."""
    found: set[str] = set()
    for written in text.casefold().split():
        found.add(written[:60])
        found |= {part[:60] for part in re.split(r"[^\w]+", written) if part}
    return found
