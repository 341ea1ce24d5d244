"""Which rows of which file were brought in, so that the same file brought in twice makes nothing twice."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this version."""
    op.create_table(
        "brought_row",
        sa.Column("row_sha256", sa.String(length=64), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("file_name", sa.String(length=400), nullable=False),
        sa.Column("file_sha256", sa.String(length=64), nullable=False),
        sa.Column("sheet", sa.String(length=200), nullable=False),
        sa.Column("row_number", sa.Integer(), nullable=False),
        sa.Column("record", sa.String(length=40), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_brought_row")),
        sa.UniqueConstraint("row_sha256", name=op.f("uq_brought_row_row_sha256")),
        sa.UniqueConstraint("uid", name=op.f("uq_brought_row_uid")),
    )
    for deed in ("UPDATE", "DELETE"):
        if op.get_bind().dialect.name == "sqlite":
            op.execute(
                f"CREATE TRIGGER frozen_brought_row_{deed.lower()} BEFORE {deed} ON brought_row "
                "BEGIN SELECT RAISE(ABORT, 'a row of brought_row is never altered'); END"
            )
        else:
            op.execute(
                f"CREATE TRIGGER frozen_brought_row_{deed.lower()} BEFORE {deed} ON brought_row "
                "FOR EACH ROW EXECUTE FUNCTION patina_frozen()"
            )
