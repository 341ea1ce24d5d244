"""Readings from an instrument's CSV file.

Columns ``L``, ``a``, ``b`` are needed (also written ``L*``, ``a*``, ``b*``). Others, in any order:
``tile`` or ``cast`` (the id), ``area``, ``n``, ``sd_L``, ``sd_a``, ``sd_b``, ``illuminant`` (D50),
``observer`` (2), ``geometry``, ``instrument``, ``uncertainty_de00``, ``grain_mm`` (size of the mottle),
``wax_state``, ``warmth``, ``read_at`` (ISO form, local time where no zone is given), ``read_by``, ``note``.
A column that is not known is refused: it may say that the numbers mean something else.
"""

from __future__ import annotations

import csv
import io
from datetime import datetime
from pathlib import Path

from patina.entries import NewReading
from patina.errors import BadQuantity, Incomplete, NotFound, PatinaError
from patina.units import signed_number

LARGEST_FILE_BYTES = 20_000_000
_WORDS = ("area", "illuminant", "observer", "geometry", "instrument", "wax_state", "warmth", "read_by", "note")
_NUMBERS = ("n", "sd_L", "sd_a", "sd_b", "uncertainty_de00", "grain_mm")
_KNOWN = {"l", "a", "b", "tile", "cast", "read_at", *(column.casefold() for column in _NUMBERS), *_WORDS}


def read_readings(path: Path, default: str | None = None) -> list[tuple[str, NewReading]]:
    """The readings of a file, each with the id of its tile or cast (``default`` where a row names none).

    Raises NotFound for a file that cannot be read; Incomplete with every trouble, by row and column.
    """
    header, rows = _rows(path)
    troubles: list[PatinaError] = []
    found: list[tuple[str, NewReading]] = []
    for line, cells in rows:
        row = _Row(path.name, line, dict(zip(header, cells, strict=False)), troubles)
        if len(cells) != len(header):
            row.trouble("", f"{len(cells)} cells where the header has {len(header)}")
            continue
        found.append(row.reading(default))
    if troubles:
        raise Incomplete(troubles[:20])
    if not found:
        raise BadQuantity(f"{path.name} holds no reading.", "Give at least one row under the header.")
    return found


def _rows(path: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    try:
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise BadQuantity(f"{path.name} is larger than 20 MB.", "Give the readings in smaller files.")
        text = path.read_bytes().decode("utf-8-sig")
        first = text.split("\n", 1)[0]
        delimiter = max(",;\t", key=first.count)
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
        lines = [(reader.line_num, [c.strip() for c in cells]) for cells in reader if any(c.strip() for c in cells)]
    except (OSError, UnicodeDecodeError, csv.Error) as trouble:
        reason = getattr(trouble, "strerror", None) or "it is not a CSV text file"
        raise NotFound(f"{path.name} cannot be read: {reason}.", "Give a CSV file saved as UTF-8 text.") from None
    if not lines:
        raise BadQuantity(f"{path.name} is empty.", "Its first row must name the columns L, a, b.")
    header = [h.casefold().replace("*", "").replace(" ", "_") for h in lines[0][1]]
    missing = [c for c in ("L", "a", "b") if c.casefold() not in header]
    unknown = [h for h, word in zip(lines[0][1], header, strict=True) if word not in _KNOWN]
    if missing or unknown or len(set(header)) != len(header):
        says = [f"has no column {', '.join(missing)}"] if missing else []
        says += [f"has columns that are not known: {', '.join(unknown)}"] if unknown else []
        says += ["names a column twice"] if len(set(header)) != len(header) else []
        raise BadQuantity(
            f"{path.name} {' and '.join(says)}.",
            f"Known columns: L, a, b, {', '.join(_WORDS)}, tile, cast, {', '.join(_NUMBERS)}, read_at.",
        )
    return header, lines[1:]


class _Row:
    """One row of the file; what is wrong with it goes into the shared list."""

    def __init__(self, name: str, line: int, cells: dict[str, str], troubles: list[PatinaError]):
        self.name, self.line, self.cells, self.troubles = name, line, cells, troubles

    def trouble(self, column: str, what: str) -> None:
        """Note what is wrong, with row and column."""
        place = f"{self.name}, row {self.line}" + (f", column {column}" if column else "")
        self.troubles.append(BadQuantity(f"{place}: {what}.", "Correct that cell; nothing was taken in.", field=column))

    def number(self, column: str, fallback: float | None) -> float | None:
        """A number with a full stop, or one decimal comma; the fallback where the cell is empty."""
        text = self.cells.get(column.casefold(), "")
        if not text:
            return fallback
        value = signed_number(text)
        if value is None:
            self.trouble(column, f"'{text}' is no number")
            return fallback
        return value

    def needed(self, column: str) -> float:
        """A number that must be there; 0 stands in once its lack has been noted."""
        if not self.cells.get(column.casefold(), ""):
            self.trouble(column, "is empty")
        return self.number(column, None) or 0.0

    def moment(self) -> datetime | None:
        """The time of reading, None where none is given."""
        text = self.cells.get("read_at", "")
        if not text:
            return None
        try:
            return datetime.fromisoformat(text)
        except ValueError:
            self.trouble("read_at", f"'{text}' is no date and time like 2026-03-14T09:30")
            return None

    def reading(self, default: str | None) -> tuple[str, NewReading]:
        """The tile or cast and the entry."""
        tile, cast = self.cells.get("tile", ""), self.cells.get("cast", "")
        if tile and cast:
            self.trouble("cast", "a reading belongs to a tile or a cast, not to both")
        target = tile or cast or default or ""
        if not target:
            self.trouble("tile", "names no tile, and none was given for the file")
        spread = [self.number(c, None) for c in ("sd_L", "sd_a", "sd_b")]
        known = [s for s in spread if s is not None]
        if len(known) not in (0, 3):
            self.trouble("sd_L", "gives a spread for some of L, a, b and not for others")
        n = self.number("n", 1.0) or 0.0
        if n != int(n):
            self.trouble("n", f"'{n:g}' is no whole number")
        words = {w: self.cells[w] for w in _WORDS if self.cells.get(w)}
        return target, NewReading(
            L=self.needed("L"),
            a=self.needed("a"),
            b=self.needed("b"),
            source="instrument",
            sd=(known[0], known[1], known[2]) if len(known) == 3 else None,
            n=int(n),
            uncertainty_de00=self.number("uncertainty_de00", None),
            grain_mm=self.number("grain_mm", None),
            scale_from="the instrument's file" if self.cells.get("grain_mm") else "",
            read_at=self.moment(),
            **words,  # type: ignore[arg-type]
        )
