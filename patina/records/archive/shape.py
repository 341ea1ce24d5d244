"""What a bundle knows of the tables: their columns, what points where, what stays out and why.

Everything is read off the tables themselves, so that a new table is in every bundle by itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from sqlalchemy import Boolean, Date, Float, Integer, String, inspect

from patina.records.tables.base import Base, JsonText, Money, Record, UtcMoment
from patina.records.tables.own_columns import OwnWords

# tables that are no files of their own in a bundle, and why nothing is lost by it
NOT_A_FILE = {
    "change": "the log of changes stands in data/log",
    "chain_head": "the end of the log stands in data/log and in bundle.json",
    "given_change": "the log that came with an earlier bundle stands in data/log/earlier",
    "revision_substance": "worked out from the recipe each revision holds",
    "word": "the index of the search, worked out from search_text",
    "gram": "the index of the middles of words, worked out from search_text",
    "deed_done": "keys of journals that this studio's own machines replay into it",
    "setting": "settings of the studio stand in data/settings.json, and only in a bundle of the whole studio",
    "alembic_version": "the version of the schema stands in bundle.json",
}
# settings that belong to one machine
NOT_A_SETTING = {"photographs": "where this machine keeps its photographs"}

# A row that a chosen row points at comes along as what is needed to understand it. What in turn points at that row
# stays out, unless the row makes no sense without it: a column that must be filled, in a row nobody edits by itself.
NEEDED_WITH = {
    ("reading", "tile_id"): "what a tile that is referred to looks like",
    ("photograph_use", "tile_id"): "what a tile that is referred to looks like",
    ("making_fact", "tile_id"): "how a tile that is referred to was made",
}
# What joins two rows comes along wherever both are there, whatever leads to them: the first column, then the others of
# which one is filled.
JOINS = {"photograph_use": ("photograph_id", "tile_id", "cast_id")}
# What the report of a record shows beside it: rows that point at the same row, by their table and the column of both.
BESIDE = {"conservation": (("reading", "cast_id"), ("treatment", "cast_id"))}
NOT_NEEDED_WITH = {
    ("photograph_use", "photograph_id"): "other tiles and casts that the photograph shows",
    ("conservation_map", "photograph_id"): "other records that show the photograph",
    ("conservation_image", "photograph_id"): "other records that show the photograph",
    ("concession", "master_id"): "other casts made to the same agreed finish",
    ("tile_holding", "tile_id"): "who holds the tile is part of the agreed finish it belongs to",
    ("treatment", "cast_id"): "the work on other casts",
    ("conservation", "cast_id"): "other treatments of the cast",
    ("owner_care", "cast_id"): "what owners of other casts were told",
}
# References that are not followed from a chosen row to what points at it, with the kinds of bundle in which they are.
STOPS: dict[tuple[str, str], tuple[str, str]] = {
    ("cast_piece", "master_id"): ("M", "casts are in the bundle of the series or piece, not in that of a recipe"),
    ("master", "recipe_id"): ("", "whose finish was agreed on is nobody else's business"),
    ("master", "tile_id"): ("", "whose finish was agreed on is nobody else's business"),
    ("master_zone", "tile_id"): ("", "whose finish was agreed on is nobody else's business"),
    ("master_zone", "light_tile_id"): ("", "whose finish was agreed on is nobody else's business"),
    ("master_zone", "dark_tile_id"): ("", "whose finish was agreed on is nobody else's business"),
    ("tile_holding", "tile_id"): ("T", "who holds the tile is part of the agreed finish it belongs to"),
    ("batch", "revision_id"): ("", "pots belong to the tile or cast they were used on"),
    ("work", "revision_id"): ("", "works belong to their tile or cast"),
    ("treatment", "revision_id"): ("", "treatments belong to their cast"),
    ("exposure", "revision_id"): ("", "what persons were exposed to is kept by the studio"),
    ("exposure", "batch_id"): ("", "what persons were exposed to is kept by the studio"),
    ("recipe_draft", "recipe_id"): ("", "a draft is no record of the recipe yet"),
}
# References that may lead out of a bundle: the cell is left empty there, and said so.
CUT_WHERE_OUTSIDE = {("lot_movement", "batch_id"): "the pot is not part of this bundle"}
# What tells how much was used where a recipe is withheld.
TELLS_QUANTITIES = {("treatment", "as_done"), ("tile", "as_done"), ("tile", "search_text")}
# Words in which amounts are taken out there.
MAY_TELL_QUANTITIES = {("treatment", "did"), ("treatment", "note"), ("tile", "note"), ("tile", "preparation")}
# Words that hang on no recipe, or on several, out of which amounts are taken wherever a recipe is withheld. What the
# owner is told of care, and what a conservator wrote of a treatment, tell no amounts of a recipe and stay.
WORDS_OF_ANY = {
    ("amendment", "words"),
    ("amendment", "why"),
    ("approval", "remarks"),
    ("batch_use", "why"),
    ("cast_piece", "note"),
    ("concession", "reason"),
    ("lot_movement", "why"),
    ("making_fact", "value"),
    ("master", "note"),
    ("master_terms", "aim"),
    ("photograph_use", "note"),
    ("piece", "note"),
    ("reading", "note"),
    ("reading_withdrawal", "why"),
    ("seal", "statement"),
    ("tile", "note"),
    ("tile", "preparation"),
    ("treatment", "did"),
    ("treatment", "note"),
    ("work", "note"),
    ("work_event", "note"),
}
# What a bundle for an owner leaves empty in any case.
NOT_FOR_OWNERS = {("lot", "price"): "what the studio pays is its own business"}
# Rows known again by their content where their uid is another.
KNOWN_BY = {"photograph": "sha256", "substance": "key"}
# Lists that hold ids of records among other things: where in each entry, None for entries that are ids.
IDS_IN_LISTS: dict[tuple[str, str], int | None] = {
    ("master_zone", "readings"): 0,
    ("conservation_statement", "rests_on"): None,
}


@dataclass(frozen=True, slots=True)
class Column:
    """A column.

    key: its name here and in the log. sort: integer, number, yes or no, text, moment, day, list or money. form: of a
    list, as its table says it ("list[str]", "Any"). length: of a text, None where it has no bound. to: the table it
    points at, None where it points nowhere. derived: worked out from others. default: of a column that an older
    bundle lacks; has_default says whether.
    """

    key: str
    sort: str
    nullable: bool
    length: int | None
    to: str | None
    derived: bool
    has_default: bool
    default: Any
    form: str = ""


@dataclass(frozen=True, slots=True)
class Shape:
    """A table. letter: of its ids. edited: whether its rows may be edited by themselves. words: what it is."""

    name: str
    kind: type[Record]
    letter: str
    edited: bool
    words: str
    columns: tuple[Column, ...]

    @property
    def keys(self) -> tuple[str, ...]:
        """The names of its columns, in the order of the files."""
        return tuple(c.key for c in self.columns)

    @property
    def table(self) -> Any:
        """The table itself."""
        return self.kind.__table__

    @property
    def points_by_kind(self) -> bool:
        """Whether a row names a record by the table (kind) and its number (record_id)."""
        return {"kind", "record_id"} <= set(self.keys)

    def column(self, key: str) -> Column:
        """The column of that name."""
        return next(c for c in self.columns if c.key == key)


@cache
def shapes() -> dict[str, Shape]:
    """Every table of a bundle, a table after those it points at."""
    from patina.records.tables.kinds import record_kinds

    kinds = {kind.__tablename__: kind for kind in record_kinds()}
    order = [table.name for table in Base.metadata.sorted_tables if table.name in kinds]
    return {name: _shape(kinds[name]) for name in order}


@cache
def letters() -> dict[str, str]:
    """Table by the letter of its ids."""
    return {shape.letter: name for name, shape in shapes().items()}


@cache
def pointing_at(table: str) -> tuple[tuple[str, Column], ...]:
    """The tables and columns that point at a table."""
    return tuple((name, c) for name, shape in shapes().items() for c in shape.columns if c.to == table)


def _shape(kind: type[Record]) -> Shape:
    columns = [_column(kind, attribute) for attribute in inspect(kind).column_attrs]
    first = {"id": 0, "uid": 1}
    columns.sort(key=lambda c: first.get(c.key, 2))
    edited = any(c.key == "version" for c in columns) and any(c.key == "created_at" for c in columns)
    words = " ".join((kind.__doc__ or "").split())
    return Shape(kind.__tablename__, kind, kind.LETTER, edited, words, tuple(columns))


def _column(kind: type[Record], attribute: Any) -> Column:
    column = attribute.columns[0]
    key = next(iter(column.foreign_keys), None)
    default = column.default
    scalar = default is not None and default.is_scalar
    return Column(
        key=attribute.key,
        sort=_sort(column.type),
        nullable=bool(column.nullable),
        length=getattr(column.type, "length", None) if isinstance(column.type, String | OwnWords) else None,
        to=None if key is None else key.column.table.name,
        derived=attribute.key in kind.DERIVED,
        has_default=scalar,
        default=default.arg if scalar else None,
        form=_form(kind, attribute.key),
    )


def _form(kind: type[Record], key: str) -> str:
    """What the table's class says a column holds, without its wrapping."""
    said = next((c.__annotations__[key] for c in kind.__mro__ if key in getattr(c, "__annotations__", {})), "")
    return str(said).removeprefix("Mapped[").removesuffix("]").removesuffix("| None").strip()


def _sort(kind: Any) -> str:
    for type_, word in (
        (JsonText, "list"),
        (UtcMoment, "moment"),
        (Money, "money"),
        (Boolean, "yes or no"),
        (Date, "day"),
        (Float, "number"),
        (Integer, "integer"),
        (String, "text"),
        (OwnWords, "text"),
    ):
        if isinstance(kind, type_):
            return word
    raise TypeError(f"a bundle does not know how to write {kind!r}")
