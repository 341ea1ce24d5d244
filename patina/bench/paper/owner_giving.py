"""Handing over: an owner's sheet, a recipe under licence, a tile on loan, a file; taking back; the transfer list."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.studio import Studio
from patina.errors import BadQuantity, NotFound, Refused
from patina.records.people import handovers
from patina.records.studio.unit import unit
from patina.sheets.access import HANDED, HandoverRow, TransferSheet

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

KINDS = tuple(kind for kind in HANDED if kind != "came back")


@dataclass(frozen=True, slots=True)
class Giving:
    """What is handed over. kind: one of KINDS. record: its id, or a recipe's name; empty for the whole studio. to:
    who gets it, as_what: as owner, foundry, estate, client … terms: what was agreed. file: given along, hashed and
    named on record. back_by: a loan's or licence's last day. show: how much of recipes an owner's sheet shows."""

    kind: str
    record: str
    to: str
    as_what: str = ""
    terms: str = ""
    file: Path | None = None
    back_by: date | None = None
    note: str = ""
    on: date | None = None
    show: str = "steps"


def kind_of(record: str) -> str:
    """What handing over a record means where nobody says: a cast its owner's sheet, a recipe a licence, a tile a loan.

    >>> kind_of("C3"), kind_of("R1"), kind_of("t2"), kind_of("")
    ("owner's sheet", 'recipe licence', 'tile on loan', 'report')
    """
    letter = record.strip()[:1].upper() if record.strip()[1:].isdigit() else ""
    return {"C": "owner's sheet", "R": "recipe licence", "T": "tile on loan"}.get(letter, "report")


def give(studio: Studio, entry: Giving, *, by: str = "") -> HandoverRow:
    """Hand something over and write down who was given what, in which version, on which terms.

    An owner's sheet whose file is not there yet is printed (.pdf or .html), and so is the file of a recipe under
    licence (.toml); another file must be there already. Raises BadQuantity, NotFound, Refused, Withheld.
    """
    _sound(entry)
    on = entry.on or date.today()
    studio.require("hand over")
    record, version, what = _record(studio, entry)
    made = _file(studio, entry, record, version)
    with unit(studio.store, "hand over", by=studio.who(by), why=entry.terms.strip()[:400]) as work:
        if entry.kind == "tile on loan":
            _not_out(work.session, record)
        row = handovers.add_handover(
            work.session,
            kind=entry.kind,
            record=record,
            to=entry.to.strip(),
            on=on,
            by=work.by,
            version=version,
            what=what,
            as_what=entry.as_what.strip()[:80],
            terms=entry.terms.strip(),
            file_name="" if made is None else made.name[:400],
            sha256="" if made is None else _sha256(made),
            size_bytes=None if made is None else made.stat().st_size,
            back_by=entry.back_by,
            note=entry.note.strip(),
        )
        shown = handovers.handover_row(row)
        work.commit()
    return shown


def take_back(studio: Studio, which: str, *, on: date | None = None, note: str = "", by: str = "") -> HandoverRow:
    """A loan is back, or a licence has ended. Raises NotFound, Refused."""
    with unit(studio.store, "take back", by=studio.who(by), why=note.strip()[:400]) as work:
        row = handovers.find_handover(work.session, which)
        back = handovers.take_back(work.session, row, on=on or date.today(), by=work.by, note=note.strip())
        shown = handovers.handover_row(row, back.given_on)
        work.commit()
    return shown


def transfer_list(studio: Studio, to: str = "") -> TransferSheet:
    """What is out of the house and what would go over: for a change of foundry, or an estate.

    to: only what these words' holder has; empty for all.
    """
    from patina.bench.access import withheld_ids
    from patina.bench.recipes.finishes import list_recipes
    from patina.records.matched.masters_more import holdings
    from patina.records.tables.matching import TileHoldingTable

    with studio.store.view() as session:
        rows = handovers.handover_rows(session, to=to)
        holders = holdings(session, TileHoldingTable.id > 0, date.today())
    held = tuple((h.tile, h.engraved, h.holder, h.place) for h in holders if to.casefold() in h.holder.casefold())
    hidden = withheld_ids(studio)
    return TransferSheet(
        to=to,
        made_on=date.today(),
        loans=tuple(r for r in rows if r.kind == "tile on loan" and r.out),
        licences=tuple(r for r in rows if r.kind == "recipe licence" and r.out),
        files=tuple(r for r in rows if r.sha256 and r.kind != "recipe licence"),
        held=held,
        recipes=tuple((r.id, r.name, r.id in hidden) for r in list_recipes(studio)),
    )


