"""Approval: a page for the client, and the viewing at which somebody looked and said yes or no."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.entry_rules import Rules
from patina.bench.readings.tiles import target_of
from patina.entries import APPROVAL_ANSWERS, APPROVAL_ROLES, WAX_STATES, NewApproval
from patina.errors import NotFound, Refused
from patina.records.matched import masters, masters_more
from patina.records.pieces.casts import cast_sheet
from patina.records.studio.unit import unit
from patina.records.tables.pieces import CastTable
from patina.sheets import VerdictSheet
from patina.sheets.matching import AgreedSheet, ApprovalRow

if TYPE_CHECKING:
    from patina.bench.studio import Studio

SEEN = ("in hand", "picture")


def record_approval(studio: Studio, entry: NewApproval, *, by: str = "") -> ApprovalRow:
    """Put a viewing on record, with the figures that were on the table that day. It is never edited.

    Raises Incomplete, NotFound."""
    rules = Rules()
    rules.need(entry.who, "who", "Who looked at it")
    rules.short(entry.who, "who", 400)
    rules.among(entry.role, "role", APPROVAL_ROLES)
    rules.among(entry.answer, "answer", APPROVAL_ANSWERS)
    rules.among(entry.state, "state", WAX_STATES)
    rules.among(entry.seen, "seen", SEEN)
    rules.short(entry.light, "light", 400)
    rules.short(entry.place, "place", 400)
    rules.short(entry.remarks, "remarks", 20_000)
    if entry.answer == "approved with remarks" and not entry.remarks.strip():
        rules.troubles.append(Refused("The remarks are missing.", "Write them down.", field="remarks"))
    if entry.held_on is not None and entry.held_on > date.today():
        rules.troubles.append(Refused("The viewing lies in the future.", "Correct the date.", field="held_on"))
    rules.done()
    which = entry.master or _master_of(studio, entry.piece)
    shown = _shown(studio, which, entry.piece)
    with unit(studio.store, "approval", by=studio.who(by)) as work:
        target = target_of(work.session, entry.piece)
        master = None if which is None else masters.find_master(work.session, which)
        row = masters_more.add_approval(
            work.session,
            master,
            target,
            by=studio.who(by),
            who=entry.who.strip(),
            role=entry.role,
            place=entry.place.strip(),
            light=entry.light.strip() or "not stated",
            state=entry.state,
            seen=entry.seen,
            answer=entry.answer,
            remarks=entry.remarks.strip(),
            held_on=entry.held_on or date.today(),
            shown=shown,
        )
        sheet = masters_more.approval_row(work.session, row)
        work.commit()
    return sheet


def approvals_of(studio: Studio, piece: str) -> tuple[ApprovalRow, ...]:
    """Viewings of a tile or cast, newest first. Raises NotFound."""
    with studio.store.view() as session:
        return masters_more.approvals(session, masters_more.of_target(target_of(session, piece)))


def _master_of(studio: Studio, piece: str) -> str | None:
    with studio.store.view() as session:
        target = target_of(session, piece)
        return f"M{target.master_id}" if isinstance(target, CastTable) and target.master_id is not None else None


def _shown(studio: Studio, master: str | None, piece: str) -> dict[str, Any]:
    """The figures that could be shown that day; empty where the piece was never read."""
    if master is None:
        return {}
    try:
        verdict = _verdict(studio, master, piece)
    except NotFound:
        return {}
    reference, sample = verdict.comparison.reference_lab, verdict.comparison.sample_lab
    return {
        "agreed": reference.as_list(),
        "piece": sample.as_list(),
        "delta_e": verdict.comparison.difference.delta_e,
        "formula": verdict.comparison.difference.formula,
        "verdict": verdict.verdict,
        "why": verdict.why,
        "readings": list(verdict.readings),
    }


def _verdict(studio: Studio, master: str, piece: str) -> VerdictSheet:
    from patina.bench.matched.judging import judge

    return judge(studio, master, piece)


def write_page(studio: Studio, piece: str, path: Path, *, master: str | None = None) -> Path:
    """A page for the client in one file that asks nothing of the network: colours side by side, what differs,
    photographs, the caution that screens differ, and room to sign.

    piece: a cast or tile that was read. master: an agreed finish, None for the one the cast names.
    Raises NotFound, Refused without an agreed finish, StudioTrouble.
    """
    from patina.bench.matched.agreed import agreed_sheet
    from patina.bench.paper.printing import _pictures
    from patina.bench.readings.showing import near_only, screen_colour
    from patina.bench.saving import write_whole
    from patina.reports.approval_page import page

    which = master or _master_of(studio, piece)
    if which is None:
        raise Refused(
            f"{piece} names no agreed finish to be shown beside.",
            "Name one with --master, or say in the cast which is meant.",
            field="master",
        )
    verdict, agreed = _verdict(studio, which, piece), agreed_sheet(studio, which)
    name, pictures = _named(studio, piece)
    html = page(
        agreed,
        verdict,
        name=name,
        studio=studio.setting("studio_name"),
        made_on=date.today(),
        colour_of=screen_colour,
        near_only=near_only,
        pictures=_pictures(studio, pictures),
        held=tuple(a for a in _about(agreed, piece)),
    )
    return write_whole(Path(path), html.encode("utf-8"))


def _about(agreed: AgreedSheet, piece: str) -> tuple[ApprovalRow, ...]:
    return tuple(a for a in agreed.approvals if a.piece == piece.strip().upper())


def _named(studio: Studio, piece: str) -> tuple[str, list[tuple[str, str]]]:
    from patina.records.readings.tiles import tile_sheet

    with studio.store.view() as session:
        target = target_of(session, piece)
        if isinstance(target, CastTable):
            cast = cast_sheet(session, target)
            name = f"{cast.row.piece} {cast.row.number}".strip()
            return name, [(p.sha256, p.name) for p in cast.photographs[:4]]
        tile = tile_sheet(session, target)
        return f"tile {tile.row.engraved}", [(p.sha256, p.name) for p in tile.photographs[:4]]
