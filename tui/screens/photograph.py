"""A photograph: where the chart stands, and what is to be measured in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Container, VerticalScroll

from patina.bench.readings import tiles
from patina.bench.readings.charts import as_read, list_charts, read_by
from patina.bench.readings.reading import parse_area, parse_corners
from patina.bench.readings.showing import corrected, patch_outlines, preview
from patina.bench.settings import change_setting, chart_edition
from patina.errors import NoChart, PatinaError
from tui import actions
from tui.app import STYLES
from tui.screens.base import Base
from tui.widgets.picture import POINT_NAMES, Frame, Picture
from tui.widgets.prose import Prose, ProseView

if TYPE_CHECKING:
    from pathlib import Path

    from patina.bench.readings.showing import Preview
    from patina.sheets import PhotoReading

EDITIONS = (
    ("after-2014", "after 2014: made from November 2014 on"),
    ("before-2014", "before 2014: made before November 2014"),
    ("unknown", "not known: the reading's uncertainty grows"),
)
_OURS = "our chart "  # before the name of one of the studio's charts, where an edition is asked for
_WAYS = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "up": (0.0, -1.0), "down": (0.0, 1.0)}


class Photograph(Base):
    """Dismissed with True where readings were kept. target: id of the tile or cast."""

    WHERE = "photograph"
    CSS_PATH: ClassVar[Any] = STYLES / "screens.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("photograph")
    edition = ""  # as said last; empty until somebody has said

    def __init__(self, target: str, sha256: str) -> None:
        super().__init__()
        self.target = target
        self.sha256 = sha256
        self.chart = "auto"
        self.placed = False  # points placed by a person
        self.as_corrected = False  # the picture is shown as the chart says it should look
        self._room_for = (0, 0)
        self._said = Prose().text("Looking for the chart …", "$text-muted")
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

    def on_mount(self) -> None:
        """Look for the chart."""
        self.picture.focus()
        kept = chart_edition(self.studio)
        if kept != "unknown":
            self.edition = kept
        self.tell()
        self._look_for_chart()

    def _look_for_chart(self) -> None:
        chart, edition = self.chart if self.chart != "none" else "auto", self._known_edition()
        self.work(
            "Looking for the chart",
            lambda: read_by(self.studio, self.path, chart=chart, edition=edition),
            self._found,
            self._not_found,
            key="chart",
        )

    @on(Picture.Resized)
    def _room(self, event: Picture.Resized) -> None:
        if event.columns > 0 and event.rows > 0:
            self._room_for = (event.columns, event.rows)
            self._open_picture()

    def _open_picture(self) -> None:
        columns, rows = self._room_for
        if not self.as_corrected:
            self.work("Opening the picture", lambda: preview(self.path, columns, rows), self._opened, key="preview")
            return
        chart, edition = self.chart, self._known_edition()
        corners = tuple(self.picture.points) if self.placed else None

        def by_the_chart() -> Preview:
            with as_read(self.studio, chart, edition) as (named, known):
                return corrected(self.path, columns, rows, chart=named, edition=known, corners=corners)

        self.work("Correcting the picture", by_the_chart, self._opened, self._not_corrected, key="preview")

    def _not_corrected(self, trouble: PatinaError) -> None:
        self.as_corrected = False
        self._not_found(trouble)

    def _as_taken(self) -> None:
        """The chart's points are about to move: what was corrected by them no longer holds."""
        if self.as_corrected:
            self.as_corrected = False
            self._open_picture()

    def action_corrected(self) -> None:
        """The picture as the chart says it should look, or as it was taken."""
        if not self.as_corrected and (self.chart == "none" or not self.picture.points):
            self.said("Without a chart there is nothing to correct the picture by.")
            return
        self.as_corrected = not self.as_corrected
        self._open_picture()

    def _opened(self, small: Preview) -> None:
        picture = self.picture
        if not picture.frames:
            w, h = small.width_px * 0.2, small.height_px * 0.2
            picture.frames = [Frame("middle", (small.width_px - w) / 2, (small.height_px - h) / 2, w, h)]
        picture.show(small)
        self.tell()

    def _found(self, result: PhotoReading) -> None:
        if result.chart.corners is not None and not self.placed:
            self.picture.points = list(result.chart.corners)
        self._said = Prose().text("✓ The chart was found; its corner patches are marked 1, 6, 24, 19.", "$text-success")
        for warning in result.warnings:
            self._said.caution(warning.text, warning.do)
        self._redraw()
        if self.as_corrected:
            self._open_picture()  # by the edition that was just said

    def _not_found(self, trouble: PatinaError) -> None:
        self._said = Prose().caution(f"{trouble.title}. {trouble.what}", trouble.remedy, grave=True)
        if isinstance(trouble, NoChart):
            self._said.text(
                "f places the four points yourself; w reads without a chart (a rough figure only).", indent=4
            )
        self._redraw()

    def _redraw(self) -> None:
        picture = self.picture
        used = len(picture.points) == 4 and self.chart != "none"
        picture.patches = patch_outlines(picture.points) if used else ()
        picture.redraw()
        self.tell()

    @on(Picture.Moved)
    def tell(self) -> None:
        """Say where things stand."""
        picture = self.picture
        prose = Prose()
        chosen = picture.chosen
        if chosen < len(picture.frames):
            f = picture.frames[chosen]
            where = f"x {f.x:.0f}, y {f.y:.0f}, {f.w:.0f} × {f.h:.0f} px"
            prose.fact(f"area {chosen + 1} of {len(picture.frames)}", f"{f.name}: {where}", "bold")
        elif picture.points:
            n = chosen - len(picture.frames)
            x, y = picture.points[n]
            prose.fact("chart point", f"middle of patch {POINT_NAMES[n]}: x {x:.0f}, y {y:.0f} px", "bold")
        chart = {"none": "none is used"}.get(
            self.chart, "points placed by hand" if self.placed else "found by the program"
        )
        prose.fact("chart", f"{chart}; edition {self.edition or 'not said yet (k)'}")
        shown = "corrected by the chart (c: as taken)" if self.as_corrected else "as taken (c: corrected by the chart)"
        prose.fact("picture", shown)
        self.query_one("#picture-words", ProseView).show(prose.extend(self._said))

    # -- frames and points -------------------------------------------------------------------------

    def _change(self, way: str, *, size: bool) -> None:
        picture = self.picture
        step = picture.px_per_cell
        dx, dy = _WAYS[way][0] * step, _WAYS[way][1] * 2 * step
        if picture.chosen >= len(picture.frames):
            n = picture.chosen - len(picture.frames)
            if n < len(picture.points):
                x, y = picture.points[n]
                self.placed = True
                self._as_taken()
                picture.points[n] = (x + dx / (4 if size else 1), y + dy / (4 if size else 1))
        else:
            f = picture.frames[picture.chosen]
            moved = replace(f, w=f.w + dx, h=f.h + dy) if size else replace(f, x=f.x + dx, y=f.y + dy)
            picture.frames[picture.chosen] = picture.inside(moved)
        self._redraw()

    def action_shift(self, way: str) -> None:
        """Move the chosen area or point."""
        self._change(way, size=False)

    def action_stretch(self, way: str) -> None:
        """Make the chosen area larger or smaller; move a point finely."""
        self._change(way, size=True)

    def action_next_thing(self) -> None:
        """The next area or point."""
        picture = self.picture
        count = len(picture.frames) + len(picture.points)
        picture.chosen = (picture.chosen + 1) % max(count, 1)
        self._redraw()

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
        self._redraw()

    def action_drop_area(self) -> None:
        """Take the chosen area away; one always stays."""
        picture = self.picture
        if picture.chosen < len(picture.frames) and len(picture.frames) > 1:
            del picture.frames[picture.chosen]
            picture.chosen = 0
            self._redraw()

    def action_place_points(self) -> None:
        """Place the chart's points oneself."""
        picture = self.picture
        if picture.preview is None:
            return
        if not picture.points:
            w, h = picture.preview.width_px, picture.preview.height_px
            picture.points = [(w * x, h * y) for x, y in ((0.3, 0.3), (0.7, 0.3), (0.7, 0.6), (0.3, 0.6))]
        self.placed, self.chart = True, "auto" if self.chart == "none" else self.chart
        self._as_taken()
        picture.chosen = len(picture.frames)
        self._said = Prose().text(
            "Put 1 on the middle of the brown patch, 6 on the blue-green at the other end of its row, 24 on the black, "
            "19 on the white. Arrows move, Shift and arrows move finely, Tab goes on; or click with the mouse."
        )
        self._redraw()

    def action_type_figures(self) -> None:
        """Type pixels instead of moving frames."""
        from tui.dialogs.form import Field, Form

        picture = self.picture
        fields = []
        for n, f in enumerate(picture.frames):
            fields.append(Field(f"name{n}", f"Name of area {n + 1}", "", f.name))
            fields.append(Field(f"area{n}", "   x,y,width,height", "in pixels", f.as_text().rpartition("=")[2]))
        corners = ";".join(f"{x:.0f},{y:.0f}" for x, y in picture.points) if picture.points else ""
        fields.append(Field("corners", "Patches 1;6;24;19", "x,y;x,y;x,y;x,y or empty", corners))
        self.ask(Form("Areas and chart points, in pixels", fields, self._typed), self._take_typed)

    def _typed(self, values: Mapping[str, str]) -> tuple[list[Frame], list[tuple[float, float]]]:
        from patina.errors import Incomplete

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
        corners: list[tuple[float, float]] = []
        try:
            corners = list(parse_corners(values["corners"])) if values["corners"] else []
        except PatinaError as trouble:
            troubles.append(trouble)
        if troubles:
            raise Incomplete(troubles)
        return frames, corners

    def _take_typed(self, typed: tuple[list[Frame], list[tuple[float, float]]]) -> None:
        picture = self.picture
        changed = [(round(x), round(y)) for x, y in typed[1]] != [(round(x), round(y)) for x, y in picture.points]
        picture.frames, picture.chosen = typed[0], 0
        if changed:
            picture.points, self.placed = typed[1], bool(typed[1])
        self._redraw()

    # -- reading -----------------------------------------------------------------------------------

    def action_edition(self) -> None:
        """Say which edition of the chart it is."""
        self._ask_edition(self._look_for_chart)  # what was said of an unknown edition holds no longer

    def _ask_edition(self, then: Any) -> None:
        from tui.dialogs.choose import Choose

        def said(edition: str) -> None:
            self.edition = edition
            if edition.startswith(_OURS):
                self.chart = edition.removeprefix(_OURS)
            else:
                self.chart = "auto"
                change_setting(self.studio, "chart-edition", edition)
            then()

        ours = tuple((f"{_OURS}{c.name}", f"our chart '{c.name}'") for c in list_charts(self.studio))
        question = "Which edition is the chart? It is printed on its back."
        self.ask(Choose(question, (*ours, *EDITIONS), chosen=self.edition), said)

    def _known_edition(self) -> str:
        """The edition for the reader; one of our charts knows its own."""
        return "unknown" if not self.edition or self.edition.startswith(_OURS) else self.edition

    def action_without_chart(self) -> None:
        """Read without a chart, or with it again."""
        self.chart = "auto" if self.chart == "none" else "none"
        self._as_taken()
        self._redraw()

    def action_read(self) -> None:
        """Read the colour of the areas; the edition is asked first where nobody has said."""
        if not self.picture.frames:
            self.said("The picture is not open yet.")
        elif self.chart != "none" and not self.edition:
            self._ask_edition(self._read)
        else:
            self._read()

    def _read(self) -> None:
        areas = tuple(f.as_text() for f in self.picture.frames)
        points = ";".join(f"{x:.1f},{y:.1f}" for x, y in self.picture.points)
        corners = points if self.placed and self.chart != "none" else None
        chart, edition = self.chart, self._known_edition()
        self.work(
            "Reading the colour",
            lambda: read_by(self.studio, self.path, chart=chart, edition=edition, corners=corners, areas=areas),
            self._was_read,
            self._not_found,
            key="read",
        )

    def _was_read(self, result: PhotoReading) -> None:
        from tui.screens.reading import Reading

        self.app.push_screen(Reading(self.target, self.sha256, result), self._kept)

    def _kept(self, kept: bool | None) -> None:
        if kept:
            self.dismiss(True)  # type: ignore[arg-type]

    def action_look(self) -> None:
        """See the photograph alone, with the chart and the areas drawn on it."""
        from tui.drawing import Drawing
        from tui.screens.look import Look

        picture = self.picture
        chosen = picture.chosen if picture.chosen < len(picture.frames) else None
        drawing = Drawing(picture.patches, tuple(picture.points), tuple(picture.frames), chosen)
        self.app.push_screen(Look(self.path, drawing))

    def action_back(self) -> None:
        """Back, keeping nothing."""
        self.dismiss(None)
