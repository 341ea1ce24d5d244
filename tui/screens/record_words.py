"""Tiles, casts, pieces, agreed finishes and lots in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patina.sheets.editions import instrument_words
from patina.sheets.formulas import formula_words
from patina.sheets.named import named
from tui import format as show
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patina.sheets import CastSheet, LotRow, MasterSheet, PhotographRow, PieceRow, ReadingRow, TileSheet
    from patina.sheets.shelf import MovementRow


def tile_words(sheet: TileSheet) -> Prose:
    """A tile's sheet."""
    row = sheet.row
    prose = Prose().title(f"{row.id} {row.engraved}", row.alloy).gap()
    if row.lab is not None:
        latest = sheet.readings[0] if sheet.readings else None
        beside = "" if latest is None else f"ΔE00 {show.give_or_take(latest.uncertainty_de00)}"
        prose.colour(row.lab, beside, "latest reading").parts((p.lab, p.share) for p in row.parts)
    else:
        prose.text("Nothing measured yet. Press f to give it a photograph, or r to type in a reading.", "$text-muted")
    prose.gap()
    made_by = f"{row.recipe} ({row.recipe_id}, revision {row.revision})" if row.recipe_id else "no recipe of the studio"
    prose.fact("recipe", made_by).fact(
        "made", f"{show.day(row.made_on)}{' by ' + sheet.made_by if sheet.made_by else ''}"
    )
    prose.fact("preparation", sheet.preparation).fact("size", sheet.size)
    prose.fact("wall", "" if sheet.wall_mm is None else f"{show.plain(sheet.wall_mm)} mm")
    prose.fact("wax", row.wax_state).fact("pot", named(sheet.batch, sheet.batch_name)).fact("note", sheet.note)
    if sheet.as_done:
        prose.heading("As really done").numbered(sheet.as_done)
    _readings(prose, sheet.readings)
    _photographs(prose, sheet.photographs)
    return prose


def _readings(prose: Prose, readings: Sequence[ReadingRow]) -> None:
    if not readings:
        return
    prose.heading("Readings")
    for reading in readings:
        where = " ".join(w for w in (reading.id, reading.area) if w)
        how = f"{reading.source}, {reading.wax_state}, {reading.warmth}, {show.moment(reading.read_at)}"
        prose.colour(reading.lab, f"ΔE00 {show.give_or_take(reading.uncertainty_de00)}  {where}", how)
        prose.parts((p.lab, p.share) for p in reading.parts)
        detail = [instrument_words(reading.instrument), "" if reading.geometry == "unknown" else reading.geometry]
        if reading.sd is not None:
            detail.append("spread " + " / ".join(show.number(v, 1) for v in reading.sd))
        detail.append(grain_words(reading))
        words = "; ".join(d for d in detail if d)
        if words:
            prose.text(words, "$text-muted", indent=12)
        if reading.note:
            prose.text(reading.note, indent=12)


def grain_words(reading: ReadingRow) -> str:
    """How coarse the mottle is; empty where no tones were read."""
    if len(reading.parts) < 2:
        return ""
    if reading.grain_mm is not None:
        return f"grain {show.number(reading.grain_mm)} mm ({reading.scale_from})"
    if reading.grain_px is not None:
        return f"grain {show.number(reading.grain_px, 0)} pixels, not known in mm"
    return "grain not known"


def _photographs(prose: Prose, photographs: Sequence[PhotographRow]) -> None:
    if not photographs:
        return
    prose.heading("Photographs")
    for photo in photographs:
        size = f"{photo.width_px} × {photo.height_px} px, {photo.bits} bit {photo.format}"
        facts = [size, photo.profile or "no profile", photo.camera, photo.taken_at, photo.state, photo.note]
        prose.bullets([f"{photo.name}: " + ", ".join(f for f in facts if f) + f" ({show.short_hash(photo.sha256)})"])


