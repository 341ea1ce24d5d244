"""Matching: zones and terms of agreed finishes, holders of tiles, concessions, approvals, how pieces were made."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from patina.records.tables.base import JsonText, UtcMoment

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

# Rows that are added and never altered; SQLite is told so, so that no other program does it by mistake.
FROZEN = ("master_zone", "master_terms", "tile_holding", "concession", "approval", "making_fact")


def upgrade() -> None:
    """To this version."""
    _master_zone()
    _master_terms()
    _tile_holding()
    _concession()
    _approval()
    _making_fact()
    op.create_index(
        "ix_reading_by_colour",
        "reading",
        ["illuminant", "observer", "latest", "lab_l", "lab_a", "lab_b", "tile_id"],
        if_not_exists=True,
    )
    if op.get_bind().dialect.name == "sqlite":
        for table in FROZEN:
            for deed in ("UPDATE", "DELETE"):
                op.execute(
                    f"CREATE TRIGGER frozen_{table}_{deed.lower()} BEFORE {deed} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, 'a row of {table} is never altered'); END"
                )


def _master_zone() -> None:
    op.create_table(
        "master_zone",
        sa.Column("master_id", sa.Integer(), nullable=False),
        sa.Column("zone", sa.String(length=200), nullable=False),
        sa.Column("illuminant", sa.String(length=20), nullable=False),
        sa.Column("observer", sa.String(length=20), nullable=False),
        sa.Column("readings", JsonText(), nullable=False),
        sa.Column("sd", JsonText(), nullable=True),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("light_limit", JsonText(), nullable=True),
        sa.Column("dark_limit", JsonText(), nullable=True),
        sa.Column("parts", JsonText(), nullable=False),
        sa.Column("fixed_u", sa.Double(), nullable=True),
        sa.Column("tile_id", sa.Integer(), nullable=True),
        sa.Column("light_tile_id", sa.Integer(), nullable=True),
        sa.Column("dark_tile_id", sa.Integer(), nullable=True),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("agreed_with", sa.String(length=400), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["dark_tile_id"], ["tile.id"], name=op.f("fk_master_zone_dark_tile_id_tile")),
        sa.ForeignKeyConstraint(["light_tile_id"], ["tile.id"], name=op.f("fk_master_zone_light_tile_id_tile")),
        sa.ForeignKeyConstraint(["master_id"], ["master.id"], name=op.f("fk_master_zone_master_id_master")),
        sa.ForeignKeyConstraint(["tile_id"], ["tile.id"], name=op.f("fk_master_zone_tile_id_tile")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_master_zone")),
        sa.UniqueConstraint("master_id", "zone", name=op.f("uq_master_zone_master_id_zone")),
        sa.UniqueConstraint("uid", name=op.f("uq_master_zone_uid")),
    )
    op.create_index(op.f("ix_master_zone_dark_tile_id"), "master_zone", ["dark_tile_id"])
    op.create_index(op.f("ix_master_zone_light_tile_id"), "master_zone", ["light_tile_id"])
    op.create_index(op.f("ix_master_zone_master_id"), "master_zone", ["master_id"])
    op.create_index(op.f("ix_master_zone_tile_id"), "master_zone", ["tile_id"])


def _master_terms() -> None:
    op.create_table(
        "master_terms",
        sa.Column("master_id", sa.Integer(), nullable=False),
        sa.Column("aim", sa.String(length=20), nullable=False),
        sa.Column("limit_mottle", sa.Double(), nullable=True),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["master_id"], ["master.id"], name=op.f("fk_master_terms_master_id_master")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_master_terms")),
        sa.UniqueConstraint("master_id", name=op.f("uq_master_terms_master_id")),
        sa.UniqueConstraint("uid", name=op.f("uq_master_terms_uid")),
    )


def _tile_holding() -> None:
    op.create_table(
        "tile_holding",
        sa.Column("master_id", sa.Integer(), nullable=True),
        sa.Column("tile_id", sa.Integer(), nullable=False),
        sa.Column("holder", sa.String(length=400), nullable=False),
        sa.Column("role", sa.String(length=40), nullable=False),
        sa.Column("kept", sa.String(length=40), nullable=False),
        sa.Column("place", sa.String(length=400), nullable=False),
        sa.Column("since", sa.Date(), nullable=True),
        sa.Column("next_check", sa.Date(), nullable=True),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("written_by", sa.String(length=200), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["master_id"], ["master.id"], name=op.f("fk_tile_holding_master_id_master")),
        sa.ForeignKeyConstraint(["tile_id"], ["tile.id"], name=op.f("fk_tile_holding_tile_id_tile")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tile_holding")),
        sa.UniqueConstraint("uid", name=op.f("uq_tile_holding_uid")),
    )
    op.create_index(op.f("ix_tile_holding_master_id"), "tile_holding", ["master_id"])
    op.create_index(op.f("ix_tile_holding_tile_id"), "tile_holding", ["tile_id"])


def _concession() -> None:
    op.create_table(
        "concession",
        sa.Column("master_id", sa.Integer(), nullable=False),
        sa.Column("tile_id", sa.Integer(), nullable=True),
        sa.Column("cast_id", sa.Integer(), nullable=True),
        sa.Column("zone", sa.String(length=200), nullable=False),
        sa.Column("difference", sa.Double(), nullable=False),
        sa.Column("verdict", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("agreed_by", sa.String(length=400), nullable=False),
        sa.Column("agreed_on", sa.Date(), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("written_by", sa.String(length=200), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.CheckConstraint("(tile_id IS NULL) <> (cast_id IS NULL)", name=op.f("ck_concession_one_target")),
        sa.ForeignKeyConstraint(["cast_id"], ["cast_piece.id"], name=op.f("fk_concession_cast_id_cast_piece")),
        sa.ForeignKeyConstraint(["master_id"], ["master.id"], name=op.f("fk_concession_master_id_master")),
        sa.ForeignKeyConstraint(["tile_id"], ["tile.id"], name=op.f("fk_concession_tile_id_tile")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_concession")),
        sa.UniqueConstraint("uid", name=op.f("uq_concession_uid")),
    )
    op.create_index(op.f("ix_concession_cast_id"), "concession", ["cast_id"])
    op.create_index(op.f("ix_concession_master_id"), "concession", ["master_id"])
    op.create_index(op.f("ix_concession_tile_id"), "concession", ["tile_id"])


def _approval() -> None:
    op.create_table(
        "approval",
        sa.Column("master_id", sa.Integer(), nullable=True),
        sa.Column("tile_id", sa.Integer(), nullable=True),
        sa.Column("cast_id", sa.Integer(), nullable=True),
        sa.Column("who", sa.String(length=400), nullable=False),
        sa.Column("role", sa.String(length=40), nullable=False),
        sa.Column("place", sa.String(length=400), nullable=False),
        sa.Column("light", sa.String(length=400), nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("seen", sa.String(length=40), nullable=False),
        sa.Column("answer", sa.String(length=40), nullable=False),
        sa.Column("remarks", sa.Text(), nullable=False),
        sa.Column("held_on", sa.Date(), nullable=False),
        sa.Column("shown", JsonText(), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("written_by", sa.String(length=200), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.CheckConstraint("(tile_id IS NULL) <> (cast_id IS NULL)", name=op.f("ck_approval_one_target")),
        sa.ForeignKeyConstraint(["cast_id"], ["cast_piece.id"], name=op.f("fk_approval_cast_id_cast_piece")),
        sa.ForeignKeyConstraint(["master_id"], ["master.id"], name=op.f("fk_approval_master_id_master")),
        sa.ForeignKeyConstraint(["tile_id"], ["tile.id"], name=op.f("fk_approval_tile_id_tile")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_approval")),
        sa.UniqueConstraint("uid", name=op.f("uq_approval_uid")),
    )
    op.create_index(op.f("ix_approval_cast_id"), "approval", ["cast_id"])
    op.create_index(op.f("ix_approval_master_id"), "approval", ["master_id"])
    op.create_index(op.f("ix_approval_tile_id"), "approval", ["tile_id"])


def _making_fact() -> None:
    op.create_table(
        "making_fact",
        sa.Column("tile_id", sa.Integer(), nullable=True),
        sa.Column("cast_id", sa.Integer(), nullable=True),
        sa.Column("fact", sa.String(length=80), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("written_by", sa.String(length=200), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.CheckConstraint("(tile_id IS NULL) <> (cast_id IS NULL)", name=op.f("ck_making_fact_one_target")),
        sa.ForeignKeyConstraint(["cast_id"], ["cast_piece.id"], name=op.f("fk_making_fact_cast_id_cast_piece")),
        sa.ForeignKeyConstraint(["tile_id"], ["tile.id"], name=op.f("fk_making_fact_tile_id_tile")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_making_fact")),
        sa.UniqueConstraint("uid", name=op.f("uq_making_fact_uid")),
    )
    op.create_index(op.f("ix_making_fact_cast_id_fact"), "making_fact", ["cast_id", "fact"])
    op.create_index(op.f("ix_making_fact_tile_id_fact"), "making_fact", ["tile_id", "fact"])
