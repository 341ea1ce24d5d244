"""Every kind of record there is: whoever asks for them has every table known."""

from __future__ import annotations

from patina.records.tables import (
    brought,
    bundles,
    first,
    matching,
    people,
    photographs,
    pieces,
    readings,
    safety,
    seals,
    shelf,
    treatments,
    treatments_more,
    work,
)
from patina.records.tables.base import Base, Record


def record_kinds() -> list[type[Record]]:
    """Every kind of record that the log follows."""
    assert brought and bundles and first and matching and people and photographs and pieces and readings
    assert safety and seals and shelf and treatments and treatments_more and work
    return [m.class_ for m in Base.registry.mappers if issubclass(m.class_, Record)]
