"""The sentences of the program and their translation.

A message is a text with gaps: "{0} of {1} passes". It is read off the source (see ``templates``),
translated in a PO file, and recognised again in what is shown; what fills a gap is translated in turn.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, field
from importlib.resources import files

_GAP = re.compile(r"\{(\d)\}")
# Where a text is made of sentences or of parts, each is looked up by itself.
_SEAMS = (re.compile(r"(\n+)"), re.compile(r"((?<=[.!?:]) +|; |  +| · | — )"), re.compile(r"(, )"))
_DEEPEST = 6


@dataclass(frozen=True, slots=True)
class _Pattern:
    shape: re.Pattern[str]
    order: tuple[str, ...]
    said: str
    weight: int


@dataclass
class Catalogue:
    """What is known of a language. whole: texts without gaps. patterns: those with gaps, by their first letters."""

    whole: dict[str, str] = field(default_factory=dict)
    patterns: dict[str, list[_Pattern]] = field(default_factory=lambda: defaultdict(list))

    @classmethod
    def of(cls, language: str) -> Catalogue:
        """The catalogue of a language, from all its PO files."""
        import polib

        made = cls()
        for path in sorted(files("patina.language").joinpath(language).iterdir(), key=lambda p: p.name):
            if path.name.endswith(".po"):
                for entry in polib.pofile(path.read_text("utf-8")):
                    if entry.msgstr and not entry.obsolete:
                        made.add(entry.msgid, entry.msgstr)
        for same in made.patterns.values():
            same.sort(key=lambda p: -p.weight)
        return made

    def add(self, message: str, said: str) -> None:
        """Take in a message and how it is said."""
        parts = _GAP.split(message)
        if len(parts) == 1:
            self.whole[message] = said
            return
        literals, order = parts[0::2], tuple(parts[1::2])
        shape = "".join(re.escape(t) + ("(.+?)" if n < len(order) else "") for n, t in enumerate(literals))
        weight = sum(len(t) for t in literals)
        self.patterns[literals[0][:4]].append(_Pattern(re.compile(shape, re.DOTALL), order, said, weight))

    def translate(self, text: str, depth: int = 0) -> str:
        """A text in this language; what is not known stays as it is.

        >>> known = Catalogue(); known.add("{0} of {1} passes", "{0} von {1} Gängen"); known.add("thin", "dünn")
        >>> known.translate("3 of 4 passes"), known.translate("thin, 3 of 4 passes"), known.translate("else")
        ('3 von 4 Gängen', 'dünn, 3 von 4 Gängen', 'else')
        """
        bare = text.strip()
        if not bare or depth > _DEEPEST or not re.search(r"[^\W\d_]", bare):
            return text
        found = self._one(bare, depth)
        if found is None:
            found = self._parts(bare, depth)
        return text if found == bare else text.replace(bare, found, 1)

    def _one(self, text: str, depth: int) -> str | None:
        if (said := self.whole.get(text)) is not None:
            return said
        if text[-1] in ".:" and (said := self.whole.get(text[:-1])) is not None:
            return said + text[-1]
        for begins in {text[:n] for n in range(5)}:
            for pattern in self.patterns.get(begins, ()):
                match = pattern.shape.fullmatch(text)
                if match is not None:
                    gaps = {
                        gap: self.translate(value, depth + 1)
                        for gap, value in zip(pattern.order, match.groups(), strict=True)
                    }
                    return _GAP.sub(lambda g, gaps=gaps: gaps.get(g[1], ""), pattern.said)  # type: ignore[misc]
        return None

    def _parts(self, text: str, depth: int) -> str:
        for seam in _SEAMS:
            parts = seam.split(text)
            if len(parts) > 1:
                return "".join(p if n % 2 else self.translate(p, depth + 1) for n, p in enumerate(parts))
        return text
