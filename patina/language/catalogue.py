"""The sentences of the program and their translation.

A message is a text with gaps: "{0} of {1} passes". It is read off the source (see ``templates``),
translated in a PO file, and recognised again in what is shown; what fills a gap is translated in turn.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from importlib.resources import files
from itertools import pairwise

from patina.own_words import is_own

_GAP = re.compile(r"\{(\d)\}")
_NAMED = re.compile(r"\{[a-z_]+\}")
# Where a text is made of sentences or of parts, each is looked up by itself.
_COMMAS = re.compile(r"(, )(?![^()]*\))")
_SOURCE = re.compile(r"( )(?=\[[A-Z][A-Z0-9]+[\w;, -]*\]$)")  # before the source at the end of a sentence
_SEAMS = (
    re.compile(r"(\n+)"),
    re.compile(r"(  +| · | — )"),
    _SOURCE,
    re.compile(r"(; )"),
    re.compile(r"( )(?=GHS\d\d)"),
    re.compile(r"((?<=\b[HP]\d{3}) +)(?=[A-Z][a-z])"),
    re.compile(r"((?<=\bEUH\d{3}) +)(?=[A-Z][a-z])"),
    re.compile(r"((?<=[.!?]) +)"),
    re.compile(r"((?<=:) +)"),
    _COMMAS,
    re.compile(r"( )(?=by [A-Z])"),
    re.compile(r"( )(?=\([^()]*\)$)"),
)
_STOP = re.compile(r"[:;.] ")
_ENDED = re.compile(r"[a-z\d)\]][.!?] +[A-Z]")
_SIGN = re.compile(r"[\N{BLACK UP-POINTING TRIANGLE}△▼✓✗○●◂▸•·→?!~+\-]+ +(?=\S)")
_DEEPEST = 6
_WORD = re.compile(r"[^\W\d_]+")
# A message of nothing but these would turn half of what somebody wrote: it is used between figures and names alone.
_JOINTS = frozenset(
    re.findall(
        r"\w+",
        "a against an and are as at before beside by each for from if in into is it its not of off on one or out over"
        " per than that the then this through to under until up with within without",
    )
)
_REMEMBERED = 8192
BY_HAND = "by_hand.po"
_TWOFOLD = frozenset(("pass", "passes"))  # as a count one thing, without a figure another
_FIGURES = re.compile(r"[\d.,\s\N{MINUS SIGN}±×/]+")
_PLURAL = re.compile(r"^(?:es|s)?(?![^\W\d_])")


@dataclass(frozen=True, slots=True)
class _Pattern:
    literals: tuple[str, ...]
    order: tuple[str, ...]
    said: str
    weight: int
    joint: bool  # no word in it bears a meaning by itself
    checked: int  # so many gaps, from the first, must hold figures, names or what is known

    def match(self, text: str) -> tuple[str, ...] | None:
        """What fills the gaps of a text that is this message, each as short as can be; None where it is another."""
        first, *middle, last = self.literals
        if not text.startswith(first) or not text.endswith(last):
            return None
        at, values = len(first), []
        for before, literal in pairwise((first, *middle)):
            # Of two gaps without anything between, the second takes all: often one of them is empty.
            found = text.find(literal, at + _least(before)) if literal else at
            if found < 0:
                return None
            values.append(text[at:found])
            at = found + len(literal)
        end = len(text) - len(last)
        return (*values, text[at:end]) if at + _least(self.literals[-2]) <= end else None

    def is_one(self, values: tuple[str, ...]) -> bool:
        """Whether no sentence ends in a gap where the message goes on with a small word."""
        behind = zip(values, self.literals[1:], strict=True)
        return not any(_ENDED.search(v) and text[:1] == " " and text[1:2].islower() for v, text in behind)

    def said_with(self, values: tuple[str, ...], translate: Callable[[str], str]) -> str:
        """The translation with its gaps filled; an English plural's "s" has no place in it."""

        def fill(before: str, value: str) -> str:
            if before[-1:] == "'":
                return value  # what somebody typed is quoted as it was typed
            return translate(_PLURAL.sub("", value, count=1) if _ends_in_letter(before) else value)

        filled = {gap: fill(*pair) for gap, *pair in zip(self.order, self.literals, values, strict=False)}
        return _GAP.sub(lambda gap: filled.get(gap[1], ""), self.said)


def _ends_in_letter(literal: str) -> bool:
    return literal[-1:].isalpha()


def _least(before: str) -> int:
    """How long a gap is at least: behind a letter it may be empty, as in "pass{0}"."""
    return 0 if _ends_in_letter(before) else 1


