"""After the work: hours and materials for the bill, as CSV that a spreadsheet opens without harm."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.saving import write_whole
from patina.bench.studio import Studio
from patina.bench.torch.work import record
from patina.errors import BadQuantity, NotFound, Refused
from patina.records.tables.ids import fetch
from patina.records.tables.work import WorkTable
from patina.records.torch import work_queries
from patina.records.torch.work import work_sheet
from patina.sheets import WorkSheet

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

HEADINGS = ("work", "piece", "recipe", "date", "kind", "what", "amount", "unit", "price", "currency", "note")
CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class BillLine:
    """A line of the bill. kind: "hours" or "material". price: None where the shelf names none."""

    work: str
    piece: str
    recipe: str
    date: str
    kind: str
    what: str
    amount: float
    unit: str
    price: Decimal | None = None
    currency: str = ""
    note: str = ""

    def cells(self) -> list[str]:
        """As text, safe to open in a spreadsheet."""
        price = "" if self.price is None else str(self.price)
        amount = f"{self.amount:.6g}"
        words = (self.work, self.piece, self.recipe, self.date, self.kind, self.what)
        return [
            *map(safe_cell, words),
            amount,
            safe_cell(self.unit),
            price,
            *map(safe_cell, (self.currency, self.note)),
        ]


def safe_cell(text: str) -> str:
    """Text that no spreadsheet takes for a formula: one that begins like one gets an apostrophe in front.

    >>> safe_cell("=1+1"), safe_cell(" @x"), safe_cell("brown")
    ("'=1+1", "' @x", 'brown')
    """
    one_line = text.replace("\r", " ").replace("\n", " ").replace("\t", " ")
    return "'" + one_line if one_line.lstrip()[:1] in tuple("=+-@−") and one_line.strip() else one_line


def add_hours(
    studio: Studio, which: str, task: str, hours: float, *, by: str = "", seen: int | None = None
) -> WorkSheet:
    """Hours of a task that belong to a work beside what the passes tell (chasing, waxing, photographs).

    hours: above 0, at most 1000. Raises BadQuantity, Changed, NotFound, Refused.
    """
    if not 0.0 < hours <= 1000:
        raise BadQuantity(f"{hours:g} h cannot be.", "Give more than 0 and at most 1000 h.", field="hours")
    if not task.strip() or len(task) > 400:
        raise Refused("The task is not named.", "Say in a few words what the hours were for.", field="task")
    said = {"task": task.strip(), "hours": hours}
    return record(studio, which, "hours", lambda *_: {"said": said}, seen=seen, by=by)


def bill(studio: Studio, works: Sequence[str] = ()) -> tuple[BillLine, ...]:
    """Hours and materials of works (all of them where none is named). Raises NotFound."""
    with studio.store.view() as session:
        if works:
            sheets = [work_sheet(session, fetch(session, WorkTable, w, field="work")) for w in works]
        else:
            sheets = work_queries.all_sheets(session)
        return tuple(line for sheet in sheets for line in _lines(studio, session, sheet))


def write_bill(studio: Studio, path: Path, works: Sequence[str] = ()) -> Path:
    """Write the bill as CSV (UTF-8 with a mark, so that spreadsheets see the ° and ²), whole or not at all.

    Raises NotFound, StudioTrouble.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(HEADINGS)
    writer.writerows(line.cells() for line in bill(studio, works))
    return write_whole(path, text.getvalue().encode("utf-8-sig"))


def _lines(studio: Studio, session: Session, sheet: WorkSheet) -> Iterator[BillLine]:
    head = (
        sheet.row.id,
        f"{sheet.row.target} {sheet.row.target_name}",
        f"{sheet.row.recipe}, rev. {sheet.row.revision}",
    )
    day = sheet.row.started_at.date().isoformat()
    yield BillLine(*head, day, "hours", "at the torch", sheet.elapsed_s / 3600, "h", note=sheet.clock_note)
    standing = [e for e in sheet.events if not e.cancelled]
    for event in standing:
        on = event.at.date().isoformat()
        if event.kind == "hours":
            yield BillLine(*head, on, "hours", event.said["task"], event.said["hours"], "h")
        elif event.kind == "coat" and event.said["mass_g"] is not None:
            lot = f"lot {event.said['lot']}" if event.said["lot"] else ""
            yield BillLine(*head, on, "material", event.said["product"], event.said["mass_g"], "g", note=lot)
    used: dict[str, float] = {}
    for event in standing:
        if event.batch is not None and event.used_ml:
            used[event.batch] = used.get(event.batch, 0.0) + event.used_ml
    for batch, ml in used.items():
        yield from _of_batch(studio, session, head, day, batch, ml)


def _of_batch(
    studio: Studio, session: Session, head: tuple[str, str, str], day: str, batch: str, ml: float
) -> Iterator[BillLine]:
    from patina.records.tables.shelf import BatchTable

    pot = fetch(session, BatchTable, batch)
    yield BillLine(*head, day, "material", f"{pot.solution} from {batch}", ml, "mL")
    share = ml / pot.volume_ml
    for weighed, lot in work_queries.materials_of(session, pot.id):
        amount = weighed.amount * share
        price = None
        if lot is not None and lot.price is not None and lot.amount > 0:
            price = (lot.price * Decimal(repr(amount)) / Decimal(repr(lot.amount))).quantize(CENT, ROUND_HALF_UP)
        try:
            name = studio.catalogue().get(weighed.substance).name
        except NotFound:
            name = weighed.substance
        note = f"in {batch}" if lot is None else f"in {batch}, from {lot.public_id}"
        currency = "" if lot is None or price is None else lot.currency
        yield BillLine(*head, day, "material", name, amount, weighed.unit, price, currency, note)
