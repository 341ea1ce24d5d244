"""How coarse the mottle of a reading is, in pixels and where the scale is known in millimetres."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this version. Readings kept before have no row: their grain is not known."""
    op.create_table(
        "reading_grain",
        sa.Column("reading_id", sa.Integer(), nullable=False),
        sa.Column("grain_px", sa.Double(), nullable=True),
        sa.Column("grain_mm", sa.Double(), nullable=True),
        sa.Column("scale_from", sa.String(length=200), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.CheckConstraint(
            "(grain_px IS NULL OR grain_px > 0) AND (grain_mm IS NULL OR grain_mm > 0)",
            name=op.f("ck_reading_grain_above_zero"),
        ),
        sa.ForeignKeyConstraint(["reading_id"], ["reading.id"], name=op.f("fk_reading_grain_reading_id_reading")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading_grain")),
        sa.UniqueConstraint("reading_id", name=op.f("uq_reading_grain_reading_id")),
        sa.UniqueConstraint("uid", name=op.f("uq_reading_grain_uid")),
    )
    if op.get_bind().dialect.name == "sqlite":
        for deed in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER frozen_reading_grain_{deed.lower()} BEFORE {deed} ON reading_grain "
                "BEGIN SELECT RAISE(ABORT, 'a row of reading_grain is never altered'); END"
            )
