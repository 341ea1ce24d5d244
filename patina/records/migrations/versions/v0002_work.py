"""The work on a piece: what happened at the torch and after it, strip checks, waste."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from patina.records.tables.base import JsonText, UtcMoment

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

# Rows that are added and never altered; SQLite is told so, so that no other program does it by mistake.
FROZEN = ("work_event", "strip_check", "waste")


def _identity(table: str) -> list[sa.schema.SchemaItem]:
    """What every record has: its number and the id that is its own in every studio."""
    return [
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
        sa.UniqueConstraint("uid", name=op.f(f"uq_{table}_uid")),
    ]


def _points_at(table: str, column: str, other: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [f"{other}.id"], name=op.f(f"fk_{table}_{column}_{other}"))


def upgrade() -> None:
    """To this version."""
    _work()
    _work_event()
    _strip_check()
    _waste()
    if op.get_bind().dialect.name == "sqlite":
        for table in FROZEN:
            for deed in ("UPDATE", "DELETE"):
                op.execute(
                    f"CREATE TRIGGER frozen_{table}_{deed.lower()} BEFORE {deed} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, 'a row of {table} is never altered'); END"
                )


def _work() -> None:
    op.create_table(
        "work",
        *_identity("work"),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", UtcMoment(), nullable=False),
        sa.Column("search_text", sa.Text(), nullable=False),
        sa.Column("tile_id", sa.Integer(), nullable=True),
        sa.Column("cast_id", sa.Integer(), nullable=True),
        sa.Column("revision_id", sa.Integer(), nullable=False),
        sa.Column("zones", JsonText(), nullable=False),
        sa.Column("texture", sa.Double(), nullable=False),
        sa.Column("tool", sa.String(length=200), nullable=False),
        sa.Column("done_by", sa.String(length=200), nullable=False),
        sa.Column("place", sa.String(length=400), nullable=False),
        sa.Column("air_c", sa.Double(), nullable=True),
        sa.Column("air_rh_pct", sa.Double(), nullable=True),
        sa.Column("thermometer", JsonText(), nullable=False),
        sa.Column("started_at", UtcMoment(), nullable=False),
        sa.Column("ended_at", UtcMoment(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.CheckConstraint("(tile_id IS NULL) <> (cast_id IS NULL)", name=op.f("ck_work_one_target")),
        _points_at("work", "tile_id", "tile"),
        _points_at("work", "cast_id", "cast_piece"),
        _points_at("work", "revision_id", "revision"),
    )
    for column in ("cast_id", "ended_at", "revision_id", "tile_id"):
        op.create_index(op.f(f"ix_work_{column}"), "work", [column])


def _work_event() -> None:
    op.create_table(
        "work_event",
        *_identity("work_event"),
        sa.Column("work_id", sa.Integer(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("done_by", sa.String(length=200), nullable=False),
        sa.Column("step", sa.Integer(), nullable=False),
        sa.Column("zone", sa.String(length=200), nullable=False),
        sa.Column("pass_number", sa.Integer(), nullable=True),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("left_ml", sa.Double(), nullable=True),
        sa.Column("used_ml", sa.Double(), nullable=True),
        sa.Column("true_c", sa.Double(), nullable=True),
        sa.Column("cancels_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("said", JsonText(), nullable=False),
        sa.UniqueConstraint("work_id", "seq", name=op.f("uq_work_event_work_id_seq")),
        sa.UniqueConstraint("cancels_id", name=op.f("uq_work_event_cancels_id")),
        _points_at("work_event", "work_id", "work"),
        _points_at("work_event", "batch_id", "batch"),
        _points_at("work_event", "cancels_id", "work_event"),
    )
    op.create_index(op.f("ix_work_event_batch_id"), "work_event", ["batch_id"])


def _strip_check() -> None:
    op.create_table(
        "strip_check",
        *_identity("strip_check"),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("age_h", sa.Double(), nullable=False),
        sa.Column("seconds", sa.Double(), nullable=False),
        sa.Column("temperature_c", sa.Double(), nullable=True),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("checked_by", sa.String(length=200), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        _points_at("strip_check", "batch_id", "batch"),
    )
    op.create_index(op.f("ix_strip_check_batch_id"), "strip_check", ["batch_id"])


def _waste() -> None:
    op.create_table(
        "waste",
        *_identity("waste"),
        sa.Column("drum", sa.String(length=200), nullable=False),
        sa.Column("emptied", sa.Boolean(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("amount", sa.Double(), nullable=False),
        sa.Column("unit", sa.String(length=4), nullable=False),
        sa.Column("substances", JsonText(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("work_id", sa.Integer(), nullable=True),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("logged_by", sa.String(length=200), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.CheckConstraint("unit IN ('g', 'mL')", name=op.f("ck_waste_unit")),
        _points_at("waste", "batch_id", "batch"),
        _points_at("waste", "work_id", "work"),
    )
    for column in ("batch_id", "drum", "work_id"):
        op.create_index(op.f(f"ix_waste_{column}"), "waste", [column])