def _key(literals: list[str]) -> str:
    """The longest word that stands by itself in a message; by it the message is found. Empty where there is none."""
    words = [""]
    for n, literal in enumerate(literals):
        for word in _WORD.finditer(literal):
            alone = (word.start() > 0 or n == 0) and (word.end() < len(literal) or n == len(literals) - 1)
            words += [word[0]] if alone else []
    return max(words, key=len)


def book(language: str, name: str) -> dict[str, str]:
    """The messages of one PO file with their translation, which is quickly read."""
    import polib

    text = files("patina.language").joinpath(language, name).read_text("utf-8")
    return {e.msgid: e.msgstr for e in polib.pofile(text) if e.msgstr and not e.obsolete}


@dataclass
class Catalogue:
    """What is known of a language. whole: texts without gaps. patterns: those with gaps, by a word in them."""

    whole: dict[str, str] = field(default_factory=dict)
    patterns: dict[str, list[_Pattern]] = field(default_factory=lambda: defaultdict(list))
    _remembered: dict[tuple[str, bool, int], str | None] = field(default_factory=dict)

    @classmethod
    def of(cls, language: str) -> Catalogue:
        """The catalogue of a language, from all its PO files."""
        import polib

        made = cls()
        for path in sorted(files("patina.language").joinpath(language).iterdir(), key=lambda p: p.name):
            if path.name.endswith(".po"):
                for entry in polib.pofile(path.read_text("utf-8")):
                    if entry.msgstr and not entry.obsolete:
                        made.add(entry.msgid, entry.msgstr, first=path.name == BY_HAND)
        return made

    def add(self, message: str, said: str, *, first: bool = False) -> None:
        """Take in a message and how it is said. first: it is tried before all others."""
        for n, name in enumerate(dict.fromkeys(_NAMED.findall(message))):
            message, said = message.replace(name, f"{{{n}}}"), said.replace(name, f"{{{n}}}")
        if message[:2] in (", ", "; ") and said[:2] == message[:2]:
            self.add(message[2:], said[2:], first=first)  # behind a seam it is looked up without it
        parts = _GAP.split(message)
        if len(parts) == 1:
            self.whole[message] = said
            if len(message) > 3:
                self.whole.setdefault(message.upper(), said.upper())
            return
        literals, order = parts[0::2], tuple(parts[1::2])
        weight = sum(len(t) for t in literals) + (1000 if first else 0)
        bearing = sum(word not in _JOINTS for t in literals for word in _WORD.findall(t))
        short = bearing == 1 and not re.search(r"[:;,.(]", message) and weight % 1000 <= (11 if len(order) == 1 else 8)
        checked = (0 if bearing else 1) if first else len(order) if short or not bearing else 0
        self.patterns[_key(literals)].append(_Pattern(tuple(literals), order, said, weight, not bearing, checked))

    def forget(self) -> None:
        """What was worked out is worked out anew: a word is known to be a person's by now."""
        self._remembered.clear()

    def translate(self, text: str, depth: int = 0) -> str:
        """A text in this language; what is not known stays as it is.

        >>> known = Catalogue(); known.add("{0} of {1} passes", "{0} von {1} Gängen"); known.add("thin", "dünn")
        >>> known.translate("3 of 4 passes"), known.translate("thin, 3 of 4 passes"), known.translate("else")
        ('3 von 4 Gängen', 'dünn, 3 von 4 Gängen', 'else')
        """
        bare = text.strip()
        if "\n" in bare and bare not in self.whole:  # a page is read line by line
            return "\n".join(self.translate(line, depth) for line in text.split("\n"))
        if not bare or depth > _DEEPEST or is_own(bare) or not re.search(r"[^\W\d_]", bare):
            return text
        found = (
            self.whole.get(bare)
            or self._sourced(bare)
            or self._ending_known(bare, depth, head_too=True)
            or self._one(bare, depth)
        )
        if found is None and (sign := _SIGN.match(bare)) is not None:
            found = sign[0] + self.translate(bare[sign.end() :], depth)
        if found is None:
            found = self._parts(bare, depth)
        if found == bare:
            found = self._one(bare, depth, joints=True) or bare
        return text if found == bare else text.replace(bare, found, 1)

    def _sourced(self, text: str) -> str | None:
        """A whole message with its source behind it; None where it is none."""
        cut = _SOURCE.search(text)
        said = None if cut is None else self.whole.get(text[: cut.start()])
        return None if cut is None or said is None else said + text[cut.start() :]

    def _one(self, text: str, depth: int, *, joints: bool = False) -> str | None:
        if (said := self.whole.get(text)) is not None:
            return said
        asked = (text, joints, depth)
        if asked not in self._remembered:
            if len(self._remembered) > _REMEMBERED:
                self._remembered.clear()
            self._remembered[asked] = None  # also what is asked again while it is being looked for
            self._remembered[asked] = self._by_pattern(text, depth, joints=joints)
        return self._remembered[asked]

    def _by_pattern(self, text: str, depth: int, *, joints: bool) -> str | None:
        small = text[0].lower() + text[1:]
        if small != text and (said := self.whole.get(small)) is not None:
            return said[:1].upper() + said[1:]
        if text[-1] in ".:" and (said := self.whole.get(text[:-1])) is not None:
            return said + text[-1]
        signed = _SIGN.match(text) is not None  # a gap in front would swallow the sign
        near = [p for word in dict.fromkeys(["", *_WORD.findall(text)]) for p in self.patterns.get(word, ())]
        for pattern in sorted(near, key=lambda p: -p.weight):
            if pattern.joint is not joints or (signed and not pattern.literals[0]):
                continue
            values = pattern.match(text)
            if values is not None and pattern.is_one(values) and self._fits(pattern, values, depth):
                made = pattern.said_with(values, lambda value: self.translate(value, depth + 1))
                return made[:1].upper() + made[1:] if text[0].isupper() and pattern.said[:1] == "{" else made
        return None

    def _fits(self, pattern: _Pattern, values: tuple[str, ...], depth: int) -> bool:
        """Whether "{0} of {1}", "{0} left" and the like stand beside figures, names and what is known, not in
        somebody's words."""
        if _counts(pattern.literals) and not _FIGURES.fullmatch(values[0]):
            return False  # "1 pass" is a coat, "whole: pass" a verdict
        values = values[: pattern.checked]
        if not values:
            return True
        if any(_STOP.search(v) for v in values):
            return False  # more than a name or a figure: it is taken apart first
        known = [v in self.whole or self.translate(v, depth + 1) != v for v in values]
        plain = [_like_a_name(v) or is_own(v) for v in values]
        sure = any(known) or any(c.isdigit() for v in values for c in v) or bool(pattern.literals[0])
        return sure and all(k or p for k, p in zip(known, plain, strict=True))

    def _parts(self, text: str, depth: int) -> str:
        if text[-1] == ":" and (bare := self.translate(text[:-1], depth + 1)) != text[:-1]:
            return bare + ":"
        if (ended := self._ending_known(text, depth)) is not None:
            return ended
        for seam in _SEAMS:
            parts = seam.split(text)
            if len(parts) > 1:
                said = [p if n % 2 else self.translate(p, depth + 1) for n, p in enumerate(parts)]
                if seam is _COMMAS and not self._mostly_known(parts[::2], said[::2]):
                    return text
                return "".join(said)
        return text

    def _ending_known(self, text: str, depth: int, *, head_too: bool = False) -> str | None:
        """A text that ends in sentences of the program which are one message; None where it does not.

        head_too: only where something is known of what stands before them as well.
        """
        for cut in sorted((m for seam in _SEAMS for m in seam.finditer(text)), key=lambda m: m.start()):
            head, end = text[: cut.start()], text[cut.end() :]
            ended = self._whole(end)
            if ended is None or not any(seam.search(end) for seam in _SEAMS):
                continue
            said = self.translate(head, depth + 1)
            if said != head or not head_too:
                return said + cut[0] + ended
        return None

    def _whole(self, text: str) -> str | None:
        """A text without gaps, with or without the full stop behind it."""
        said = self.whole.get(text)
        if said is None and text[-1:] == "." and (bare := self.whole.get(text[:-1])) is not None:
            said = bare + "."
        return said

    def _mostly_known(self, parts: list[str], said: list[str]) -> bool:
        """Whether most of a list is the program's own: a word or two within somebody's sentence are left alone."""
        known = sum(p != s or p in self.whole or _like_a_name(p) for p, s in zip(parts, said, strict=True))
        return 2 * known > len(parts)


def _counts(literals: tuple[str, ...]) -> bool:
    """Whether a message is a count with its noun, such as "{0} passes" or "pass {0}"."""
    return len(literals) == 2 and "".join(literals).strip() in _TWOFOLD


def _like_a_name(text: str) -> bool:
    """Figures with units, marks, and names in capitals."""
    return all(w[0].isupper() or (len(w) <= 2 and w not in _JOINTS) or w in ("min", "ppm") for w in _WORD.findall(text))
