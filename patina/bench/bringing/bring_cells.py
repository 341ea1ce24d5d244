"""One cell of an old table, turned into the text that a form of the program takes; what it leaves open is asked.

A reader never supposes a unit, an order of dates or a meaning: it takes the answer given once for the column, or says
what is to be asked.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from patina.bench.bringing.bring_fields import answers_of, cell_words
from patina.errors import BadQuantity, PatinaError
from patina.units import tidy

QUANTITIES = ("length", "mass", "area", "volume", "amount", "percent", "duration", "coverage", "strength", "window")
FIGURES = ("number", "whole", "price")
NOTHING = "leave empty"
REFUSE = "refuse"
OF_ONE = "of 1"  # a share such as 0.98, as spreadsheets keep per cent without showing it so
_NUM = r"(?:\d[\d .,']*\s+)?\d+\s*/\s*\d+|\d[\d.,']*(?:\s\d{3}(?!\d))*(?:[.,]\d+)?|[.,]\d+"
_BARE = re.compile(rf"[+-]?\s*(?:{_NUM})")
_RANGE = re.compile(rf"({_NUM})\s*([^\d\s-]\S*)?\s*(-|to|bis|à|\.\.)\s*({_NUM})\s*(.*)", re.I)
_REMARK = re.compile(r"(.*\d.*?)\s*[(\[]([^()\[\]]*)[)\]]$", re.S)
_BASIS = re.compile(r"(by\s+)?(weight|volume|vol|wt|mass)|[wvm]\s*/\s*[wvm]", re.I)
_ABOUT = re.compile(r"(?:ca|circa|approx|about|etwa|env|environ|c)\.?\s+(?=[\d.,½¼¾])|[~≈]\s*", re.I)


class Ask(BadQuantity):
    """A cell that cannot be read before something is answered for its column."""

    title = "Something is to be answered first"


@dataclass
class Asked:
    """A question in the making: examples are the cells that led to it."""

    about: str
    asks: str
    options: tuple[tuple[str, str], ...]
    free: bool
    cells: list[str] = field(default_factory=list)


@dataclass
class Column:
    """What reads the cells of one column. answers: by what was asked. asked: every question that came up, answered
    or not. comma_cells: the column writes decimals with a comma somewhere."""

    heading: str
    reads: str
    answers: Mapping[str, str]
    choices: Sequence[str] = ()
    comma_cells: bool = False
    asked: dict[str, Asked] = field(default_factory=dict)

    def need(self, about: str, asks: str, cell: str, options: Sequence[tuple[str, str]], *, free: bool = False) -> str:
        """The answer to a question. Raises Ask while it is open, BadQuantity where such cells are to stay out."""
        all_options = tuple(options)
        if REFUSE not in [o for o, _ in all_options]:
            all_options += ((REFUSE, "rows with it are not brought in"),)
        question = self.asked.setdefault(about, Asked(about, asks, all_options, free))
        if cell not in question.cells and len(question.cells) < 5:
            question.cells.append(cell)
        answer = self.answers.get(about, "")
        if answer == REFUSE:
            raise self.refuse(f"'{cell}': {asks} Such rows stay out, as was answered.", "Mend the cell.")
        if not answer or not (free or answer in [o for o, _ in question.options]):
            raise Ask(f"'{cell}': {asks}", "Answer it once for the column.", field=self.heading)
        return answer

    def refuse(self, what: str, remedy: str = "Correct the cell.") -> BadQuantity:
        """A trouble of this column."""
        return BadQuantity(what, remedy, field=self.heading)


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell as a form takes it, and what else it said."""

    text: str
    notes: tuple[str, ...] = ()


def read_cell(column: Column, written: str) -> Cell:
    """What a cell says. Raises Ask where the column has to be asked, BadQuantity for what cannot be read."""
    if column.reads in (*QUANTITIES, *FIGURES, "day", "moment", "choice") and _says_nothing(written):
        return Cell("")
    if column.reads in QUANTITIES or column.reads in FIGURES:
        return _amount(column, written)
    if column.reads in ("day", "moment"):
        from patina.bench.bringing.bring_dates import read_day

        return Cell(read_day(column, written))
    if column.reads == "choice":
        return Cell(_choice(column, written))
    return Cell("" if written.casefold() in ("n/a", "n.a.") else written)