def print_transfer_list(studio: Studio, path: Path, to: str = "") -> tuple[Path, ...]:
    """The transfer list on paper or as a page; the path's ending picks which. Raises Refused."""
    from patina.reports.owner_sheet import transfer_document
    from patina.reports.publish import publish

    return publish(transfer_document(transfer_list(studio, to), studio=studio.setting("studio_name")), path)


def require_receiver(to: str) -> None:
    """Raises Refused where nobody is named, BadQuantity for what is no name."""
    if not to.strip():
        raise Refused("It is not said who is given it.", "Name the person or the house.", field="to")
    if len(to) > 400 or not to.isprintable():
        raise BadQuantity("That is no name.", "Write up to 400 characters on one line.", field="to")


def require_past(on: date | None) -> None:
    """Raises BadQuantity for a day to come: it cannot be on record yet. Elsewhere it may be tomorrow already."""
    if on is not None and on > date.today() + timedelta(days=1):
        raise BadQuantity(f"{on.isoformat()} is still to come.", "Give the day on which it was done.", field="on")


def _sound(entry: Giving) -> None:
    if entry.kind not in KINDS:
        raise BadQuantity(f"'{entry.kind}' cannot be given.", f"Use one of: {', '.join(KINDS)}.", field="kind")
    if not entry.record.strip() and entry.file is None:
        raise Refused("It is not said what is given.", "Give the id of a record, or a file.", field="record")
    require_receiver(entry.to)
    require_past(entry.on)
    if entry.kind == "recipe licence" and not entry.terms.strip():
        raise Refused("A licence needs its terms.", "Say what it may be used for, and how long.", field="terms")
    on = entry.on or date.today()
    if entry.back_by is not None and entry.back_by < on:
        raise Refused("It would have to be back before it is given.", "Give a later day.", field="back_by")


def _record(studio: Studio, entry: Giving) -> tuple[str, int | None, str]:
    """The id of what is given, its version, and what it is in words. Raises NotFound, Refused."""
    kind, record = entry.kind, entry.record.strip()
    if kind == "recipe licence":
        from patina.bench.recipes.finishes import recipe_sheet

        recipe = recipe_sheet(studio, record)
        return recipe.id, recipe.revision, f"{recipe.recipe.name}, revision {recipe.revision}"
    if kind == "tile on loan":
        from patina.bench.readings.tiles import tile_sheet

        tile = tile_sheet(studio, record).row
        return tile.id, None, f"tile {tile.engraved}: {tile.recipe or 'recipe not on record'}"
    if kind in ("owner's sheet", "finish record"):
        from patina.bench.pieces.casts import cast_sheet

        cast = cast_sheet(studio, record)
        return cast.row.id, cast.version, f"{cast.row.piece} {cast.row.number}".strip()
    if not record:
        return "", None, "the whole studio"
    from patina.bench.finding.search import find_records

    found = next((f for f in find_records(studio, record) if f.id == record.upper()), None)
    if found is None and record[:1].isalpha() and record[1:].isdigit() and not any(c.isspace() for c in record):
        raise NotFound(f"There is no record '{record}'.", "Give the id of what is given.", field="record")
    return (record.upper(), None, f"{found.kind} {found.name}") if found is not None else (record[:40], None, record)


def _file(studio: Studio, entry: Giving, record: str, version: int | None) -> Path | None:
    """The file that goes with it; made where it can be. Raises NotFound, Refused, Withheld."""
    path = entry.file
    if entry.kind == "owner's sheet":
        from patina.bench.paper.owner import print_owner_sheet

        if path is None:
            raise Refused("It is not said where the sheet is.", "Name its file (.pdf or .html).", field="file")
        return path if path.is_file() else print_owner_sheet(studio, record, path, show=entry.show)[0]
    if entry.kind == "recipe licence" and path is not None and not path.exists():
        from patina.bench.recipes.finishes import export_recipe
        from patina.bench.saving import write_whole

        return write_whole(path, export_recipe(studio, record, version).encode("utf-8"))
    if path is not None and not path.is_file():
        raise NotFound(f"There is no file '{path}'.", "Give the file that was handed over.", field="file")
    return path


def _not_out(session: Session, tile: str) -> None:
    out = next((r for r in handovers.handover_rows(session, record=tile, out=True) if r.kind == "tile on loan"), None)
    if out is not None:
        raise Refused(
            f"{tile} is with {out.to} since {out.given_on.isoformat()} ({out.id}).",
            f"Write down that it came back first: patina back {out.id}.",
        )


def _sha256(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
