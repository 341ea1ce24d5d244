"""The room a job is done in, for the air of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from tui.dialogs.form import Field, Form

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets import RecipeSheet
    from patina.sheets.air import AirSheet

REMEMBERED = ("room", "changes", "hood")


def air_form(studio: Studio, sheet: RecipeSheet) -> Form:
    """Ask for the room, the extraction and the work. The answer is the air of the job. The room is remembered."""
    old = {key: studio.setting(f"air_{key}") for key in REMEMBERED}
    fields = [
        Field("room", "Room", "60 m3", old["room"]),
        Field("changes", "Air changes an hour", "6; empty: none", old["changes"]),
        Field("hood", "Hood", "0.5 m3/s; empty: none", old["hood"]),
        Field("area", "Area", "1.8 m2"),
        Field("volume", "or volume", "2 L; or NAME=2 L"),
        Field("minutes", "Minutes a step", "30"),
        Field("fraction", "Share released", "empty: all of it; 5 %"),
    ]

    def reckon(values: Mapping[str, str]) -> AirSheet:
        from patina.bench.safe.air import air

        found = air(
            studio,
            sheet.id,
            room=values["room"],
            changes=values["changes"] or None,
            hood=values["hood"] or None,
            area=values["area"] or None,
            volumes=[v for v in values["volume"].split(";") if v.strip()],
            minutes=values["minutes"] or (),
            fractions=[values["fraction"]] if values["fraction"] else (),
            revision=sheet.revision,
        )
        for key in REMEMBERED:
            if values[key] != old[key]:
                studio.set_setting(f"air_{key}", values[key])
        return found

    return Form(
        f"The air of {sheet.recipe.name}",
        fields,
        reckon,
        before="Upper bounds; smell is no alarm.",
        yes="Work out",
        slow="Working out the air",
    )
