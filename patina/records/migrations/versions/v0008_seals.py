"""Signing off: seals, amendments, withdrawn readings; and rows that are never altered on PostgreSQL as well."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from patina.records.tables.base import JsonText, UtcMoment

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

NEW = ("seal", "amendment", "reading_withdrawal")
# frozen on SQLite since their tables were made; PostgreSQL had nothing of the kind
OLD = (
    *("revision", "change", "treatment", "lot_movement", "batch_weighed", "batch_use"),
    *("work_event", "strip_check", "waste", "danger_answer", "recipe_release", "batch_mark", "sheet_read"),
    *("master_zone", "master_terms", "tile_holding", "concession", "approval", "making_fact", "reading_doubt"),
)
# everything of a reading but whether it is the newest
READING = (
    "tile_id, cast_id, photograph_id, lab_l, lab_a, lab_b, illuminant, observer, source, area, geometry, instrument, "
    "sd, n, uncertainty_de00, wax_state, warmth, read_at, read_by, note, parts, added_at, uid, id"
)
# edited records that can be sealed, with what an edit may not touch once they are
SEALED = {
    "master": "name, lab_l, lab_a, lab_b, formula, limit_de, limit_dl, limit_dc, limit_dh, uncertainty_de00, zone, "
    "tile_id, recipe_id, light, geometry, wax_state, warmth, agreed_by, agreed_on, holders, next_check, note, uid, id",
    "cast_piece": "piece_id, number, alloy, mass_g, wall_mm, area_m2, owner, place, master_id, cast_on, note, uid, id",
}


def upgrade() -> None:
    """To this version."""
    _tables()
    _words = _sqlite if op.get_bind().dialect.name == "sqlite" else _postgresql
    _words()


def _tables() -> None:
    op.create_table(
        "seal",
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("record_id", sa.Integer(), nullable=False),
        sa.Column("covers", JsonText(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("statement", sa.Text(), nullable=False),
        sa.Column("sealed_by", sa.String(length=200), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        *_identity("seal"),
        sa.UniqueConstraint("kind", "record_id", name=op.f("uq_seal_kind_record_id")),
    )
    op.create_table(
        "amendment",
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("record_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("amended_by", sa.String(length=200), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        *_identity("amendment"),
        sa.UniqueConstraint("kind", "record_id", "number", name=op.f("uq_amendment_kind_record_id_number")),
    )
    op.create_table(
        "reading_withdrawal",
        sa.Column("reading_id", sa.Integer(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("withdrawn_by", sa.String(length=200), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        *_identity("reading_withdrawal"),
        sa.ForeignKeyConstraint(["reading_id"], ["reading.id"], name=op.f("fk_reading_withdrawal_reading_id_reading")),
        sa.UniqueConstraint("reading_id", name=op.f("uq_reading_withdrawal_reading_id")),
    )


def _identity(table: str) -> list[sa.schema.SchemaItem]:
    return [
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
        sa.UniqueConstraint("uid", name=op.f(f"uq_{table}_uid")),
    ]


def _sqlite() -> None:
    def refuse(name: str, when: str, table: str, condition: str, words: str) -> None:
        op.execute(
            f"CREATE TRIGGER IF NOT EXISTS {name} BEFORE {when} ON {table} {condition}"
            f"BEGIN SELECT RAISE(ABORT, '{words}'); END"
        )

    for table in NEW:
        for deed in ("UPDATE", "DELETE"):
            refuse(f"frozen_{table}_{deed.lower()}", deed, table, "", f"a row of {table} is never altered")
    refuse("frozen_reading_update", f"UPDATE OF {READING}", "reading", "", "a row of reading is never altered")
    refuse("frozen_reading_delete", "DELETE", "reading", "", "a row of reading is never altered")
    for table, columns in SEALED.items():
        sealed = f"WHEN EXISTS (SELECT 1 FROM seal WHERE kind = '{table}' AND record_id = OLD.id) "
        for deed in (f"UPDATE OF {columns}", "DELETE"):
            name = f"sealed_{table}_{deed.split()[0].lower()}"
            refuse(name, deed, table, sealed, f"a sealed row of {table} is never altered")


def _postgresql() -> None:
    op.execute(
        "CREATE FUNCTION patina_frozen() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "RAISE EXCEPTION 'a row of % is never altered', TG_TABLE_NAME "
        "USING ERRCODE = 'integrity_constraint_violation'; END $$"
    )
    op.execute(
        "CREATE FUNCTION patina_sealed() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "IF EXISTS (SELECT 1 FROM seal WHERE kind = TG_TABLE_NAME AND record_id = OLD.id) THEN "
        "RAISE EXCEPTION 'a sealed row of % is never altered', TG_TABLE_NAME "
        "USING ERRCODE = 'integrity_constraint_violation'; END IF; "
        "IF TG_OP = 'DELETE' THEN RETURN OLD; END IF; RETURN NEW; END $$"
    )

    def refuse(name: str, when: str, table: str, what: str = "frozen", condition: str = "") -> None:
        op.execute(
            f"CREATE TRIGGER {name} BEFORE {when} ON {table} FOR EACH ROW {condition}EXECUTE FUNCTION patina_{what}()"
        )

    for table in (*OLD, *NEW):
        for deed in ("UPDATE", "DELETE"):
            refuse(f"frozen_{table}_{deed.lower()}", deed, table)
    refuse("frozen_reading_update", f"UPDATE OF {READING}", "reading")
    refuse("frozen_reading_delete", "DELETE", "reading")
    refuse("frozen_exposure_update", "UPDATE", "exposure")
    refuse("frozen_exposure_delete", "DELETE", "exposure", condition="WHEN (OLD.keep_until >= CURRENT_DATE) ")
    for table, columns in SEALED.items():
        for deed in (f"UPDATE OF {columns}", "DELETE"):
            refuse(f"sealed_{table}_{deed.split()[0].lower()}", deed, table, "sealed")
