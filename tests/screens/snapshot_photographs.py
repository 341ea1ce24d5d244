"""The ways on which photographs are read by another chart, compared by one's own areas, moved and read again."""

from __future__ import annotations

from typing import Any
from unittest.mock import patch

from patina.bench import photo_places
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.colour.difference import compare
from patina.colour.values import Lab
from patina.sheets import RereadRow, RereadSheet
from tui.dialogs.rereading import Asked
from tui.screens.change_areas import ChangeAreas
from tui.screens.chart_points import ChartPoints
from tui.screens.reread import Reread


def _row(area: str, before: Lab, after: Lab, doubt: float, kept: str = "") -> RereadRow:
    moved = compare(before, after)
    return RereadRow(
        "ab" * 32, "T3", area, "D7", before, after, doubt, doubt, moved.delta_e, "other", moved.words, kept
    )


def _came() -> RereadSheet:
    """What a reading again may bring: one that differs, one hardly, a first one, one that cannot be read."""
    rows = (
        _row("ferric", Lab(33.0, 19.0, 18.0), Lab(36.4, 18.2, 19.1), 1.2),
        _row("olive", Lab(40.0, -3.0, 18.0), Lab(40.4, -2.9, 18.2), 1.5),
        RereadRow("cd" * 32, "T5", "tile", "", None, Lab(45.5, -15.2, 7.9), None, 1.4, None, "first reading", ""),
        RereadRow(
            "ef" * 32,
            "C5",
            "front",
            "D11",
            Lab(30.0, 5.0, 5.0),
            None,
            2.0,
            None,
            None,
            "cannot be read",
            "Where in the picture it was read was not kept then.",
        ),
    )
    return RereadSheet(rows, 14, 12, 0, 2, True, False, "of today")


async def photographs_anew(walk: Any) -> None:
    """By which chart; areas for before and after; where photographs lie; what reading them again would change."""
    studio = walk.app.studio
    await walk.to("3", "tiles", tiles.tile_sheet(studio, "HM-03").row.id)
    await walk.peek("R", "reread-form")
    await walk.choose("K", "place")
    await walk.person.fill(place=str(walk.folder / "share"))
    await walk.snap("photo-place")
    with patch.object(photo_places, "_free_bytes", lambda _where: 64e9):  # the same on every machine
        await walk.person.press("ctrl+s")
        await walk.on("Move")
    await walk.snap("photo-move")
    await walk.back_to(walk.app.screen_stack[0])
    await walk.top("f")
    await walk.press("enter")
    await walk.on("Photograph")
    await walk.person.until_text("chart", 40)
    await walk.options("b", "by-chart", "elsewhere", "own", "white-card", "flat")
    await walk.press("escape")
    before = next(p for p in casts.cast_sheet(studio, "C5").photographs if "before" in p.name)
    walk.app.push_screen(ChangeAreas(before.sha256, (), one=False))
    await walk.on("ChangeAreas")
    await walk.press("n", "right", "down")
    await walk.snap("change-areas")
    await walk.press("escape")
    walk.app.push_screen(ChartPoints(before.sha256, before.name, (), card=False))
    await walk.on("ChartPoints")
    await walk.press("tab", "right", "shift+down")
    await walk.snap("chart-points")
    await walk.press("escape")
    walk.app.push_screen(Reread(Asked(), _came()))
    await walk.on("Reread")
    await walk.snap("reread")
