"""Forms of matching: agreed finishes, zones, holders, terms, concessions, approvals, circumstances, as typed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from patina.bench import entry_rules
from patina.bench.forms import _day, _Form, _number
from patina.entries import NewApproval, NewConcession, NewHolding, NewMaster, NewZone
from patina.errors import BadQuantity, Incomplete
from patina.matching.circumstances import known_circumstances

if TYPE_CHECKING:
    from patina.bench.studio import Studio

MASTER_FIELDS = (
    *("name", "colour", "limit", "formula", "limit_dL", "limit_dC", "limit_dH", "uncertainty", "zone"),
    *("tile", "recipe", "light", "geometry", "wax_state", "warmth", "agreed_by", "agreed_on", "holders"),
    *("next_check", "note"),
)
ZONE_FIELDS = ("zone", "readings", "light", "dark", "fixed_u")
HOLDING_FIELDS = ("tile", "holder", "role", "master", "kept", "place", "since", "next_check", "note")
TERMS_FIELDS = ("aim", "limit_mottle")
CONCESSION_FIELDS = ("piece", "reason", "agreed_by", "agreed_on")
APPROVAL_FIELDS = (
    *("who", "answer", "role", "light", "place", "state", "seen", "remarks", "master", "held_on"),
)  # fmt: skip


def _said(form: _Form) -> None:
    if form.troubles:
        raise Incomplete(form.troubles)


def zone_form(fields: Mapping[str, str], master: str) -> NewZone:
    """A zone from ZONE_FIELDS. readings: ids with ; between them, or one L,a,b."""
    form = _Form(fields, ZONE_FIELDS)
    zone = form.needed("zone", lambda text, _: text, "The zone") or ""
    named = form.needed("readings", lambda text, _: text, "What it is agreed from") or ""
    fixed = form.value("fixed_u", _number)
    _said(form)
    readings = tuple(part.strip() for part in named.split(";") if part.strip())
    return NewZone(master, zone, readings, form.text("light") or None, form.text("dark") or None, fixed)


def holding_form(fields: Mapping[str, str]) -> NewHolding:
    """Who holds a tile, from HOLDING_FIELDS."""
    form = _Form(fields, HOLDING_FIELDS)
    values: dict[str, Any] = {
        "tile": form.needed("tile", lambda text, _: text, "The tile") or "",
        "holder": form.needed("holder", lambda text, _: text, "Who holds it") or "",
        "role": form.text("role", "master"),
        "master": form.text("master") or None,
        "kept": form.text("kept"),
        "place": form.text("place"),
        "since": form.value("since", _day),
        "next_check": form.value("next_check", _day),
        "note": form.text("note"),
    }
    _said(form)
    return NewHolding(**values)


def terms_form(fields: Mapping[str, str]) -> tuple[str, float | None]:
    """Aim and limit of mottle, from TERMS_FIELDS."""
    form = _Form(fields, TERMS_FIELDS)
    limit = form.value("limit_mottle", _number)
    _said(form)
    return form.text("aim", "as new"), limit


def concession_form(fields: Mapping[str, str], master: str) -> NewConcession:
    """A concession from CONCESSION_FIELDS."""
    form = _Form(fields, CONCESSION_FIELDS)
    piece = form.needed("piece", lambda text, _: text, "The piece") or ""
    reason = form.needed("reason", lambda text, _: text, "The reason") or ""
    agreed_by = form.needed("agreed_by", lambda text, _: text, "Who takes it so") or ""
    agreed_on = form.value("agreed_on", _day)
    _said(form)
    return NewConcession(master, piece, reason, agreed_by, agreed_on)


def approval_form(fields: Mapping[str, str], piece: str) -> NewApproval:
    """A viewing from APPROVAL_FIELDS."""
    form = _Form(fields, APPROVAL_FIELDS)
    who = form.needed("who", lambda text, _: text, "Who looked at it") or ""
    answer = form.needed("answer", lambda text, _: text, "The answer") or ""
    held_on = form.value("held_on", _day)
    _said(form)
    return NewApproval(
        piece,
        who,
        answer,
        form.text("role", "client"),
        form.text("light", "not stated"),
        form.text("place"),
        form.text("state", "not stated"),
        form.text("seen", "in hand"),
        form.text("remarks"),
        form.text("master") or None,
        held_on,
    )


def fact_fields() -> tuple[tuple[str, str], ...]:
    """Circumstances that a person may write down: key and words, most telling first."""
    return tuple((key, c.words) for key, c in known_circumstances().items())


def facts_form(fields: Mapping[str, str]) -> dict[str, str]:
    """Circumstances that were filled in."""
    known = known_circumstances()
    found = {key: value.strip() for key, value in fields.items() if value.strip() and key in known}
    if not found:
        raise Incomplete([BadQuantity("Nothing was filled in.", "Fill in what is known.", field=next(iter(known)))])
    return found


def master_form(fields: Mapping[str, str], studio: Studio | None = None) -> NewMaster:
    """An agreed finish from MASTER_FIELDS. colour: L,a,b, or with a studio the id of a reading or tile."""
    from patina.bench.readings.comparing import colour_of

    form = _Form(fields, MASTER_FIELDS)
    words = ("name", "agreed_by", "holders", "note")
    colour = form.needed("colour", lambda text, _field: colour_of(studio, text), "The colour")
    for trouble in form.troubles:
        trouble.field = trouble.field or "colour"
    values = {
        **{f: form.text(f) for f in words},
        "colour": None if colour is None else (colour.lab.L, colour.lab.a, colour.lab.b),
        "limit_de": form.needed("limit", _number, "The limit"),
        "formula": form.text("formula", "de2000"),
        **{f: form.value(f, _number) for f in ("limit_dL", "limit_dC", "limit_dH")},
        "uncertainty_de00": form.value("uncertainty", _number),
        "zone": form.text("zone", "whole"),
        "tile": form.text("tile") or (None if colour is None else colour.tile),
        "recipe": form.text("recipe") or None,
        "light": form.text("light", "not stated"),
        "geometry": form.text("geometry", "unknown"),
        "wax_state": form.text("wax_state") or ("not stated" if colour is None else colour.wax_state),
        "warmth": form.text("warmth") or ("not stated" if colour is None else colour.warmth),
        "agreed_on": form.value("agreed_on", _day),
        "next_check": form.value("next_check", _day),
    }
    if values["uncertainty_de00"] is None and colour is not None:
        values["uncertainty_de00"] = colour.uncertainty_de00
    stands_in = {"name": "", "colour": (0.0, 0.0, 0.0), "limit_de": 1.0}
    return form.entry(NewMaster, entry_rules.master_in_order, values, stands_in)