def cast_words(sheet: CastSheet) -> Prose:
    """A cast's sheet."""
    row = sheet.row
    prose = Prose().title(f"{row.piece} {row.number}".strip(), row.id).gap()
    if row.lab is not None:
        prose.colour(row.lab, "", "latest reading").gap()
    prose.fact("piece", f"{row.piece} ({row.piece_id})").fact("alloy", row.alloy or "not said")
    prose.fact("agreed finish", named(row.master, row.master_name) or "none").fact("owner", row.owner).fact(
        "place", row.place
    )
    prose.fact("weight", "" if sheet.mass_g is None else f"{show.plain(sheet.mass_g / 1000)} kg")
    prose.fact("wall", "" if sheet.wall_mm is None else f"{show.plain(sheet.wall_mm)} mm")
    prose.fact("area", "" if sheet.area_m2 is None else show.area(sheet.area_m2))
    prose.fact("cast on", "" if sheet.cast_on is None else show.day(sheet.cast_on)).fact("note", sheet.note)
    if sheet.conserved:
        prose.heading("Conservator's treatments (w opens)")
        prose.bullets(f"{id}  {name}" for id, name in sheet.conserved)
    prose.heading("What was done")
    if not sheet.treatments:
        prose.text("Nothing is written down yet. Press t.", "$text-muted")
    for done in sheet.treatments:
        recipe = f" with {done.recipe} ({done.recipe_id}, revision {done.revision})" if done.recipe_id else ""
        pot = f", pot {named(done.batch, done.batch_name)}" if done.batch else ""
        area = f", {show.area(done.area_m2)}" if done.area_m2 is not None else ""
        prose.fact(
            show.day(done.done_on),
            f"{done.did}, {done.zone}{recipe}{pot}{area}{', by ' + done.done_by if done.done_by else ''}",
        )
        prose.bullets(done.as_done)
        if done.note:
            prose.text(done.note, indent=3)
    _readings(prose, sheet.readings)
    _photographs(prose, sheet.photographs)
    return prose


def piece_words(row: PieceRow) -> Prose:
    """A piece."""
    prose = Prose().title(row.title, row.id).gap().fact("maker", row.maker or "not said")
    prose.fact("edition", "single, or not known" if row.edition is None else str(row.edition))
    return prose.fact("on record", show.times(row.casts, "cast"))


def master_words(sheet: MasterSheet) -> Prose:
    """An agreed finish."""
    prose = Prose().title(sheet.name, sheet.id).gap()
    prose.colour(sheet.lab, f"ΔE00 {show.give_or_take(sheet.uncertainty_de00)}", "as agreed").gap()
    prose.fact("limit", f"{show.plain(sheet.limit_de)} ({formula_words(sheet.formula)})")
    for label, limit in (("limit ΔL*", sheet.limit_dL), ("limit ΔC*", sheet.limit_dC), ("limit ΔH*", sheet.limit_dH)):
        prose.fact(label, "" if limit is None else show.plain(limit))
    prose.fact("zone", sheet.zone).fact("tile", named(sheet.tile, sheet.tile_name))
    prose.fact("recipe", named(sheet.recipe_id, sheet.recipe))
    prose.fact("viewed in", sheet.light).fact("geometry", sheet.geometry).fact("wax", sheet.wax_state).fact(
        "metal", sheet.warmth
    )
    prose.fact("agreed by", sheet.agreed_by or "not said").fact("agreed on", show.day(sheet.agreed_on))
    prose.fact("tiles held by", sheet.holders)
    prose.fact("next check", "" if sheet.next_check is None else show.day(sheet.next_check))
    return prose.fact("note", sheet.note)


def lot_words(row: LotRow, movements: Sequence[MovementRow]) -> Prose:
    """A lot on the shelf, without the hazards of its substance."""
    prose = Prose().title(row.substance, f"{row.id}  CAS {row.cas or show.UNKNOWN}").gap()
    if row.state in ("expired", "spent"):
        prose.caution(
            f"{row.state.upper()}{', use by ' + show.day(row.use_by) if row.state == 'expired' else ''}", grave=True
        )
    prose.fact("left", f"{show.amount(row.left, row.unit)} of {show.amount(row.amount, row.unit)}", "bold")
    prose.fact("assay", show.UNKNOWN if row.assay_pct is None else show.percent(row.assay_pct))
    prose.fact("grade", row.grade).fact("supplier", row.supplier).fact("lot number", row.lot_number)
    prose.fact("opened", "" if row.opened_on is None else show.day(row.opened_on))
    prose.fact("use by", "" if row.use_by is None else show.day(row.use_by)).fact("place", row.place)
    prose.fact("price", "" if row.price is None else f"{row.price} {row.currency}").fact("note", row.note)
    if movements:
        prose.heading("In and out")
        for move in movements:
            batch = f" ({named(move.batch, move.batch_name)})" if move.batch else ""
            by = f", {move.by}" if move.by else ""
            sign = "+" if move.amount > 0 else show.MINUS
            prose.fact(
                f"{sign}{show.amount(abs(move.amount), move.unit)}", f"{move.why}{batch}, {show.moment(move.at)}{by}"
            )
    return prose
