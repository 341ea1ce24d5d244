"""Two uneven finishes side by side: tones with their shares, what differs in words, and a picture of both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.comparing import colour_of, compare_colours, is_triple
from patina.colour.values import Part
from patina.errors import Refused
from patina.sheets.mottle import MottleSheet

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.reports.mottle_picture import PictureSide


def compare_surfaces(studio: Studio | None, reference: str, sample: str) -> MottleSheet:
    """Tones and shares of two finishes compared: ids of readings, tiles, casts or agreed finishes, or L,a,b.

    Of a tile or cast the latest reading counts. What was read without tones, and a bare colour, is one
    tone; for a record that is said. Raises BadQuantity, NotFound, NotComparable. Source: [RUBNER2000]
    """
    from patina.matching.mottle import Surface, compare_mottle

    named = colour_of(studio, reference), colour_of(studio, sample)
    read = tuple(() if studio is None or is_triple(t) else _parts(studio, t) for t in (reference, sample))
    parts = [_whole(tones) or (Part(one.lab, 1.0),) for tones, one in zip(read, named, strict=True)]
    states = tuple(w.text for w in compare_colours(*named).warnings if w.code.endswith("-differs"))
    cautions = []
    for text, tones, one in zip((reference, sample), read, named, strict=True):
        if not tones and not is_triple(text):
            cautions.append(f"The tones of {one.name} were not read: it stands as one tone and may be uneven.")
    found = compare_mottle(Surface(parts[0]), Surface(parts[1]))
    return MottleSheet(
        reference=named[0].name,
        sample=named[1].name,
        reference_parts=parts[0],
        sample_parts=parts[1],
        distance=found.distance,
        mean_difference=found.mean_difference,
        words=found.words,
        uneven=any(len(p) > 1 for p in parts),
        cautions=tuple(cautions),
        states=states,
    )


def _whole(parts: Sequence[Part]) -> tuple[Part, ...]:
    """The tones that cover something, their shares adding up to 1 (kept shares are rounded)."""
    seen = [p for p in parts if p.share > 0]
    total = sum(p.share for p in seen)
    return tuple(replace(p, share=p.share / total) for p in seen)


def _parts(studio: Studio, which: str) -> tuple[Part, ...]:
    """The tones of a record, none where they were not read."""
    from patina.bench.agreed import agreed_sheet
    from patina.bench.tiles import target_of
    from patina.records import readings
    from patina.records.ids import fetch, letter_of
    from patina.records.tables import ReadingTable

    letter = letter_of(which)
    if letter == "M":
        sheet = agreed_sheet(studio, which)
        own = sheet.master.zone.casefold()  # the zone whose colour stands for the agreed finish
        return next((z.parts for z in sheet.zones if z.zone.casefold() == own), ())
    with studio.store.view() as session:
        row: ReadingTable | None
        if letter == "D":
            row = fetch(session, ReadingTable, which)
        else:
            row = readings.latest_of(session, target_of(session, which))
        return () if row is None else readings.readings_of(session, ReadingTable.id == row.id)[0].parts


def mottle_picture(studio: Studio | None, reference: str, sample: str, path: Path) -> MottleSheet:
    """Write a picture of two finishes side by side with what differs in words, as SVG; gives what was compared.

    Raises Refused for another ending than .svg, StudioTrouble where the file cannot be written.
    """
    from patina.bench.saving import write_whole
    from patina.reports import mottle_picture as drawing

    if path.suffix.casefold() != ".svg":
        raise Refused(f"A picture cannot be written as '{path.name}'.", "Give a name that ends in .svg.")
    sheet = compare_surfaces(studio, reference, sample)
    drawn = drawing.mottle_picture(
        _side("reference", sheet.reference, sheet.reference_parts),
        _side("sample", sheet.sample, sheet.sample_parts),
        sheet.words,
        distance=sheet.distance,
        cautions=(*sheet.states, *sheet.cautions),
    )
    write_whole(path, drawn.encode("utf-8"))
    return sheet


def _side(role: str, name: str, parts: Sequence[Part]) -> PictureSide:
    from patina.colour.lab import in_screen_range, srgb_hex
    from patina.reports.mottle_picture import PictureSide, PictureTone

    tones = [PictureTone(srgb_hex(p.lab), p.lab.L, p.lab.a, p.lab.b, p.share, in_screen_range(p.lab)) for p in parts]
    lab = parts[0].lab
    return PictureSide(role, name, tuple(tones), f"{lab.illuminant}, {lab.observer}°")
