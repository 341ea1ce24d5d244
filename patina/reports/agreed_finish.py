"""An agreed finish on paper: each zone with its limits, the terms, who holds which tile, what was conceded."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from patina.reports import figures
from patina.reports.colour_words import (
    COLOUR_NOTE,
    ColourOf,
    NearOnly,
    Picture,
    always_exact,
    photographs,
    swatch,
)
from patina.reports.document import (
    Block,
    Cell,
    Column,
    Document,
    Facts,
    Group,
    Heading,
    Paragraph,
    Signatures,
    Swatch,
    Swatches,
    table,
)
from patina.reports.finish_record import NOT_WRITTEN, SEALED, fact
from patina.sheets.formulas import formula_words
from patina.sheets.matching import AgreedSheet, ApprovalRow, ConcessionRow, HoldingRow, ZoneRow
from patina.sheets.named import named

UNSAID = ("", "not stated")


def agreed_document(
    sheet: AgreedSheet,
    *,
    made_on: date,
    colour_of: ColourOf,
    near_only: NearOnly = always_exact,
    studio: str = "",
    show_recipe: bool = True,
    pictures: Sequence[Picture] = (),
) -> Document:
    """The paper of an agreed finish. show_recipe: False seals the recipe's name. pictures: of the agreed tile."""
    agreed = sheet.master
    blocks: list[Block] = [_zone(zone, sheet, colour_of, near_only) for zone in sheet.zones]
    blocks += [COLOUR_NOTE, Heading("What was agreed"), Facts(_terms(sheet, show_recipe), 2)]
    blocks += [Paragraph(agreed.note)] if agreed.note else []
    blocks += _part("Who holds which tile", _holders(sheet.holdings))
    if not sheet.holdings:
        blocks += [Heading("Who holds which tile"), Paragraph(agreed.holders or f"Who holds a tile is {NOT_WRITTEN}.")]
    blocks += _part("Taken although outside (the agreed finish stays what it is)", _conceded(sheet.concessions))
    blocks += _part("Approvals", _approved(sheet.approvals))
    if pictures:
        blocks += [Heading("The agreed tile"), *photographs(pictures)]
    when = figures.day(agreed.agreed_on)
    blocks.append(Signatures((("agreed by", agreed.agreed_by, when if agreed.agreed_by else ""), ("studio", "", ""))))
    return Document(
        kind="Agreed finish",
        title=agreed.name,
        subtitle=" · ".join(
            w for w in (f"to look {sheet.aim}", f"in {agreed.light}" if agreed.light not in UNSAID else "") if w
        ),
        record=agreed.id,
        made_on=made_on,
        facts=_head(sheet),
        blocks=tuple(blocks),
        qr=(f"agreed finish {agreed.id}", agreed.name, figures.day(made_on)),
        footer=", ".join(w for w in (studio, figures.day(made_on)) if w),
    )


def _head(sheet: AgreedSheet) -> tuple[tuple[str, str], ...]:
    agreed = sheet.master
    return (
        ("limit ΔE", f"{figures.plain(agreed.limit_de, 1)} ({formula_words(agreed.formula)})"),
        fact("viewed in", agreed.light),
        fact("wax", agreed.wax_state),
        fact("metal", agreed.warmth),
        fact("agreed by", agreed.agreed_by),
        fact("agreed on", figures.day(agreed.agreed_on)),
        fact("next check", _next_check(sheet)),
        fact("geometry", agreed.geometry),
    )


def _next_check(sheet: AgreedSheet) -> str:
    """The first day on which one of its tiles is to be read again."""
    days = [held.next_check for held in sheet.holdings if held.next_check is not None]
    first = min([*days, *([sheet.master.next_check] if sheet.master.next_check else [])], default=None)
    late = ", due" if any(held.due and held.next_check == first for held in sheet.holdings) else ""
    return f"{figures.day(first)}{late}" if first else ""


def _terms(sheet: AgreedSheet, show_recipe: bool) -> tuple[tuple[str, str], ...]:
    agreed = sheet.master
    doubt = agreed.uncertainty_de00
    limits = (
        ("limit ΔL*", agreed.limit_dL),
        ("limit ΔC*", agreed.limit_dC),
        ("limit ΔH*", agreed.limit_dH),
        ("limit of tones", sheet.limit_mottle),
    )
    recipe = named(agreed.recipe_id, agreed.recipe)
    return (
        *((name, figures.plain(limit, 2)) for name, limit in limits if limit is not None),
        ("uncertainty of the agreed colour", _doubt(doubt)),
        ("to look", sheet.aim),
        fact("tile", named(agreed.tile, agreed.tile_name)),
        fact("recipe", recipe if show_recipe or not recipe else SEALED),
    )


