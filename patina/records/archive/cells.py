"""How the values of a record are written in a bundle, and read back strictly.

In JSON a value stands as the log of changes keeps it. In CSV a text that a spreadsheet might take for a
formula gets an apostrophe in front of it, and so does a text that begins with one; taking one apostrophe
off gives the text again. In a column that may be empty, an empty cell is "not known" and a single
apostrophe is a text of no characters.
Source: [CSV_FORMULA]
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from patina.errors import Damaged
from patina.records.archive.shape import Column, Shape
from patina.records.tables.base import canonical

# what may begin a formula, in any of the usual spreadsheets, half and full width
BEGINS_A_FORMULA = "=+-@\t\r\n\uff1d\uff0b\uff0d\uff20"
ESCAPE = "'"
DEEPEST = 40
LARGEST_INTEGER = 2**31 - 1
LONGEST_TEXT = 4_000_000
RECORD = "public_id"


def plain(value: Any, column: Column) -> Any:
    """A value of the database as JSON has it."""
    if value is None:
        return None
    if column.sort == "number":
        return float(value)
    if column.sort == "moment":
        return value.astimezone(UTC).isoformat()
    if column.sort == "day":
        return value.isoformat()
    if column.sort == "money":
        return str(value)
    return value


def value_of(said: Any, column: Column, where: str) -> Any:
    """A value of JSON as the database takes it. Raises Damaged where it is of another sort, naming where."""
    if said is None:
        if column.nullable:
            return None
        raise _wrong(where, column, "nothing")
    try:
        return _READ[column.sort](said, column)
    except (TypeError, ValueError, InvalidOperation, OverflowError, RecursionError):
        raise _wrong(where, column, repr(said)[:60]) from None


def _wrong(where: str, column: Column, said: str) -> Damaged:
    return Damaged(f"{where} holds {said} in '{column.key}', where a {column.sort} belongs.", "Use another bundle.")


def _text(said: Any, column: Column) -> str:
    if not isinstance(said, str) or "\0" in said or len(said) > (column.length or LONGEST_TEXT):
        raise ValueError
    said.encode()  # half a character is no text
    return said


def _integer(said: Any, _: Column) -> int:
    if isinstance(said, bool) or not isinstance(said, int) or abs(said) > LARGEST_INTEGER:
        raise ValueError
    return said


def _number(said: Any, _: Column) -> float:
    if isinstance(said, bool) or not isinstance(said, int | float) or not math.isfinite(float(said)):
        raise ValueError
    return float(said) + 0.0  # a database knows no zero below zero


def _yes_or_no(said: Any, _: Column) -> bool:
    if not isinstance(said, bool):
        raise TypeError
    return said


def _moment(said: Any, _: Column) -> datetime:
    moment = datetime.fromisoformat(said)
    if moment.tzinfo is None:
        raise ValueError
    return moment.astimezone(UTC)


def _money(said: Any, _: Column) -> Decimal:
    if not isinstance(said, str) or len(said) > 40 or not Decimal(said).is_finite():
        raise ValueError
    return Decimal(said)


def _list(said: Any, column: Column) -> Any:
    require_sound(said)
    if not _fits(said, column.form):
        raise ValueError
    return said


def _fits(said: Any, form: str) -> bool:
    """Whether a list holds what its column's form says, such as "list[list[float]]"."""
    if form.startswith("list[") and form.endswith("]"):
        return isinstance(said, list) and all(_fits(entry, form[5:-1]) for entry in said)
    if form == "str":
        return isinstance(said, str)
    if form in ("float", "int"):
        return isinstance(said, int | float) and not isinstance(said, bool)
    return True


_READ: dict[str, Any] = {
    "text": _text,
    "integer": _integer,
    "number": _number,
    "yes or no": _yes_or_no,
    "moment": _moment,
    "day": lambda said, _: date.fromisoformat(said),
    "money": _money,
    "list": _list,
}


def require_sound(document: Any, depth: int = 0) -> None:
    """Raises ValueError where a document is nested too deeply, or holds what no database keeps."""
    if depth > DEEPEST:
        raise ValueError("nested too deeply")
    if isinstance(document, str):
        if "\0" in document:
            raise ValueError("a zero character")
        document.encode()
    elif isinstance(document, float):
        if not math.isfinite(document):
            raise ValueError("a number without end")
    elif isinstance(document, dict):
        for key, value in document.items():
            require_sound(key, depth + 1)
            require_sound(value, depth + 1)
    elif isinstance(document, list):
        for value in document:
            require_sound(value, depth + 1)


def parsed(text: str | bytes) -> Any:
    """JSON as this program writes it: no name twice, no number without end. Raises ValueError."""
    try:
        document = json.loads(text, object_pairs_hook=_once, parse_constant=_no_constant)
    except RecursionError:
        raise ValueError("nested too deeply") from None
    require_sound(document)
    return document


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    document = dict(pairs)
    if len(document) != len(pairs):
        raise ValueError("a name twice")
    return document


def _no_constant(name: str) -> Any:
    raise ValueError(name)


def escaped(text: str) -> str:
    """A text that no spreadsheet takes for a formula.

    >>> escaped("=1+1"), escaped("'tis"), escaped("brown")
    ("'=1+1", "''tis", 'brown')
    """
    return ESCAPE + text if text[:1] == ESCAPE or text[:1] in tuple(BEGINS_A_FORMULA) else text


def unescaped(cell: str) -> str:
    """The text behind a cell.

    >>> unescaped("'=1+1"), unescaped("''tis"), unescaped("brown")
    ('=1+1', "'tis", 'brown')
    """
    return cell.removeprefix(ESCAPE)


def cell(said: Any, column: Column) -> str:
    """A value of JSON as a cell of CSV."""
    if said is None:
        return ""
    if column.sort == "list":
        return escaped(canonical(said))
    if column.sort == "yes or no":
        return "yes" if said else "no"
    if column.sort in ("integer", "number"):
        return repr(said)
    if column.nullable and said == "":
        return ESCAPE
    return escaped(said)


def from_cell(text: str, column: Column) -> Any:
    """A cell of CSV as JSON has it. Raises ValueError, TypeError or KeyError for one that cannot be."""
    if text == "" and (column.nullable or column.sort != "text"):
        return None
    if column.sort == "list":
        return parsed(unescaped(text))
    if column.sort == "yes or no":
        return {"yes": True, "no": False}[text]
    if column.sort == "integer":
        return int(text)
    if column.sort == "number":
        return float(text)
    return unescaped(text)


def cells(row: Mapping[str, Any], shape: Shape) -> list[str]:
    """A row as the cells of its line: the id first."""
    return [row[RECORD], *(cell(row[c.key], c) for c in shape.columns)]


def from_cells(line: Sequence[str], shape: Shape) -> dict[str, Any]:
    """The row behind the cells of a line. Raises ValueError, TypeError or KeyError."""
    if len(line) != len(shape.columns) + 1:
        raise ValueError("another number of cells")
    row = {c.key: from_cell(text, c) for c, text in zip(shape.columns, line[1:], strict=True)}
    return {RECORD: line[0], **row}
