"""What every screen shares: the app by its own type, bars above and below, and jobs."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar, cast

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.screen import Screen
from textual.widgets import OptionList

from patina.errors import PatinaError
from tui.app import Guarded
from tui.widgets.bars import KeyBar, PlaceBar, WorkBar
from tui.widgets.words import say_options_anew

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from tui.app import PatinaApp

T = TypeVar("T")


class Base(Guarded, Screen[None]):
    """A full screen. WHERE: its name in the table of actions. PLACE: the place it belongs to."""

    WHERE: ClassVar[str] = ""
    PLACE: ClassVar[str] = ""
    _studio: Studio | None = None

    @property
    def patina(self) -> PatinaApp:
        """The app."""
        return cast("PatinaApp", self.app)

    @property
    def studio(self) -> Studio:
        """The open studio; also for a thread that outlives the screen."""
        if self._studio is None:
            self._studio = self.patina.studio
        return self._studio

    def compose(self) -> ComposeResult:
        """Bars around the screen's own body."""
        yield PlaceBar(self.PLACE or self.patina.current_mode)
        yield from self.body()
        with Vertical(id="below"):
            yield WorkBar()
            yield KeyBar(self.WHERE)

    def body(self) -> ComposeResult:
        """What stands between the bars."""
        raise NotImplementedError

    async def say_anew(self) -> None:
        """Another language or other measures: all that stands here is said again, and nothing that was typed,
        chosen or drawn is lost."""
        for part in self.query("*"):
            if isinstance(part, OptionList):
                say_options_anew(part)
            elif (again := getattr(part, "say_anew", None)) is not None:
                again()
            else:
                part.refresh(layout=True)
        self.said_anew()

    def said_anew(self) -> None:
        """After everything was said again: what a screen works out before it says it."""

    def work(
        self,
        words: str,
        work: Callable[[], T],
        done: Callable[[T], None],
        failed: Callable[[PatinaError], None] | None = None,
        *,
        quiet: bool = False,
        key: str = "",
    ) -> None:
        """Slow work without a say on its steps; see ``tui.jobs``. What comes back after the screen was left
        is dropped, and so is a trouble of quiet work that nobody takes once something else lies on top: a list
        that could not be read must not cover the torch."""

        def if_here(then: Callable[[Any], None]) -> Callable[[Any], None]:
            return lambda result: then(result) if self.is_attached else None

        def if_on_top(trouble: PatinaError) -> None:
            if self.app.screen is self:
                raise trouble

        assert self.studio is not None  # known before the thread asks for it
        own = f"{self.WHERE}:{key}" if key else ""
        told = if_here(failed or if_on_top) if failed or quiet else None
        self.patina.jobs.start(words, lambda _ticket: work(), if_here(done), told, quiet=quiet, key=own)

    def ask(self, dialog: Any, then: Callable[[Any], None]) -> None:
        """Put a question on top; ``then`` is called with the answer unless it was left."""

        def answered(answer: Any) -> None:
            if answer is not None:
                then(answer)

        self.app.push_screen(dialog, answered)

    def said(self, words: str) -> None:
        """A short word that something is done."""
        self.notify(words, timeout=4)
