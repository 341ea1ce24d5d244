"""What photographs that were read again would change, before anything is kept."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from tui import actions
from tui import format as show
from tui.app import STYLES
from tui.screens.base import Base
from tui.widgets.prose import Prose, ProseView

if TYPE_CHECKING:
    from patina.sheets import RereadRow, RereadSheet
    from tui.dialogs.rereading import Asked

MOST_SHOWN = 300
_GROUPS = (
    ("first reading", "Read for the first time"),
    ("cannot be read", "Cannot be read again"),
    ("cannot be kept", "Cannot be kept"),
)


class Reread(Base):
    """Dismissed with True where something was kept. sheet: what came out."""

    WHERE = "reread"
    CSS_PATH: ClassVar[Any] = STYLES / "screens.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("reread")

    def __init__(self, asked: Asked, sheet: RereadSheet) -> None:
        super().__init__()
        self.asked = asked
        self.sheet = sheet
        self.kept = False

    def body(self) -> ComposeResult:
        """The words, to be scrolled."""
        with VerticalScroll(id="brought-sheet"):
            yield ProseView(reread_words(self.sheet), id="words")

    def on_mount(self) -> None:
        """Scroll with the arrows at once."""
        self.query_one("#brought-sheet").focus()

    @property
    def new(self) -> int:
        """How many readings would be put on record."""
        return sum(row.outcome in ("other", "first reading") and not row.kept for row in self.sheet.rows)

    def action_keep(self) -> None:
        """Ask what becomes of the old readings, and keep the new ones."""
        from tui.dialogs.choose import Choose

        if not self.new:
            self.said("There is nothing to keep: every reading comes out as it is on record.")
            return
        options = (
            ("beside", "beside the old ones; each of them counts"),
            ("instead", "and let the old ones count no more; they stay on record"),
        )
        heading = f"Put {show.times(self.new, 'reading')} on record"
        self.ask(Choose(heading, options), lambda way: self._keep(way == "instead"))

    def _keep(self, withdraw: bool) -> None:
        from tui.dialogs.rereading import Rereading

        self.ask(Rereading(self.studio, self.asked, keep=True, withdraw=withdraw), self._came)

    def _came(self, sheet: RereadSheet) -> None:
        self.sheet, self.kept = sheet, True
        self.query_one("#words", ProseView).show(reread_words(sheet))
        self.query_one("#brought-sheet", VerticalScroll).scroll_home(animate=False)

    def action_read(self) -> None:
        """Go on with the photographs that are left."""
        from tui.dialogs.rereading import Asked, Rereading

        if not self.sheet.left:
            self.said("All photographs are read.")
            return
        self.asked = Asked(self.asked.since, self.asked.cluster)
        self.ask(Rereading(self.studio, self.asked), self._seen)

    def _seen(self, sheet: RereadSheet) -> None:
        kept = self.kept
        self._came(sheet)
        self.kept = kept

    def action_back(self) -> None:
        """Back; what was not kept is on record as it was."""
        self.dismiss(self.kept)  # type: ignore[arg-type]


def reread_words(sheet: RereadSheet) -> Prose:
    """What came out: how many, those that differ, largest first, then what cannot be read."""
    other = sorted(sheet.of("other"), key=lambda row: -(row.de00 or 0.0))
    prose = Prose()
    count = sum(1 for row in sheet.rows if row.kept)
    if sheet.kept:
        prose.text(f"{show.times(count, 'reading')} put on record.", "bold")
    elif other:
        beyond = sum(row.beyond_doubt for row in other)
        prose.text(
            f"{show.times(len(other), 'reading')} would change, {beyond} of them by more than both readings' doubt.",
            "bold",
        )
    else:
        prose.text("Every reading comes out as it is on record.", "bold")
    prose.fact("read", f"{sheet.done} of {sheet.photographs}, {sheet.before} of them by an earlier run")
    prose.fact("the same", str(len(sheet.of("same"))))
    if other and sheet.median_de00 is not None and sheet.largest_de00 is not None:
        median, largest = show.number(sheet.median_de00, 2), show.number(sheet.largest_de00, 2)
        prose.fact("ΔE00", f"median {median}, largest {largest}")
    if sheet.stopped:
        prose.caution(f"Stopped: {show.times(sheet.left, 'photograph')} left.", "r goes on there.")
    if other:
        prose.heading("Comes out otherwise")
        for row in other[:MOST_SHOWN]:
            _row(prose, row)
    for outcome, heading in _GROUPS:
        of_it = sheet.of(outcome)
        if of_it:
            prose.heading(f"{heading}: {len(of_it)}")
            for row in of_it[:MOST_SHOWN]:
                _other(prose, row)
    if max(len(other), *(len(sheet.of(o)) for o, _ in _GROUPS)) > MOST_SHOWN:
        prose.gap().text(f"Of each kind the first {MOST_SHOWN} are shown; patina reread lists all.")
    return prose


def _row(prose: Prose, row: RereadRow) -> None:
    assert row.before is not None and row.after is not None and row.de00 is not None
    kept = f", kept as {row.kept}" if row.kept else ""
    beside = f"{row.target} {row.area} {row.reading}  ΔE00 {show.number(row.de00, 2)}"
    doubt = f"{show.give_or_take(row.doubt_before)} → {show.give_or_take(row.doubt_after)}"
    prose.pair(row.before, row.after, beside, f"     {row.words}; doubt {doubt}{kept}", sure=row.beyond_doubt).gap()


def _other(prose: Prose, row: RereadRow) -> None:
    name = " ".join(w for w in (row.target, row.area, row.reading) if w)
    kept = f" (kept as {row.kept})" if row.kept else ""
    if row.after is not None:
        prose.colour(row.after, f"{name}{kept}")
    else:
        prose.caution(f"{name}: {row.words}")
