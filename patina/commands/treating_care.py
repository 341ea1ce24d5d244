"""`patina care` and `patina treatment earlier-care`: the care that is due, and that of earlier treatments."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import click

from patina.commands.common import common, say, the_studio
from patina.language import shown

_DAY = click.DateTime(["%Y-%m-%d"])


@click.command()
@click.option("--owner", default="", help="Only of owners whose name holds this.")
@click.option("--all", "all_points", is_flag=True, help="Also what is still in time.")
@click.option("--on", "day", type=_DAY, help="Counted to another day: 2027-03-14.")
@common
def care(owner: str, all_points: bool, day: datetime | None, studio: str | None, as_json: bool) -> None:
    """Care that is due, by owner: by months passed, or because a reading or finding set it off."""
    from patina.bench.treating.treat_care import care_rows
    from patina.sheets.care_words import care_row_words

    today = date.today() if day is None else day.date()
    with the_studio(studio) as opened:
        rows = care_rows(opened, today, owner=owner, all_points=all_points)
    lines: list[str] = []
    last = None
    for row in rows:
        if row.owner != last:
            lines.append(row.owner or "owner not said")
            last = row.owner
        lines.append(f"  {care_row_words(row)}")
    say(as_json, {"items": [r.as_json() for r in rows]}, "\n".join(lines) or "No care is due.")


@click.command("earlier-care")
@click.argument("which", metavar="TREATMENT")
@click.option("--take-over", "taken", multiple=True, metavar="POINT", help="Written anew in TREATMENT's own schedule.")
@click.option("--end", "ended", multiple=True, metavar="POINT", help="Looked at no more.")
@click.option("--why", default="", help="Why; else the two treatments are named.")
@click.option("--on", "day", type=_DAY, help="The day it is done, where it is not today: 2026-03-14.")
@click.option("--by", default="", help="Who decides it, where it is not who works here.")
@common
def earlier_care(
    which: str,
    taken: tuple[str, ...],
    ended: tuple[str, ...],
    why: str,
    day: datetime | None,
    by: str,
    studio: str | None,
    as_json: bool,
) -> None:
    """Care of earlier treatments of the object that still reminds; TREATMENT takes points of it over or ends them.

    "all" stands for every such point. The earlier record is added to, never edited, also where it was signed off."""
    from patina.bench.treating.treat import treatment_sheet
    from patina.bench.treating.treat_care import hand_on_care
    from patina.sheets.care_words import care_row_words, reason_ended, reason_taken_over

    with the_studio(studio) as opened:
        sheet = treatment_sheet(opened, which)
        rows = {row.status.item.id: row for row in sheet.earlier_care}

        def reasons(points: tuple[str, ...], said: Any) -> dict[str, str]:
            ids = [id for one in points for id in (rows if one.strip().lower() == "all" else (one.strip().upper(),))]
            return {id: why or (shown(said(rows[id], sheet)) if id in rows else "") for id in ids}

        if taken or ended:
            sheet = hand_on_care(
                opened,
                which,
                take_over=reasons(taken, reason_taken_over),
                end=reasons(ended, reason_ended),
                on=None if day is None else day.date(),
                by=by,
            )
    lines = [care_row_words(row) for row in sheet.earlier_care]
    say(as_json, sheet.as_json(), "\n".join(lines) or "No care of an earlier treatment still reminds.")
