"""The end of a point of a care schedule: added to a treatment record, also to one that was signed off."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from patina.records.tables.base import UtcMoment

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None

TABLE = "conservation_care_end"


def upgrade() -> None:
    """To this version."""
    refs = (("item_id", "conservation_care", False), ("conservation_id", "conservation", False))
    op.create_table(
        TABLE,
        sa.Column("done_on", sa.Date(), nullable=True),
        sa.Column("done_by", sa.String(400), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        *(sa.Column(column, sa.Integer(), nullable=nullable) for column, _, nullable in refs),
        sa.Column("written_at", UtcMoment(), nullable=False),
        sa.Column("written_by", sa.String(200), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("replaces_id", sa.Integer(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(32), nullable=False),
        *(
            sa.ForeignKeyConstraint([column], [f"{table}.id"], name=op.f(f"fk_{TABLE}_{column}_{table}"))
            for column, table, _ in (*refs, ("replaces_id", TABLE, True))
        ),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{TABLE}")),
        sa.UniqueConstraint("uid", name=op.f(f"uq_{TABLE}_uid")),
        sa.UniqueConstraint("replaces_id", name=op.f(f"uq_{TABLE}_replaces_id")),
    )
    for column, _, _ in refs:
        op.create_index(op.f(f"ix_{TABLE}_{column}"), TABLE, [column])
    sqlite = op.get_bind().dialect.name == "sqlite"
    for deed in ("UPDATE", "DELETE"):
        name = f"frozen_{TABLE}_{deed.lower()}"
        if sqlite:
            op.execute(
                f"CREATE TRIGGER {name} BEFORE {deed} ON {TABLE} "
                f"BEGIN SELECT RAISE(ABORT, 'a row of {TABLE} is never altered'); END"
            )
        else:
            op.execute(f"CREATE TRIGGER {name} BEFORE {deed} ON {TABLE} FOR EACH ROW EXECUTE FUNCTION patina_frozen()")
