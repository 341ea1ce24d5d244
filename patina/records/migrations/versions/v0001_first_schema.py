"""The first schema: recipes to batches, and the log of changes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from patina.records.tables.base import JsonText, Money, UtcMoment

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


# Rows that are added and never altered; SQLite is told so, so that no other program does it by mistake.
FROZEN = ("revision", "change", "treatment", "lot_movement", "batch_weighed", "batch_use")


def _identity(table: str) -> list[sa.schema.SchemaItem]:
    """What every record has: its number and the id that is its own in every studio."""
    return [
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
        sa.UniqueConstraint("uid", name=op.f(f"uq_{table}_uid")),
    ]


def upgrade() -> None:
    """To this version."""
    op.create_table(
        "chain_head",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_chain_head")),
    )
    op.create_table(
        "change",
        sa.Column("n", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("changed_by", sa.String(length=200), nullable=False),
        sa.Column("deed", sa.String(length=80), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("record", sa.String(length=40), nullable=False),
        sa.Column("before", sa.Text(), nullable=True),
        sa.Column("after", sa.Text(), nullable=True),
        sa.Column("previous", sa.String(length=64), nullable=False),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("n", name=op.f("pk_change")),
    )
    op.create_index(op.f("ix_change_record"), "change", ["record"])
    op.create_table(
        "lot",
        *_identity("lot"),
        sa.Column("substance", sa.String(length=120), nullable=False),
        sa.Column("name", sa.String(length=400), nullable=False),
        sa.Column("amount", sa.Double(), nullable=False),
        sa.Column("left_amount", sa.Double(), nullable=False),
        sa.Column("unit", sa.String(length=4), nullable=False),
        sa.Column("supplier", sa.String(length=400), nullable=False),
        sa.Column("grade", sa.String(length=200), nullable=False),
        sa.Column("lot_number", sa.String(length=200), nullable=False),
        sa.Column("assay_pct", sa.Double(), nullable=True),
        sa.Column("opened_on", sa.Date(), nullable=True),
        sa.Column("use_by", sa.Date(), nullable=True),
        sa.Column("place", sa.String(length=400), nullable=False),
        sa.Column("price", Money(), nullable=True),
        sa.Column("currency", sa.String(length=8), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", UtcMoment(), nullable=False),
        sa.Column("search_text", sa.Text(), nullable=False),
        sa.CheckConstraint("unit IN ('g', 'mL')", name=op.f("ck_lot_unit")),
        sa.CheckConstraint("left_amount >= 0", name=op.f("ck_lot_not_below_zero")),
    )
    op.create_index(op.f("ix_lot_substance"), "lot", ["substance"])
    op.create_table(
        "photograph",
        *_identity("photograph"),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("width_px", sa.Integer(), nullable=False),
        sa.Column("height_px", sa.Integer(), nullable=False),
        sa.Column("format", sa.String(length=40), nullable=False),
        sa.Column("bits", sa.Integer(), nullable=False),
        sa.Column("profile", sa.Text(), nullable=False),
        sa.Column("taken_at", sa.String(length=80), nullable=False),
        sa.Column("camera", sa.String(length=400), nullable=False),
        sa.Column("lens", sa.String(length=400), nullable=False),
        sa.Column("exif", JsonText(), nullable=False),
        sa.Column("added_at", UtcMoment(), nullable=False),
        sa.UniqueConstraint("sha256", name=op.f("uq_photograph_sha256")),
    )
    op.create_table(
        "piece",
        *_identity("piece"),
        sa.Column("title", sa.String(length=400), nullable=False),
        sa.Column("maker", sa.String(length=400), nullable=False),
        sa.Column("edition", sa.Integer(), nullable=True),
        sa.Column("height_mm", sa.Double(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", UtcMoment(), nullable=False),
        sa.Column("search_text", sa.Text(), nullable=False),
    )
    op.create_table(
        "recipe",
        *_identity("recipe"),
        sa.Column("name", sa.String(length=400), nullable=False),
        sa.Column("name_folded", sa.String(length=400), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", UtcMoment(), nullable=False),
        sa.Column("search_text", sa.Text(), nullable=False),
    )
    op.create_index(op.f("ix_recipe_name_folded"), "recipe", ["name_folded"], unique=True)
    op.create_table(
        "setting",
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_setting")),
    )
    op.create_table(
        "substance",
        *_identity("substance"),
        sa.Column("key", sa.String(length=120), nullable=False),
        sa.Column("document", JsonText(), nullable=False),
        sa.UniqueConstraint("key", name=op.f("uq_substance_key")),
    )
    op.create_table(
        "revision",
        *_identity("revision"),
        sa.Column("recipe_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("made_by", sa.String(length=200), nullable=False),
        sa.Column("made_at", UtcMoment(), nullable=False),
        sa.Column("finish", sa.Text(), nullable=False),
        sa.Column("provenance", sa.Text(), nullable=False),
        sa.Column("alloys", JsonText(), nullable=False),
        sa.Column("methods", JsonText(), nullable=False),
        sa.Column("document", JsonText(), nullable=False),
        sa.Column("content_sha256", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["recipe_id"], ["recipe.id"], name=op.f("fk_revision_recipe_id_recipe")),
        sa.UniqueConstraint("recipe_id", "number", name=op.f("uq_revision_recipe_id_number")),
    )
    op.create_table(
        "batch",
        *_identity("batch"),
        sa.Column("revision_id", sa.Integer(), nullable=False),
        sa.Column("solution", sa.String(length=400), nullable=False),
        sa.Column("volume_ml", sa.Double(), nullable=False),
        sa.Column("left_ml", sa.Double(), nullable=False),
        sa.Column("made_at", UtcMoment(), nullable=False),
        sa.Column("made_by", sa.String(length=200), nullable=False),
        sa.Column("use_until", UtcMoment(), nullable=True),
        sa.Column("water", sa.String(length=400), nullable=False),
        sa.Column("ph", sa.Double(), nullable=True),
        sa.Column("temperature_c", sa.Double(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", UtcMoment(), nullable=False),
        sa.Column("search_text", sa.Text(), nullable=False),
        sa.CheckConstraint("left_ml >= 0", name=op.f("ck_batch_not_below_zero")),
        sa.ForeignKeyConstraint(["revision_id"], ["revision.id"], name=op.f("fk_batch_revision_id_revision")),
    )
    op.create_index(op.f("ix_batch_revision_id"), "batch", ["revision_id"])
    op.create_table(
        "revision_substance",
        sa.Column("revision_id", sa.Integer(), nullable=False),
        sa.Column("substance", sa.String(length=120), nullable=False),
        sa.ForeignKeyConstraint(
            ["revision_id"], ["revision.id"], name=op.f("fk_revision_substance_revision_id_revision")
        ),
        sa.PrimaryKeyConstraint("revision_id", "substance", name=op.f("pk_revision_substance")),
    )
    op.create_index(op.f("ix_revision_substance_substance"), "revision_substance", ["substance"])
    op.create_table(
        "batch_use",
        *_identity("batch_use"),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("ml", sa.Double(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("used_by", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name=op.f("fk_batch_use_batch_id_batch")),
    )
    op.create_index(op.f("ix_batch_use_batch_id"), "batch_use", ["batch_id"])
    op.create_table(
        "batch_weighed",
        *_identity("batch_weighed"),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("substance", sa.String(length=120), nullable=False),
        sa.Column("asked", sa.Double(), nullable=False),
        sa.Column("amount", sa.Double(), nullable=False),
        sa.Column("unit", sa.String(length=4), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name=op.f("fk_batch_weighed_batch_id_batch")),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_batch_weighed_lot_id_lot")),
    )
    op.create_index(op.f("ix_batch_weighed_batch_id"), "batch_weighed", ["batch_id"])
    op.create_index(op.f("ix_batch_weighed_lot_id"), "batch_weighed", ["lot_id"])
    op.create_index(op.f("ix_batch_weighed_substance"), "batch_weighed", ["substance"])
    op.create_table(
        "lot_movement",
        *_identity("lot_movement"),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("amount", sa.Double(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.Column("moved_by", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name=op.f("fk_lot_movement_batch_id_batch")),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_lot_movement_lot_id_lot")),
    )
    op.create_index(op.f("ix_lot_movement_batch_id"), "lot_movement", ["batch_id"])
    op.create_index(op.f("ix_lot_movement_lot_id"), "lot_movement", ["lot_id"])
    op.create_table(
        "tile",
        *_identity("tile"),
        sa.Column("engraved", sa.String(length=200), nullable=False),
        sa.Column("alloy", sa.String(length=200), nullable=False),
        sa.Column("preparation", sa.Text(), nullable=False),
        sa.Column("wall_mm", sa.Double(), nullable=True),
        sa.Column("size", sa.String(length=200), nullable=False),
        sa.Column("revision_id", sa.Integer(), nullable=True),
        sa.Column("as_done", JsonText(), nullable=False),
        sa.Column("made_on", sa.Date(), nullable=True),
        sa.Column("made_by", sa.String(length=200), nullable=False),
        sa.Column("wax_state", sa.String(length=40), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", UtcMoment(), nullable=False),
        sa.Column("search_text", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name=op.f("fk_tile_batch_id_batch")),
        sa.ForeignKeyConstraint(["revision_id"], ["revision.id"], name=op.f("fk_tile_revision_id_revision")),
    )
    op.create_index(op.f("ix_tile_engraved"), "tile", ["engraved"])
    op.create_index(op.f("ix_tile_revision_id"), "tile", ["revision_id"])
    op.create_table(
        "master",
        *_identity("master"),
        sa.Column("name", sa.String(length=400), nullable=False),
        sa.Column("lab_l", sa.Double(), nullable=False),
        sa.Column("lab_a", sa.Double(), nullable=False),
        sa.Column("lab_b", sa.Double(), nullable=False),
        sa.Column("formula", sa.String(length=20), nullable=False),
        sa.Column("limit_de", sa.Double(), nullable=False),
        sa.Column("limit_dl", sa.Double(), nullable=True),
        sa.Column("limit_dc", sa.Double(), nullable=True),
        sa.Column("limit_dh", sa.Double(), nullable=True),
        sa.Column("uncertainty_de00", sa.Double(), nullable=True),
        sa.Column("zone", sa.String(length=200), nullable=False),
        sa.Column("tile_id", sa.Integer(), nullable=True),
        sa.Column("recipe_id", sa.Integer(), nullable=True),
        sa.Column("light", sa.String(length=400), nullable=False),
        sa.Column("geometry", sa.String(length=40), nullable=False),
        sa.Column("wax_state", sa.String(length=40), nullable=False),
        sa.Column("warmth", sa.String(length=40), nullable=False),
        sa.Column("agreed_by", sa.String(length=400), nullable=False),
        sa.Column("agreed_on", sa.Date(), nullable=True),
        sa.Column("holders", sa.Text(), nullable=False),
        sa.Column("next_check", sa.Date(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", UtcMoment(), nullable=False),
        sa.Column("search_text", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["recipe_id"], ["recipe.id"], name=op.f("fk_master_recipe_id_recipe")),
        sa.ForeignKeyConstraint(["tile_id"], ["tile.id"], name=op.f("fk_master_tile_id_tile")),
    )
    op.create_index(op.f("ix_master_recipe_id"), "master", ["recipe_id"])
    op.create_index(op.f("ix_master_tile_id"), "master", ["tile_id"])
    op.create_table(
        "cast_piece",
        *_identity("cast_piece"),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(length=80), nullable=False),
        sa.Column("alloy", sa.String(length=200), nullable=False),
        sa.Column("mass_g", sa.Double(), nullable=True),
        sa.Column("wall_mm", sa.Double(), nullable=True),
        sa.Column("area_m2", sa.Double(), nullable=True),
        sa.Column("owner", sa.String(length=400), nullable=False),
        sa.Column("place", sa.String(length=400), nullable=False),
        sa.Column("master_id", sa.Integer(), nullable=True),
        sa.Column("cast_on", sa.Date(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", UtcMoment(), nullable=False),
        sa.Column("search_text", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["master_id"], ["master.id"], name=op.f("fk_cast_piece_master_id_master")),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f("fk_cast_piece_piece_id_piece")),
    )
    op.create_index(op.f("ix_cast_piece_master_id"), "cast_piece", ["master_id"])
    op.create_index(op.f("ix_cast_piece_piece_id"), "cast_piece", ["piece_id"])
    op.create_table(
        "photograph_use",
        *_identity("photograph_use"),
        sa.Column("photograph_id", sa.Integer(), nullable=False),
        sa.Column("tile_id", sa.Integer(), nullable=True),
        sa.Column("cast_id", sa.Integer(), nullable=True),
        sa.Column("name", sa.String(length=400), nullable=False),
        sa.Column("state", sa.String(length=200), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("added_at", UtcMoment(), nullable=False),
        sa.Column("added_by", sa.String(length=200), nullable=False),
        sa.CheckConstraint("(tile_id IS NULL) <> (cast_id IS NULL)", name=op.f("ck_photograph_use_one_target")),
        sa.ForeignKeyConstraint(["cast_id"], ["cast_piece.id"], name=op.f("fk_photograph_use_cast_id_cast_piece")),
        sa.ForeignKeyConstraint(
            ["photograph_id"], ["photograph.id"], name=op.f("fk_photograph_use_photograph_id_photograph")
        ),
        sa.ForeignKeyConstraint(["tile_id"], ["tile.id"], name=op.f("fk_photograph_use_tile_id_tile")),
        sa.UniqueConstraint("cast_id", "photograph_id", name=op.f("uq_photograph_use_cast_id_photograph_id")),
        sa.UniqueConstraint("tile_id", "photograph_id", name=op.f("uq_photograph_use_tile_id_photograph_id")),
    )
    op.create_index(op.f("ix_photograph_use_photograph_id"), "photograph_use", ["photograph_id"])
    op.create_table(
        "reading",
        *_identity("reading"),
        sa.Column("tile_id", sa.Integer(), nullable=True),
        sa.Column("cast_id", sa.Integer(), nullable=True),
        sa.Column("photograph_id", sa.Integer(), nullable=True),
        sa.Column("lab_l", sa.Double(), nullable=False),
        sa.Column("lab_a", sa.Double(), nullable=False),
        sa.Column("lab_b", sa.Double(), nullable=False),
        sa.Column("illuminant", sa.String(length=20), nullable=False),
        sa.Column("observer", sa.String(length=20), nullable=False),
        sa.Column("source", sa.String(length=40), nullable=False),
        sa.Column("area", sa.String(length=200), nullable=False),
        sa.Column("geometry", sa.String(length=40), nullable=False),
        sa.Column("instrument", sa.String(length=400), nullable=False),
        sa.Column("sd", JsonText(), nullable=True),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("uncertainty_de00", sa.Double(), nullable=True),
        sa.Column("wax_state", sa.String(length=40), nullable=False),
        sa.Column("warmth", sa.String(length=40), nullable=False),
        sa.Column("read_at", UtcMoment(), nullable=False),
        sa.Column("read_by", sa.String(length=200), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("parts", JsonText(), nullable=False),
        sa.Column("added_at", UtcMoment(), nullable=False),
        sa.Column("latest", sa.Boolean(), nullable=False),
        sa.CheckConstraint("(tile_id IS NULL) <> (cast_id IS NULL)", name=op.f("ck_reading_one_target")),
        sa.ForeignKeyConstraint(["cast_id"], ["cast_piece.id"], name=op.f("fk_reading_cast_id_cast_piece")),
        sa.ForeignKeyConstraint(["photograph_id"], ["photograph.id"], name=op.f("fk_reading_photograph_id_photograph")),
        sa.ForeignKeyConstraint(["tile_id"], ["tile.id"], name=op.f("fk_reading_tile_id_tile")),
    )
    op.create_index(op.f("ix_reading_cast_id_latest"), "reading", ["cast_id", "latest"])
    op.create_index(op.f("ix_reading_photograph_id"), "reading", ["photograph_id"])
    op.create_index(op.f("ix_reading_tile_id_latest"), "reading", ["tile_id", "latest"])
    op.create_table(
        "treatment",
        *_identity("treatment"),
        sa.Column("cast_id", sa.Integer(), nullable=False),
        sa.Column("did", sa.Text(), nullable=False),
        sa.Column("zone", sa.String(length=200), nullable=False),
        sa.Column("revision_id", sa.Integer(), nullable=True),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("as_done", JsonText(), nullable=False),
        sa.Column("area_m2", sa.Double(), nullable=True),
        sa.Column("done_on", sa.Date(), nullable=True),
        sa.Column("done_by", sa.String(length=200), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("added_at", UtcMoment(), nullable=False),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name=op.f("fk_treatment_batch_id_batch")),
        sa.ForeignKeyConstraint(["cast_id"], ["cast_piece.id"], name=op.f("fk_treatment_cast_id_cast_piece")),
        sa.ForeignKeyConstraint(["revision_id"], ["revision.id"], name=op.f("fk_treatment_revision_id_revision")),
    )
    op.create_index(op.f("ix_treatment_batch_id"), "treatment", ["batch_id"])
    op.create_index(op.f("ix_treatment_cast_id"), "treatment", ["cast_id"])
    op.create_index(op.f("ix_treatment_revision_id"), "treatment", ["revision_id"])
    if op.get_bind().dialect.name == "sqlite":
        for table in FROZEN:
            for deed in ("UPDATE", "DELETE"):
                op.execute(
                    f"CREATE TRIGGER frozen_{table}_{deed.lower()} BEFORE {deed} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, 'a row of {table} is never altered'); END"
                )
