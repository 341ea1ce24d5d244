"""How a treatment report says figures, days and names."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from patina.reports import figures
from patina.reports.colour_words import Picture
from patina.reports.document import Block, Cell, Chart, Column, Heading, Table
from patina.sheets.history import SealSheet

NOT_SAID = "not said"


@dataclass(frozen=True, slots=True)
class Shown:
    """What stands in a treatment report beside its sheet. pictures: by SHA-256, at print size. salts: the curve of
    each extraction, by its id. names: of condition terms, by key. studio: whose report it is. seal: how the record was
    signed off and amended."""

    pictures: Mapping[str, Picture] = field(default_factory=dict)
    salts: Mapping[str, Chart] = field(default_factory=dict)
    names: Mapping[str, str] = field(default_factory=dict)
    studio: str = ""
    seal: SealSheet | None = None

    def picture(self, sha256: str) -> Picture | None:
        """The photograph of that hash, or of the one that begins so."""
        found = self.pictures.get(sha256)
        if found is not None:
            return found
        return next((p for key, p in self.pictures.items() if sha256 and key.startswith(sha256)), None)

    def term(self, key: str) -> str:
        """A condition term as a person says it."""
        return self.names.get(key, key)


def amount(value: float | None, unit: str, places: int = 1) -> str:
    """A figure with its unit; empty where it was not said.

    >>> amount(12.0, "°C").replace(figures.THIN, " "), amount(None, "h")
    ('12 °C', '')
    """
    return "" if value is None else f"{figures.plain(value, places)}{figures.THIN}{unit}".rstrip()


def joined(words: Iterable[str], between: str = ", ") -> str:
    """The words that are not empty, one after the other."""
    return between.join(w for w in words if w)


def lines(*words: str) -> tuple[str, ...]:
    """The lines that are not empty."""
    return tuple(w for w in words if w)


def said(name: str, value: str) -> str:
    """A value with its name before it; empty where nobody said it."""
    return f"{name}: {value}" if value else ""


def when_who(on: date | None, by: str) -> str:
    """A day and a name."""
    return joined((figures.day(on), by)) or NOT_SAID


def section(
    heading: str, columns: tuple[Column, ...], rows: tuple[tuple[Cell, ...], ...], caption: str = ""
) -> list[Block]:
    """A heading and its table; nothing where there are no rows."""
    return [Heading(heading), Table(columns, rows, caption)] if rows else []
