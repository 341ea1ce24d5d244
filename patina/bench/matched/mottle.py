"""Two uneven finishes side by side: tones with their shares, what differs in words, and a picture of both."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.readings.comparing import colour_of, compare_colours, is_triple
from patina.colour.values import Lab, Part
from patina.errors import Refused
from patina.sheets.mottle import MottleSheet

if TYPE_CHECKING:
    from patina.bench.matched.surfaces import Seen
    from patina.bench.studio import Studio
    from patina.reports.mottle_picture import PictureSide


def compare_surfaces(studio: Studio | None, reference: str, sample: str) -> MottleSheet:
    """Two finishes compared by tones, shares, spread and grain: ids of readings, tiles, casts or agreed finishes,
    or L,a,b.

    Of a tile or cast the latest reading counts. What was read without tones, and a bare colour, is one
    tone; for a record that is said, and so is a grain that is not known. Raises BadQuantity, NotFound,
    NotComparable. Source: [RUBNER2000]
    """
    from patina.bench.matched.surfaces import Seen, grain_words, grains
    from patina.matching.mottle import compare_mottle

    named = colour_of(studio, reference), colour_of(studio, sample)
    one, other = (
        Seen(colour.lab) if studio is None or is_triple(text) else _seen(studio, text, colour.lab)
        for text, colour in zip((reference, sample), named, strict=True)
    )
    states = tuple(w.text for w in compare_colours(*named).warnings if w.code.endswith("-differs"))
    cautions = [
        f"The tones of {colour.name} were not read: it stands as one tone and may be uneven."
        for text, seen, colour in zip((reference, sample), (one, other), named, strict=True)
        if not seen.parts and seen.spread is None and not is_triple(text)
    ]
    ours, theirs = grains(one, other)
    surfaces = one.surface(ours), other.surface(theirs)
    found = compare_mottle(*surfaces)
    unknown = grain_words(one, other, (named[0].name, named[1].name))
    return MottleSheet(
        reference=named[0].name,
        sample=named[1].name,
        reference_parts=surfaces[0].parts,
        sample_parts=surfaces[1].parts,
        distance=found.distance,
        mean_difference=found.mean_difference,
        words=found.words,
        uneven=one.uneven or other.uneven,
        cautions=(*cautions, *([unknown] if unknown else [])),
        states=states,
        spread_ratio=found.spread_ratio,
        grain_ratio=found.grain_ratio,
        reference_grain_mm=one.grain_mm if one.uneven else None,
        sample_grain_mm=other.grain_mm if other.uneven else None,
    )


def _seen(studio: Studio, which: str, lab: Lab) -> Seen:
    """What the records know of a surface."""
    from patina.bench.matched.agreed import agreed_sheet
    from patina.bench.matched.surfaces import Seen, seen_in, seen_zone
    from patina.bench.readings.tiles import target_of
    from patina.records.readings import readings
    from patina.records.tables.first import ReadingTable
    from patina.records.tables.ids import fetch, letter_of

    letter = letter_of(which)
    if letter == "M":
        sheet = agreed_sheet(studio, which)
        own = sheet.master.zone.casefold()  # the zone whose colour stands for the agreed finish
        return next((seen_zone(z) for z in sheet.zones if z.zone.casefold() == own), Seen(lab))
    with studio.store.view() as session:
        row: ReadingTable | None
        if letter == "D":
            row = fetch(session, ReadingTable, which)
        else:
            row = readings.latest_of(session, target_of(session, which))
        return Seen(lab) if row is None else seen_in(readings.kept_row(session, row))


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
        _side("reference", sheet.reference, sheet.reference_parts, sheet.reference_grain_mm),
        _side("sample", sheet.sample, sheet.sample_parts, sheet.sample_grain_mm),
        sheet.words,
        distance=sheet.distance,
        cautions=(*sheet.states, *sheet.cautions),
    )
    write_whole(path, drawn.encode("utf-8"))
    return sheet


def _side(role: str, name: str, parts: Sequence[Part], grain_mm: float | None) -> PictureSide:
    from patina.colour.lab import in_screen_range, srgb_hex
    from patina.reports.mottle_picture import PictureSide, PictureTone

    tones = [PictureTone(srgb_hex(p.lab), p.lab.L, p.lab.a, p.lab.b, p.share, in_screen_range(p.lab)) for p in parts]
    lab = parts[0].lab
    return PictureSide(role, name, tuple(tones), f"{lab.illuminant}, {lab.observer}°", grain_mm)