def _says_nothing(written: str) -> bool:
    return not written or written.casefold() in cell_words().get("empty", ())


def _choice(column: Column, written: str) -> str:
    word = " ".join(written.split()).casefold()
    for allowed in column.choices:
        if word == allowed or word in cell_words().get(allowed, ()):
            return allowed
    options = [*((c, c) for c in column.choices), (NOTHING, "as if nothing stood there")]
    answer = column.need(f"value {word}"[:80], f"'{written}' is not among the program's words.", written, options)
    return "" if answer == NOTHING else answer


def _amount(column: Column, written: str) -> Cell:
    """A figure with its unit, whatever else stands in the cell."""
    text, notes = _without_remark(tidy(written))
    text = _one_decimal_mark(column, written, text)
    if column.reads == "strength" and text == tidy(written) and _is_strength(written):
        return Cell(written)
    if column.reads == "window":
        return Cell(_window(column, written, text), tuple(notes))
    ranged = _range_of(column, text)
    if ranged is not None:
        text = _of_range(column, written, ranged)
        notes.append(f"written as '{written}'")
    if column.reads in FIGURES:
        return _figure(column, written, text, notes)
    return Cell(_with_unit(column, written, text), tuple(notes))


def _is_strength(written: str) -> bool:
    from patina.chemistry.strength import parse_strength

    try:
        parse_strength(written)
    except PatinaError:
        return False
    return True


def _without_remark(text: str) -> tuple[str, list[str]]:
    notes: list[str] = []
    about = _ABOUT.match(text)
    if about:
        text = text[about.end() :]
        notes.append("about")
    remark = _REMARK.fullmatch(text)
    if remark and not _BASIS.fullmatch(remark.group(2).strip()) and remark.group(2).strip():
        text, said = remark.group(1).strip(), remark.group(2).strip()
        notes.append(said)
    return text, notes


def _one_decimal_mark(column: Column, written: str, text: str) -> str:
    """Figures such as 1,234 mean two things; so do 1.234 where the column writes decimals with a comma."""
    for mark, name in ((",", "comma"), (".", "point")):
        found = re.search(rf"(?<![\d.,])([1-9]\d{{0,2}})\{mark}(\d{{3}})(?![\d.,])", text)
        if not found or (mark == "." and not column.comma_cells):
            continue
        small, large = f"{found.group(1)}.{found.group(2)}", found.group(1) + found.group(2)
        options = [("decimal", f"{small}"), ("thousands", f"{large}")]
        answer = column.need(name, f"Does the {name} in the figures part decimals or thousands?", written, options)
        text = text[: found.start()] + (small if answer == "decimal" else large) + text[found.end() :]
    return text


def _range_of(column: Column, text: str) -> re.Match[str] | None:
    found = _RANGE.fullmatch(text)
    if found is None:
        return None
    by_word = found.group(3).casefold() in ("to", "à")
    if column.reads == "strength" and by_word and ("part" in text.casefold() or not found.group(5)):
        return None  # "1 part to 20" and "1 to 20" are parts
    return found


def _of_range(column: Column, written: str, found: re.Match[str]) -> str:
    low, high, unit = found.group(1).strip(), found.group(4).strip(), (found.group(5) or found.group(2) or "").strip()
    middle = f"{(_plain_number(column, low) + _plain_number(column, high)) / 2:.10g}"
    options = [
        (REFUSE, "the row is not brought in"),
        ("low", f"{low} {unit}".strip()),
        ("middle", f"{middle} {unit}".strip()),
        ("high", f"{high} {unit}".strip()),
    ]
    answer = column.need("range", "The cell gives two figures where one is kept.", written, options)
    return dict(options)[answer]


def _plain_number(column: Column, text: str) -> float:
    from patina.units import number

    try:
        return number(text)
    except PatinaError as trouble:
        raise column.refuse(trouble.what, trouble.remedy) from None


