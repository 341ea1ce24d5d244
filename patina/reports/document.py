"""What a report is made of: a title, facts and blocks, the same for paper and for a page on screen.

A builder fills a :class:`Document` from a sheet; ``publish`` sets it as PDF, picture or HTML. Every
text is plain: no writer reads it as markup. Lengths on paper are in mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

Align = Literal["left", "right", "centre"]
# How grave a caution is: the frame grows and the word changes, so that colour is never needed.
Level = Literal["note", "mind", "caution", "serious", "critical"]


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading within the report. level: 2 for a part, 3 within it."""

    text: str
    level: int = 2


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph. lead: bold words before it. size: of the letters."""

    text: str
    lead: str = ""
    size: Literal["normal", "small", "large"] = "normal"
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Caution:
    """A box that must not be missed. lead: bold words first. do: what to do, bold, last."""

    text: str
    lead: str = ""
    do: str = ""
    level: Level = "mind"


@dataclass(frozen=True, slots=True)
class Facts:
    """Names and values side by side. columns: how many beside each other on paper."""

    items: tuple[tuple[str, str], ...]
    columns: int = 4


@dataclass(frozen=True, slots=True)
class Items:
    """A list. kind: plain lines, boxes to tick, or numbered boxes to tick."""

    items: tuple[str, ...]
    kind: Literal["plain", "ticks", "numbered"] = "plain"


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table. strong: bold, first. text: after it. small: lines below. foot: bold and small, last.
    figure: set as large as it can be read from. tick: a box to tick. blank_mm: a line to write on.
    swatch: a colour block, of "#rrggbb", or "" for one that was not read."""

    text: str = ""
    strong: str = ""
    small: tuple[str, ...] = ()
    foot: str = ""
    figure: str = ""
    tick: bool = False
    blank_mm: float = 0.0
    swatch: str | None = None
    pictograms: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table. width: "auto", "1fr", "20mm". head: empty where the column needs no words on paper;
    name: what it is called for somebody who cannot see it then."""

    head: str
    width: str = "auto"
    align: Align = "left"
    name: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A table whose head is said again on every page. rows: of as many cells as columns. caption: what it shows.
    large: to be read with wet gloves."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    caption: str = ""
    large: bool = False

    def __post_init__(self) -> None:
        if any(len(row) != len(self.columns) for row in self.rows):
            raise ValueError("a row of the table has not as many cells as there are columns")


@dataclass(frozen=True, slots=True)
class Tone:
    """A tone of an uneven surface. share: 0 to 1. words: its share and figures."""

    hex: str
    share: float
    words: str


@dataclass(frozen=True, slots=True)
class Swatch:
    """A colour block with its name and figures. hex: None where nothing was read. exact: False where a screen can
    only come near it."""

    name: str
    hex: str | None
    figures: str
    tones: tuple[Tone, ...] = ()
    more: str = ""
    exact: bool = True


@dataclass(frozen=True, slots=True)
class Swatches:
    """Colour blocks edge to edge, as two pieces are laid beside each other."""

    items: tuple[Swatch, ...]


@dataclass(frozen=True, slots=True)
class Outline:
    """A zone drawn on a photograph. points: x, y as shares of its width and height. mark: a letter or number
    that stands in it and in the legend. hex: of the line. dash: in shares of the width, empty for a whole line.
    small: the mark stands above it, since it is too small to hold one."""

    points: tuple[tuple[float, float], ...]
    mark: str
    hex: str = "#000000"
    dash: tuple[float, ...] = ()
    small: bool = False


@dataclass(frozen=True, slots=True)
class Photo:
    """A photograph. content: JPEG or PNG. alt: what is to be seen, for somebody who does not see it.
    mm_across: what its width stands for, None where that is not known. scaled: a scale is to be seen in it all the
    same. notes: chart, camera, readings."""

    content: bytes
    suffix: str
    caption: str
    alt: str = ""
    width_px: int | None = None
    height_px: int | None = None
    mm_across: float | None = None
    notes: tuple[str, ...] = ()
    outlines: tuple[Outline, ...] = ()
    scaled: bool = False


@dataclass(frozen=True, slots=True)
class Photographs:
    """Photographs side by side. columns: how many beside each other."""

    items: tuple[Photo, ...]
    columns: int = 2


@dataclass(frozen=True, slots=True)
class Chart:
    """A drawn figure. svg: refers to nothing outside itself. alt: what it shows, with its figures."""

    svg: str
    caption: str
    alt: str


@dataclass(frozen=True, slots=True)
class Band:
    """The head of a pot: its name and how much of it."""

    text: str
    right: str = ""


@dataclass(frozen=True, slots=True)
class Marks:
    """Hazard pictograms with signal word. name: of the pot, empty where it stands above. side_mm: of a pictogram."""

    pictograms: tuple[str, ...]
    signal: str
    name: str = ""
    text: str = ""
    strong: str = ""
    side_mm: float = 16.0


@dataclass(frozen=True, slots=True)
class Blanks:
    """Lines to write on: label and length in mm."""

    fields: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Signatures:
    """Who signs: role, name and date where they are known, else lines to write on."""

    lines: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class PageBreak:
    """What follows begins on a new page."""


@dataclass(frozen=True, slots=True)
class Group:
    """Blocks that stay on one page."""

    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Beside:
    """Blocks beside each other. shares: widths of the columns, in parts of the whole."""

    columns: tuple[tuple[Block, ...], ...]
    shares: tuple[float, ...] = ()


Block = (
    Heading
    | Paragraph
    | Caution
    | Facts
    | Items
    | Table
    | Swatches
    | Photographs
    | Chart
    | Band
    | Marks
    | Blanks
    | Signatures
    | PageBreak
    | Group
    | Beside
)


@dataclass(frozen=True, slots=True)
class Document:
    """A report. kind: "Batch sheet". record: its short id. qr: lines of the code, none where empty. made_on: the
    only date it carries of itself. language: of its words, as BCP 47 has it. footer: stands on every page."""

    kind: str
    title: str
    subtitle: str
    record: str
    made_on: date
    facts: tuple[tuple[str, str], ...]
    blocks: tuple[Block, ...]
    qr: tuple[str, ...] = ()
    footer: str = ""
    language: str = "en"
    large_facts: bool = False


def photographs_of(blocks: tuple[Block, ...]) -> int:
    """How many photographs stand in the blocks, those within groups too."""
    found = 0
    for block in blocks:
        if isinstance(block, Photographs):
            found += len(block.items)
        elif isinstance(block, Group):
            found += photographs_of(block.blocks)
        elif isinstance(block, Beside):
            found += sum(photographs_of(column) for column in block.columns)
    return found


def cells(*texts: str) -> tuple[Cell, ...]:
    """A row of plain texts."""
    return tuple(Cell(text) for text in texts)


def table(columns: tuple[Column, ...], rows: tuple[tuple[Cell, ...], ...], caption: str = "") -> tuple[Block, ...]:
    """A table, or nothing where it has no rows."""
    return (Table(columns, rows, caption),) if rows else ()
