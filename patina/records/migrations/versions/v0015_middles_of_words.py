"""Words are found by their middles through the threes of signs in them, not by reading every record."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this version: the table, and the threes of every word that is there."""
    gram = op.create_table(
        "gram",
        sa.Column("letter", sa.String(length=4), nullable=False),
        sa.Column(
            "gram", sa.String(length=3).with_variant(sa.String(length=3, collation="C"), "postgresql"), nullable=False
        ),
        sa.Column(
            "word", sa.String(length=80).with_variant(sa.String(length=80, collation="C"), "postgresql"), nullable=False
        ),
        sa.PrimaryKeyConstraint("letter", "gram", "word", name=op.f("pk_gram")),
    )
    words = op.get_bind().execute(sa.text("SELECT DISTINCT letter, word FROM word")).all()
    for first in range(0, len(words), 1000):
        rows = [
            {"letter": letter, "gram": three, "word": word}
            for letter, word in words[first : first + 1000]
            for three in {word[i : i + 3] for i in range(len(word) - 2)}
        ]
        if rows:
            op.bulk_insert(gram, rows)
