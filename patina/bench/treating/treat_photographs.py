"""Photographs for a treatment: named by their hash, or by a file that is put with the cast first."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from patina.bench.pieces.casts import cast_sheet
from patina.bench.readings import tiles
from patina.bench.studio import Studio
from patina.bench.treating.treat import treatment_sheet
from patina.conservation.kinds import kind_named
from patina.conservation.reading_words import read_part
from patina.errors import NotFound


def with_photograph(
    studio: Studio, treatment: str, kind: str, fields: Mapping[str, str], *, by: str = ""
) -> dict[str, str]:
    """The fields of a part, where ``photograph`` may name a file: it is stored untouched and put with the cast,
    unless it is there already, with the part's role or visit as its state. The other fields are looked at first.

    Raises BadPhotograph, Incomplete, NotFound, StudioTrouble.
    """
    named = fields.get("photograph", "").strip()
    path = Path(named).expanduser()
    if not named or not path.is_file():
        if path.suffix or "/" in named:  # a hash has neither
            raise NotFound(
                f"There is no file '{named}'.",
                "Give the path of a photograph, or 8 figures or more of the SHA-256 of one that is with the cast.",
                field="photograph",
            )
        return dict(fields)
    from patina.colour.photograph import facts_of

    cast = treatment_sheet(studio, treatment).record.object.cast
    sha256 = facts_of(path).sha256
    read_part(kind_named(kind).type, {**fields, "photograph": sha256})
    if all(photo.sha256 != sha256 for photo in cast_sheet(studio, cast).photographs):
        state = fields.get("role") or fields.get("visit") or ""
        tiles.add_photograph(studio, cast, path, state=state, by=by)
    return {**fields, "photograph": sha256}
