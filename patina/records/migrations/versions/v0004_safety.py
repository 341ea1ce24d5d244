"""The safety record: releases of recipes, marks on pots, data sheets read, exposure of persons."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from patina.records.tables.base import JsonText, UtcMoment

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

# Rows that are added and never altered; SQLite is told so, so that no other program does it by mistake.
FROZEN = ("danger_answer", "recipe_release", "batch_mark", "sheet_read")


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
    _answers_and_releases()
    _marks()
    _sheets()
    _exposure()
    if op.get_bind().dialect.name == "sqlite":
        for table in FROZEN:
            for deed in ("UPDATE", "DELETE"):
                _refuse(table, deed, "", f"a row of {table} is never altered")
        _refuse("exposure", "UPDATE", "", "a row of exposure is never altered")
        kept = "WHEN OLD.keep_until >= date('now') "
        _refuse("exposure", "DELETE", kept, "a row of exposure is kept until its time is over")


def _refuse(table: str, deed: str, when: str, words: str) -> None:
    op.execute(
        f"CREATE TRIGGER frozen_{table}_{deed.lower()} BEFORE {deed} ON {table} {when}"
        f"BEGIN SELECT RAISE(ABORT, '{words}'); END"
    )


def _answers_and_releases() -> None:
    op.create_table(
        "danger_answer",
        *_identity("danger_answer"),
        sa.Column("revision_id", sa.Integer(), nullable=False),
        sa.Column("danger", sa.String(length=600), nullable=False),
        sa.Column("between", JsonText(), nullable=False),
        sa.Column("consequence", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("answered_by", sa.String(length=200), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        _points_at("danger_answer", "revision_id", "revision"),
    )
    op.create_index(op.f("ix_danger_answer_revision_id"), "danger_answer", ["revision_id"])
    op.create_table(
        "recipe_release",
        *_identity("recipe_release"),
        sa.Column("revision_id", sa.Integer(), nullable=False),
        sa.Column("released", sa.Boolean(), nullable=False),
        sa.Column("released_by", sa.String(length=200), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        _points_at("recipe_release", "revision_id", "revision"),
    )
    op.create_index(op.f("ix_recipe_release_revision_id"), "recipe_release", ["revision_id"])


def _marks() -> None:
    op.create_table(
        "batch_mark",
        *_identity("batch_mark"),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("purpose", sa.String(length=20), nullable=False),
        sa.Column("discard_by", UtcMoment(), nullable=True),
        sa.Column("discard_why", sa.Text(), nullable=False),
        sa.CheckConstraint("purpose IN ('', 'test tiles', 'work')", name=op.f("ck_batch_mark_purpose")),
        sa.UniqueConstraint("batch_id", name=op.f("uq_batch_mark_batch_id")),
        _points_at("batch_mark", "batch_id", "batch"),
    )


def _sheets() -> None:
    op.create_table(
        "sheet_read",
        *_identity("sheet_read"),
        sa.Column("key", sa.String(length=120), nullable=False),
        sa.Column("supplier", sa.String(length=400), nullable=False),
        sa.Column("product", sa.String(length=400), nullable=False),
        sa.Column("dated", sa.Date(), nullable=False),
        sa.Column("read_on", sa.Date(), nullable=False),
        sa.Column("read_by", sa.String(length=200), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
    )
    op.create_index(op.f("ix_sheet_read_key"), "sheet_read", ["key"])


def _exposure() -> None:
    op.create_table(
        "exposure",
        *_identity("exposure"),
        sa.Column("person", sa.String(length=200), nullable=False),
        sa.Column("worked_on", sa.Date(), nullable=False),
        sa.Column("shift", sa.String(length=80), nullable=False),
        sa.Column("minutes", sa.Double(), nullable=False),
        sa.Column("revision_id", sa.Integer(), nullable=True),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("substances", JsonText(), nullable=False),
        sa.Column("names", JsonText(), nullable=False),
        sa.Column("task", sa.Text(), nullable=False),
        sa.Column("extraction", sa.String(length=200), nullable=False),
        sa.Column("flow_m3_h", sa.Double(), nullable=True),
        sa.Column("respirator", sa.String(length=400), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("keep_until", sa.Date(), nullable=False),
        sa.Column("corrects_id", sa.Integer(), nullable=True),
        sa.Column("written_by", sa.String(length=200), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.CheckConstraint("minutes > 0", name=op.f("ck_exposure_minutes")),
        sa.UniqueConstraint("corrects_id", name=op.f("uq_exposure_corrects_id")),
        _points_at("exposure", "batch_id", "batch"),
        _points_at("exposure", "corrects_id", "exposure"),
        _points_at("exposure", "revision_id", "revision"),
    )
    for column in ("batch_id", "person", "revision_id", "worked_on"):
        op.create_index(op.f(f"ix_exposure_{column}"), "exposure", [column])
