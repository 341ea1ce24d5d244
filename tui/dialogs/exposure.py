"""Logging who worked with what."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patina.bench.names import recipe_names, substance_names
from tui.dialogs.form import Field, Form

if TYPE_CHECKING:
    from patina.bench.studio import Studio


def exposure_form(studio: Studio, *, recipe: str = "", revision: str = "", batch: str = "") -> Form:
    """Log an exposure. The answer is its row. recipe, revision, batch: what was chosen on the bench."""
    from patina.bench import exposure

    fields = [
        Field("person", "Who", "the person's name", studio.who()),
        Field("on", "When", "2026-03-14 or today", "today"),
        Field("shift", "Shift", "morning"),
        Field("batch", "Pot", "B1", batch),
        Field("recipe", "or recipe", "name or id", "" if batch else recipe, recipe_names(studio)),
        Field("revision", "Revision", "empty: the newest", "" if batch else revision),
        Field("substances", "What else", "names, with ; between", "", substance_names(studio)),
        Field("task", "What was done", "torch, spraying, mixing"),
        Field("minutes", "How long", "45, or 1.5 h"),
        Field("extraction", "Extraction", "hood 2, booth, outdoors, none"),
        Field("flow", "It draws", "600 m3/h; empty: not measured"),
        Field("respirator", "Respirator", "half mask ABEK P3; or none"),
        Field("note", "Note"),
        Field("corrects", "Corrects", "H1, if it puts an entry right"),
    ]
    before = f"Kept {exposure.keep_years(studio)} years. A row is never altered; a later one puts it right."
    return Form(
        "Exposure of a person",
        fields,
        lambda values: exposure.add_exposure(studio, exposure.exposure_form(values)),
        before=before,
    )
