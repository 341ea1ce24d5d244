"""How each reading was taken, and deeds that are done once under an id of their sender."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from patina.records.tables.base import JsonText, UtcMoment

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this version."""
    op.create_table(
        "deed_done",
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("deed", sa.String(length=200), nullable=False),
        sa.Column("records", JsonText(), nullable=False),
        sa.Column("at", UtcMoment(), nullable=False),
        sa.PrimaryKeyConstraint("uid", name=op.f("pk_deed_done")),
    )
    op.create_table(
        "reading_how",
        sa.Column("reading_id", sa.Integer(), nullable=False),
        sa.Column("taken_by", sa.String(length=20), nullable=False),
        sa.Column("chart", sa.String(length=200), nullable=False),
        sa.Column("edition", sa.String(length=20), nullable=False),
        sa.Column("corners", JsonText(), nullable=False),
        sa.Column("area", JsonText(), nullable=False),
        sa.Column("card", sa.Text(), nullable=False),
        sa.Column("flat", sa.Boolean(), nullable=False),
        sa.Column("chart_photograph_id", sa.Integer(), nullable=True),
        sa.Column("again_of_id", sa.Integer(), nullable=True),
        sa.Column("reader", sa.String(length=40), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["reading_id"], ["reading.id"], name=op.f("fk_reading_how_reading_id_reading")),
        sa.ForeignKeyConstraint(["again_of_id"], ["reading.id"], name=op.f("fk_reading_how_again_of_id_reading")),
        sa.ForeignKeyConstraint(
            ["chart_photograph_id"], ["photograph.id"], name=op.f("fk_reading_how_chart_photograph_id_photograph")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading_how")),
        sa.UniqueConstraint("reading_id", name=op.f("uq_reading_how_reading_id")),
        sa.UniqueConstraint("uid", name=op.f("uq_reading_how_uid")),
    )
    for column in ("again_of_id", "chart_photograph_id"):
        op.create_index(op.f(f"ix_reading_how_{column}"), "reading_how", [column])
    sqlite = op.get_bind().dialect.name == "sqlite"
    for table in ("deed_done", "reading_how"):
        for deed in ("UPDATE", "DELETE"):
            head = f"CREATE TRIGGER frozen_{table}_{deed.lower()} BEFORE {deed} ON {table} "
            if sqlite:
                op.execute(head + f"BEGIN SELECT RAISE(ABORT, 'a row of {table} is never altered'); END")
            else:
                op.execute(head + "FOR EACH ROW EXECUTE FUNCTION patina_frozen()")
