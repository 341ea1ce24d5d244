"""The finish record of a cast and the sheet of a test tile: colour, how it was got, who saw it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from patina.reports import figures
from patina.reports.colour_words import PRINT_CAUTION, ColourOf, Picture, block, parts, pictures_of, reading_words
from patina.reports.typeset import qr_svg, typeset
from patina.sheets import CastSheet, MasterSheet, TileSheet, TreatmentRow, VerdictSheet

SEALED = "held by the studio"


def write_finish_record(
    cast: CastSheet,
    path: Path,
    *,
    made_on: date,
    colour_of: ColourOf,
    master: MasterSheet | None = None,
    verdict: VerdictSheet | None = None,
    pictures: Sequence[Picture] = (),
    care: str = "",
    studio: str = "",
    show_recipes: bool = True,
) -> tuple[Path, ...]:
    """Print a cast's finish: agreed colour beside the measured one, treatments, readings, photographs.

    colour_of: turns a Lab into "#rrggbb". verdict: judged against ``master``, where it was.
    care: what the owner is to do. show_recipes: False seals recipe names for this reader.
    The path's ending picks PDF, SVG or PNG. Returns the files written.
    Raises Refused, StudioTrouble, BadPhotograph.
    """
    row = cast.row
    shown, content = pictures_of(pictures)
    data = {
        "kind": "Finish record",
        "title": row.piece,
        "subtitle": " · ".join(part for part in (row.number, row.alloy) if part),
        "record": row.id,
        "qr": qr_svg(f"cast {row.id}", row.piece, row.number, figures.day(made_on)),
        "facts": _cast_facts(cast),
        "blocks": _cast_blocks(cast, master, colour_of),
        "verdict": "" if verdict is None else f"{verdict.verdict}: {verdict.why}",
        "steps": [_treatment(t, show_recipes) for t in cast.treatments],
        "steps_heading": "What was done",
        "readings": [reading_words(r, colour_of) for r in cast.readings],
        "pictures": shown,
        "notes": [text for text in (cast.note, f"Care: {care}" if care else "") if text],
        "studio": studio,
        "date": figures.day(made_on),
        "caution": PRINT_CAUTION,
    }
    return typeset("finish_record.typ", data, path, made_on=made_on, pictures=content)


def write_tile_sheet(
    tile: TileSheet,
    path: Path,
    *,
    made_on: date,
    colour_of: ColourOf,
    pictures: Sequence[Picture] = (),
    studio: str = "",
) -> tuple[Path, ...]:
    """Print a test tile: how it was made and what colour came of it.

    colour_of: turns a Lab into "#rrggbb". The path's ending picks PDF, SVG or PNG. Returns the files
    written. Raises Refused, StudioTrouble, BadPhotograph.
    """
    row = tile.row
    shown, content = pictures_of(pictures)
    recipe = f"{row.recipe}, revision {row.revision}" if row.revision else row.recipe
    data = {
        "kind": "Test tile",
        "title": row.engraved or row.id,
        "subtitle": " · ".join(part for part in (recipe, row.alloy) if part),
        "record": row.id,
        "qr": qr_svg(f"tile {row.id}", row.engraved, recipe, figures.day(made_on)),
        "facts": _tile_facts(tile),
        "blocks": [{"name": "latest reading", **block(row.lab, colour_of), "parts": parts(row.parts, colour_of)}],
        "verdict": "",
        "steps": [{"head": str(n), "text": text, "tail": ""} for n, text in enumerate(tile.as_done, 1)],
        "steps_heading": "How it was really done",
        "readings": [reading_words(r, colour_of) for r in tile.readings],
        "pictures": shown,
        "notes": [tile.note] if tile.note else [],
        "studio": studio,
        "date": figures.day(made_on),
        "caution": PRINT_CAUTION,
    }
    return typeset("finish_record.typ", data, path, made_on=made_on, pictures=content)


def _fact(name: str, value: str) -> dict[str, str]:
    return {"name": name, "value": value or "not written down"}


def _cast_facts(cast: CastSheet) -> list[dict[str, str]]:
    row = cast.row
    mass = "" if cast.mass_g is None else f"{figures.plain(cast.mass_g / 1000.0, 2)}{figures.THIN}kg"
    wall = "" if cast.wall_mm is None else f"{figures.plain(cast.wall_mm, 1)}{figures.THIN}mm"
    surface = "" if cast.area_m2 is None else figures.area(cast.area_m2)
    return [
        _fact("alloy", row.alloy),
        _fact("cast on", figures.day(cast.cast_on)),
        _fact("mass", mass),
        _fact("wall", wall),
        _fact("surface", surface),
        _fact("owner", row.owner),
        _fact("place", row.place),
    ]


def _tile_facts(tile: TileSheet) -> list[dict[str, str]]:
    row = tile.row
    wall = "" if tile.wall_mm is None else f"{figures.plain(tile.wall_mm, 1)}{figures.THIN}mm"
    return [
        _fact("alloy", row.alloy),
        _fact("made on", figures.day(row.made_on)),
        _fact("made by", tile.made_by),
        _fact("size", tile.size),
        _fact("wall", wall),
        _fact("preparation", tile.preparation),
        _fact("wax", row.wax_state),
        _fact("batch", tile.batch or ""),
    ]


def _cast_blocks(cast: CastSheet, master: MasterSheet | None, colour_of: ColourOf) -> list[dict[str, Any]]:
    latest = cast.readings[0] if cast.readings else None
    blocks = []
    if master is not None:
        limit = f"limit ΔE {figures.plain(master.limit_de, 1)} ({master.formula}), light {master.light}"
        agreed = f"agreed by {master.agreed_by or 'nobody named'} {figures.day(master.agreed_on)}".strip()
        blocks.append(
            {
                "name": f"agreed: {master.name}",
                **block(master.lab, colour_of),
                "parts": [],
                "more": f"{limit}; {agreed}",
            }
        )
    tones = [] if latest is None else parts(latest.parts, colour_of)
    blocks.append({"name": "this cast", **block(cast.row.lab, colour_of), "parts": tones})
    return blocks


def _treatment(treatment: TreatmentRow, show_recipes: bool) -> dict[str, str]:
    recipe = ""
    if treatment.recipe:
        number = f", revision {treatment.revision}" if treatment.revision else ""
        recipe = f"{treatment.recipe}{number}" if show_recipes else SEALED
    area = "" if treatment.area_m2 is None else figures.area(treatment.area_m2)
    batch = treatment.batch or "" if show_recipes else ""
    facts = [treatment.zone, area, recipe, f"batch {batch}" if batch else "", treatment.done_by]
    done = list(treatment.as_done) if show_recipes else []
    return {
        "head": figures.day(treatment.done_on) or "undated",
        "text": treatment.did,
        "tail": ". ".join(
            [", ".join(fact for fact in facts if fact), *done, *([treatment.note] if treatment.note else [])]
        ),
    }
