"""The condition map: zones drawn on a photograph by keys, corner by corner, and measured as they stand."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from string import ascii_lowercase
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Container, VerticalScroll

from patina.bench.readings import tiles
from patina.bench.readings.showing import preview
from patina.bench.treating import treat, treat_maps
from patina.bench.treating.treat_points import corners_typed, points_typed, shape_in_order
from patina.errors import PatinaError
from tui import actions
from tui.app import STYLES
from tui.screens.base import Base
from tui.screens.treatment_map_words import map_words
from tui.widgets.map_picture import Drawn, MapPicture
from tui.widgets.picture import Picture
from tui.widgets.prose import Prose, ProseView

if TYPE_CHECKING:
    from patina.bench.readings.showing import Preview
    from patina.sheets.treatment import Kept, TreatmentSheet

_WAYS = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "up": (0.0, -1.0), "down": (0.0, 1.0)}
FINE = 0.25
LEAP = 6
BROAD = 1.9  # width over height of a picture beneath which words stand, rather than beside it
ZOOMS = (1, 2, 4)


class TreatmentMap(Base):
    """Dismissed with nothing: every zone is on record as soon as its form is saved. map_id: the map drawn on."""

    WHERE = "treatment-map"
    PLACE = "casts"
    CSS_PATH: ClassVar[Any] = STYLES / "treatment.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("treatment-map")

    def __init__(self, treatment: str, map_id: str) -> None:
        super().__init__()
        self.treatment = treatment
        self.map_id = map_id
        self.sheet: TreatmentSheet | None = None
        self._path: Path | None = None
        self.zoom = ZOOMS[0]
        self._room_for = (0, 0)
        self._warned = False

    def body(self) -> ComposeResult:
        """The picture, and what is said of the zones."""
        with Container(id="map-layout"):
            yield MapPicture(id="map-picture")
            with VerticalScroll(id="map-said", can_focus=False):
                yield ProseView(id="words")

    @property
    def picture(self) -> MapPicture:
        """The picture."""
        return self.query_one(MapPicture)

    @property
    def map(self) -> Kept[Any]:
        """The map as it stands."""
        assert self.sheet is not None
        return next(m for m in self.sheet.record.maps if m.id == self.map_id)

    @property
    def zones(self) -> tuple[Kept[Any], ...]:
        """The zones that stand on the map."""
        return () if self.sheet is None else tuple(z for z in self.sheet.record.zones if z.value.map == self.map_id)

    @property
    def patches(self) -> tuple[tuple[str, Kept[Any]], ...]:
        """The test patches on the map, with the letters that stand for them."""
        if self.sheet is None:
            return ()
        here = [p for p in self.sheet.record.patches if p.value.map == self.map_id and p.value.spot is not None]
        return tuple((ascii_lowercase[n % 26], patch) for n, patch in enumerate(here))

    @property
    def chosen(self) -> Kept[Any] | None:
        """The chosen zone."""
        n = self.picture.chosen_zone
        return None if n is None or n >= len(self.zones) else self.zones[n]

    def on_mount(self) -> None:
        """Read the treatment."""
        self.picture.focus()
        self.work(
            "Reading the map",
            lambda: treat.treatment_sheet(self.studio, self.treatment),
            self.show,
            quiet=True,
            key="map",
        )

    def show(self, sheet: TreatmentSheet) -> None:
        """Show the map as it stands."""
        first = self.sheet is None
        self.sheet = sheet
        wide, high = treat_maps.size_of(sheet, self.map)
        self.set_class(wide > BROAD * high, "-broad")
        picture = self.picture
        picture.outline = self.map.value.outline
        picture.drawn = tuple(
            Drawn(str(n), zone.value.polygons, zone.value.activity == "active") for n, zone in enumerate(self.zones, 1)
        )
        picture.lettered = tuple((p.value.spot, letter) for letter, p in self.patches)
        picture.redraw()
        self.tell()
        if first and self._room_for[0] > 0:
            self._open()

    @on(Picture.Resized)
    def _room(self, event: Picture.Resized) -> None:
        if event.columns > 0 and event.rows > 0:
            self._room_for = (event.columns, event.rows)
            if self.sheet is not None:
                self._open()

    def _open(self) -> None:
        sha256 = self.map.value.photograph
        columns, rows = (self.zoom * cells for cells in self._room_for)

        def opened() -> Preview:
            if self._path is None:
                self._path = tiles.photograph_path(self.studio, sha256)
            return preview(self._path, columns, rows)

        self.work("Opening the picture", opened, self.picture.show, key="preview")

    @on(MapPicture.Clicked)
    def said_anew(self) -> None:
        """After everything was said again."""
        self.tell()

    def tell(self) -> None:
        """Say where things stand."""
        self._warned = False
        prose = map_words(self.sheet, self.map_id, self.picture) if self.sheet is not None else Prose()
        self.query_one("#words", ProseView).show(prose)

    # -- drawing -----------------------------------------------------------------------------------

    def action_move(self, way: str) -> None:
        """Move the cursor by a cell."""
        self.picture.move_cursor(*_WAYS[way])
        self.tell()

    def action_leap(self, way: str) -> None:
        """Move the cursor by several cells."""
        dx, dy = _WAYS[way]
        self.picture.move_cursor(dx * LEAP, dy * LEAP)
        self.tell()

    def action_nudge(self, way: str) -> None:
        """Move the cursor finely."""
        dx, dy = _WAYS[way]
        self.picture.move_cursor(dx * FINE, dy * FINE)
        self.tell()

    def action_put(self) -> None:
        """A corner at the cursor."""
        self.picture.corners.append(self.picture.cursor)
        self.picture.redraw()
        self.tell()

    def action_unput(self) -> None:
        """The newest corner away; without corners, the newest closed polygon is opened again."""
        picture = self.picture
        if picture.corners:
            picture.corners.pop()
        elif picture.done:
            picture.corners = list(picture.done.pop())
        picture.redraw()
        self.tell()

    def action_enlarge(self) -> None:
        """The picture twice, then four times as large, around the cursor; then whole again."""
        self.zoom = ZOOMS[(ZOOMS.index(self.zoom) + 1) % len(ZOOMS)]
        self._open()
        self.said("The whole picture." if self.zoom == 1 else f"{self.zoom} times as large, around the cursor.")

    def _close_shape(self) -> bool:
        """Close the corners to a polygon. False, with a word about it, where they make none."""
        picture = self.picture
        if not picture.corners:
            return bool(picture.done)
        try:
            polygon = shape_in_order(picture.corners)
        except PatinaError as trouble:
            self.notify(f"{trouble.what} {trouble.remedy}", severity="warning", timeout=6)
            return False
        picture.done.append(polygon)
        picture.corners = []
        return True

    def _clear(self, sheet: TreatmentSheet) -> None:
        self.picture.corners, self.picture.done = [], []
        self.show(sheet)

    def _closed_or_say(self) -> bool:
        """Whether nothing more may be drawn, which is said."""
        if self.sheet is None or self.sheet.record.signed_off is None:
            return False
        self.said("The record is signed off: nothing more is drawn on its maps.")
        return True

    def action_another(self) -> None:
        """Close this polygon and begin another of the same zone."""
        if not self._close_shape():
            self.said("Put three corners or more with Space first.")
        self.picture.redraw()
        self.tell()

    def action_zone(self) -> None:
        """Close the corners to a zone and ask what it is."""
        if self._closed_or_say():
            return
        from tui.dialogs.treatment import write_form

        if self.sheet is None or not self._close_shape():
            self.said("Put three corners or more with Space first.")
            return
        given = {"map": self.map_id, "polygons": points_typed(self.picture.done)}
        self.picture.redraw()
        self.ask(write_form(self.studio, self.sheet, "zone", given), lambda written: self._clear(written.sheet))

    def action_outline(self) -> None:
        """Close the corners to the outline of the object."""
        if self._closed_or_say():
            return
        if self.sheet is None or not self._close_shape():
            self.said("Put corners around the object with Space first.")
            return
        outline = points_typed(self.picture.done)
        reason = "outline drawn anew" if self.map.value.outline else "outline of the object drawn"

        def written(answer: Any) -> None:
            self.map_id = answer.id
            self._clear(answer.sheet)

        self.work(
            "Keeping the outline",
            lambda: treat.correct_part(self.studio, self.map_id, {"outline": outline}, reason),
            written,
            key="outline",
        )

    def action_type_figures(self) -> None:
        """Type the corners."""
        from tui.dialogs.form import Field, Form

        now = points_typed([*self.picture.done, *([tuple(self.picture.corners)] if self.picture.corners else [])])
        fields = [Field("points", "Corners", "0.1,0.2 0.4,0.2 0.4,0.6; the next polygon", now)]

        def read(values: Mapping[str, str]) -> Any:
            return corners_typed(values["points"], "points")

        def taken(polygons: Any) -> None:
            self.picture.done, self.picture.corners = list(polygons), []
            self.picture.redraw()
            self.tell()

        self.ask(Form("Corners, in fractions of the picture", fields, read), taken)

    # -- zones that stand --------------------------------------------------------------------------

    def action_next_thing(self) -> None:
        """Choose the next zone."""
        picture = self.picture
        if self.zones:
            picture.chosen_zone = 0 if picture.chosen_zone is None else (picture.chosen_zone + 1) % len(self.zones)
        picture.redraw()
        self.tell()

    def _zone_or_say(self) -> Kept[Any] | None:
        if self.chosen is None:
            self.said("Choose a zone with Tab first.")
        return self.chosen

    def action_change(self) -> None:
        """Correct what is said of the chosen zone."""
        if self._closed_or_say():
            return
        from tui.dialogs.treatment import correct_form

        zone = self._zone_or_say()
        if zone is not None and self.sheet is not None:
            self.ask(correct_form(self.studio, self.sheet, zone.id), lambda written: self.show(written.sheet))

    def action_redraw_zone(self) -> None:
        """Give the chosen zone the corners just drawn."""
        if self._closed_or_say():
            return
        from tui.dialogs.treatment import correct_form

        zone = self._zone_or_say()
        if zone is None or self.sheet is None:
            return
        if not self._close_shape():
            self.said("Put three corners or more with Space first.")
            return
        given = {"polygons": points_typed(self.picture.done)}
        form = correct_form(self.studio, self.sheet, zone.id, given)
        self.ask(form, lambda written: self._clear(written.sheet))

    def action_take_back(self) -> None:
        """Take the chosen zone back."""
        if self._closed_or_say():
            return
        from tui.dialogs.treatment import take_back_form

        zone = self._zone_or_say()
        if zone is not None:
            self.picture.chosen_zone = None
            self.ask(take_back_form(self.studio, zone.id), self.show)

    def action_patch(self) -> None:
        """A test patch at the cursor."""
        if self._closed_or_say():
            return
        from tui.dialogs.treatment import write_form

        if self.sheet is not None:
            x, y = self.picture.cursor
            given = {"map": self.map_id, "spot": f"{x:.4f},{y:.4f}"}
            self.ask(write_form(self.studio, self.sheet, "patch", given), lambda written: self.show(written.sheet))

    def action_save_picture(self) -> None:
        """Write the overlay picture."""
        from tui.dialogs.form import Field, Form

        fields = [
            Field(
                "to", "File", "a name that ends in .svg", str(Path.cwd() / f"{self.map_id}-{self.map.value.view}.svg")
            ),
            Field("beneath", "Photograph", "yes: a small copy lies beneath", "no", ("no", "yes")),
        ]

        def write(values: Mapping[str, str]) -> Path:
            beneath = values["beneath"].casefold() == "yes"
            to = Path(values["to"]).expanduser()
            return treat_maps.write_overlay(self.studio, self.map_id, to, with_photograph=beneath)

        self.ask(Form("Write the overlay picture", fields, write), lambda path: self.said(f"Written to {path}."))

    def action_look(self) -> None:
        """See the photograph alone."""
        from tui.screens.look import Look

        if self._path is not None:
            self.app.push_screen(Look(self._path))

    def action_words(self, way: str) -> None:
        """Scroll what is said of the zones."""
        said = self.query_one("#map-said", VerticalScroll)
        (said.scroll_page_down if way == "down" else said.scroll_page_up)(animate=False)

    def action_back(self) -> None:
        """Back; corners that are not yet a zone are asked about first."""
        picture = self.picture
        if not (picture.corners or picture.done):
            self.dismiss(None)
        elif not self._warned:
            self._warned = True
            self.said("The corners are no zone yet: Enter makes one, Escape again puts them away.")
        else:
            picture.corners, picture.done = [], []
            picture.redraw()
            self.tell()
            self.said("The corners are put away.")
