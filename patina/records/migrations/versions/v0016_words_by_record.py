"""Whether one record has a word is answered by one index; one or two signs are found in the middle of words too."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this version: the index with the words in it, and the last one and two signs of every word that is there."""
    op.create_index(op.f("ix_word_letter_record_id_word"), "word", ["letter", "record_id", "word"])
    op.drop_index(op.f("ix_word_letter_record_id"), table_name="word")
    connection = op.get_bind()
    for many in (1, 2):
        ending = f"substr(word, length(word) - {many - 1})"
        connection.execute(
            sa.text(
                f"INSERT INTO gram (letter, gram, word) SELECT letter, {ending}, word "
                f"FROM (SELECT letter, word FROM word UNION SELECT letter, word FROM gram) AS kept "
                f"WHERE length(word) >= {many}"
            )
        )
