"""What every command shares: its options, the studio it works on, and how it prints."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

import click

from patina.errors import Refused
from patina.language import shown

if TYPE_CHECKING:
    from patina.bench.studio import Studio

F = TypeVar("F", bound=Callable[..., Any])


def common(command: F) -> F:
    """The options that every command takes: --json and --studio."""
    command = click.option("--json", "as_json", is_flag=True, help="Print exactly one JSON document.")(command)
    return click.option("--studio", metavar="WHERE", help="A folder or a database URL.")(command)


def named_studio(where: str | None) -> str | None:
    """The words behind --studio. Raises Refused where an option stands in place of them."""
    if where is not None and (not where.strip() or where.startswith("-")):
        raise Refused(
            f"--studio is followed by '{where}', which names no studio.",
            "Give a folder or a database URL; write ./ in front of a folder whose name begins with a dash.",
        )
    return where


@contextmanager
def the_studio(studio: str | None) -> Iterator[Studio]:
    """The studio named on the command, before the command, in PATINA_STUDIO, or the usual one."""
    from patina.bench.settings import read_as_here
    from patina.bench.studio import open_studio

    with open_studio(named_studio(studio if studio is not None else _before()), as_name=said_name()) as opened:
        read_as_here(opened)
        yield opened


def said_name() -> str | None:
    """Who is at work, where --as stands in front of the command."""
    name: str | None = (click.get_current_context().find_root().obj or {}).get("as")
    return name


def name_of_studio(studio: str | None) -> str | None:
    """The studio as it was named: on the command, before it, or in PATINA_STUDIO; None for the usual one."""
    return named_studio(studio if studio is not None else _before()) or os.environ.get("PATINA_STUDIO") or None


def _before() -> str | None:
    """The studio named in front of the command."""
    where: str | None = (click.get_current_context().find_root().obj or {}).get("studio")
    return where


@contextmanager
def studio_if_named(studio: str | None) -> Iterator[Studio | None]:
    """The studio named behind or before the command or in PATINA_STUDIO; None where nobody names one."""
    if studio is None and _before() is None and not os.environ.get("PATINA_STUDIO"):
        yield None
    else:
        with the_studio(studio) as opened:
            yield opened


@contextmanager
def studio_for(recipe: str, studio: str | None) -> Iterator[Studio | None]:
    """The studio that a recipe is looked up in; None for a recipe file where no studio is named."""
    from patina.bench.pots.mixing import recipe_file_of

    if recipe_file_of(recipe) is not None and studio is None and _before() is None:
        yield None
    else:
        with the_studio(studio) as opened:
            yield opened


def say(as_json: bool, document: Any, text: str, *, as_it_is: bool = False) -> None:
    """Print the document as JSON (ASCII, so that no encoding can spoil it), or the text.

    as_it_is: the text is a file's content, not words for a reader.
    Infinite and missing numbers become null.
    """
    if as_json:
        json.dump(_plain(document), sys.stdout, allow_nan=False)
        sys.stdout.write("\n")
    else:
        words = text.rstrip("\n")
        sys.stdout.write((words if as_it_is else shown(words)) + "\n")


class Typed(str):
    """What a person types, such as the name of a field: in a table it stands as it is to be typed.

    A text that holds such a table is said ``as_it_is``, since its other cells are in the reader's language already.
    """

    __slots__ = ()


def _shown_row(row: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(cell if isinstance(cell, Typed) else shown(cell) for cell in row)


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(v) for v in value]
    if isinstance(value, float) and (value != value or value in (float("inf"), float("-inf"))):
        return None
    return value


def times(n: int, thing: str) -> str:
    """A number of things in words.

    >>> times(1, "record"), times(3, "record")
    ('1 record', '3 records')
    """
    return f"{n} {thing}" if n == 1 else f"{n} {thing}s"


def table(rows: Sequence[tuple[str, ...]], header: tuple[str, ...]) -> str:
    """Rows under a header in columns as wide as their widest cell."""
    header, rows = _shown_row(header), [_shown_row(row) for row in rows]
    widths = [max(len(r[i]) for r in [header, *rows]) for i in range(len(header))]
    lines = ["  ".join(cell.ljust(w) for cell, w in zip(r, widths, strict=True)).rstrip() for r in [header, *rows]]
    return "\n".join(lines)