def _doubt(value: float | None) -> str:
    return "not known" if value is None else f"± {figures.plain(value, 1)} ΔE00 (95 %)"


def _zone(zone: ZoneRow, sheet: AgreedSheet, colour_of: ColourOf, near_only: NearOnly) -> Block:
    """The agreed colour between its limits, lightest first."""
    items: list[Swatch] = []
    if zone.light_limit is not None:
        tile = named(zone.light_tile, zone.light_tile_name)
        items.append(swatch("light limit", zone.light_limit, colour_of, more=tile, near_only=near_only))
    mean = f"mean of {zone.n} readings" if zone.n > 1 else ""
    stays = "" if zone.fixed_u is None else f"± {figures.plain(zone.fixed_u, 1)} ΔE00 that stays (95 %)"
    more = "; ".join(w for w in (named(zone.tile, zone.tile_name), mean, stays) if w)
    items.append(swatch("as agreed", zone.lab, colour_of, tones=zone.parts, more=more, near_only=near_only))
    if zone.dark_limit is not None:
        tile = named(zone.dark_tile, zone.dark_tile_name)
        items.append(swatch("dark limit", zone.dark_limit, colour_of, more=tile, near_only=near_only))
    blocks: list[Block] = [Heading(f"Zone: {zone.zone}"), Swatches(tuple(items))]
    if len(zone.parts) > 1:
        grain = "not known" if zone.grain_mm is None else f"{figures.plain(zone.grain_mm, 1)}{figures.THIN}mm"
        blocks.append(Paragraph(f"Of {len(zone.parts)} tones; grain of the mottle {grain}.", size="small"))
    return Group(tuple(blocks))


def _part(heading: str, blocks: Sequence[Block]) -> list[Block]:
    return [Heading(heading), *blocks] if blocks else []


def _holders(rows: Sequence[HoldingRow]) -> tuple[Block, ...]:
    columns = (
        Column("tile", "24mm"),
        Column("role", "20mm"),
        Column("held by", "1fr"),
        Column("since when", "22mm"),
        Column("next check", "22mm"),
        Column("when read last", "1fr"),
    )
    return table(columns, tuple(_holder(held) for held in rows))


def _holder(held: HoldingRow) -> tuple[Cell, ...]:
    kept = f"kept {held.kept}" if held.kept else ""
    return (
        Cell(strong=held.engraved or held.tile, small=(held.tile,) if held.engraved else ()),
        Cell(held.role),
        Cell(held.holder, small=tuple(w for w in (held.place, kept, held.note) if w)),
        Cell(figures.day(held.since) or NOT_WRITTEN),
        Cell(figures.day(held.next_check) or "none", foot="due" if held.due else ""),
        Cell(small=(held.drift_words,) if held.drift_words else ()),
    )


def _conceded(rows: Sequence[ConcessionRow]) -> tuple[Block, ...]:
    columns = (
        Column("piece", "44mm"),
        Column("difference", "20mm", "right"),
        Column("why", "1fr"),
        Column("taken by", "40mm"),
    )
    return table(
        columns,
        tuple(
            (
                Cell(strong=row.piece_name or row.piece, small=tuple(dict.fromkeys((row.piece, row.zone)))),
                Cell(f"ΔE {figures.plain(row.difference, 1)}"),
                Cell(row.reason, small=(row.verdict,) if row.verdict else ()),
                Cell(row.agreed_by, small=(figures.day(row.agreed_on),)),
            )
            for row in rows
        ),
    )


def _approved(rows: Sequence[ApprovalRow]) -> tuple[Block, ...]:
    columns = (Column("when", "24mm"), Column("piece", "44mm"), Column("who", "1fr"), Column("the answer", "1fr"))
    return table(
        columns,
        tuple(
            (
                Cell(strong=figures.day(row.held_on), small=(row.id,)),
                Cell(row.piece_name or row.piece, small=tuple(w for w in (row.piece, row.seen, row.state) if w)),
                Cell(row.who, small=tuple(w for w in (row.role, row.light, row.place) if w)),
                Cell(strong=row.answer, small=(row.remarks,) if row.remarks else ()),
            )
            for row in rows
        ),
    )
