"""A treatment record that was signed off is never altered; grains of readings are guarded on PostgreSQL as well."""

from __future__ import annotations

from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

HEAD_COLUMNS = (
    "cast_id, name, accession, measurements, marks, made_when, site, owner, legal_status, purpose, "
    "reference_appearance, alloy_known_by, documenter, started_on, finished_on, state_after, result, limits, "
    "recommendations, health_and_waste, note, uid, id"
)


def upgrade() -> None:
    """To this version."""
    sqlite = op.get_bind().dialect.name == "sqlite"
    for deed, when in (("update", f"UPDATE OF {HEAD_COLUMNS}"), ("delete", "DELETE")):
        if sqlite:
            op.execute(
                f"CREATE TRIGGER IF NOT EXISTS sealed_conservation_{deed} BEFORE {when} ON conservation "
                "WHEN EXISTS (SELECT 1 FROM seal WHERE kind = 'conservation' AND record_id = OLD.id) "
                "BEGIN SELECT RAISE(ABORT, 'a sealed row of conservation is never altered'); END"
            )
        else:
            op.execute(
                f"CREATE TRIGGER sealed_conservation_{deed} BEFORE {when} ON conservation "
                "FOR EACH ROW EXECUTE FUNCTION patina_sealed()"
            )
            op.execute(
                f"CREATE TRIGGER frozen_reading_grain_{deed} BEFORE {deed.upper()} ON reading_grain "
                "FOR EACH ROW EXECUTE FUNCTION patina_frozen()"
            )
