"""The handbook: one text file for each topic, the same for the terminal, the screens and the page.

English lies in this folder, another language in a folder of its own under the same file names; a topic that is not
there is read in English.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files

from patina.errors import NotFound


@dataclass(frozen=True, slots=True)
class Topic:
    """A topic. name: what is typed, such as "mixing". title: its heading. text: Markdown, heading included."""

    name: str
    title: str
    text: str


@cache
def topics(language: str = "en") -> tuple[Topic, ...]:
    """All topics in the order of reading, each in that language where it is written in it, else in English."""
    home = files("patina.handbook")
    there = home.joinpath(language)
    names = sorted(path.name for path in home.iterdir() if path.name.endswith(".md"))
    return tuple(
        _topic(name, (own if (own := there.joinpath(name)).is_file() else home.joinpath(name)).read_text("utf-8"))
        for name in names
    )


def topic(name: str, language: str = "en") -> Topic:
    """The topic of that name or title, or the only one that begins with it. Raises NotFound with the nearest names.

    >>> topic("mix").title
    'Mixing'
    >>> topic("ansetzen", "de").name
    'mixing'
    """
    wanted = name.strip().casefold().replace(" ", "-")
    known = {t.name: t for t in topics(language)}
    begun = {n for n, t in known.items() for called in (n, _typed(t.title)) if wanted and called.startswith(wanted)}
    if wanted in known:
        return known[wanted]
    if len(begun) == 1:
        return known[begun.pop()]
    near = get_close_matches(wanted, known, 3) or list(known)
    raise NotFound(f"The handbook has no topic '{name}'.", f"Topics with a like name: {', '.join(near)}.")


def _typed(title: str) -> str:
    return title.casefold().replace(" ", "-")


def plain(text: str) -> str:
    """Markdown as a terminal shows it: without the marks that only a page needs.

    >>> plain("# Mixing\\n\\n**reserve**: L\\\\* of `5 g/L`\\n```sh\\npatina mix\\n```")
    'MIXING\\n\\nreserve: L* of 5 g/L\\n    patina mix'
    """
    lines, code = [], False
    for line in text.splitlines():
        if line.startswith("```"):
            code = not code
        elif code:
            lines.append(f"    {line}")
        elif line.startswith("!["):
            continue
        elif line.startswith("#"):
            lines.append(line.lstrip("# ").upper())
        else:
            line = re.sub(r"\[([^\]]+)\]\([^)]+\)", r"\1", line)
            lines.append(re.sub(r"\*\*(.+?)\*\*|`(.+?)`|(?<!\\)\*(.+?)(?<!\\)\*", _inner, line).replace("\\*", "*"))
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)).strip("\n")


def _inner(found: re.Match[str]) -> str:
    return next(group for group in found.groups() if group is not None)


def _topic(filename: str, text: str) -> Topic:
    name = filename.removesuffix(".md").split("-", 1)[1]
    return Topic(name, text.splitlines()[0].lstrip("# "), text)