def _figure(column: Column, written: str, text: str, notes: list[str]) -> Cell:
    found = re.fullmatch(rf"([+-]?\s*(?:{_NUM}))\s*([^\d]*)", text)
    if not found:
        raise column.refuse(f"'{written}' is no number.", "Write a number.")
    if found.group(2):
        notes.append(f"written as '{written}'")
    figure = found.group(1).replace(" ", "")
    if column.reads == "whole":
        value = _plain_number(column, figure.lstrip("+"))
        if value != int(value):
            raise column.refuse(f"'{written}' is no whole number.", "Write a whole number.")
        return Cell(str(int(value)), tuple(notes))
    return Cell(figure.lstrip("+"), tuple(notes))


def _with_unit(column: Column, written: str, text: str) -> str:
    """The figure with a unit that reads one way only."""
    known = answers_of(column.reads)
    if _BARE.fullmatch(text):
        units = [o for about, _, found in known if about == "unit" for o in found]
        unit = column.need(
            "unit",
            "The figures have no unit.",
            written,
            [(o, _per_cent(column, text) if o == OF_ONE else _shows(column, f"{text} {o}")) for o in units],
        )
        return _per_cent(column, text) if unit == OF_ONE else f"{text} {unit}"
    ratio = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*(?::|/|to)\s*(\d+(?:[.,]\d+)?)", text, re.I)
    if column.reads == "strength" and ratio:
        first, second = ratio.groups()
        ways = [
            (w, f"{first} {w} {second}".replace("part", "part" if first == "1" else "parts"))
            for w in ("part in", "part to")
        ]
        answer = column.need(
            "word :",
            "Is it parts in the whole, or parts to the other?",
            written,
            [(w, _shows(column, t)) for w, t in ways],
        )
        return dict(ways)[answer]
    figure = re.match(rf"({_NUM})\s*(.*)", text)
    if not figure:
        return text
    word = re.sub(r"\s*/\s*", "/", figure.group(2)).casefold()
    for about, asked, options in known:
        if about == "word" and word in asked:
            ways = [(o, _shows(column, f"{figure.group(1)} {o}")) for o in options]
            asks = f"What is meant by '{figure.group(2)}'?"
            return f"{figure.group(1)} {column.need(f'word {asked[0]}', asks, written, ways)}"
    return text


def _per_cent(column: Column, text: str) -> str:
    return f"{100 * _plain_number(column, text):.10g} %"


def _shows(column: Column, text: str) -> str:
    """What an answer makes of a cell, with its figure in g/L or per cent where that helps to choose."""
    if column.reads != "strength":
        return text
    from patina.chemistry.strength import parse_strength

    try:
        strength = parse_strength(text)
    except PatinaError:
        return text
    if strength.basis == "parts_in":
        return f"{text} = {100 * strength.value:.3g} %"
    if strength.basis == "parts_to":
        return f"{text} = {100 * strength.value / (1 + strength.value):.3g} %"
    if strength.basis == "g_per_l":
        return f"{text} = {strength.value:.4g} g/L" if "g/L" not in text else text
    return f"{text} = {10 * strength.value:.4g} g/L" if strength.basis == "pct_wv" else text


def _window(column: Column, written: str, text: str) -> str:
    """A lowest and a highest temperature, each with its unit and parted by a bar; one figure is both."""
    found = _RANGE.fullmatch(text)
    low, high = (found.group(1), found.group(4)) if found else (text, "")
    unit = (found.group(5) or found.group(2) or "").strip() if found else ""
    if not found:
        single = re.match(rf"({_NUM})\s*(.*)", text)
        if not single:
            raise column.refuse(f"'{written}' is no temperature.", "Write it like 80-95 °C.")
        low, unit = single.group(1), single.group(2)
    parts = [_with_unit(column, written, f"{n.strip()} {unit}".strip()) for n in (low, high) if n]
    return " | ".join(parts if len(parts) == 2 else parts * 2)


Reader = Callable[[str], Cell]
