"""The series report: the register of an edition, its charts, what changed, and what the casts prove."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from patina.reports import figures
from patina.reports.colour_words import COLOUR_NOTE, ColourOf, NearOnly, Picture, always_exact, photographs, swatch
from patina.reports.document import (
    Block,
    Caution,
    Cell,
    Chart,
    Column,
    Document,
    Facts,
    Heading,
    Items,
    Paragraph,
    Swatches,
    Table,
)
from patina.reports.figures_series import LEGEND, series_charts
from patina.sheets.named import named
from patina.sheets.series import SeriesCast, SeriesSheet, SharedRow

SIGNS = {"pass": "✓ pass", "fail": "✗ fail", "cannot be told": "? cannot be told"}
# So many blocks stand beside each other; wider editions go on in the next row.
BLOCKS = 5


def series_document(
    sheet: SeriesSheet,
    *,
    made_on: date,
    colour_of: ColourOf,
    near_only: NearOnly = always_exact,
    studio: str = "",
    more_charts: Sequence[Chart] = (),
    pictures: Sequence[Picture] = (),
) -> Document:
    """The report of an edition. more_charts: ageing of twins and temperatures at the torch. pictures: of the casts."""
    blocks: list[Block] = [Caution(alarm.words, lead="Alarm:", level="serious") for alarm in sheet.alarms]
    blocks += [Heading("What the series says"), Items((*sheet.words, *sheet.variation))]
    blocks += [Heading("The casts beside each other"), *_blocks(sheet, colour_of, near_only)]
    blocks.append(COLOUR_NOTE)
    blocks += [Heading("Register"), _register(sheet, colour_of)]
    if sheet.not_on_record:
        blocks.append(Facts((("numbers not on record", ", ".join(sheet.not_on_record)),), 1))
    charts = series_charts(sheet)
    if charts:
        blocks += [Heading("Charts by cast order"), Paragraph(LEGEND, size="small"), *charts]
    if sheet.changes:
        blocks += [Heading("What changed before a cast"), _changes(sheet)]
    if sheet.intervals:
        blocks += [Heading("What future casts may be expected to be"), Items(tuple(i.words for i in sheet.intervals))]
    if sheet.shared:
        blocks += [Heading("What each cast shares with the one before"), _shared(sheet.shared)]
    if more_charts:
        blocks += [Heading("Ageing and heat"), *more_charts]
    if pictures:
        blocks += [Heading("Photographs"), *photographs(pictures)]
    return Document(
        kind="Series report",
        title=sheet.piece.title,
        subtitle=" · ".join(w for w in (sheet.piece.maker, f"looked at {sheet.zone}, {sheet.state}") if w),
        record=sheet.piece.id,
        made_on=made_on,
        facts=_facts(sheet, made_on),
        blocks=tuple(blocks),
        qr=(f"piece {sheet.piece.id}", sheet.piece.title, figures.day(made_on)),
        footer=", ".join(w for w in (studio, figures.day(made_on)) if w),
    )


def _facts(sheet: SeriesSheet, made_on: date) -> tuple[tuple[str, str], ...]:
    widest = "not known"
    if sheet.widest_de is not None:
        inside = (
            "" if sheet.widest_inside is None else ", inside the limit" if sheet.widest_inside else ", beyond the limit"
        )
        widest = f"ΔE {figures.plain(sheet.widest_de, 1)}{inside}"
    return (
        ("edition", "not stated" if sheet.piece.edition is None else str(sheet.piece.edition)),
        ("casts on record", str(len(sheet.casts))),
        ("read in this state", str(sum(c.lab is not None for c in sheet.casts))),
        ("agreed finish", named(sheet.master, sheet.master_name) or "none"),
        ("order", f"by {sheet.order}"),
        ("farthest apart", widest),
        ("spread between casts", sheet.spread_from or "not known"),
        ("printed", figures.day(made_on)),
    )


def _blocks(sheet: SeriesSheet, colour_of: ColourOf, near_only: NearOnly) -> list[Block]:
    agreed = [] if sheet.centre is None else [swatch("agreed", sheet.centre, colour_of, near_only=near_only)]
    read = [
        swatch(c.label, c.lab, colour_of, more=_beside(c), near_only=near_only)
        for c in sheet.casts
        if c.lab is not None
    ]
    every = [*agreed, *read]
    return [Swatches(tuple(every[n : n + BLOCKS])) for n in range(0, len(every), BLOCKS)]


def _beside(cast: SeriesCast) -> str:
    return "" if cast.delta_e is None else f"ΔE {figures.plain(cast.delta_e, 1)} from what was agreed"


def _register(sheet: SeriesSheet, colour_of: ColourOf) -> Block:
    columns = (
        Column("cast", "22mm"),
        Column("cast on", "24mm"),
        Column("colour", "20mm"),
        Column("reading", "1fr"),
        Column("ΔE", "14mm", "right"),
        Column("to before", "18mm", "right"),
        Column("against agreed", "34mm"),
    )
    return Table(columns, tuple(_row(c, colour_of) for c in sheet.casts))


def _row(cast: SeriesCast, colour_of: ColourOf) -> tuple[Cell, ...]:
    lab = cast.lab
    said = "not read in this state" if lab is None else figures.lab(lab.L, lab.a, lab.b)
    mean = (f"mean of {cast.n} readings",) if cast.n > 1 else ()
    return (
        Cell(strong=cast.label, small=(cast.id,)),
        Cell(figures.day(cast.cast_on) or "not written"),
        Cell(swatch="" if lab is None else colour_of(lab)),
        Cell(said, small=mean),
        Cell("" if cast.delta_e is None else figures.plain(cast.delta_e, 1)),
        Cell("" if cast.to_before is None else figures.plain(cast.to_before, 1)),
        Cell(SIGNS.get(cast.verdict, cast.verdict or "not judged")),
    )


def _changes(sheet: SeriesSheet) -> Block:
    columns = (Column("before cast", "30mm"), Column("what changed", "1fr"))
    rows = tuple(
        (Cell(strong=sheet.labels[at] if at < len(sheet.labels) else str(at + 1)), Cell(words))
        for at, words in sheet.changes
    )
    return Table(columns, rows)


def _shared(rows: Sequence[SharedRow]) -> Block:
    columns = (
        Column("cast", "26mm"),
        Column("the same", "1fr"),
        Column("different", "1fr"),
        Column("not written down", "1fr"),
    )
    return Table(
        columns,
        tuple(
            (
                Cell(strong=r.cast, small=(f"after {r.before}",)),
                Cell(small=(", ".join(r.same) or "nothing known",)),
                Cell(
                    small=("; ".join(r.different) or "nothing noted",),
                    foot=f"tiles first for {', '.join(r.tiles)}" if r.tiles else "",
                ),
                Cell(small=(", ".join(r.blank) or "nothing",)),
            )
            for r in rows
        ),
    )
