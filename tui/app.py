"""The app: places as modes, its theme, the palette, and the one door for every error."""

from __future__ import annotations

import tempfile
import time
import traceback
from collections import deque
from collections.abc import Callable, Sequence
from datetime import datetime
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events
from textual.app import App
from textual.reactive import Reactive
from textual.screen import Screen

from patina.bench.settings import read_as_here
from patina.errors import PatinaError
from patina.language import shown
from tui import actions
from tui.few_colours import FewColours
from tui.jobs import JobDone, JobFailed, Jobs
from tui.palette import RecordsAndActions
from tui.scanning import Scan
from tui.start import settle
from tui.themes import DARK, LIGHT

if TYPE_CHECKING:
    from textual.filter import LineFilter
    from textual.theme import Theme

    from patina.bench.studio import Studio

LOG_NAME = "troubles.log"
SETTLED_AFTER_S = 5.0
PLACES_AFTER_S = 1.5
TRAIL = 50  # as many records as one can go back over
STYLES = Path(__file__).parent / "styles"
_PLACE_OF_ID = {
    "R": "finishes",
    "B": "bench",
    "T": "tiles",
    "D": "tiles",
    "C": "casts",
    "P": "casts",
    "W": "casts",
    "M": "casts",
    "L": "shelf",
}


_PLACES = {place: f"tui.screens.{place}" for place in ("finishes", "bench", "tiles", "casts", "shelf")}


def _screen_of(place: str) -> Screen[None]:
    """The screen of a place, whose module is loaded when somebody first goes there."""
    screen: Screen[None] = getattr(import_module(_PLACES[place]), place.capitalize())()
    return screen


def _load_places(studio: Studio) -> None:
    """Load what the places are made of, and ask once for a tile: the longest question of a list is put together then,
    and not when somebody first goes to the rack."""
    for module in _PLACES.values():
        import_module(module)
    from patina.bench.readings.tiles import list_tiles

    list_tiles(studio, limit=1)


def _nothing(_answer: Any) -> None:
    """What is loaded in advance is loaded again where that failed, and said then."""


class Guarded:
    """The broad door, for the app and every screen: an error in a handler is told and does not stop
    the handling of what comes next."""

    async def _dispatch_message(self, message: Any) -> None:
        try:
            await super()._dispatch_message(message)  # type: ignore[misc]
        except Exception as error:  # noqa: BLE001
            self.app._handle_exception(error)  # type: ignore[attr-defined]


