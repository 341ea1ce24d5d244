"""Deeds, seals and amendments in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patina.language import shown
from tui import format as show
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.sheets.history import Alteration, DeedRow, SealSheet

FIELDS = 30


def deed_line(deed: DeedRow) -> str:
    """A deed in one line of a list."""
    ids = dict.fromkeys(one.record for one in deed.alterations)
    some = " ".join(list(ids)[:4]) + (" …" if len(ids) > 4 else "")
    gone = "  (taken back)" if deed.undone else ""
    return f"{show.moment(deed.at)}  {deed.by or 'unnamed':<14} {shown(deed.deed)}{gone}  {some}"


def deed_words(deed: DeedRow) -> Prose:
    """A deed in full: every field that became another."""
    prose = Prose().title(deed.deed, "taken back since" if deed.undone else "")
    prose.fact("when", show.moment(deed.at)).fact("who", deed.by or "nobody said")
    if deed.why:
        prose.fact("why", deed.why)
    prose.fact("in the log", f"{deed.first}" if deed.first == deed.last else f"{deed.first} to {deed.last}")
    for one in deed.alterations:
        _alteration(prose, one)
    return prose


def _alteration(prose: Prose, one: Alteration) -> None:
    prose.heading(f"{one.record}  {one.kind} {one.did}")
    for field in one.fields[:FIELDS]:
        if one.did == "changed" and field.before:
            prose.fact(field.words, f"{field.before} → {field.after or 'nothing'}")
        else:
            prose.fact(field.words, field.after or field.before)
    if len(one.fields) > FIELDS:
        prose.text(f"and {show.times(len(one.fields) - FIELDS, 'field')} more", "$text-muted")


def seal_words(found: SealSheet) -> Prose:
    """How a record was signed off and what was added since; nothing where neither was done."""
    prose = Prose()
    if found.sealed:
        prose.heading("Signed off")
        prose.fact("by", f"{found.by}, {show.moment(found.at)}").fact("statement", found.statement)
        prose.fact("SHA-256", found.sha256[:16] + "…")
        if found.sound is None:
            prose.text("Its content is held by the studio, so it is not proved here.", "$text-muted")
        elif not found.sound:
            prose.caution(
                "It is not what was signed.", "Run patina check, and restore the last good backup.", grave=True
            )
        else:
            prose.text("It is never edited again; what is new is added as an amendment (A).", "$text-muted")
    if found.amendments:
        prose.heading("Amendments")
        for one in found.amendments:
            prose.fact(f"{one.number}", one.words)
            prose.text(f"{one.by}, {show.day(one.at)}, because: {one.why}", "$text-muted", indent=4)
    return prose
