"""People and roles, withheld quantities, what was handed over, care for the owner, recipe texts that wait."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from patina.records.tables.base import JsonText, UtcMoment

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

FROZEN = ("withholding", "open_safety", "handover", "owner_care")


def upgrade() -> None:
    """To this version."""
    _people()
    _access()
    _handed_over()
    _drafts()
    _freeze()


def _people() -> None:
    op.create_table(
        "person",
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("name_folded", sa.String(length=200), nullable=False),
        sa.Column("role", sa.String(length=40), nullable=False),
        sa.Column("login", sa.String(length=63), nullable=False),
        sa.Column("contact", sa.String(length=400), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        *_edited(),
        *_identity("person"),
    )
    op.create_index(op.f("ix_person_name_folded"), "person", ["name_folded"], unique=True)
    op.create_index(op.f("ix_person_login"), "person", ["login"])


def _access() -> None:
    op.create_table(
        "withholding",
        sa.Column("recipe_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=True),
        sa.Column("withheld", sa.Boolean(), nullable=False),
        sa.Column("open_to", JsonText(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        *_written(),
        *_identity("withholding"),
        sa.ForeignKeyConstraint(["recipe_id"], ["recipe.id"], name=op.f("fk_withholding_recipe_id_recipe")),
    )
    op.create_index(op.f("ix_withholding_recipe_id"), "withholding", ["recipe_id"])
    op.create_table(
        "open_safety",
        sa.Column("revision_id", sa.Integer(), nullable=False),
        sa.Column("regime", sa.String(length=10), nullable=False),
        sa.Column("document", JsonText(), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        *_identity("open_safety"),
        sa.ForeignKeyConstraint(["revision_id"], ["revision.id"], name=op.f("fk_open_safety_revision_id_revision")),
    )
    op.create_index(op.f("ix_open_safety_revision_id_regime"), "open_safety", ["revision_id", "regime"])


def _handed_over() -> None:
    op.create_table(
        "handover",
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("record", sa.String(length=40), nullable=False),
        sa.Column("record_version", sa.Integer(), nullable=True),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("given_to", sa.String(length=400), nullable=False),
        sa.Column("as_what", sa.String(length=80), nullable=False),
        sa.Column("terms", sa.Text(), nullable=False),
        sa.Column("file_name", sa.String(length=400), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=True),
        sa.Column("given_on", sa.Date(), nullable=False),
        sa.Column("back_by", sa.Date(), nullable=True),
        sa.Column("ends_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        *_written(),
        *_identity("handover"),
        sa.ForeignKeyConstraint(["ends_id"], ["handover.id"], name=op.f("fk_handover_ends_id_handover")),
        sa.UniqueConstraint("ends_id", name=op.f("uq_handover_ends_id")),
    )
    op.create_index(op.f("ix_handover_record"), "handover", ["record"])
    op.create_table(
        "owner_care",
        sa.Column("cast_id", sa.Integer(), nullable=False),
        sa.Column("care", sa.Text(), nullable=False),
        sa.Column("wax", sa.String(length=400), nullable=False),
        sa.Column("next_check", sa.Date(), nullable=True),
        sa.Column("ask", sa.String(length=400), nullable=False),
        *_written(),
        *_identity("owner_care"),
        sa.ForeignKeyConstraint(["cast_id"], ["cast_piece.id"], name=op.f("fk_owner_care_cast_id_cast_piece")),
    )
    op.create_index(op.f("ix_owner_care_cast_id"), "owner_care", ["cast_id"])


def _drafts() -> None:
    op.create_table(
        "recipe_draft",
        sa.Column("recipe_id", sa.Integer(), nullable=False),
        sa.Column("based_on", sa.Integer(), nullable=False),
        sa.Column("met", sa.Integer(), nullable=False),
        sa.Column("document", JsonText(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("made_by", sa.String(length=200), nullable=False),
        sa.Column("resolved", sa.String(length=40), nullable=False),
        sa.Column("saved_as", sa.Integer(), nullable=True),
        *_edited(),
        *_identity("recipe_draft"),
        sa.ForeignKeyConstraint(["recipe_id"], ["recipe.id"], name=op.f("fk_recipe_draft_recipe_id_recipe")),
    )
    op.create_index(op.f("ix_recipe_draft_recipe_id"), "recipe_draft", ["recipe_id"])


def _edited() -> list[sa.schema.SchemaItem]:
    return [
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", UtcMoment(), nullable=False),
        sa.Column("search_text", sa.Text(), nullable=False),
    ]


def _written() -> list[sa.schema.SchemaItem]:
    return [
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("written_by", sa.String(length=200), nullable=False),
    ]


def _identity(table: str) -> list[sa.schema.SchemaItem]:
    return [
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
        sa.UniqueConstraint("uid", name=op.f(f"uq_{table}_uid")),
    ]


def _freeze() -> None:
    """Rows that are added and never altered; each kind of database is told so."""
    sqlite = op.get_bind().dialect.name == "sqlite"
    for table in FROZEN:
        for deed in ("UPDATE", "DELETE"):
            name = f"frozen_{table}_{deed.lower()}"
            if sqlite:
                op.execute(
                    f"CREATE TRIGGER {name} BEFORE {deed} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, 'a row of {table} is never altered'); END"
                )
            else:
                op.execute(
                    f"CREATE TRIGGER {name} BEFORE {deed} ON {table} FOR EACH ROW EXECUTE FUNCTION patina_frozen()"
                )
