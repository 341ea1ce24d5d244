"""An edition as a series: register, charts by cast order, alarms, what changed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

from patina.bench.matched.series import series
from patina.errors import PatinaError
from patina.language import shown
from tui import actions
from tui.app import STYLES
from tui.charts import LOOK, OUT, series_charts
from tui.screens.base import Base
from tui.screens.matching_words import series_heading, series_words
from tui.widgets.prose import Prose, ProseView
from tui.widgets.words import words

if TYPE_CHECKING:
    from patina.sheets.series import SeriesSheet

_SIGNS = (
    f"{LOOK} worth a look",
    f"{OUT} beyond the limits",
    "▽ something changed before this cast",
    "┄ limits",
    "─ agreed",
)


def _legend(width: int) -> list[str]:
    """What the signs mean, in lines that break between two of them."""
    lines = [""]
    for sign in map(shown, _SIGNS):
        longer = f"{lines[-1]}   {sign}" if lines[-1] else sign
        lines = [*lines[:-1], longer] if len(longer) <= width else [*lines, sign]
    return [line for line in lines if line]


class Charts(Widget):
    """The three charts, as wide as there is room."""

    DEFAULT_CSS = "Charts { height: auto; width: 1fr; text-wrap: nowrap; }"

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.sheet: SeriesSheet | None = None

    def show(self, sheet: SeriesSheet) -> None:
        """Show the charts of a series."""
        self.sheet = sheet
        self.refresh(layout=True)

    def _lines(self, width: int) -> list[str]:
        if self.sheet is None or not self.sheet.charts:
            return []
        return [*_legend(width), "", *series_charts(self.sheet, width=width)]

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many lines as the charts have."""
        return max(len(self._lines(width)), 1)

    def render(self) -> Content:
        """The charts as text; points beyond the limits are told by their sign as well."""
        lines = self._lines(self.content_size.width or 78)
        at = lines.index("") if lines else 0
        legend = [words(line, "$text-muted") for line in lines[:at]]
        charts = [words(line, "$text-error" if OUT in line else "") for line in lines[at:]]
        return Content("\n").join([*legend, *charts])


class Series(Base):
    """The casts of a piece as a series. sheet: None before it is read."""

    WHERE = "series"
    PLACE = "casts"
    CSS_PATH: ClassVar[Any] = STYLES / "screens.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("series")

    def __init__(self, piece: str) -> None:
        super().__init__()
        self.piece = piece
        self.order = "number"
        self.sheet: SeriesSheet | None = None

    def body(self) -> ComposeResult:
        """Charts above, register below."""
        with VerticalScroll(id="series-sheet"):
            yield ProseView(id="series-heading")
            yield Charts(id="series-charts")
            yield ProseView(id="words")

    def on_mount(self) -> None:
        """Read the series."""
        self.query_one("#series-sheet").focus()
        self.compute()

    def said_anew(self) -> None:
        """After everything was said again."""
        self.compute()

    def compute(self) -> None:
        """Work the series out, in a thread."""
        order = self.order
        self.work(
            "Looking at the series",
            lambda: series(self.studio, self.piece, order=order),
            self._shown,
            self._not,
        )

    def _not(self, trouble: PatinaError) -> None:
        self.query_one("#words", ProseView).show(Prose().caution(trouble.what, trouble.remedy, grave=True))

    def _shown(self, sheet: SeriesSheet) -> None:
        self.sheet = sheet
        self.query_one("#series-charts", Charts).show(sheet)
        self.query_one("#series-heading", ProseView).show(series_heading(sheet))
        self.query_one("#words", ProseView).show(series_words(sheet))

    def action_plot(self) -> None:
        """The three charts as plots."""
        from tui.plots import of_series
        from tui.screens.plots import show_plots

        if self.sheet is not None:
            show_plots(self, of_series(self.sheet), "Fewer than two casts were read: a plot needs two.")

    def action_order(self) -> None:
        """By number, or by date of casting."""
        self.order = "date" if self.order == "number" else "number"
        self.compute()

    def action_print_sheet(self) -> None:
        """Write the report of the series."""
        from tui.dialogs.printing import ask_sheets, series_of

        ask_sheets(self, [series_of(self, self.piece, self.order)])

    def action_back(self) -> None:
        """Back."""
        self.dismiss(None)
