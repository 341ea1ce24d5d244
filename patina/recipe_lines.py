"""Finding the line of a key in a TOML text, so that a message can name it."""

from __future__ import annotations

import re

_HEADER = re.compile(r"^\s*\[\[?\s*([A-Za-z0-9_.\-\" ]+?)\s*\]\]?\s*(#.*)?$")


def line_of(text: str, where: tuple[str | int, ...]) -> int | None:
    """The line (from 1) on which the key at ``where`` stands, or the line of its table where the
    key itself is missing; None where neither is found.

    where: ("solution", 0, "ingredient", 1, "strength") is the strength of the second ingredient of
    the first [[solution]].
    """
    lines = text.splitlines()
    start, end = 0, _next_header(lines, 0)
    header_line: int | None = None
    path: list[str] = []
    parts = list(where)
    while len(parts) >= 2 and isinstance(parts[1], int):
        path.append(str(parts[0]))
        found = _nth_header(lines, ".".join(path), parts[1], start if header_line is not None else 0)
        if found is None:
            return header_line
        header_line = found + 1
        start, end = found + 1, _next_header(lines, found + 1)
        parts = parts[2:]
    if parts:
        key = re.compile(rf"^\s*\"?{re.escape(str(parts[0]))}\"?\s*[.=]")
        for n in range(start, end):
            if key.match(lines[n]):
                return n + 1
    return header_line


def _nth_header(lines: list[str], name: str, index: int, start: int) -> int | None:
    seen = -1
    for n in range(start, len(lines)):
        match = _HEADER.match(lines[n])
        if match and match.group(1).replace('"', "").replace(" ", "") == name:
            seen += 1
            if seen == index:
                return n
    return None


def _next_header(lines: list[str], start: int) -> int:
    for n in range(start, len(lines)):
        if _HEADER.match(lines[n]):
            return n
    return len(lines)
