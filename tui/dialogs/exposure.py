"""Logging who worked with what."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from patina.bench.finding.names import recipe_names, substance_names
from tui.dialogs.form import Field, Form

if TYPE_CHECKING:
    from patina.bench.studio import Studio


def exposure_form(studio: Studio, said: Mapping[str, str]) -> Form:
    """Log an exposure. The answer is its row. said: what is known of it already, by field."""
    from patina.bench.safe import exposure

    value = {"person": studio.who(), "on": "today", **said}

    def field(key: str, label: str, hint: str, choices: tuple[str, ...] = ()) -> Field:
        return Field(key, label, hint, value.get(key, ""), choices)

    fields = [
        field("person", "Who", "the person's name"),
        field("on", "When", "2026-03-14 or today"),
        field("shift", "Shift", "morning"),
        field("batch", "Pot", "B1"),
        field("recipe", "or recipe", "name or id", recipe_names(studio)),
        field("revision", "Revision", "empty: the newest"),
        field("substances", "What else", "names, with ; between", substance_names(studio)),
        field("task", "What was done", "torch, spraying, mixing"),
        field("minutes", "How long", "45, or 1.5 h"),
        field("extraction", "Extraction", "hood 2, booth, outdoors, none"),
        field("flow", "It draws", "600 m3/h; empty: not measured"),
        field("respirator", "Respirator", "half mask ABEK P3; or none"),
        field("note", "Note", ""),
        field("corrects", "Corrects", "H1, if it puts an entry right"),
    ]
    before = f"Kept {exposure.keep_years(studio)} years. A row is never altered; a later one puts it right."
    return Form(
        "Exposure of a person",
        fields,
        lambda values: exposure.add_exposure(studio, exposure.exposure_form(values)),
        before=before,
    )
