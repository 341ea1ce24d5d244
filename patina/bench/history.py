"""Who changed what, when and why; taking a deed back; withdrawing a reading."""

from __future__ import annotations

from patina.bench.studio import Studio
from patina.errors import Refused
from patina.sheets.history import DeedRow, UndoSheet

LONGEST_WHY = 2000


def deeds_on(studio: Studio, record: str = "", *, limit: int = 100) -> tuple[DeedRow, ...]:
    """The newest deeds on a record and on what belongs to it (readings of a tile, revisions of a recipe), with
    every field that became another; an empty id gives those on the whole studio. Raises NotFound."""
    from patina.records.history.past import history
    from patina.records.history.signing import record_of

    with studio.store.view() as session:
        row = record_of(session, record) if record.strip() else None
        return history(session, row, limit)


def undo(studio: Studio, *, change: int | None = None, redo: bool = False, why: str = "", by: str = "") -> UndoSheet:
    """Take the last deed of a person back by a new deed. Nothing is erased: the log keeps both.

    change: number of a change in the log, for the deed it belongs to. redo: take the last undo back.
    Raises NotFound where there is none; Refused where something later hangs on it, where it is of a kind that
    is never taken out (the way to correct it is named), or where the record was signed off.
    """
    from patina.records.history import undo as undoing
    from patina.records.studio.unit import unit

    reason = _reason(why, needed=False)
    known = studio.catalogue()
    with studio.store.view_of_all() as session:
        who = studio.who(by)
        deed = undoing.find_deed(session, who, redo=redo) if change is None else undoing.find_numbered(session, change)
        name, first, last = deed.name, deed.first, deed.last
    with unit(studio.store, f"undo {first}-{last}", by=who, why=reason or f"taken back: {name}") as work:
        found = undoing.find_numbered(work.session, first)
        undoing.require_standing(work.session, found)
        sheet = undoing.take_back(work.session, found, known, by=work.by)
        work.commit()
    studio.forget()  # a substance may have been taken back
    return sheet


def withdraw_reading(studio: Studio, reading: str, why: str, *, by: str = "") -> str:
    """Let a reading count no longer, with the reason; it stays on record. Returns its id.

    Raises NotFound; Refused without a reason, where it is withdrawn already or was signed off with its cast.
    """
    from patina.records.history.signing import record_of
    from patina.records.log.withdrawn import withdraw
    from patina.records.studio.unit import unit
    from patina.records.tables.first import ReadingTable

    reason = _reason(why, needed=True)
    with unit(studio.store, "withdraw reading", by=studio.who(by), why=reason) as work:
        row = record_of(work.session, reading)
        if not isinstance(row, ReadingTable):
            raise Refused(f"{row.public_id} is no reading.", "Give the id of a reading, such as D1.", field="reading")
        withdraw(work.session, row, why=reason, by=work.by)
        work.commit()
    return row.public_id


def _reason(why: str, *, needed: bool) -> str:
    reason = why.strip()
    if needed and not reason:
        raise Refused("It is not said why.", "Give the reason in a few words.", field="why")
    return short_reason(reason)


def short_reason(reason: str) -> str:
    """A reason that is not too long. Raises Refused."""
    if len(reason) > LONGEST_WHY:
        raise Refused(
            f"The reason has {len(reason)} characters.", f"Say it in {LONGEST_WHY} characters or less.", field="why"
        )
    return reason
