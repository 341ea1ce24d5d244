"""Alembic's door: runs the migrations on the connection that the engine hands over."""

from __future__ import annotations

from alembic import context

from patina.records import matching_tables, safety_tables, shelf_tables, tables, work_tables
from patina.records.base import Base

assert (
    matching_tables and safety_tables and shelf_tables and tables and work_tables
)  # imported so that Base.metadata knows every table

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    transactional_ddl=False,  # the engine holds one transaction around all of it
    render_as_batch=True,
    compare_type=True,
)
context.run_migrations()
