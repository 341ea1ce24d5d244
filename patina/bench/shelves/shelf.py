"""The shelf: lots of chemicals, what is left of them, and what may no longer be used."""

from __future__ import annotations

from datetime import date

from patina.bench.entry_rules import lot_in_order
from patina.bench.studio import Studio
from patina.chemistry.substances import Catalogue, Substance
from patina.entries import NewLot
from patina.errors import BadQuantity, NotFound, Refused
from patina.records.shelves import shelf
from patina.records.studio.unit import unit
from patina.records.tables.ids import fetch
from patina.records.tables.shelf import LotTable
from patina.sheets import LotRow, MovementRow


def list_lots(studio: Studio, search: str = "") -> tuple[LotRow, ...]:
    """Lots in order of name, spent ones last. search: every word must stand in the substance's
    names, supplier, grade, number, place or note."""
    known = studio.catalogue()
    with studio.store.view() as session:
        return tuple(_row(lot, known) for lot in shelf.lots(session, search=search))


def lot_row(studio: Studio, which: str) -> LotRow:
    """A lot by its id. Raises NotFound."""
    with studio.store.view() as session:
        return _row(fetch(session, LotTable, which, field="lot"), studio.catalogue())


def lot_of_row(studio: Studio, lot: LotTable) -> LotRow:
    """A lot that is already at hand, as it is shown."""
    return _row(lot, studio.catalogue())


def lot_movements(studio: Studio, which: str) -> tuple[MovementRow, ...]:
    """What went into and out of a lot, oldest first. Raises NotFound."""
    with studio.store.view() as session:
        lot = fetch(session, LotTable, which, field="lot")
        return tuple(
            MovementRow(
                m.at, m.amount, lot.unit, m.why, m.by, None if m.batch_id is None else f"B{m.batch_id}", pot or ""
            )
            for m, pot in shelf.movements(session, lot)
        )


def lots_of(studio: Studio, substance: str) -> tuple[LotRow, ...]:
    """Lots that still hold some form of a substance (any hydrate or grade of the same base), those
    of the very form first. Raises UnknownSubstance."""
    known = studio.catalogue()
    wanted = known.find(substance)
    keys = {wanted.key}
    if wanted.base is not None:
        keys |= {form.key for form in known.forms_of(wanted.base)}
    with studio.store.view() as session:
        found = shelf.lots(session, LotTable.substance.in_(sorted(keys)))
        rows = [_row(lot, known) for lot in found if lot.left_amount > 0]
    return tuple(sorted(rows, key=lambda row: row.substance_key != wanted.key))


def add_lot(studio: Studio, lot: NewLot, *, by: str = "") -> LotRow:
    """Put a lot on the shelf. Raises Incomplete, UnknownSubstance."""
    known = studio.catalogue()
    entry = lot_in_order(lot)
    substance = known.find(entry.substance, field="substance")
    who = studio.who(by)
    with unit(studio.store, "add lot", by=who) as work:
        row = shelf.add_lot(
            work.session, entry, key=substance.key, name=substance.name, words=_words(substance), by=who
        )
        work.commit()
    return _row(row, known)


def change_lot(studio: Studio, which: str, lot: NewLot, version: int | None = None, *, by: str = "") -> LotRow:
    """Correct what is on record of a lot; the log keeps what it was. version: of the row that was
    edited. Raises Changed, Incomplete, NotFound, Refused, UnknownSubstance."""
    known = studio.catalogue()
    entry = lot_in_order(lot)
    substance = known.find(entry.substance, field="substance")
    who = studio.who(by)
    with unit(studio.store, "change lot", by=who) as work:
        row = fetch(work.session, LotTable, which, field="lot")
        shelf.change_lot(
            work.session,
            row,
            entry,
            key=substance.key,
            name=substance.name,
            words=_words(substance),
            by=who,
            version=version,
        )
        work.commit()
    return _row(row, known)


def take_from_lot(studio: Studio, lot: str, amount: float, unit_of: str, why: str, *, by: str = "") -> LotRow:
    """Take an amount ("g" or "mL", as the lot is kept) out of a lot and say what for.

    Raises BadQuantity, NotFound, Refused for another unit, ShortStock where the lot holds less.
    """
    if not 0.0 < amount < 1e9:
        raise BadQuantity(f"{amount:g} {unit_of} cannot be taken.", "Give an amount above zero.", field="amount")
    if not why.strip():
        raise Refused("It is not said what it was taken for.", "Say it in a few words.", field="why")
    who = studio.who(by)
    with unit(studio.store, "take from lot", by=who, why=why.strip()) as work:
        row = fetch(work.session, LotTable, lot, field="lot")
        shelf.take(work.session, row, amount, unit_of, why=why.strip(), by=who)
        work.commit()
    return _row(row, studio.catalogue())


def count_lot(studio: Studio, lot: str, left: float, unit_of: str, *, why: str = "stock-take", by: str = "") -> LotRow:
    """What a stock-take found in a lot; the difference stays on record. Raises BadQuantity, NotFound, Refused."""
    if not 0.0 <= left < 1e9:
        raise BadQuantity(f"{left:g} {unit_of} cannot be left.", "Give zero or more.", field="left")
    who = studio.who(by)
    with unit(studio.store, "count lot", by=who, why=why) as work:
        row = fetch(work.session, LotTable, lot, field="lot")
        if unit_of != row.unit:
            raise Refused(f"{row.public_id} is kept in {row.unit}.", f"Give what is left in {row.unit}.", field="unit")
        shelf.count(work.session, row, left, why=why, by=who)
        work.commit()
    return _row(row, studio.catalogue())


def _words(substance: Substance) -> list[str]:
    return [*substance.other_names, substance.cas or "", substance.formula]


def _row(lot: LotTable, known: Catalogue) -> LotRow:
    try:
        substance = known.get(lot.substance)
    except NotFound:  # a studio from a newer program may hold substances that this one does not know
        substance = None
    return LotRow(
        cas=None if substance is None else substance.cas,
        signal_word="unknown" if substance is None else signal_word(substance),
        state=_state(lot, date.today()),
        **shelf.lot_values(lot),
    )


def _state(lot: LotTable, today: date) -> str:
    if lot.left_amount <= 0:
        return "spent"
    if lot.use_by is not None and lot.use_by < today:
        return "expired"
    return "opened" if lot.opened_on is not None or lot.left_amount < lot.amount else ""


def signal_word(substance: Substance) -> str | None:
    """ "Danger" or "Warning" as the substance is sold; None where its classes call for neither;
    "unknown" where nobody has said what it is."""
    from patina.safety.label import SIGNAL_ORDER, elements

    if substance.hazard_basis == "unknown":
        return "unknown"
    try:
        words = {elements(hazard.code, hazard.h)[0] for hazard in substance.hazards}
    except NotFound:  # a class of an added substance that the label's table does not hold
        return "unknown"
    return next((word for word in SIGNAL_ORDER if word in words), None)
