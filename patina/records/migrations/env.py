"""Alembic's door: runs the migrations on the connection that the engine hands over."""

from __future__ import annotations

from alembic import context

from patina.records.tables.base import Base
from patina.records.tables.kinds import record_kinds

record_kinds()  # then Base.metadata knows every table

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    transactional_ddl=False,  # the engine holds one transaction around all of it
    render_as_batch=True,
    compare_type=True,
)
context.run_migrations()
