"""The care schedule: what is due, by months passed, by a reading beyond its limit, or by what was found."""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import date, timedelta

from patina.conservation.record import Kept, Record
from patina.conservation.values import CareItem, CareVisit
from patina.conservation.vocabulary import Trigger, triggers
from patina.errors import BadQuantity, Refused

SOON_DAYS = 30


@dataclass(frozen=True, slots=True)
class CareStatus:
    """Where one point of the schedule stands.

    state: "act" (a trigger was met and nothing was done since), "overdue", "soon" (within 30 days), "in time", or
    "ended" (looked at no more). next_on: the day it is to be looked at, or was to be. days: past that day, below 0
    where it is still to come.
    """

    item: Kept[CareItem]
    trigger: Trigger
    last: Kept[CareVisit] | None
    next_on: date
    days: int
    state: str
    why: str

    @property
    def due(self) -> bool:
        """Whether somebody must do something now."""
        return self.state in ("act", "overdue")


def add_months(day: date, months: float) -> date:
    """The day some months later; the last of a month stays within its month. Parts of a month count 30.44 days.

    >>> add_months(date(2026, 1, 31), 1), add_months(date(2026, 3, 14), 12)
    (datetime.date(2026, 2, 28), datetime.date(2027, 3, 14))
    """
    whole = int(months)
    years, month = divmod(day.month - 1 + whole, 12)
    year = day.year + years
    if year > 9999:
        raise BadQuantity(f"{months:g} months from {day.isoformat()} is beyond all calendars.", "Give fewer months.")
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, last)) + timedelta(days=round((months - whole) * 30.44))


def months_of(item: CareItem) -> float:
    """How often a point is looked at, in months: as the schedule says, else as the trigger's own."""
    return item.every_months or triggers()[item.trigger].months


def limit_of(item: CareItem) -> float | None:
    """The limit of a point: as the schedule says, else the trigger's own; None where there is none."""
    return item.limit if item.limit is not None else triggers()[item.trigger].limit


def set_off(item: CareItem, visit: CareVisit) -> str:
    """Why a visit's finding sets off care, in words; empty where it does not or cannot be told."""
    trigger = triggers()[item.trigger]
    limit = limit_of(item)
    if trigger.sense == "words":
        met = visit.finding.casefold() in trigger.bad
        return f"{trigger.name}: {visit.finding}" if met else ""
    if trigger.sense in ("above", "below") and visit.value is not None and limit is not None:
        beyond = visit.value > limit if trigger.sense == "above" else visit.value < limit
        unit = f" {trigger.unit}" if trigger.unit else ""
        return f"{trigger.name} {visit.value:g}{unit}, limit {limit:g}{unit}" if beyond else ""
    return ""


STATES = ("act", "overdue", "soon", "in time", "ended")


def care_status(record: Record, today: date) -> tuple[CareStatus, ...]:
    """Every point of the schedule, the most pressing first."""
    found = [_status(record, item, today) for item in record.care]
    return tuple(sorted(found, key=lambda s: (STATES.index(s.state), -s.days, s.item.id)))


def _status(record: Record, item: Kept[CareItem], today: date) -> CareStatus:
    trigger = triggers()[item.value.trigger]
    visits = [v for v in record.care_visits if v.value.item == item.id and v.value.on is not None]
    last = max(visits, key=lambda v: (v.value.on or today, v.at), default=None)
    since = (last.value.on if last is not None else None) or item.value.from_day or item.at.date()
    next_on = add_months(since, months_of(item.value))
    for end in record.care_ends:
        if end.value.item == item.id and end.value.on is not None:
            why = f"ended {end.value.on.isoformat()} by {end.value.by}: {end.value.why}"
            return CareStatus(item, trigger, last, next_on, 0, "ended", why)
    if last is not None and not last.value.done and (why := set_off(item.value, last.value)):
        return CareStatus(item, trigger, last, since, (today - since).days, "act", f"{why}; nothing was done since")
    days = (today - next_on).days
    seen = f"last seen {since.isoformat()}" if last is not None else f"never seen since {since.isoformat()}"
    state = "overdue" if days > 0 else "soon" if -days <= SOON_DAYS else "in time"
    return CareStatus(item, trigger, last, next_on, days, state, f"{seen}, every {months_of(item.value):g} months")


def counted_from(status: CareStatus, finished_on: date | None) -> date:
    """The day from which a point that another treatment takes over counts on: its last visit, or the day the
    schedule counted from, or the end of the treatment that takes it over where that is later."""
    last = None if status.last is None else status.last.value.on
    since = last or status.item.value.from_day or status.item.at.date()
    return since if finished_on is None else max(since, finished_on)


def check_visit(item: CareItem, visit: CareVisit) -> None:
    """Refuse a visit that does not say what its trigger asks. Raises Refused."""
    trigger = triggers()[item.trigger]
    if trigger.sense == "words" and not visit.finding:
        raise Refused(f"The finding is missing: {trigger.name}.", f"Say it: {trigger.note}", field="finding")
    if trigger.sense in ("above", "below") and visit.value is None:
        raise Refused(
            f"The reading is missing: {trigger.name}.", f"Give it in {trigger.unit or 'its unit'}.", field="value"
        )
