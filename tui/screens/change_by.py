"""What each of two photographs is measured by: chart points placed by hand, plain card for the light."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.readings.reading import parse_corners
from tui.screens.chart_points import ChartPoints

if TYPE_CHECKING:
    from patina.sheets import PhotographRow
    from tui.screens.base import Base


@dataclass(frozen=True, slots=True)
class Placed:
    """Of one photograph. corners: the chart's points as the deeds take them, empty where they are found. flat: a
    photograph of plain card in its place and light."""

    corners: str = ""
    flat: Path | None = None


Both = tuple[Placed, Placed]


def ask_by(screen: Base, rows: tuple[PhotographRow, PhotographRow], now: Both, then: Callable[[Both], None]) -> None:
    """Ask for points or plain card of one of the two; then: told of both."""
    from tui.dialogs.choose import Choose

    names = [row.name for row in rows]
    options = [(f"points{n}", f"the chart's points in {name}, placed by hand …") for n, name in enumerate(names)]
    options += [(f"flat{n}", f"plain card in the place and light of {name} …") for n, name in enumerate(names)]
    if now != (Placed(), Placed()):
        options.append(("found", "both charts as they are found, the light as it falls"))

    def taken(which: str) -> None:
        if which == "found":
            then((Placed(), Placed()))
            return
        n = int(which[-1])
        ask = _ask_points if which.startswith("points") else _ask_flat
        ask(screen, rows[n], now[n], lambda placed: then((placed, now[1]) if n == 0 else (now[0], placed)))

    screen.ask(Choose("What are the two photographs measured by?", options), taken)


def _ask_points(screen: Base, row: PhotographRow, now: Placed, then: Callable[[Placed], None]) -> None:
    points = parse_corners(now.corners) if now.corners else ()
    dialog = ChartPoints(row.sha256, row.name, points, card=False)
    screen.app.push_screen(dialog, lambda corners: None if corners is None else then(replace(now, corners=corners)))


def _ask_flat(screen: Base, row: PhotographRow, now: Placed, then: Callable[[Placed], None]) -> None:
    from tui.dialogs.path import PHOTOGRAPHS, AskPath

    before = f"Plain white or grey card that fills the frame, taken as {row.name} was."
    screen.ask(
        AskPath("A photograph of plain card", PHOTOGRAPHS, before=before), lambda path: then(replace(now, flat=path))
    )
