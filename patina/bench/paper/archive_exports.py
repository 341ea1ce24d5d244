"""What museums' systems read: casts and treatments as Linked Art and as rows of Spectrum's information groups."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from typing import TYPE_CHECKING, Any

from patina.bench.studio import Studio
from patina.datafile import data_path, one_of, read_table, text
from patina.errors import NotFound
from patina.sheets.archive import Term

if TYPE_CHECKING:
    from patina.sheets import CastSheet
    from patina.sheets.treatment import TreatmentSheet

AAT = "http://vocab.getty.edu/aat/"


@cache
def thesaurus() -> dict[str, Term]:
    """The terms of the Art & Architecture Thesaurus that are named, by key."""
    columns = {
        "key": text,
        "kind": one_of("Type", "Material", "MeasurementUnit"),
        "aat": text,
        "label": text,
        "source": text,
    }
    rows = read_table("linked_art_types.csv", columns)
    return {r["key"]: Term(r["key"], r["kind"], AAT + r["aat"], r["label"]) for r in rows}


@cache
def spectrum_units() -> dict[str, tuple[str, str, str]]:
    """Group, unit of information and source of the name, by field."""
    rows = read_table("spectrum_groups.csv", dict.fromkeys(("group", "unit", "field", "source"), text))
    return {r["field"]: (r["group"], r["unit"], r["source"]) for r in rows}


def linked_art_context() -> dict[str, Any]:
    """The part of the Linked Art context that is used, to read an export without a network."""
    document: dict[str, Any] = json.loads(data_path("linked_art_context.json").read_text(encoding="utf-8"))
    return document


def export_linked_art(studio: Studio, which: str) -> dict[str, Any]:
    """A cast (C1), a piece with its casts (W1) or the cast of a treatment (CT1) as JSON-LD. Raises NotFound."""
    found = [_linked(studio, cast) for cast in _casts(studio, which)]
    if len(found) == 1:
        return found[0]
    context = found[0]["@context"]
    return {"@context": context, "@graph": [{k: v for k, v in f.items() if k != "@context"} for f in found]}


def _linked(studio: Studio, cast: CastSheet) -> dict[str, Any]:
    from patina.reports.linked_art import linked_art

    piece = _piece(studio, cast)
    treatments = _treatments(studio, cast)
    return linked_art(
        cast,
        title=piece["title"],
        maker=piece["maker"],
        height_mm=piece["height_mm"],
        uids=_uids(studio, cast, treatments),
        terms=thesaurus(),
        treatments=treatments,
    )


def export_spectrum(studio: Studio, which: str) -> str:
    """A cast, a piece with its casts or the cast of a treatment as CSV. Raises NotFound."""
    from patina.reports.spectrum import as_csv, spectrum_rows

    rows: list[tuple[str, ...]] = []
    for cast in _casts(studio, which):
        piece = _piece(studio, cast)
        facts = {key: piece[key] for key in ("title", "maker", "edition", "height_mm")}
        rows += spectrum_rows(cast, spectrum_units(), **facts, treatments=_treatments(studio, cast))
    return as_csv(rows)


def _casts(studio: Studio, which: str) -> list[CastSheet]:
    from patina.bench.pieces.casts import cast_sheet, list_casts
    from patina.bench.treating.treat import treatment_sheet

    wanted = which.strip().upper()
    if wanted.startswith("CT"):
        return [cast_sheet(studio, treatment_sheet(studio, wanted).record.head.cast)]
    if wanted.startswith("W"):
        casts = [cast_sheet(studio, row.id) for row in list_casts(studio) if row.piece_id == wanted]
        if not casts:
            raise NotFound(f"There is no piece '{which}' with casts.", "Give the id of a piece, cast or treatment.")
        return casts
    return [cast_sheet(studio, wanted)]


def _piece(studio: Studio, cast: CastSheet) -> dict[str, Any]:
    from patina.records.pieces.casts import find_piece

    with studio.store.view() as session:
        row = find_piece(session, cast.row.piece_id)
        return {"title": row.title, "maker": row.maker, "edition": row.edition, "height_mm": row.height_mm}


def _treatments(studio: Studio, cast: CastSheet) -> list[TreatmentSheet]:
    from patina.bench.treating.treat import list_treatments, treatment_sheet

    return [treatment_sheet(studio, row.id) for row in reversed(list_treatments(studio, cast=cast.row.id))]


def _uids(studio: Studio, cast: CastSheet, treatments: list[TreatmentSheet]) -> dict[str, str]:
    from patina.records.archive.choice import uids_of

    with studio.store.view() as session:
        return uids_of(session, _named(cast, treatments))


def _named(cast: CastSheet, treatments: list[TreatmentSheet]) -> Iterator[str]:
    """Ids of everything that an export gives an address."""
    yield from (cast.row.id, cast.row.piece_id)
    yield from (t.id for t in cast.treatments)
    yield from (r.id for r in cast.readings)
    for sheet in treatments:
        yield sheet.id
        yield from (kept.id for kept in (*sheet.record.actions, *sheet.record.statements))
