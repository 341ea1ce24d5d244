"""`patina agree` and `patina approve`: agreed finishes in full, and the client's yes or no."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from patina.commands.common import common, say, the_studio, times
from patina.commands.help_words import Group
from patina.commands.matching import triple
from patina.entries import (
    APPROVAL_ANSWERS,
    APPROVAL_ROLES,
    HOLDING_ROLES,
    NewApproval,
    NewConcession,
    NewHolding,
    NewZone,
)
from patina.sheets.named import named

if TYPE_CHECKING:
    from patina.sheets.matching import AgreedSheet, ApprovalRow, HoldingRow

_DAY = click.DateTime(["%Y-%m-%d"])


@click.group(cls=Group)
def agree() -> None:
    """An agreed finish in full: zones with limit tiles, who holds which tile, concessions."""


@agree.command()
@click.argument("master")
@common
def show(master: str, studio: str | None, as_json: bool) -> None:
    """Everything about the agreed finish MASTER."""
    from patina.bench.matched.agreed import agreed_sheet

    with the_studio(studio) as opened:
        sheet = agreed_sheet(opened, master)
    say(as_json, agreed_json(sheet), agreed_text(sheet))


@agree.command()
@click.argument("master")
@click.argument("name", metavar="ZONE")
@click.argument("readings", nargs=-1, required=True)
@click.option("--light", help="The light limit tile: its id, a reading's id, or L,a,b.")
@click.option("--dark", help="The dark limit tile.")
@click.option("--fixed-u", type=float, help="± ΔE (95 %) that more readings do not lessen.")
@common
def zone(
    master: str,
    name: str,
    readings: tuple[str, ...],
    light: str | None,
    dark: str | None,
    fixed_u: float | None,
    studio: str | None,
    as_json: bool,
) -> None:
    """Agree the colour of ZONE of MASTER from READINGS (ids of readings or tiles, or L,a,b)."""
    from patina.bench.matched.agreed import agree_zone

    with the_studio(studio) as opened:
        sheet = agree_zone(opened, NewZone(master, name, readings, light, dark, fixed_u))
    say(as_json, agreed_json(sheet), agreed_text(sheet))


@agree.command()
@click.argument("master")
@click.option("--aim", type=click.Choice(["as new", "as today"]), default="as new", show_default=True)
@click.option("--limit-mottle", type=float, help="Limit of tones and shares, in ΔE00.")
@common
def terms(master: str, aim: str, limit_mottle: float | None, studio: str | None, as_json: bool) -> None:
    """Put on record whether MASTER is to look as new or as today, and its limit of mottle."""
    from patina.bench.matched.agreed import agree_terms

    with the_studio(studio) as opened:
        sheet = agree_terms(opened, master, aim=aim, limit_mottle=limit_mottle)
    say(as_json, agreed_json(sheet), agreed_text(sheet))


@agree.command()
@click.argument("tile")
@click.argument("holder")
@click.option("--master", help="The agreed finish it belongs to.")
@click.option("--role", type=click.Choice(list(HOLDING_ROLES)), default="master", show_default=True)
@click.option("--kept", type=click.Choice(["dark", "shelf", "outdoors"]), help="Where a twin is kept.")
@click.option("--place", default="")
@click.option("--next-check", type=_DAY, help="When it is to be read again: 2027-03-14.")
@common
def hold(
    tile: str,
    holder: str,
    master: str | None,
    role: str,
    kept: str | None,
    place: str,
    next_check: datetime | None,
    studio: str | None,
    as_json: bool,
) -> None:
    """Put on record that HOLDER holds TILE."""
    from patina.bench.matched.agreed import hold_tile

    due = None if next_check is None else next_check.date()
    entry = NewHolding(tile, holder, role, master, kept or "", place, date.today(), due)
    with the_studio(studio) as opened:
        row = hold_tile(opened, entry)
    say(as_json, _holding(row), _holding_text(row))


@agree.command()
@common
def due(studio: str | None, as_json: bool) -> None:
    """Tiles whose next check has come, with what they did since."""
    from patina.bench.matched.agreed import checks_due

    with the_studio(studio) as opened:
        rows = checks_due(opened)
    text = "\n".join(_holding_text(r) for r in rows) or "No tile is due."
    say(as_json, {"items": [_holding(r) for r in rows]}, text)


@agree.command()
@click.argument("master")
@click.argument("piece")
@click.option("--reason", required=True)
@click.option("--by", "agreed_by", required=True, help="Who takes it so.")
@common
def concede(master: str, piece: str, reason: str, agreed_by: str, studio: str | None, as_json: bool) -> None:
    """Take PIECE although it is outside MASTER; the agreed finish stays what it is."""
    from patina.bench.matched.agreed import concede as deed

    with the_studio(studio) as opened:
        sheet = deed(opened, NewConcession(master, piece, reason, agreed_by))
    say(as_json, agreed_json(sheet), agreed_text(sheet))


def agreed_json(sheet: AgreedSheet) -> dict[str, Any]:
    """An agreed finish as JSON has it."""
    m = sheet.master
    return {
        "id": m.id,
        "name": m.name,
        "lab": triple(m.lab),
        "formula": m.formula,
        "limits": {
            "de": m.limit_de,
            "dL": m.limit_dL,
            "dC": m.limit_dC,
            "dH": m.limit_dH,
            "mottle": sheet.limit_mottle,
        },
        "light": m.light,
        "geometry": m.geometry,
        "wax_state": m.wax_state,
        "warmth": m.warmth,
        "aim": sheet.aim,
        "zones": [
            {
                "zone": z.zone,
                "lab": triple(z.lab),
                "readings": z.n,
                "sd": None if z.sd is None else list(z.sd),
                "light_limit": None if z.light_limit is None else triple(z.light_limit),
                "dark_limit": None if z.dark_limit is None else triple(z.dark_limit),
                "fixed_u_de": z.fixed_u,
            }
            for z in sheet.zones
        ],
        "holders": [_holding(h) for h in sheet.holdings],
        "concessions": [
            {
                "piece": c.piece,
                "zone": c.zone,
                "delta_e": c.difference,
                "reason": c.reason,
                "agreed_by": c.agreed_by,
                "agreed_on": c.agreed_on.isoformat(),
            }
            for c in sheet.concessions
        ],
        "approvals": [approval_json(a) for a in sheet.approvals],
    }


def _holding(h: HoldingRow) -> dict[str, Any]:
    return {
        "tile": h.tile,
        "holder": h.holder,
        "role": h.role,
        "kept": h.kept,
        "next_check": None if h.next_check is None else h.next_check.isoformat(),
        "due": h.due,
        "drift_de00": h.drift_de,
    }


def _holding_text(h: HoldingRow) -> str:
    check = "" if h.next_check is None else f", next check {h.next_check}{' (due)' if h.due else ''}"
    return f"{h.tile} {h.engraved}: {h.role}, {h.holder}{', ' + h.kept if h.kept else ''}{check}; {h.drift_words}"


def agreed_text(sheet: AgreedSheet) -> str:
    """An agreed finish for a person."""
    m = sheet.master
    lines = [f"{m.id} {m.name}: {m.wax_state}, {m.warmth}, {m.geometry}, {m.light}; to look {sheet.aim}"]
    for z in sheet.zones:
        limits = " ".join(
            f"{word} L* {lab.L:.1f} {tile}".rstrip()
            for word, lab, tile in (
                ("light", z.light_limit, named(z.light_tile, z.light_tile_name)),
                ("dark", z.dark_limit, named(z.dark_tile, z.dark_tile_name)),
            )
            if lab
        )
        lines.append(
            f"  {z.zone}: {z.lab.L:.1f} {z.lab.a:.1f} {z.lab.b:.1f}, {times(z.n, 'reading')} {limits}".rstrip()
        )
    lines += [f"  {_holding_text(h)}" for h in sheet.holdings]
    for c in sheet.concessions:
        lines.append(f"  conceded {named(c.piece, c.piece_name)} ({c.difference:.1f}): {c.reason}, {c.agreed_by}")
    return "\n".join(lines + [f"  {_approval_text(a)}" for a in sheet.approvals])


@click.command()
@click.argument("piece", metavar="TARGET")
@click.option("--page", type=click.Path(path_type=Path, dir_okay=False), help="Write the client's page (HTML) here.")
@click.option("--answer", type=click.Choice(list(APPROVAL_ANSWERS)), help="Record a viewing with this answer.")
@click.option("--who", default="", help="Who looked at it.")
@click.option("--role", type=click.Choice(list(APPROVAL_ROLES)), default="client", show_default=True)
@click.option("--light", default="not stated")
@click.option("--place", default="")
@click.option("--state", default="not stated", help="waxed, unwaxed, lacquered or wet when seen.")
@click.option("--seen", type=click.Choice(["in hand", "picture"]), default="in hand", show_default=True)
@click.option("--remarks", default="")
@click.option("--master", help="An agreed finish; else the one the cast names.")
@common
def approve(
    piece: str,
    page: Path | None,
    answer: str | None,
    master: str | None,
    studio: str | None,
    as_json: bool,
    **said: Any,
) -> None:
    """For TARGET, a cast or tile: the client's page (--page), a viewing put on record (--answer), or the viewings held
    so far."""
    from patina.bench.paper import approving

    document: dict[str, Any] = {}
    lines: list[str] = []
    with the_studio(studio) as opened:
        if answer is not None:
            entry = NewApproval(piece, answer=answer, master=master, **said)
            row = approving.record_approval(opened, entry)
            document["approval"] = approval_json(row)
            lines.append(_approval_text(row))
        if page is not None:
            document["file"] = str(approving.write_page(opened, piece, page, master=master))
            lines.append(f"Written to {page}.")
        if not document:
            rows = approving.approvals_of(opened, piece)
            document["items"] = [approval_json(r) for r in rows]
            lines += [_approval_text(r) for r in rows] or ["Nobody has been asked yet."]
    say(as_json, document, "\n".join(lines))


def approval_json(a: ApprovalRow) -> dict[str, Any]:
    """A viewing as JSON has it."""
    return {
        "id": a.id,
        "master": a.master,
        "piece": a.piece,
        "who": a.who,
        "role": a.role,
        "place": a.place,
        "light": a.light,
        "state": a.state,
        "seen": a.seen,
        "answer": a.answer,
        "remarks": a.remarks,
        "held_on": a.held_on.isoformat(),
    }


def _approval_text(a: ApprovalRow) -> str:
    tail = f": {a.remarks}" if a.remarks else ""
    return (
        f"{a.id} {a.held_on} {a.who} ({a.role}), {named(a.piece, a.piece_name)} {a.seen}, {a.light}: {a.answer}{tail}"
    )
