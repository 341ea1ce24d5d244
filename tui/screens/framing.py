"""What screens share on which areas of a photograph are drawn by keys or mouse."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Container, VerticalScroll

from patina.bench.readings import tiles
from patina.bench.readings.reading import parse_area
from patina.bench.readings.showing import preview, proposed_area
from patina.errors import Incomplete, PatinaError
from tui.app import STYLES
from tui.drawing import Drawing
from tui.screens.base import Base
from tui.widgets.picture import Frame, Picture, Point
from tui.widgets.prose import Prose, ProseView

if TYPE_CHECKING:
    from pathlib import Path

    from patina.bench.readings.showing import Preview
    from tui.dialogs.form import Field

WAYS = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "up": (0.0, -1.0), "down": (0.0, 1.0)}


class Framing(Base):
    """A photograph with areas on it. sha256: of the photograph."""

    CSS_PATH: ClassVar[Any] = STYLES / "screens.tcss"

    def __init__(self, sha256: str) -> None:
        super().__init__()
        self.sha256 = sha256
        self.add_class("framing")
        self._room_for = (0, 0)
        self._path: Path | None = None

    def body(self) -> ComposeResult:
        """The picture, and what is known of it."""
        with Container(id="photograph"):
            yield Picture(id="picture")
            with VerticalScroll(id="picture-said", can_focus=False):
                yield ProseView(id="picture-words")

    @property
    def picture(self) -> Picture:
        """The picture."""
        return self.query_one(Picture)

    @property
    def path(self) -> Path:
        """Where the photograph lies. Raises NotFound, Damaged."""
        if self._path is None:
            self._path = tiles.photograph_path(self.studio, self.sha256)
        return self._path

    @property
    def areas(self) -> tuple[str, ...]:
        """The areas as the deeds take them."""
        return tuple(f.as_text() for f in self.picture.frames)

    # -- the picture -------------------------------------------------------------------------------

    @on(Picture.Resized)
    def _room(self, event: Picture.Resized) -> None:
        if event.columns > 0 and event.rows > 0:
            self._room_for = (event.columns, event.rows)
            self.open_picture()

    def open_picture(self) -> None:
        """Show the photograph in the room there is."""
        columns, rows = self._room_for
        self.work("Opening the picture", lambda: preview(self.path, columns, rows), self.opened, key="preview")

    def opened(self, small: Preview) -> None:
        """The picture is there: a first area is proposed."""
        picture = self.picture
        if not picture.frames:
            picture.frames = [self.proposed(small)]
        picture.show(small)
        self.tell()

    def proposed(self, small: Preview) -> Frame:
        """The first area: in the middle of the picture."""
        return Frame("middle", *proposed_area(small.width_px, small.height_px))

    def redraw(self) -> None:
        """After an area changed."""
        self.picture.redraw()
        self.tell()

    @on(Picture.Moved)
    def said_anew(self) -> None:
        """After everything was said again."""
        self.tell()

    def tell(self) -> None:
        """Say where things stand."""
        self.query_one("#picture-words", ProseView).show(self.words())

    def words(self) -> Prose:
        """Where the chosen area stands."""
        picture, prose = self.picture, Prose()
        if picture.chosen < len(picture.frames):
            f = picture.frames[picture.chosen]
            where = f"x {f.x:.0f}, y {f.y:.0f}, {f.w:.0f} × {f.h:.0f} px"
            prose.fact(f"area {picture.chosen + 1} of {len(picture.frames)}", f"{f.name}: {where}", "bold")
        return prose

    def drawing(self) -> Drawing:
        """What is drawn on the picture, for the picture alone."""
        picture = self.picture
        chosen = picture.chosen if picture.chosen < len(picture.frames) else None
        return Drawing(picture.patches, tuple(picture.points), tuple(picture.frames), chosen)

    def action_look(self) -> None:
        """See the photograph alone, with what is drawn on it."""
        from tui.screens.look import Look

        self.app.push_screen(Look(self.path, self.drawing()))

    # -- areas -------------------------------------------------------------------------------------

    def change(self, way: str, *, size: bool) -> None:
        """Move or size the chosen area by a cell."""
        picture = self.picture
        if picture.chosen >= len(picture.frames):
            return
        step = picture.px_per_cell
        dx, dy = WAYS[way][0] * step, WAYS[way][1] * 2 * step
        f = picture.frames[picture.chosen]
        moved = replace(f, w=f.w + dx, h=f.h + dy) if size else replace(f, x=f.x + dx, y=f.y + dy)
        picture.frames[picture.chosen] = picture.inside(moved)
        self.redraw()

    def action_shift(self, way: str) -> None:
        """Move the chosen area."""
        self.change(way, size=False)

    def action_stretch(self, way: str) -> None:
        """Make the chosen area larger or smaller."""
        self.change(way, size=True)

    def action_next_thing(self) -> None:
        """The next area or point."""
        picture = self.picture
        count = len(picture.frames) + len(picture.points)
        picture.chosen = (picture.chosen + 1) % max(count, 1)
        self.redraw()

    def action_add_area(self) -> None:
        """Another area, a little aside."""
        picture = self.picture
        if picture.preview is None:
            return
        last = picture.frames[-1]
        taken = {f.name for f in picture.frames}
        name = next(f"area {n}" for n in range(2, 1000) if f"area {n}" not in taken)
        picture.frames.append(picture.inside(replace(last, name=name, x=last.x + last.w * 1.1)))
        picture.chosen = len(picture.frames) - 1
        self.redraw()

    def action_drop_area(self) -> None:
        """Take the chosen area away; one always stays."""
        picture = self.picture
        if picture.chosen < len(picture.frames) and len(picture.frames) > 1:
            del picture.frames[picture.chosen]
            picture.chosen = 0
            self.redraw()

    def action_type_figures(self) -> None:
        """Type names and pixels instead of moving frames."""
        from tui.dialogs.form import Form

        heading = "Areas and chart points, in pixels" if self.more_fields() else "Areas, in pixels"
        self.ask(Form(heading, [*self._area_fields(), *self.more_fields()], self.typed), self.take_typed)

    def _area_fields(self) -> list[Field]:
        from tui.dialogs.form import Field

        fields = []
        for n, f in enumerate(self.picture.frames):
            fields.append(Field(f"name{n}", f"Name of area {n + 1}", "", f.name))
            fields.append(Field(f"area{n}", "   x,y,width,height", "in pixels", f.as_text().rpartition("=")[2]))
        return fields

    def more_fields(self) -> list[Field]:
        """Fields for what else is drawn."""
        return []

    def typed(self, values: Mapping[str, str]) -> tuple[list[Frame], list[Point]]:
        """The areas that were typed, and points. Raises Incomplete."""
        troubles: list[PatinaError] = []
        frames: list[Frame] = []
        for n in range(len(self.picture.frames)):
            try:
                spec = parse_area(f"{values[f'name{n}']}={values[f'area{n}']}")
                assert spec.rect is not None
                frames.append(self.picture.inside(Frame(spec.name, *spec.rect)))
            except PatinaError as trouble:
                trouble.field = f"area{n}"
                troubles.append(trouble)
        points = self.typed_points(values, troubles)
        if troubles:
            raise Incomplete(troubles)
        return frames, points

    def typed_points(self, values: Mapping[str, str], troubles: list[PatinaError]) -> list[Point]:
        """Points that were typed; troubles: where what is wrong with them is put."""
        return []

    def take_typed(self, typed: tuple[list[Frame], list[Point]]) -> None:
        """Take over what was typed."""
        self.picture.frames, self.picture.chosen = typed[0], 0
        self.redraw()

    def action_back(self) -> None:
        """Back, keeping nothing."""
        self.dismiss(None)
