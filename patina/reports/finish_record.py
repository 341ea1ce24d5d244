"""The finish record of a cast and the sheet of a test tile: colour, how it was got, who saw it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from patina.language import shown
from patina.reports import figures
from patina.reports.colour_words import (
    COLOUR_NOTE,
    ColourOf,
    NearOnly,
    Picture,
    always_exact,
    photographs,
    readings_table,
    swatch,
)
from patina.reports.document import (
    Block,
    Caution,
    Cell,
    Chart,
    Column,
    Document,
    Heading,
    Paragraph,
    Swatch,
    Swatches,
    Table,
)
from patina.reports.publish import Progress, publish, quiet
from patina.reports.seal_words import seal_blocks
from patina.sheets import CastSheet, MasterSheet, TileSheet, TreatmentRow, VerdictSheet
from patina.sheets.formulas import formula_words
from patina.sheets.history import SealSheet
from patina.sheets.named import named

SEALED = "held by the studio"
NOT_WRITTEN = "not written down"


def write_finish_record(
    cast: CastSheet,
    path: Path,
    *,
    made_on: date,
    colour_of: ColourOf,
    near_only: NearOnly = always_exact,
    master: MasterSheet | None = None,
    verdict: VerdictSheet | None = None,
    pictures: Sequence[Picture] = (),
    charts: Sequence[Chart] = (),
    care: str = "",
    studio: str = "",
    show_recipes: bool = True,
    seal: SealSheet | None = None,
    progress: Progress = quiet,
) -> tuple[Path, ...]:
    """Print a cast's finish: agreed colour beside the measured one, treatments, readings, photographs.

    colour_of: turns a Lab into "#rrggbb". verdict: judged against ``master``, where it was.
    charts: of the work at the torch. care: what the owner is to do. show_recipes: False seals recipe
    names for this reader. seal: how the record was signed off and amended. The path's ending picks PDF, HTML, SVG or
    PNG. Returns the files written. Raises Refused, StudioTrouble, BadPhotograph.
    """
    row = cast.row
    blocks: list[Block] = [Swatches(_cast_swatches(cast, master, colour_of, near_only)), COLOUR_NOTE]
    if verdict is not None:
        blocks.append(verdict_block(verdict))
    blocks += done_table(cast.treatments, show_recipes)
    if cast.readings:
        blocks += [Heading("Readings"), *readings_table(cast.readings, colour_of)]
    if charts and show_recipes:
        blocks += [Heading("At the torch"), *charts]
    if pictures:
        blocks += [Heading("Photographs"), *photographs(pictures)]
    blocks += [Paragraph(text) for text in (cast.note, f"Care: {care}" if care else "") if text]
    blocks += seal_blocks(seal)
    document = Document(
        kind="Finish record",
        title=row.piece,
        subtitle=" · ".join(part for part in (row.number, row.alloy) if part),
        record=row.id,
        made_on=made_on,
        facts=cast_facts(cast),
        blocks=tuple(blocks),
        qr=(f"cast {row.id}", row.piece, row.number, figures.day(made_on)),
        footer=_footer(studio, made_on),
    )
    return publish(document, path, progress=progress)


def write_tile_sheet(
    tile: TileSheet,
    path: Path,
    *,
    made_on: date,
    colour_of: ColourOf,
    near_only: NearOnly = always_exact,
    pictures: Sequence[Picture] = (),
    charts: Sequence[Chart] = (),
    studio: str = "",
    progress: Progress = quiet,
) -> tuple[Path, ...]:
    """Print a test tile: how it was made and what colour came of it.

    colour_of: turns a Lab into "#rrggbb". charts: of the work at the torch. The path's ending picks PDF, HTML, SVG
    or PNG. Returns the files written. Raises Refused, StudioTrouble, BadPhotograph.
    """
    row = tile.row
    recipe = f"{row.recipe}, revision {row.revision}" if row.revision else row.recipe
    latest = swatch("latest reading", row.lab, colour_of, tones=row.parts, near_only=near_only)
    blocks: list[Block] = [Swatches((latest,)), COLOUR_NOTE]
    if tile.as_done:
        columns = (Column("", "8mm", name="step"), Column("step", "1fr"))
        steps = tuple((Cell(strong=str(n)), Cell(text)) for n, text in enumerate(tile.as_done, 1))
        blocks += [Heading("How it was really done"), Table(columns, steps)]
    if tile.readings:
        blocks += [Heading("Readings"), *readings_table(tile.readings, colour_of)]
    if charts:
        blocks += [Heading("At the torch"), *charts]
    if pictures:
        blocks += [Heading("Photographs"), *photographs(pictures)]
    if tile.note:
        blocks.append(Paragraph(tile.note))
    document = Document(
        kind="Test tile",
        title=row.engraved or row.id,
        subtitle=" · ".join(part for part in (recipe, row.alloy) if part),
        record=row.id,
        made_on=made_on,
        facts=_tile_facts(tile),
        blocks=tuple(blocks),
        qr=(f"tile {row.id}", row.engraved, recipe, figures.day(made_on)),
        footer=_footer(studio, made_on),
    )
    return publish(document, path, progress=progress)


def _footer(studio: str, made_on: date) -> str:
    return ", ".join(word for word in (studio, figures.day(made_on)) if word)


def fact(name: str, value: str) -> tuple[str, str]:
    """A fact of the head; what nobody has written down says so."""
    return (name, value or NOT_WRITTEN)


def cast_facts(cast: CastSheet) -> tuple[tuple[str, str], ...]:
    """Alloy, day of casting, measures, owner and place of a cast."""
    row = cast.row
    mass = "" if cast.mass_g is None else f"{figures.plain(cast.mass_g / 1000.0, 2)}{figures.THIN}kg"
    wall = "" if cast.wall_mm is None else f"{figures.plain(cast.wall_mm, 1)}{figures.THIN}mm"
    surface = "" if cast.area_m2 is None else figures.area(cast.area_m2)
    return (
        fact("alloy", row.alloy),
        fact("cast on", figures.day(cast.cast_on)),
        fact("mass", mass),
        fact("wall", wall),
        fact("surface", surface),
        fact("owner", row.owner),
        fact("place", row.place),
    )


def _tile_facts(tile: TileSheet) -> tuple[tuple[str, str], ...]:
    row = tile.row
    wall = "" if tile.wall_mm is None else f"{figures.plain(tile.wall_mm, 1)}{figures.THIN}mm"
    return (
        fact("alloy", row.alloy),
        fact("made on", figures.day(row.made_on)),
        fact("made by", tile.made_by),
        fact("size", tile.size),
        fact("wall", wall),
        fact("preparation", tile.preparation),
        fact("wax", row.wax_state),
        fact("batch", named(tile.batch, tile.batch_name)),
    )


def agreed_swatch(master: MasterSheet, colour_of: ColourOf, near_only: NearOnly = always_exact) -> Swatch:
    """The agreed colour with its limit, and by whom and when it was agreed."""
    formula = formula_words(master.formula)
    limit = f"limit ΔE {figures.plain(master.limit_de, 1)} ({formula}), light {master.light}"
    agreed = f"agreed by {master.agreed_by or 'nobody named'} {figures.day(master.agreed_on)}".strip()
    return swatch(f"agreed: {master.name}", master.lab, colour_of, more=f"{limit}; {agreed}", near_only=near_only)


def _cast_swatches(
    cast: CastSheet, master: MasterSheet | None, colour_of: ColourOf, near_only: NearOnly
) -> tuple[Swatch, ...]:
    tones = cast.readings[0].parts if cast.readings else ()
    mine = swatch("this cast", cast.row.lab, colour_of, tones=tones, near_only=near_only)
    return (mine,) if master is None else (agreed_swatch(master, colour_of, near_only), mine)


def verdict_block(verdict: VerdictSheet) -> Block:
    """How a piece stands to what was agreed."""
    words = _LISTED.sub(lambda found: f"({'; '.join(shown(part) for part in found[1].split('; '))})", verdict.why)
    return Caution(words, lead=f"{verdict.verdict}:", level="mind")


_LISTED = re.compile(r"\(([^()]*; [^()]*)\)")  # what a verdict rests on, which is said part by part


def done_table(treatments: Sequence[TreatmentRow], show_recipes: bool = True) -> tuple[Block, ...]:
    """What was done, oldest first; nothing where there is nothing."""
    columns = (Column("when", "24mm"), Column("what was done", "1fr"), Column("by", "34mm"))
    rows = tuple(_treatment(t, show_recipes) for t in treatments)
    return (Heading("What was done"), Table(columns, rows)) if rows else ()


def _treatment(treatment: TreatmentRow, show_recipes: bool) -> tuple[Cell, ...]:
    recipe = ""
    if treatment.recipe:
        number = f", revision {treatment.revision}" if treatment.revision else ""
        recipe = f"{treatment.recipe}{number}" if show_recipes else SEALED
    area = "" if treatment.area_m2 is None else figures.area(treatment.area_m2)
    batch = named(treatment.batch, treatment.batch_name) if show_recipes else ""
    facts = ", ".join(w for w in (treatment.zone, area, recipe, f"batch {batch}" if batch else "") if w)
    done = treatment.as_done if show_recipes else ()
    lines = tuple(w for w in (facts, *done, treatment.note) if w)
    return (
        Cell(strong=figures.day(treatment.done_on) or "undated"),
        Cell(treatment.did, small=lines),
        Cell(treatment.done_by),
    )