class PatinaApp(Guarded, App[str]):
    """The five places on one studio. faults: errors without a name that have been met.
    trail: place and id of the records from which others were opened, the newest last."""

    TITLE = "patina"
    CSS_PATH: ClassVar[Any] = STYLES / "frame.tcss"  # what the first screen needs; others bring their own
    BINDINGS: ClassVar[list[Any]] = actions.bindings(actions.EVERYWHERE)
    COMMANDS: ClassVar[Any] = {RecordsAndActions}
    COMMAND_PALETTE_BINDING = "ctrl+p"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (100, "-wide")]  # noqa: RUF012
    MODES: ClassVar[dict[str, str | Callable[[], Screen[Any]]]] = {
        place: partial(_screen_of, place) for place in _PLACES
    }
    DEFAULT_MODE = "finishes"
    ENABLE_COMMAND_PALETTE = True
    # known before the first style sheet is read: a theme that is set later has all of them read again
    theme: Reactive[str] = Reactive(DARK.name, init=False)

    def __init__(self, studio: Studio) -> None:
        super().__init__()
        self.studio = studio
        self.jobs = Jobs(self)
        self.faults: list[Exception] = []
        self._fault_times: list[float] = []
        self.wanted: str | None = None
        self.trail: deque[tuple[str, str]] = deque(maxlen=TRAIL)
        self.scan = Scan(self.open_record, lambda typed: self.notify(f"'{typed}' holds no id of a record.", timeout=4))
        read_as_here(studio)
        self._few_colours = FewColours() if self.console.color_system == "256" else None

    def get_line_filters(self) -> Sequence[LineFilter]:
        """On a terminal of 256 colours, the nearest of them by eye."""
        filters = super().get_line_filters()
        return filters if self._few_colours is None else [*filters, self._few_colours]

    @property
    def available_themes(self) -> dict[str, Theme]:
        """The two looks of the program, besides those of the library."""
        return {**super().available_themes, DARK.name: DARK, LIGHT.name: LIGHT}

    def first_screen_is_usable(self) -> None:
        """Called once, when the first list can be used; benchmarks hook in here."""
        settle()
        self.set_timer(PLACES_AFTER_S, self._load_places)

    def _load_places(self) -> None:
        """The other places are loaded while nobody waits for one, so that the first way there is quick."""
        studio = self.studio
        self.jobs.start(
            "Loading the places", lambda _ticket: _load_places(studio), _nothing, _nothing, quiet=True, key="places"
        )

    def on_mount(self) -> None:
        """Where the first list cannot be read, the start is over all the same."""
        self.set_timer(SETTLED_AFTER_S, settle)

    def _load_screen_css(self, screen: Screen[Any]) -> None:
        """A screen that is new has no styles of another theme, so no style sheet need be read again for it."""
        if screen._css_update_count < 0:
            screen._css_update_count = self._css_update_count
        super()._load_screen_css(screen)

    async def on_event(self, event: events.Event) -> None:
        """Codes of a scanner come before every key of a screen."""
        if self.is_running and self._screen_stacks.get(self.current_mode):
            modal = self.screen.is_modal
            if not modal and not event.is_forwarded and self.scan.takes(event, self.focused):
                return
        await super().on_event(event)

    def notify(self, message: str, **options: Any) -> None:
        """A short word, as the reader reads it."""
        super().notify(shown(message), **options)

    # -- going about -------------------------------------------------------------------------------

    def action_go(self, place: str) -> None:
        """Go to one of the five places."""
        self.go(place)

    def go(self, place: str) -> None:
        """Go to a place, leaving whatever stands on top of it as it is."""
        if self.screen.is_modal or place == self.current_mode:
            return
        self.switch_mode(place)
        came_back = getattr(self.screen, "came_back", None)
        if came_back is not None:
            self.call_after_refresh(came_back)

    def open_record(self, id: str) -> None:
        """Go to the place of a record and open its sheet there."""
        place = _PLACE_OF_ID.get(id[:1].upper())
        if place is None:
            self.notify(f"'{id}' holds no id of a record.", timeout=4)
            return
        here = getattr(self.screen, "standing_on", None) or getattr(self.screen_stack[0], "standing_on", None)
        if here is not None and here != id:
            self.trail.append((self.current_mode, here))
        self._open_at(place, id)

    def go_back(self) -> None:
        """Back to the record from which the last one was opened."""
        if not self.trail:
            self.notify("There is no way back: no record has been opened from another yet.", timeout=4)
            return
        self._open_at(*self.trail.pop())

    def _open_at(self, place: str, id: str) -> None:
        self.wanted = id
        self.switch_mode(place)
        while len(self.screen_stack) > 1:
            self.pop_screen()
        self.call_after_refresh(self._hand_over)

    def _hand_over(self) -> None:
        from tui.screens.place import Place

        if self.wanted is not None and isinstance(self.screen, Place):
            wanted, self.wanted = self.wanted, None
            self.screen.show_record(wanted)

    def action_command_palette(self) -> None:
        """Find a record or an action."""
        from textual.command import CommandPalette

        if not isinstance(self.screen, CommandPalette):
            self.push_screen(CommandPalette(placeholder=shown("Name of a record, or what you want to do")))

    def action_help(self) -> None:
        """Show the keys of the screen."""
        from tui.dialogs.help import Help

        if not isinstance(self.screen, Help):
            self.push_screen(Help(getattr(self.screen, "WHERE", actions.EVERYWHERE)))

    def action_code(self) -> None:
        """Open the record whose id is typed next."""
        self.scan.begin()
        self.notify("Type the id of a record, such as T12, then Enter.", timeout=6)

    def action_handbook(self) -> None:
        """Read the handbook, at the topic of the screen."""
        from tui.screens.handbook import Handbook

        if not self.screen.is_modal and not isinstance(self.screen, Handbook):
            self.push_screen(Handbook(getattr(self.screen, "WHERE", "")))

    def action_settings(self) -> None:
        """Who works here, and what the studio is called."""
        if not self.screen.is_modal:
            self.ask_settings(lambda: None)

    def ask_settings(self, then: Callable[[], None]) -> None:
        """Ask for the studio's settings; places that are open follow another language or other measures at once."""
        from patina.language import reader
        from tui.dialogs.records import settings_form

        before = reader()

        def answered(_kept: Any) -> None:
            if reader() != before:
                for screen in [screen for stack in self._screen_stacks.values() for screen in stack]:
                    if (say_anew := getattr(screen, "say_anew", None)) is not None:
                        screen.call_later(say_anew)
            then()

        self.push_screen(settings_form(self.studio), answered)

    def action_people(self) -> None:
        """Who works here and as what; who is at this machine."""
        from tui.dialogs.people import show_people

        if not self.screen.is_modal:
            show_people(self)

    def action_switch_light(self) -> None:
        """Dark to light and back."""
        self.theme = LIGHT.name if self.theme == DARK.name else DARK.name

    def action_stop_work(self) -> None:
        """Stop waiting for the work that is shown."""
        ticket = self.jobs.shown
        if ticket is not None:
            self.jobs.stop(ticket)
            self.notify(f"Stopped: {ticket.words}.")

    # -- work --------------------------------------------------------------------------------------

    def on_job_done(self, message: JobDone) -> None:
        """Hand a result on."""
        self.jobs.finish(message)

    def on_job_failed(self, message: JobFailed) -> None:
        """Hand a trouble on."""
        self.jobs.finish(message)

    def on_worker_state_changed(self, event: Any) -> None:
        """A fault inside a thread comes through the same door."""
        error = event.worker.error
        if error is not None and event.worker.group == "jobs":
            self.jobs.forget_broken()
            self._handle_exception(error)

    # -- the error door ----------------------------------------------------------------------------

    def _handle_exception(self, error: Exception) -> None:
        """Every error that nobody has taken: a trouble is shown, a fault is written down and owned up to."""
        from tui.dialogs.message import Trouble

        if not self.is_running or not self._screen_stacks.get(self.current_mode):
            super()._handle_exception(error)
        elif isinstance(error, PatinaError):
            self.push_screen(Trouble.of(error))
        elif self._too_many():
            self._write_down(error)
            super()._handle_exception(error)
        else:
            self.faults.append(error)
            self.push_screen(Trouble.fault(error, self._write_down(error)))

    def _too_many(self) -> bool:
        """A fault that comes again and again cannot be lived with."""
        now = time.monotonic()
        self._fault_times = [t for t in self._fault_times if now - t < 3.0] + [now]
        return len(self._fault_times) > 4

    def _write_down(self, error: Exception) -> Path:
        """Add the fault to the log in the studio's folder (or the temporary folder for a database URL)."""
        folder = Path(self.studio.where)
        log = (folder if folder.is_dir() else Path(tempfile.gettempdir())) / LOG_NAME
        words = "".join(traceback.format_exception(error))
        try:
            with log.open("a", encoding="utf-8") as file:
                file.write(f"\n{datetime.now().astimezone().isoformat(timespec='seconds')}\n{words}")
        except OSError:
            self.log.error(words)
        return log


def run(studio: Studio) -> str | None:
    """Open the screens on a studio and stay there until the person leaves.

    Returns LOOK_AT_DEMO of ``tui.dialogs.first_minute`` where the demo was asked for, else None."""
    from tui.graphics import ask_terminal

    ask_terminal()
    return PatinaApp(studio).run()
