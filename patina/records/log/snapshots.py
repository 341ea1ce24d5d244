"""A record as the log of changes keeps it: its own columns as plain values."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import cache
from typing import Any

from sqlalchemy import Float, inspect

from patina.records.tables.base import Record


@cache
def _columns(kind: type[Record]) -> tuple[tuple[str, bool], ...]:
    """The columns the log keeps of a kind of record, each with whether it holds a decimal number."""
    kept = [c for c in inspect(kind).column_attrs if c.key not in kind.DERIVED]
    return tuple((c.key, isinstance(c.columns[0].type, Float)) for c in kept)


def snapshot(row: Record) -> dict[str, Any]:
    """A record's own columns as plain values; derived columns stay out."""
    return {key: _plain(getattr(row, key), decimal) for key, decimal in _columns(type(row))}


def kept_columns(kind: type[Record]) -> list[Any]:
    """The columns that make a snapshot, to be selected without making records of the rows."""
    return [getattr(kind, key) for key, _ in _columns(kind)]


def snapshot_of(kind: type[Record], values: Sequence[Any]) -> dict[str, Any]:
    """The snapshot of a row of ``kept_columns``."""
    return {key: _plain(value, decimal) for (key, decimal), value in zip(_columns(kind), values, strict=True)}


def _plain(value: Any, decimal: bool) -> Any:
    if decimal and value is not None:
        return float(value)  # 3 and 3.0 are one value in the database
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return str(value)
    return value


def really_changed(row: Record) -> bool:
    """Whether more than derived columns and the version of a row is another."""
    state = inspect(row)
    return any(state.attrs[key].history.has_changes() for key, _ in _columns(type(row)) if key != "version")


def snapshot_before(row: Record) -> dict[str, Any]:
    """A record's own columns as they were before the edits that are about to be written."""
    state = inspect(row)
    values = {}
    for key, decimal in _columns(type(row)):
        history = state.attrs[key].history
        values[key] = _plain(history.deleted[0] if history.deleted else getattr(row, key), decimal)
    return values
