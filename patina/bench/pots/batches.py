"""Batches: what was really mixed, what is left of it, and until when it may be used."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from patina.bench.entry_rules import batch_in_order
from patina.bench.pots import pot_rules
from patina.bench.studio import Studio
from patina.chemistry.substances import Catalogue
from patina.entries import NewBatch, Weighed
from patina.errors import BadQuantity, NotFound, Refused
from patina.records.recipes.recipes import find_recipe, find_revision
from patina.records.shelves import batches
from patina.records.studio.unit import UnitOfWork, unit
from patina.records.tables.ids import fetch
from patina.records.tables.recipe_json import recipe_from
from patina.records.tables.shelf import BatchTable, LotTable
from patina.sheets import BatchSheet

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


def list_batches(studio: Studio, open_only: bool = True) -> tuple[BatchSheet, ...]:
    """Batches, newest first. open_only: leave out those of which nothing is left."""
    with studio.store.view() as session:
        where = BatchTable.left_ml > 0 if open_only else None
        return _with_lots(session, batches.batch_sheets(session, _namer(studio.catalogue()), where))


def batch_sheet(studio: Studio, which: str) -> BatchSheet:
    """A batch by its id. Raises NotFound."""
    with studio.store.view() as session:
        row = fetch(session, BatchTable, which, field="batch")
        found = batches.batch_sheets(session, _namer(studio.catalogue()), BatchTable.id == row.id)
        return _with_lots(session, found)[0]


def mix_batch(studio: Studio, batch: NewBatch) -> BatchSheet:
    """Put a batch on record and take what was weighed from its lots, in one transaction.

    A pot of a recipe that is not released is for test tiles only; one that must be gone the same day gets its
    clock. Raises Incomplete, NotFound, UnknownSubstance, Refused where a lot holds something else or a pot is
    meant for work and its recipe is not released, and ShortStock, before anything is taken, where lots hold less.
    """
    known = studio.catalogue()
    entry = batch_in_order(batch)
    who = studio.who(entry.made_by)
    with unit(studio.store, "mix batch", by=who) as work:
        recipe = find_recipe(work.session, entry.recipe)
        revision = find_revision(work.session, recipe, entry.revision)
        pot_rules.may_be_mixed(work.session, known, recipe, revision, entry.purpose)
        solution = recipe_from(revision.document).solution(entry.solution)
        weighed = [_from_lot(work, known, line) for line in entry.weighed]
        row = batches.add_batch(work.session, entry, solution, revision, weighed, who)
        inside = dict.fromkeys([*(i.substance for i in solution.ingredients), *(w.substance for w in weighed)])
        pot_rules.mark(work.session, row, [known.get(key) for key in inside], entry.purpose)
        sheet = _with_lots(work.session, batches.batch_sheets(work.session, _namer(known), BatchTable.id == row.id))[0]
        work.commit()
    return sheet


def _from_lot(work: UnitOfWork, known: Catalogue, line: Weighed) -> batches.FromLot:
    substance = known.find(line.substance, field="weighed")
    lot = None
    if line.lot:
        lot = fetch(work.session, LotTable, line.lot, field="lot")
        if lot.unit != line.unit:
            raise Refused(
                f"{lot.public_id} ({lot.name}) is kept in {lot.unit}, not in {line.unit}.",
                f"Give what was taken in {lot.unit}.",
                field="weighed",
            )
        if lot.substance != substance.key:
            raise Refused(
                f"{lot.public_id} holds {lot.name}, not {substance.name}.",
                "Name the lot it was really weighed from, or the form that was really weighed.",
                field="lot",
            )
    return batches.FromLot(substance.key, line.asked, line.amount, line.unit, lot)


def use_from_batch(
    studio: Studio, which: str, ml: float, why: str, *, though_old: bool = False, by: str = ""
) -> BatchSheet:
    """Take millilitres out of a batch and say what for.

    though_old: use it although its time is over. Raises BadQuantity, NotFound, Refused where less
    is left or its time is over.
    """
    if not 0.0 < ml < 1e9:
        raise BadQuantity(f"{ml:g} mL cannot be taken.", "Give an amount above zero.", field="ml")
    if not why.strip():
        raise Refused("It is not said what it was taken for.", "Say it in a few words.", field="why")
    return _taken(studio, which, ml, why.strip(), though_old=though_old, by=by)


def discard_batch(studio: Studio, which: str, why: str, *, by: str = "") -> BatchSheet:
    """Put what is left of a batch to waste and say how (the drum it went into). Raises NotFound, Refused."""
    if not why.strip():
        raise Refused("It is not said where it went.", "Name the waste drum or the reason.", field="why")
    return _taken(studio, which, None, f"discarded: {why.strip()}", though_old=True, by=by)


def _taken(studio: Studio, which: str, ml: float | None, why: str, *, though_old: bool, by: str) -> BatchSheet:
    who = studio.who(by)
    with unit(studio.store, "use batch", by=who, why=why) as work:
        row = fetch(work.session, BatchTable, which, field="batch")
        if ml is not None:
            pot_rules.may_be_used(work.session, row)
        over = row.use_until is not None and row.use_until < datetime.now(UTC)
        if over and not though_old:
            raise Refused(
                f"The time of batch {row.public_id} was over at {row.use_until:%Y-%m-%d %H:%M} UTC.",
                "Test it on a tile and say that it is used all the same, or mix a new one.",
            )
        if ml is None and row.left_ml <= 0:
            raise Refused(f"Nothing is left of batch {row.public_id}.", "There is nothing to discard.")
        batches.use_batch(work.session, row, row.left_ml if ml is None else ml, why=why, by=who)
        found = batches.batch_sheets(work.session, _namer(studio.catalogue()), BatchTable.id == row.id)
        sheet = _with_lots(work.session, found)[0]
        work.commit()
    return sheet


def _with_lots(session: Session, sheets: Sequence[BatchSheet]) -> tuple[BatchSheet, ...]:
    """The batches with what the lots are called that they were weighed from: substance and the supplier's number."""
    ids = {lot for sheet in sheets for *_, lot in sheet.weighed if lot}
    rows = (session.get(LotTable, int(id[1:])) for id in ids)
    names = {row.public_id: f"{row.name} {row.lot_number}".strip() for row in rows if row is not None}
    return tuple(
        replace(sheet, lot_names=tuple((lot, names[lot]) for *_, lot in sheet.weighed if lot in names))
        for sheet in sheets
    )


def _namer(known: Catalogue) -> Callable[[str], str]:
    def name_of(key: str) -> str:
        try:
            return known.get(key).name
        except NotFound:
            return key

    return name_of
