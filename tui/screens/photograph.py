"""A photograph: where the chart stands, and what is to be measured in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, ClassVar

from patina.bench.readings import tiles
from patina.bench.readings.charts import as_read, list_charts, read_by
from patina.bench.readings.reading import how_read, parse_corners
from patina.bench.readings.showing import corrected, patch_outlines, proposed_area
from patina.bench.settings import change_setting, chart_edition
from patina.errors import NoChart, PatinaError
from patina.sheets.editions import edition_words
from tui import actions
from tui.screens.by_which import NO_CHART, ByChart, ask_chart
from tui.screens.chart_points import (
    ChartPoints,
    as_text,
    first_points,
    how_to_place,
    move_point,
    point_words,
    points_field,
    typed_points,
)
from tui.screens.framing import Framing
from tui.widgets.picture import Frame, Point
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.bench.readings.showing import Preview
    from patina.sheets import PhotoReading
    from tui.dialogs.form import Field

EDITIONS = (
    ("after-2014", "after 2014: made from November 2014 on"),
    ("before-2014", "before 2014: made before November 2014"),
    ("unknown", "not known: the reading's uncertainty grows"),
)
_OURS = "our chart "  # before the name of one of the studio's charts, where an edition is asked for


class Photograph(Framing):
    """Dismissed with True where readings were kept. target: id of the tile or cast. by: what the picture is
    corrected by."""

    WHERE = "photograph"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("photograph")
    edition = ""  # as said last; empty until somebody has said

    def __init__(self, target: str, sha256: str) -> None:
        super().__init__(sha256)
        self.target = target
        self.by = ByChart()
        self.placed = False  # points placed by a person
        self.as_corrected = False  # the picture is shown as the chart says it should look
        self._there: Sequence[Point] = ()  # where the chart was found in another photograph
        self._first: Frame | None = None  # the area proposed, as long as nobody moved it
        self._said = Prose().text("Looking for the chart …", "$text-muted")

    @property
    def chart(self) -> str:
        """The chart as the reader takes it: "auto", "none", a card, or the name of one of the studio's."""
        return self.by.chart

    def on_mount(self) -> None:
        """Look for the chart."""
        self.picture.focus()
        kept = chart_edition(self.studio)
        if kept != "unknown":
            self.edition = kept
        self.tell()
        self._look_for_chart()

    def _look_for_chart(self) -> None:
        by, edition = self.by if self.chart != "none" else ByChart(flat=self.by.flat), self._known_edition()
        self.work(
            "Looking for the chart",
            lambda: read_by(
                self.studio,
                self.path,
                chart=by.chart,
                edition=edition,
                corners=by.corners or None,
                card=by.card or None,
                chart_photograph=by.elsewhere or None,
                flat=by.flat,
            ),
            self._found,
            self._not_found,
            key="chart",
        )

    def open_picture(self) -> None:
        """As it was taken, or as the chart says it should look."""
        if not self.as_corrected:
            super().open_picture()
            return
        columns, rows = self._room_for
        by, edition, corners = self.by, self._known_edition(), self._corners()

        def by_the_chart() -> Preview:
            other = tiles.photograph_path(self.studio, by.elsewhere) if by.elsewhere else None
            with as_read(self.studio, by.chart, edition) as (named, known):
                return corrected(
                    self.path,
                    columns,
                    rows,
                    chart=named,
                    edition=known,
                    corners=None if corners is None else parse_corners(corners),
                    card=by.card or None,
                    chart_photo=other,
                    flat=by.flat,
                )

        self.work("Correcting the picture", by_the_chart, self.opened, self._not_corrected, key="preview")

    def _not_corrected(self, trouble: PatinaError) -> None:
        self.as_corrected = False
        self._not_found(trouble)

    def _as_taken(self) -> None:
        """The chart's points are about to move: what was corrected by them no longer holds."""
        if self.as_corrected:
            self.as_corrected = False
            self.open_picture()

    def action_corrected(self) -> None:
        """The picture as the chart says it should look, or as it was taken."""
        known = bool(self.picture.points) or bool(self.by.elsewhere)
        if not self.as_corrected and (self.chart == "none" or not known):
            self.said("Without a chart there is nothing to correct the picture by.")
            return
        self.as_corrected = not self.as_corrected
        self.open_picture()

    def proposed(self, small: Preview) -> Frame:
        """The first area: beside the chart, where that lies in the middle."""
        at = proposed_area(small.width_px, small.height_px, self.picture.points, card=self.by.is_card)
        self._first = Frame("middle", *at)
        return self._first

    def _propose_anew(self) -> None:
        """Where the chart lies is known now: an area that nobody has touched moves out of its way."""
        picture = self.picture
        if picture.preview is not None and picture.frames == [self._first]:
            picture.frames = [self.proposed(picture.preview)]

    def _found(self, result: PhotoReading) -> None:
        if result.chart.corners is not None and not self.placed and not self.by.elsewhere:
            self.picture.points = list(result.chart.corners)
            self._propose_anew()
        if self.by.elsewhere:
            self._there = result.chart.corners or ()
        self._said = Prose().text(self.by.found_words, "$text-success")
        for warning in result.warnings:
            self._said.caution(warning.text, warning.do)
        self.redraw()
        if self.as_corrected:
            self.open_picture()  # by the edition that was just said

    def _not_found(self, trouble: PatinaError) -> None:
        self._said = Prose().caution(f"{trouble.title}. {trouble.what}", trouble.remedy, grave=True)
        if isinstance(trouble, NoChart):
            self._said.text(
                "f places the four points yourself; b takes the chart of another photograph, or a card; w reads "
                "without a chart (a rough figure only).",
                indent=4,
            )
        self.redraw()

    def redraw(self) -> None:
        """After an area, a point or the chart changed."""
        picture = self.picture
        used = len(picture.points) == 4 and self.chart != "none" and not self.by.is_card and not self.by.elsewhere
        picture.patches = patch_outlines(picture.points) if used else ()
        super().redraw()

    def words(self) -> Prose:
        """Where things stand."""
        prose, picture = super().words(), self.picture
        point_words(prose, picture, card=self.by.is_card)
        chart = self.by.words or ("points placed by hand" if self.placed else "found by the program")
        edition = edition_words(self.edition) if self.edition else "edition not said yet (k)"
        prose.fact("chart", chart if self.chart in NO_CHART else f"{chart}; {edition}")
        if self.by.flat is not None and self.chart != "none":
            prose.fact("light", f"evened out by {self.by.flat.name}")
        shown = "corrected by the chart (c: as taken)" if self.as_corrected else "as taken (c: corrected by the chart)"
        prose.fact("picture", shown)
        return prose.extend(self._said)

    # -- points ------------------------------------------------------------------------------------

    def change(self, way: str, *, size: bool) -> None:
        """Move or size the chosen area; move the chosen point, finely where a size is meant."""
        if not move_point(self.picture, way, finely=size):
            super().change(way, size=size)
            return
        self.placed = True
        self._as_taken()
        self.redraw()

    def action_place_points(self) -> None:
        """Place the chart's points oneself."""
        picture = self.picture
        if picture.preview is None:
            return
        if self.by.elsewhere:
            self._place_elsewhere()
            return
        picture.points = picture.points or first_points(picture.preview)
        self.placed, self.by = True, ByChart(flat=self.by.flat) if self.chart == "none" else self.by
        self._as_taken()
        picture.chosen = len(picture.frames)
        self._said = Prose().text(how_to_place(card=self.by.is_card))
        self.redraw()

    def _place_elsewhere(self) -> None:
        """Place the points in the other photograph of the shoot."""
        by = self.by
        points = parse_corners(by.corners) if by.corners else self._there
        self.app.push_screen(ChartPoints(by.elsewhere, by.name, points, card=by.is_card), self._placed_elsewhere)

    def _placed_elsewhere(self, corners: str | None) -> None:
        if corners is None:
            return
        self.by = replace(self.by, corners=corners)
        self._as_taken()
        self._look_for_chart()

    def more_fields(self) -> list[Field]:
        """The chart's points, in the photograph that shows it."""
        points = self.picture.points
        return [points_field(self.by.corners or ";".join(f"{x:.0f},{y:.0f}" for x, y in points))]

    def typed_points(self, values: Mapping[str, str], troubles: list[PatinaError]) -> list[Point]:
        """The chart's points that were typed; none where the field is empty."""
        return typed_points(values, troubles)

    def take_typed(self, typed: tuple[list[Frame], list[Point]]) -> None:
        """Take over areas, and points where they are others."""
        picture = self.picture
        if self.by.elsewhere:
            if (corners := as_text(typed[1])) != self.by.corners:
                self._placed_elsewhere(corners)
            super().take_typed(typed)
            return
        changed = [(round(x), round(y)) for x, y in typed[1]] != [(round(x), round(y)) for x, y in picture.points]
        if changed:
            picture.points, self.placed = typed[1], bool(typed[1])
        super().take_typed(typed)

    # -- reading -----------------------------------------------------------------------------------

    def action_by_chart(self) -> None:
        """Say what the picture is corrected by: the chart in it, one of ours, another photograph's, a card."""
        ask_chart(self, self.by, self._take_chart)

    def _take_chart(self, by: ByChart) -> None:
        if by.chart == "none":
            self.action_without_chart()
            return
        if by.flat != self.by.flat:  # the chart stays what it was, and where it was placed
            self._take_flat(by)
            return
        self.by, self.placed, self.picture.points, self._there = by, False, [], ()
        self.picture.chosen = 0
        if by.chart not in ("auto", *NO_CHART):
            self.edition = f"{_OURS}{by.chart}"
        elif self.edition.startswith(_OURS):
            self.edition = ""
        self._as_taken()
        self._said = Prose().text("Looking for the chart …", "$text-muted")
        self.redraw()
        self._look_for_chart()

    def _take_flat(self, by: ByChart) -> None:
        self.by = by
        self._as_taken()
        self._look_for_chart()

    def action_edition(self) -> None:
        """Say which edition of the chart it is."""
        self._ask_edition(self._look_for_chart)  # what was said of an unknown edition holds no longer

    def _ask_edition(self, then: Any) -> None:
        from tui.dialogs.choose import Choose

        def said(edition: str) -> None:
            self.edition = edition
            if edition.startswith(_OURS):
                self.by = replace(self.by, chart=edition.removeprefix(_OURS), card="")
            else:
                self.by = replace(self.by, chart="auto", card="")
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
        self.by = ByChart("auto" if self.chart == "none" else "none", flat=self.by.flat)
        self._as_taken()
        self.redraw()

    def action_read(self) -> None:
        """Read the colour of the areas; the edition is asked first where nobody has said."""
        if not self.picture.frames:
            self.said("The picture is not open yet.")
        elif self.chart not in NO_CHART and not self.edition:
            self._ask_edition(self._read)
        else:
            self._read()

    def _corners(self) -> str | None:
        """Points that a person placed, as the deeds take them."""
        if self.by.elsewhere:
            return self.by.corners or None
        return as_text(self.picture.points) if self.placed and self.chart != "none" else None

    def _read(self) -> None:
        asked = {
            "chart": self.chart,
            "edition": self._known_edition(),
            "corners": self._corners(),
            "card": self.by.card or None,
            "chart_photograph": self.by.elsewhere or None,
        }
        areas, flat = self.areas, self.by.flat if self.chart != "none" else None
        how = tuple(how_read(self.studio, areas, flat=flat is not None, **asked))  # type: ignore[arg-type]

        def was_read(result: PhotoReading) -> None:
            from tui.screens.reading import Reading

            self.app.push_screen(Reading(self.target, self.sha256, result, how), self._kept)

        self.work(
            "Reading the colour",
            lambda: read_by(self.studio, self.path, areas=areas, flat=flat, **asked),  # type: ignore[arg-type]
            was_read,
            self._not_found,
            key="read",
        )

    def _kept(self, kept: bool | None) -> None:
        if kept:
            self.dismiss(True)  # type: ignore[arg-type]
