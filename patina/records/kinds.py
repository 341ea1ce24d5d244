"""Every kind of record there is: whoever asks for them has every table known."""

from __future__ import annotations

from patina.records import (
    brought_tables,
    bundle_tables,
    matching_tables,
    people_tables,
    photograph_tables,
    piece_tables,
    reading_tables,
    safety_tables,
    seal_tables,
    shelf_tables,
    tables,
    treatment_tables,
    treatment_tables_more,
    work_tables,
)
from patina.records.base import Base, Record


def record_kinds() -> list[type[Record]]:
    """Every kind of record that the log follows."""
    assert brought_tables and bundle_tables and matching_tables and people_tables and safety_tables and seal_tables
    assert photograph_tables and piece_tables
    assert reading_tables and shelf_tables and tables and treatment_tables and treatment_tables_more and work_tables
    return [m.class_ for m in Base.registry.mappers if issubclass(m.class_, Record)]
