"""The conservator's treatment record: its head and its parts. Parts are added and never altered."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

from patina.records.tables.base import JsonText, UtcMoment

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

PARTS = (
    "conservation_person",
    "conservation_statement",
    "conservation_map",
    "conservation_zone",
    "conservation_proposal",
    "conservation_patch",
    "conservation_action",
    "conservation_authority",
    "conservation_material",
    "conservation_sample",
    "conservation_bath",
    "conservation_bath_reading",
    "conservation_layer",
    "conservation_image",
    "conservation_care",
    "conservation_care_visit",
    "conservation_signature",
    "conservation_copy",
)


def upgrade() -> None:
    """To this version."""
    _head()
    _examination()
    _work()
    _afterwards()
    dialect = op.get_bind().dialect.name
    for table in PARTS:
        for deed in ("UPDATE", "DELETE"):
            _freeze(table, deed, dialect)


def _freeze(table: str, deed: str, dialect: str) -> None:
    name = f"frozen_{table}_{deed.lower()}"
    if dialect == "sqlite":
        op.execute(
            f"CREATE TRIGGER {name} BEFORE {deed} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, 'a row of {table} is never altered'); END"
        )
    elif dialect == "postgresql":
        op.execute(
            f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
            f"RAISE EXCEPTION 'a row of {table} is never altered'; END $$"
        )
        op.execute(f"CREATE TRIGGER {name} BEFORE {deed} ON {table} FOR EACH ROW EXECUTE FUNCTION {name}()")


def _ref(column: str, table: str, *, nullable: bool) -> tuple[str, str, bool]:
    return column, table, nullable


def _table(name: str, *columns: Any) -> None:
    """A table of parts: its own columns, references given as (column, table, nullable), and what every part has."""
    refs = [c for c in columns if isinstance(c, tuple)]
    refs += [("conservation_id", "conservation", False)]
    op.create_table(
        name,
        *(c for c in columns if not isinstance(c, tuple)),
        *(sa.Column(column, sa.Integer(), nullable=nullable) for column, _, nullable in refs),
        sa.Column("written_at", UtcMoment(), nullable=False),
        sa.Column("written_by", sa.String(200), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("replaces_id", sa.Integer(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(32), nullable=False),
        *(
            sa.ForeignKeyConstraint([column], [f"{table}.id"], name=op.f(f"fk_{name}_{column}_{table}"))
            for column, table, _ in [*refs, ("replaces_id", name, True)]
        ),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{name}")),
        sa.UniqueConstraint("uid", name=op.f(f"uq_{name}_uid")),
        sa.UniqueConstraint("replaces_id", name=op.f(f"uq_{name}_replaces_id")),
    )
    for column, _, _ in refs:
        op.create_index(op.f(f"ix_{name}_{column}"), name, [column])


def _head() -> None:
    op.create_table(
        "conservation",
        sa.Column("cast_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(400), nullable=False),
        sa.Column("accession", sa.String(400), nullable=False),
        sa.Column("measurements", sa.String(400), nullable=False),
        sa.Column("marks", sa.String(400), nullable=False),
        sa.Column("made_when", sa.String(400), nullable=False),
        sa.Column("site", sa.String(400), nullable=False),
        sa.Column("owner", sa.String(400), nullable=False),
        sa.Column("legal_status", sa.String(400), nullable=False),
        sa.Column("purpose", sa.Text(), nullable=False),
        sa.Column("reference_appearance", sa.Text(), nullable=False),
        sa.Column("alloy_known_by", sa.String(400), nullable=False),
        sa.Column("documenter", sa.String(400), nullable=False),
        sa.Column("started_on", sa.Date(), nullable=True),
        sa.Column("finished_on", sa.Date(), nullable=True),
        sa.Column("state_after", sa.Text(), nullable=False),
        sa.Column("result", sa.Text(), nullable=False),
        sa.Column("limits", sa.Text(), nullable=False),
        sa.Column("recommendations", sa.Text(), nullable=False),
        sa.Column("health_and_waste", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", UtcMoment(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(32), nullable=False),
        sa.ForeignKeyConstraint(["cast_id"], ["cast_piece.id"], name=op.f("fk_conservation_cast_id_cast_piece")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_conservation")),
        sa.UniqueConstraint("uid", name=op.f("uq_conservation_uid")),
    )
    op.create_index(op.f("ix_conservation_cast_id"), "conservation", ["cast_id"])


def _examination() -> None:
    _table(
        "conservation_person",
        sa.Column("name", sa.String(400), nullable=False),
        sa.Column("role", sa.String(400), nullable=False),
        sa.Column("affiliation", sa.String(400), nullable=False),
    )
    _table(
        "conservation_statement",
        sa.Column("sort", sa.String(400), nullable=False),
        sa.Column("topic", sa.String(400), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("place", sa.String(400), nullable=False),
        sa.Column("method", sa.String(400), nullable=False),
        sa.Column("circumstances", sa.String(400), nullable=False),
        sa.Column("rests_on", JsonText(), nullable=False),
        sa.Column("done_by", sa.String(400), nullable=False),
        sa.Column("done_on", sa.Date(), nullable=True),
    )
    _table(
        "conservation_map",
        sa.Column("visit", sa.String(400), nullable=False),
        sa.Column("view", sa.String(400), nullable=False),
        _ref("photograph_id", "photograph", nullable=False),
        sa.Column("outline", JsonText(), nullable=False),
        sa.Column("seen_on", sa.Date(), nullable=True),
        sa.Column("seen_by", sa.String(400), nullable=False),
        sa.Column("circumstances", sa.String(400), nullable=False),
    )
    _table(
        "conservation_zone",
        _ref("map_id", "conservation_map", nullable=False),
        sa.Column("name", sa.String(400), nullable=False),
        sa.Column("term", sa.String(400), nullable=False),
        sa.Column("polygons", JsonText(), nullable=False),
        sa.Column("extent", sa.String(400), nullable=False),
        sa.Column("severity", sa.Integer(), nullable=True),
        sa.Column("activity", sa.String(400), nullable=False),
        sa.Column("adhesion", sa.String(400), nullable=False),
        sa.Column("bead", sa.String(400), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
    )
    _table(
        "conservation_proposal",
        sa.Column("aim", sa.Text(), nullable=False),
        sa.Column("steps", JsonText(), nullable=False),
        sa.Column("alternatives", JsonText(), nullable=False),
        sa.Column("retreatability", sa.Text(), nullable=False),
        sa.Column("risks", sa.Text(), nullable=False),
        sa.Column("reference_appearance", sa.Text(), nullable=False),
        sa.Column("hours_low", sa.Double(), nullable=True),
        sa.Column("hours_high", sa.Double(), nullable=True),
        sa.Column("visits", sa.Integer(), nullable=True),
        sa.Column("cost", sa.String(400), nullable=False),
        sa.Column("drafted_by", sa.String(400), nullable=False),
        sa.Column("drafted_on", sa.Date(), nullable=True),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.UniqueConstraint("conservation_id", "number", name=op.f("uq_conservation_proposal_conservation_id_number")),
    )
    _table(
        "conservation_patch",
        sa.Column("place", sa.String(400), nullable=False),
        sa.Column("agent", sa.String(400), nullable=False),
        sa.Column("strength", sa.Double(), nullable=True),
        sa.Column("strength_unit", sa.String(400), nullable=False),
        sa.Column("dwell_min", sa.Double(), nullable=True),
        sa.Column("tool", sa.String(400), nullable=False),
        sa.Column("area_cm2", sa.Double(), nullable=True),
        sa.Column("effect", sa.String(400), nullable=False),
        sa.Column("harm", sa.String(400), nullable=False),
        sa.Column("result", sa.Text(), nullable=False),
        sa.Column("mildness", sa.Integer(), nullable=True),
        _ref("map_id", "conservation_map", nullable=True),
        sa.Column("spot", JsonText(), nullable=True),
        _ref("reading_before_id", "reading", nullable=True),
        _ref("reading_after_id", "reading", nullable=True),
        sa.Column("done_by", sa.String(400), nullable=False),
        sa.Column("done_on", sa.Date(), nullable=True),
    )


def _work() -> None:
    _table(
        "conservation_action",
        sa.Column("done_on", sa.Date(), nullable=True),
        sa.Column("done_by", sa.String(400), nullable=False),
        sa.Column("did", sa.String(400), nullable=False),
        sa.Column("zone", sa.String(400), nullable=False),
        sa.Column("how", sa.Text(), nullable=False),
        sa.Column("tool", sa.String(400), nullable=False),
        sa.Column("agent", sa.String(400), nullable=False),
        sa.Column("temperature_c", sa.Double(), nullable=True),
        sa.Column("temperature_by", sa.String(400), nullable=False),
        sa.Column("passes", sa.Integer(), nullable=True),
        sa.Column("dwell_min", sa.Double(), nullable=True),
        sa.Column("air_c", sa.Double(), nullable=True),
        sa.Column("humidity_pct", sa.Double(), nullable=True),
        sa.Column("metal_c", sa.Double(), nullable=True),
        sa.Column("result", sa.Text(), nullable=False),
        sa.Column("hours", sa.Double(), nullable=True),
        sa.Column("proposal", sa.Integer(), nullable=True),
        sa.Column("deviation", sa.Text(), nullable=False),
        sa.Column("deviation_why", sa.Text(), nullable=False),
        sa.Column("consent", sa.String(400), nullable=False),
    )
    _table(
        "conservation_authority",
        sa.Column("what", sa.String(400), nullable=False),
        sa.Column("who", sa.String(400), nullable=False),
        sa.Column("capacity", sa.String(400), nullable=False),
        sa.Column("in_writing", sa.String(400), nullable=False),
        sa.Column("dated", sa.Date(), nullable=True),
        sa.Column("proposal", sa.Integer(), nullable=True),
        _ref("deviation_id", "conservation_action", nullable=True),
        sa.Column("scope", sa.Text(), nullable=False),
    )
    _table(
        "conservation_material",
        sa.Column("way", sa.String(400), nullable=False),
        sa.Column("name", sa.String(400), nullable=False),
        _ref("action_id", "conservation_action", nullable=True),
        sa.Column("substance", sa.String(400), nullable=False),
        sa.Column("cas", sa.String(400), nullable=False),
        _ref("lot_id", "lot", nullable=True),
        sa.Column("composition", JsonText(), nullable=False),
        sa.Column("supplier", sa.String(400), nullable=False),
        sa.Column("batch_number", sa.String(400), nullable=False),
        sa.Column("quantity", sa.Double(), nullable=True),
        sa.Column("quantity_unit", sa.String(400), nullable=False),
        sa.Column("left_g", sa.Double(), nullable=True),
        sa.Column("left_words", sa.String(400), nullable=False),
        sa.Column("zone", sa.String(400), nullable=False),
        sa.Column("kept", sa.String(400), nullable=False),
    )
    _table(
        "conservation_sample",
        sa.Column("what", sa.String(400), nullable=False),
        sa.Column("place", sa.String(400), nullable=False),
        sa.Column("purpose", sa.String(400), nullable=False),
        sa.Column("label", sa.String(400), nullable=False),
        sa.Column("kept", sa.String(400), nullable=False),
        sa.Column("result", sa.Text(), nullable=False),
        sa.Column("done_by", sa.String(400), nullable=False),
        sa.Column("done_on", sa.Date(), nullable=True),
    )
    _table(
        "conservation_bath",
        sa.Column("name", sa.String(400), nullable=False),
        sa.Column("measured", sa.String(400), nullable=False),
        sa.Column("scheme", sa.String(400), nullable=False),
        sa.Column("solution", sa.String(400), nullable=False),
        sa.Column("supply", sa.Double(), nullable=True),
        sa.Column("object_g", sa.Double(), nullable=True),
        sa.Column("target_share", sa.Double(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
    )
    _table(
        "conservation_bath_reading",
        _ref("bath_id", "conservation_bath", nullable=False),
        sa.Column("bath_number", sa.Integer(), nullable=True),
        sa.Column("hours", sa.Double(), nullable=True),
        sa.Column("reading_value", sa.Double(), nullable=True),
        sa.Column("volume_ml", sa.Double(), nullable=True),
        sa.Column("temperature_c", sa.Double(), nullable=True),
        sa.Column("done_by", sa.String(400), nullable=False),
        sa.Column("done_on", sa.Date(), nullable=True),
    )


def _afterwards() -> None:
    _table(
        "conservation_layer",
        sa.Column("product", sa.String(400), nullable=False),
        sa.Column("sort", sa.String(400), nullable=False),
        sa.Column("composition", JsonText(), nullable=False),
        _ref("lot_id", "lot", nullable=True),
        sa.Column("batch_number", sa.String(400), nullable=False),
        sa.Column("coats", sa.Integer(), nullable=True),
        sa.Column("used_g", sa.Double(), nullable=True),
        sa.Column("area_m2", sa.Double(), nullable=True),
        sa.Column("thickness_um", sa.Double(), nullable=True),
        sa.Column("application", sa.String(400), nullable=False),
        sa.Column("cure_h", sa.Double(), nullable=True),
        sa.Column("air_c", sa.Double(), nullable=True),
        sa.Column("humidity_pct", sa.Double(), nullable=True),
        sa.Column("metal_c", sa.Double(), nullable=True),
        sa.Column("zone", sa.String(400), nullable=False),
        sa.Column("done_by", sa.String(400), nullable=False),
        sa.Column("done_on", sa.Date(), nullable=True),
    )
    _table(
        "conservation_image",
        _ref("photograph_id", "photograph", nullable=False),
        sa.Column("role", sa.String(400), nullable=False),
        sa.Column("view", sa.String(400), nullable=False),
        sa.Column("light", sa.String(400), nullable=False),
        sa.Column("position", sa.String(400), nullable=False),
        sa.Column("in_frame", JsonText(), nullable=False),
        sa.Column("done_by", sa.String(400), nullable=False),
        sa.Column("done_on", sa.Date(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
    )
    _table(
        "conservation_care",
        sa.Column("trigger", sa.String(400), nullable=False),
        sa.Column("task", sa.String(400), nullable=False),
        sa.Column("limit_value", sa.Double(), nullable=True),
        sa.Column("every_months", sa.Double(), nullable=True),
        sa.Column("responsible", sa.String(400), nullable=False),
        sa.Column("from_day", sa.Date(), nullable=True),
    )
    _table(
        "conservation_care_visit",
        _ref("item_id", "conservation_care", nullable=False),
        sa.Column("done_on", sa.Date(), nullable=True),
        sa.Column("done_by", sa.String(400), nullable=False),
        sa.Column("reading_value", sa.Double(), nullable=True),
        sa.Column("finding", sa.String(400), nullable=False),
        sa.Column("done", sa.Text(), nullable=False),
    )
    _table(
        "conservation_signature",
        sa.Column("signed", sa.String(400), nullable=False),
        sa.Column("version", sa.Integer(), nullable=True),
        sa.Column("who", sa.String(400), nullable=False),
        sa.Column("capacity", sa.String(400), nullable=False),
        sa.Column("how", sa.String(400), nullable=False),
        sa.Column("dated", sa.Date(), nullable=True),
        sa.Column("sha256", sa.String(64), nullable=False),
    )
    _table(
        "conservation_copy",
        sa.Column("given_to", sa.String(400), nullable=False),
        sa.Column("what", sa.String(400), nullable=False),
        sa.Column("form", sa.String(400), nullable=False),
        sa.Column("done_on", sa.Date(), nullable=True),
        sa.Column("receipt", sa.String(400), nullable=False),
    )
