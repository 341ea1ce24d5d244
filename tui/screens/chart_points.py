"""The four points of a chart or card: placed by hand, also in another photograph of the shoot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from patina.bench.readings.reading import parse_corners
from patina.errors import PatinaError
from tui import actions
from tui.screens.framing import WAYS, Framing
from tui.widgets.picture import POINT_NAMES, Frame, Picture, Point
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.bench.readings.showing import Preview
    from tui.dialogs.form import Field

# Where the points begin, as shares of the picture's width and height.
BEGIN = ((0.3, 0.3), (0.7, 0.3), (0.7, 0.6), (0.3, 0.6))


def first_points(small: Preview) -> list[Point]:
    """Points to begin with, in pixels of the photograph."""
    return [(small.width_px * x, small.height_px * y) for x, y in BEGIN]


def as_text(points: Sequence[Point]) -> str:
    """Points as the deeds take them."""
    return ";".join(f"{x:.1f},{y:.1f}" for x, y in points)


def move_point(picture: Picture, way: str, *, finely: bool) -> bool:
    """Move the chosen point by a cell, or by a quarter of it; False where no point is chosen."""
    n = picture.chosen - len(picture.frames)
    if not 0 <= n < len(picture.points):
        return False
    step = picture.px_per_cell / (4 if finely else 1)
    x, y = picture.points[n]
    picture.points[n] = (x + WAYS[way][0] * step, y + WAYS[way][1] * 2 * step)
    return True


def point_words(prose: Prose, picture: Picture, *, card: bool) -> None:
    """Where the chosen point stands."""
    n = picture.chosen - len(picture.frames)
    if 0 <= n < len(picture.points):
        x, y = picture.points[n]
        what = f"corner {n + 1} of the card" if card else f"middle of patch {POINT_NAMES[n]}"
        prose.fact("chart point", f"{what}: x {x:.0f}, y {y:.0f} px", "bold")


def how_to_place(*, card: bool) -> str:
    """Where the points belong, and how they are moved."""
    corners = (
        "Put 1, 6, 24 and 19 on the outer corners of the card, in order; 1 and 6 where its first and last step lie."
        if card
        else "Put 1 on the middle of the brown patch, 6 on the blue-green at the other end of its row, 24 on the "
        "black, 19 on the white."
    )
    return f"{corners} Arrows move, Shift and arrows move finely, Tab goes on; or click with the mouse."


def points_field(points: str) -> Field:
    """The field in which the points are typed."""
    from tui.dialogs.form import Field

    return Field("corners", "Patches 1;6;24;19", "x,y;x,y;x,y;x,y or empty", points)


def typed_points(values: Mapping[str, str], troubles: list[PatinaError]) -> list[Point]:
    """The points that were typed; none where the field is empty."""
    try:
        return list(parse_corners(values["corners"])) if values["corners"] else []
    except PatinaError as trouble:
        troubles.append(trouble)
        return []


class ChartPoints(Framing):
    """Dismissed with the points as the deeds take them, or None where it was left. name: of the photograph. points:
    where the chart was found or placed before, none where it was not. card: whether it is a card."""

    WHERE = "points"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("points")

    def __init__(self, sha256: str, name: str, points: Sequence[Point], *, card: bool) -> None:
        super().__init__(sha256)
        self._called = name
        self._begun = tuple(points)
        self.card = card

    def on_mount(self) -> None:
        """Begin in the picture."""
        self.picture.focus()
        self.picture.points = list(self._begun)
        self.tell()

    def opened(self, small: Preview) -> None:
        """Points to be moved stand in the picture; no area does."""
        picture = self.picture
        if not picture.points:
            picture.points = first_points(small)
        picture.show(small)
        self.tell()

    def words(self) -> Prose:
        """Where the chosen point stands, and where all of them belong."""
        prose = super().words().fact("photograph", self._called)
        point_words(prose, self.picture, card=self.card)
        return prose.gap().text(how_to_place(card=self.card))

    def change(self, way: str, *, size: bool) -> None:
        """Move the chosen point."""
        if move_point(self.picture, way, finely=size):
            self.redraw()

    def more_fields(self) -> list[Field]:
        """The points."""
        return [points_field(as_text(self.picture.points))]

    def typed_points(self, values: Mapping[str, str], troubles: list[PatinaError]) -> list[Point]:
        """The points that were typed."""
        return typed_points(values, troubles)

    def take_typed(self, typed: tuple[list[Frame], list[Point]]) -> None:
        """Take over the points; where none were typed they stay."""
        self.picture.points = typed[1] or self.picture.points
        self.redraw()

    def action_read(self) -> None:
        """Take these points."""
        if self.picture.preview is None:
            self.said("The picture is not open yet.")
        else:
            self.dismiss(as_text(self.picture.points))  # type: ignore[arg-type]
