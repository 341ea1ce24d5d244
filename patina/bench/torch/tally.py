"""A work's sheet with what was done since it was read, worked out without the database. Pure."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from patina.errors import Refused
from patina.sheets import WorkEvent, WorkSheet

if TYPE_CHECKING:
    from patina.records.torch.journal import Entry


def as_it_stands(sheet: WorkSheet, entry: Entry) -> WorkSheet:
    """The sheet after one more entry of the journal. Its number stays that of the last event on record.

    Raises Refused where the entry cannot be: a step or zone that is not there, nothing to take back.
    """
    event = _event(sheet, entry)
    if entry.deed == "pass":
        done = list(sheet.here.done)
        done[sheet.zone_at] += 1
        event = replace(event, pass_number=done[sheet.zone_at])
        return _with(_done(sheet, sheet.step, tuple(done)), event)
    if entry.deed == "move":
        step, zone = entry.given["step"] or sheet.step, entry.given["zone"] or sheet.zone
        if not 1 <= step <= len(sheet.steps) or zone not in {z.name for z in sheet.zones}:
            raise Refused("There is no such step or zone.", "Go to one of those that are shown.")
        pot = sheet.pot if sheet.steps[step - 1].solution == sheet.here.solution else None
        return _with(replace(sheet, step=step, zone=zone, pot=pot), replace(event, step=step, zone=zone))
    if entry.deed == "note":
        return _with(sheet, replace(event, note=entry.given["text"].strip()))
    if entry.deed == "level":
        return _level(sheet, event, entry.given["left_ml"])
    if entry.deed == "temperature":
        shown = entry.given["contact_c"]
        words = "as read; made true when it is on record" if shown is None else ""
        return _with(sheet, replace(event, true_c=shown, note=words, said=dict(entry.given)))
    return _back(sheet, event, entry.given["taken"])


def _event(sheet: WorkSheet, entry: Entry) -> WorkEvent:
    return WorkEvent(
        id=entry.uid,
        seq=sheet.seq,
        kind=entry.deed,
        at=entry.at,
        by=entry.by or sheet.row.by,
        step=sheet.step,
        zone=sheet.zone,
        pass_number=None,
        batch=None if sheet.pot is None else sheet.pot.batch,
        left_ml=None,
        used_ml=None,
        true_c=None,
        cancels=None,
        note="",
        said={},
        cancelled=False,
    )


def _with(sheet: WorkSheet, event: WorkEvent) -> WorkSheet:
    return replace(sheet, events=(*sheet.events, event))


def _done(sheet: WorkSheet, step: int, done: tuple[int, ...]) -> WorkSheet:
    steps = tuple(replace(s, done=done) if s.number == step else s for s in sheet.steps)
    return replace(sheet, steps=steps)


def _level(sheet: WorkSheet, event: WorkEvent, left_ml: float) -> WorkSheet:
    if sheet.pot is None:
        raise Refused("No pot is known for this step.", "Write a note; the pot can be named when the database is back.")
    if not 0.0 <= left_ml <= sheet.pot.left_ml + 1e-6:
        raise Refused(
            f"{sheet.pot.batch} held {sheet.pot.left_ml:g} mL by the last figure; {left_ml:g} mL cannot be left.",
            "Read the pot again.",
            field="left",
        )
    used = sheet.pot.left_ml - left_ml
    return _with(replace(sheet, pot=replace(sheet.pot, left_ml=left_ml)), replace(event, left_ml=left_ml, used_ml=used))


def _back(sheet: WorkSheet, event: WorkEvent, taken: str) -> WorkSheet:
    gone = next((e for e in sheet.events if e.id == taken and not e.cancelled), None)
    if gone is None:
        raise Refused("There is nothing to take back.", "Look at the log of the work.")
    events = tuple(replace(e, cancelled=True) if e is gone else e for e in sheet.events)
    after = replace(sheet, events=events)
    place = next((n for n, z in enumerate(sheet.zones) if z.name == gone.zone), None)
    if gone.kind == "pass" and place is not None:
        done = list(sheet.steps[gone.step - 1].done)
        done[place] -= 1
        after = _done(after, gone.step, tuple(done))
    if gone.kind == "level" and gone.used_ml and sheet.pot is not None and sheet.pot.batch == gone.batch:
        after = replace(after, pot=replace(sheet.pot, left_ml=sheet.pot.left_ml + gone.used_ml))
    if gone.kind == "pot":
        after = replace(after, pot=None)
    if gone.kind == "move":
        stands = [e for e in events if e.kind in ("start", "move") and not e.cancelled]
        after = replace(after, step=stands[-1].step, zone=stands[-1].zone)
    return _with(after, replace(event, kind="back", step=gone.step, zone=gone.zone, cancels=taken))
