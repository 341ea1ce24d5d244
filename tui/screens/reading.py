"""What was read from a photograph, before it is kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from patina.bench.readings import tiles
from patina.bench.readings.reading import as_readings, with_scale
from patina.entries import WARMTH, WAX_STATES
from patina.sheets.editions import edition_words
from tui import actions
from tui import format as show
from tui.app import STYLES
from tui.screens.base import Base
from tui.widgets.prose import Prose, ProseView

if TYPE_CHECKING:
    from patina.entries import HowRead
    from patina.sheets import AreaReading, PhotoReading


class Reading(Base):
    """Dismissed with True where the readings were kept. how: each area was read, kept with its reading."""

    WHERE = "reading"
    CSS_PATH: ClassVar[Any] = STYLES / "screens.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("reading")

    def __init__(self, target: str, sha256: str, result: PhotoReading, how: tuple[HowRead, ...] = ()) -> None:
        super().__init__()
        self.how = how
        self.target = target
        self.sha256 = sha256
        self.result = result

    def body(self) -> ComposeResult:
        """The reading in words."""
        with VerticalScroll(id="reading-sheet"):
            yield ProseView(reading_words(self.target, self.result), id="reading-words")

    def on_mount(self) -> None:
        """Begin in the sheet."""
        self.query_one("#reading-sheet").focus()

    def action_keep(self) -> None:
        """Ask in what state it was read, then keep."""
        from tui.dialogs.form import Field, Form

        wax = "not stated"
        if self.target[:1].upper() == "T":
            wax = tiles.tile_sheet(self.studio, self.target).row.wax_state
        fields = [
            Field("wax_state", "Wax", "not stated", wax, WAX_STATES),
            Field("warmth", "Metal", "not stated", "cold", WARMTH),
            Field("read_by", "Read by", "", self.studio.who()),
            Field("scale", "Scale", f"12.4 px/mm, or face=80x60 mm; empty: {self._scale_known()}"),
        ]
        self.ask(Form(f"Keep with {self.target}", fields, self._keep), self._kept)

    def _scale_known(self) -> str:
        by_placard = any(area.grain_mm is not None for area in self.result.areas)
        return "that of the placard" if by_placard else "grain in mm not known"

    def _keep(self, values: Mapping[str, str]) -> Any:
        readings = as_readings(
            with_scale(self.result, values["scale"]),
            self.sha256,
            wax_state=values["wax_state"],
            warmth=values["warmth"],
            by=values["read_by"],
            how=self.how,
        )
        return tiles.add_readings(self.studio, self.target, readings)

    def _kept(self, rows: Any) -> None:
        self.said(f"{show.times(len(rows), 'reading')} kept with {self.target}.")
        self.dismiss(True)  # type: ignore[arg-type]

    def action_back(self) -> None:
        """Back to the picture, keeping nothing."""
        self.dismiss(None)


def reading_words(target: str, result: PhotoReading) -> Prose:
    """Colours with their doubts first, then how they were got."""
    prose = Prose().title(f"Read for {target}", "not kept yet: Enter keeps, Esc goes back").gap()
    for area in result.areas:
        _area(prose, area)
    if result.warnings:
        prose.heading("Mind")
        for warning in result.warnings:
            prose.caution(warning.text, warning.do)
    chart = result.chart
    prose.heading("How it was read")
    if not chart.found:
        return prose.caution("Without a chart: the camera's own colours, good for a rough idea only.", grave=True)
    card = chart.kind.endswith("card")
    by_chart = f"found, {edition_words(chart.edition)}, {chart.method}"
    prose.fact(*(chart.kind, chart.method) if card else ("chart", by_chart))
    if chart.loo_mean_de00 is not None:
        prose.fact(
            "left out, back",
            f"each patch found again from the others to ΔE00 {show.number(chart.loo_mean_de00)} on average",
        )
    for number, why in chart.rejected:
        prose.fact(f"{'step' if card else 'patch'} {number}", f"not used: {why}")
    return prose


def _area(prose: Prose, area: AreaReading) -> None:
    prose.colour(area.lab, f"ΔE00 {show.give_or_take(area.uncertainty_de00)} (95 %)", area.name)
    spread = " / ".join(show.number(v) for v in area.sd)
    left_out = f", {show.percent(area.masked_pct)} left out as highlight" if area.masked_pct >= 0.05 else ""
    prose.text(
        f"spread {spread} over {area.pixels} pixels{left_out}; {area.illuminant}, {area.observer}°",
        "$text-muted",
        indent=12,
    )
    prose.parts((p.lab, p.share) for p in area.parts)
    if len(area.parts) > 1 and area.grain_px is not None:
        in_mm = "" if area.grain_mm is None else f", {show.number(area.grain_mm)} mm ({area.scale_from})"
        prose.text(f"mottle of {show.number(area.grain_px, 0)} pixels{in_mm}", "$text-muted", indent=12)
    prose.gap()
