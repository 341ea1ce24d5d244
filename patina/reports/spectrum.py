"""A cast and its treatments as rows of Spectrum's information groups, for a museum's own system.

Each row: object number, group, unit, the entry it belongs to (a treatment, an action, a check), value.
Source: [SPECTRUM5] [SPECTRUM_CARE]
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence

from patina.reports import figures
from patina.sheets import CastSheet
from patina.sheets.treatment import TreatmentSheet

HEADER = ("object_number", "group", "unit_of_information", "entry", "value", "source_of_name")
# (group, unit, source) by field
Units = Mapping[str, tuple[str, str, str]]
Pair = tuple[str, str]


def spectrum_rows(
    cast: CastSheet,
    units: Units,
    *,
    title: str,
    maker: str,
    edition: int | None,
    height_mm: float | None,
    treatments: Sequence[TreatmentSheet] = (),
    show_agents: bool = True,
) -> list[tuple[str, ...]]:
    """The rows of a cast; what is not known has none. show_agents: False leaves out what was applied."""
    row = cast.row
    found: list[tuple[str, str, str]] = []

    def say(entry: str, *pairs: Pair) -> None:
        found.extend((entry, field, value) for field, value in pairs if value)

    say(
        row.id,
        *(("id", row.id), ("kind", "cast of a sculpture"), ("title", title), ("number", row.number)),
        *(("note", cast.note), ("alloy", row.alloy), ("edition", _n(edition)), ("height_mm", _n(height_mm))),
        *(("mass_g", _n(cast.mass_g)), ("area_m2", _n(cast.area_m2)), ("maker", maker)),
        *(("cast_on", figures.day(cast.cast_on)), ("place", row.place), ("owner", row.owner)),
    )
    for done in cast.treatments:
        say(done.id, ("did", done.did), ("done_by", done.done_by), ("done_on", figures.day(done.done_on)))
    for reading in cast.readings:
        lab = reading.lab
        figure = f"L* {lab.L:.2f}, a* {lab.a:.2f}, b* {lab.b:.2f} ({lab.illuminant}, {lab.observer} degrees)"
        say(reading.id, ("reading", figure), ("seen_by", reading.read_by), ("seen_on", f"{reading.read_at:%Y-%m-%d}"))
    for sheet in treatments:
        for entry, pairs in _of_record(sheet, show_agents):
            say(entry, *pairs)
    return [(row.id, *units[field][:2], entry, value, units[field][2]) for entry, field, value in found]


def _of_record(sheet: TreatmentSheet, show_agents: bool) -> Iterator[tuple[str, tuple[Pair, ...]]]:
    record, head = sheet.record, sheet.record.head
    yield (
        sheet.id,
        (
            *(("treatment", head.name), ("purpose", head.purpose), ("recommendations", head.recommendations)),
            *(("limits", head.limits), ("condition", head.state_after)),
        ),
    )
    for given in record.authorities:
        yield given.id, (("authority", f"{given.value.who}: {given.value.what}"),)
    for seen in record.statements:
        value = seen.value
        yield (
            seen.id,
            (
                *(("seen_note", f"{value.sort}: {value.text}"), ("seen_by", value.by)),
                *(("seen_on", figures.day(value.on)), ("seen_method", value.method)),
            ),
        )
    for action in record.actions:
        done = action.value
        agent = done.agent if show_agents else ""
        yield (
            action.id,
            (("did", done.did), ("agent", agent), ("done_by", done.by), ("done_on", figures.day(done.on))),
        )
    for status in sheet.care:
        yield status.item.id, (("next_check", figures.day(status.next_on)),)


def _n(value: float | None) -> str:
    return "" if value is None else f"{value:.6g}"


def as_csv(rows: Sequence[tuple[str, ...]]) -> str:
    """The rows under their header; a text that a spreadsheet would run has an apostrophe in front.

    Source: [CSV_FORMULA]
    """
    out = io.StringIO()
    sheet = csv.writer(out)
    sheet.writerow(HEADER)
    sheet.writerows([_safe(cell) for cell in row] for row in rows)
    return out.getvalue()


def _safe(cell: str) -> str:
    return f"'{cell}" if cell[:1] in tuple("'=+-@\t\r\n\uff1d\uff0b\uff0d\uff20") and cell else cell
