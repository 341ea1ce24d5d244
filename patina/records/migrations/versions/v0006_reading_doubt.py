"""How much of a reading's doubt is its own, so that two readings of one photograph are compared by what they share."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this version."""
    op.create_table(
        "reading_doubt",
        sa.Column("reading_id", sa.Integer(), nullable=False),
        sa.Column("sampling_de00", sa.Double(), nullable=False),
        sa.Column("correction_de00", sa.Double(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["reading_id"], ["reading.id"], name=op.f("fk_reading_doubt_reading_id_reading")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading_doubt")),
        sa.UniqueConstraint("reading_id", name=op.f("uq_reading_doubt_reading_id")),
        sa.UniqueConstraint("uid", name=op.f("uq_reading_doubt_uid")),
    )
    if op.get_bind().dialect.name == "sqlite":
        for deed in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER frozen_reading_doubt_{deed.lower()} BEFORE {deed} ON reading_doubt "
                "BEGIN SELECT RAISE(ABORT, 'a row of reading_doubt is never altered'); END"
            )
