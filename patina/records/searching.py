"""Searching: every word must stand in the record's own words, in any order, in any case."""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, and_, or_, true


def holds(text: str, *columns: Any) -> ColumnElement[bool]:
    """The condition that each word of the text stands in one of the columns (levelled in case)."""
    words = text.casefold().split()
    if not words:
        return true()
    return and_(*(or_(*(column.contains(word, autoescape=True) for column in columns)) for word in words))
