"""A record as it is spoken of: its id, and what it is called."""

from __future__ import annotations


def named(id: str | None, name: str = "") -> str:
    """Id and name together; empty where there is no record.

    >>> named("M1", "Heron, turning: dark brown"), named("B1"), named(None)
    ('M1 Heron, turning: dark brown', 'B1', '')
    """
    return f"{id} {name}".strip() if id else ""
