"""Bundles that were taken in, and the log of changes that came with each."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from patina.records.tables.base import JsonText, UtcMoment

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this version."""
    op.create_table(
        "taken_bundle",
        sa.Column("file_name", sa.String(length=400), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("target", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=400), nullable=False),
        sa.Column("studio", sa.String(length=400), nullable=False),
        sa.Column("program", sa.String(length=40), nullable=False),
        sa.Column("log_n", sa.Integer(), nullable=False),
        sa.Column("log_sha256", sa.String(length=64), nullable=False),
        sa.Column("given_sha256", sa.String(length=64), nullable=False),
        sa.Column("renumbered", JsonText(), nullable=False),
        sa.Column("taken_by", sa.String(length=200), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_taken_bundle")),
        sa.UniqueConstraint("uid", name=op.f("uq_taken_bundle_uid")),
    )
    op.create_table(
        "given_change",
        sa.Column("bundle_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("n", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.Column("record", sa.String(length=40), nullable=True),
        sa.Column("entry", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["bundle_id"], ["taken_bundle.id"], name=op.f("fk_given_change_bundle_id_taken_bundle")
        ),
        sa.PrimaryKeyConstraint("bundle_id", "n", name=op.f("pk_given_change")),
    )
    op.create_index(op.f("ix_given_change_record"), "given_change", ["record"])
    for table in ("taken_bundle", "given_change"):
        for deed in ("UPDATE", "DELETE"):
            if op.get_bind().dialect.name == "sqlite":
                op.execute(
                    f"CREATE TRIGGER frozen_{table}_{deed.lower()} BEFORE {deed} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, 'a row of {table} is never altered'); END"
                )
            else:
                op.execute(
                    f"CREATE TRIGGER frozen_{table}_{deed.lower()} BEFORE {deed} ON {table} "
                    "FOR EACH ROW EXECUTE FUNCTION patina_frozen()"
                )
