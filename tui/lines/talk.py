"""A person says a line, the studio answers in lines."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from patina.errors import Incomplete, NotFound, PatinaError
from patina.language import shown
from tui.lines.plain import lines_of, numbered, plain_line
from tui.lines.records import Row, rows_of, sheet_of
from tui.lines.torch import WORDS, Torch

if TYPE_CHECKING:
    from patina.bench.studio import Studio

PAGE = 20
HELP = (
    "finishes, bench, tiles, casts, pieces, agreed, shelf, works: a list. A number: open that line of the list. "
    "more: the next lines. R1, T3, C2: open a record. find WORDS: look for a record. with: what hangs together with "
    "the record. back: the record before. work W1: the torch. "
    "Any command of patina, such as: mix R19 --area '1.8 m2'. help TOPIC: the handbook. quit: leave."
)


class Printed(str):
    """A line that a command printed: it is in the reader's language already, or is the content of a file."""

    __slots__ = ()


class Talk:
    """The studio line by line. run: carries out a command of the command line and gives what it printed."""

    def __init__(self, studio: Studio, run: Callable[[list[str]], str]):
        self.studio = studio
        self.run = run
        self.rows: list[Row] = []
        self.shown_to = 0
        self.opened: list[str] = []
        self.torch: Torch | None = None

    def greeting(self) -> list[str]:
        """Where one is, and what can be said."""
        name = self.studio.setting("studio_name") or self.studio.where
        return [plain_line(f"patina, {name}."), shown("Say help for the words, quit to leave.")]

    def answer(self, line: str) -> list[str]:
        """What is answered to a line; a trouble is told in its own words."""
        try:
            found = self._torch(line) if self.torch is not None else self._said(line)
        except Incomplete as troubles:
            found = [f"{t.what} {t.remedy}" for t in troubles.troubles]
        except PatinaError as trouble:
            found = [f"{trouble.title}. {trouble.what} {trouble.remedy}"]
        return [text if isinstance(text, Printed) else shown(text) for text in found]

    def _torch(self, line: str) -> list[str]:
        assert self.torch is not None
        if line.strip() == "x":
            self.torch = None
            return ["Left. The work stays open and is taken up where it was."]
        return self.torch.say(line)

    def _said(self, line: str) -> list[str]:
        try:
            words = shlex.split(line)
        except ValueError:
            raise NotFound("A quotation mark is left open.", "Close it, or leave it out.") from None
        word, rest = words[0].casefold(), words[1:]
        if word.isdigit() and not rest:
            return self._open(self._of_list(int(word)))
        if word == "help" and not rest:
            return [HELP]
        known = {"more": self._more, "with": self._with, "back": self._back}
        if word in known and not rest:
            return known[word]()
        if word == "find":
            return self._find(" ".join(rest))
        if word == "work":
            return self._work(rest[0] if rest else "")
        if not rest and word[:1] in "rtcmlb" and word[1:].isdigit():
            return self._open(word.upper())
        try:
            self._list(rows_of(self.studio, word) if not rest else [])
        except NotFound:
            return self._ran(words)
        return self._more() if not rest else self._ran(words)

    def _ran(self, words: list[str]) -> list[str]:
        return [Printed(line) for line in self.run(words).splitlines()]

    def _list(self, rows: Iterable[Row]) -> None:
        self.rows, self.shown_to = list(rows), 0

    def _more(self) -> list[str]:
        if not self.rows:
            return ["The list is empty."]
        page = self.rows[self.shown_to : self.shown_to + PAGE]
        if not page:
            return ["That was all."]
        lines = numbered([*self.rows[: self.shown_to], *page])[self.shown_to :]
        self.shown_to += len(page)
        left = len(self.rows) - self.shown_to
        return [*lines, f"{left} more: say more." if left else "That is all."]

    def _of_list(self, number: int) -> str:
        if not 1 <= number <= len(self.rows):
            raise NotFound(f"The list has no line {number}.", "Say the name of a list first, such as tiles.")
        return self.rows[number - 1][0]

    def _open(self, id: str) -> list[str]:
        lines = lines_of(sheet_of(self.studio, id))
        if not self.opened or self.opened[-1] != id:
            self.opened.append(id)
        return lines

    def _back(self) -> list[str]:
        if len(self.opened) < 2:
            return ["There is no record before this one."]
        self.opened.pop()
        return lines_of(sheet_of(self.studio, self.opened[-1]))

    def _find(self, text: str) -> list[str]:
        from patina.bench.finding.search import find_records

        self._list((f.id, f.name, f.kind) for f in find_records(self.studio, text))
        return self._more() if self.rows else [f"Nothing is called like '{text}'."]

    def _with(self) -> list[str]:
        from patina.bench.finding.related import related

        if not self.opened:
            return ["Open a record first."]
        self._list((f.id, f.name, f.kind) for f in related(self.studio, self.opened[-1]))
        return self._more()

    def _work(self, id: str) -> list[str]:
        if not id:
            self._list(rows_of(self.studio, "works"))
            return self._more() if self.rows else ["No work is open. The Bench begins one: key w there."]
        self.torch = Torch(self.studio, id)
        return [*self.torch.stands(), WORDS]
