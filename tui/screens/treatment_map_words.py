"""What is said beside a condition map: what is being drawn, the zones by their numbers, test patches, what changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patina.bench.treating.treat_maps import share_while_drawn
from patina.sheets.treatment_words import change_words, map_name, part_line, share_words, term_name
from tui import format as show
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.sheets.treatment import TreatmentSheet
    from tui.widgets.map_picture import MapPicture

LEAST_CORNERS = 3


def map_words(sheet: TreatmentSheet, map_id: str, picture: MapPicture) -> Prose:
    """All of it, what changes with each key first."""
    prose = Prose()
    one = next(m for m in sheet.record.maps if m.id == map_id)
    shares = next(m for m in sheet.maps if m.map == map_id)
    x, y = picture.cursor
    prose.text(f"\N{BOX DRAWINGS HEAVY VERTICAL AND HORIZONTAL} {x:.3f},{y:.3f}", "bold")
    _drawing(sheet, map_id, picture, shares.of, prose)
    zones = [z for z in sheet.record.zones if z.value.map == map_id]
    if picture.chosen_zone is not None and picture.chosen_zone < len(zones):
        chosen = zones[picture.chosen_zone]
        said = part_line("zone", chosen).partition(" · ")[2]
        prose.heading(f"Zone {picture.chosen_zone + 1}, {chosen.id}").text(said)
        prose.text(share_words(shares.zones[chosen.id], shares.of), "bold")
    prose.heading(map_name(one))
    if not one.value.outline:
        prose.caution("The object is not outlined: shares are of the picture.", "Put corners around it, then o.")
    if zones:
        prose.numbered(
            f"{z.value.name}, {term_name(z.value.term)}{' (active)' if z.value.activity == 'active' else ''}: "
            f"{share_words(shares.zones[z.id], shares.of)}"
            for z in zones
        )
        prose.heading("By term").bullets(
            f"{term_name(term)}: {share_words(share, shares.of)}" for term, share in shares.terms.items()
        )
    else:
        prose.text("No zone yet: Space puts a corner, Enter makes a zone of them.", "$text-muted")
    _patches(sheet, map_id, prose)
    for change in sheet.changes:
        if change.after == map_id:
            before = next(m for m in sheet.record.maps if m.id == change.before)
            prose.heading(f"Since {map_name(before)}").bullets(change_words(c) for c in change.zones)
    return prose


def _drawing(sheet: TreatmentSheet, map_id: str, picture: MapPicture, of: str, prose: Prose) -> None:
    """The corners that are being put, and what they would cover."""
    if not (picture.corners or picture.done):
        return
    closed = f", {show.times(len(picture.done), 'polygon')} closed" if picture.done else ""
    prose.text(f"{show.times(len(picture.corners), 'corner')}{closed}", "bold")
    shapes = list(picture.done)
    if len(picture.corners) >= LEAST_CORNERS:
        shapes.append(tuple(picture.corners))
    share = share_while_drawn(sheet, map_id, shapes)
    if share is not None:
        prose.text(f"encloses {share_words(share, of)}", "bold")


def _patches(sheet: TreatmentSheet, map_id: str, prose: Prose) -> None:
    from string import ascii_lowercase

    here = [p for p in sheet.record.patches if p.value.map == map_id and p.value.spot is not None]
    if here:
        prose.heading("Test patches")
    for n, patch in enumerate(here):
        v = patch.value
        strength = "" if v.strength is None else f" {show.plain(v.strength)} {v.strength_unit}"
        dwell = "" if v.dwell_min is None else f", {show.plain(v.dwell_min)} min"
        effect = f"effect {v.effect or 'not said'}, harm {v.harm or 'not said'}"
        prose.bullets([f"{patch.id} {v.agent}{strength}{dwell}: {effect}"], sign=ascii_lowercase[n % 26])
