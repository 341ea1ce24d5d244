"""A place: the list on the left, the sheet on the right, one at a time on a narrow terminal."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.timer import Timer
from textual.widgets import Input

from patina.language import shown
from patina.sheets import Lab
from tui.few_colours import measured
from tui.screens.keeping import Keeping
from tui.widgets.prose import Prose, ProseView
from tui.widgets.record_list import Line, RecordList
from tui.widgets.words import Static

SEARCH_PAUSE_S = 0.15
SHEET_PAUSE_S = 0.1


FIRST_PAGE = 60  # more than any terminal shows of a list
REST_AFTER_S = 0.5


@dataclass(frozen=True)
class Shelfful:
    """One list of a place. load: rows for a search. line: a row as the list shows it. fetch: the
    sheet of an id. tell: the sheet in words. empty: what would fill the list, and how. page: the first so many
    rows for a search, where the whole list may be long."""

    name: str
    load: Callable[[str], Sequence[Any]]
    line: Callable[[Any], Line]
    fetch: Callable[[str], Any]
    tell: Callable[[Any], Prose]
    empty: str
    page: Callable[[int, str], Sequence[Any]] | None = None


def shades(labs: Sequence[Lab | None]) -> tuple[str, ...]:
    """Colours for a list's block: those that are known."""
    return tuple(measured(lab) for lab in labs if lab is not None)


class Place(Keeping):
    """One of the five places. sheet: the record that is shown, None before one is read."""

    AUTO_FOCUS = "#list"
    BINDINGS: ClassVar[list[Any]] = []

    def __init__(self) -> None:
        super().__init__()
        self.lists = self.shelves()
        self.at = 0
        self.sheet: Any = None
        self._pause: Timer | None = None
        self._first = True
        self._showing: str | None = None

    def shelves(self) -> tuple[Shelfful, ...]:
        """The lists of the place."""
        raise NotImplementedError

    @property
    def current(self) -> Shelfful:
        """The list that is shown."""
        return self.lists[self.at]

    @property
    def standing_on(self) -> str | None:
        """Id of the chosen record."""
        return self.record_list.chosen

    @property
    def called(self) -> str:
        """What the chosen record is called."""
        rows, at = self.record_list.rows, self.record_list.cursor
        if at >= len(rows):
            return ""
        line = self.current.line(rows[at])
        return " ".join(line.title.replace(line.id, "").split())

    def body(self) -> ComposeResult:
        """List and sheet."""
        with Horizontal(id="place"):
            with Vertical(id="left"):
                if len(self.lists) > 1:
                    yield Static(id="lists")
                yield Input(placeholder=shown("/ to search"), id="search", compact=True)
                yield RecordList(id="list")
                yield Static(id="count")
            with Vertical(id="right"):
                yield from self.above_sheet()
                with VerticalScroll(id="sheet"):
                    yield ProseView(id="words")
                    yield from self.below_words()

    def above_sheet(self) -> ComposeResult:
        """Fields that stand above the sheet; most places have none."""
        yield from ()

    def below_words(self) -> ComposeResult:
        """Parts that stand below the words; most places have none."""
        yield from ()

    @property
    def record_list(self) -> RecordList:
        """The list."""
        return self.query_one("#list", RecordList)

    def on_mount(self) -> None:
        """Read the list."""
        self._name_lists()
        self.load()

    def came_back(self) -> None:
        """Coming from another place: what was changed there must show."""
        if not self._first:
            self.load()

    async def say_anew(self) -> None:
        """Another language or other measures: everything is said again; the place in the list stays."""
        chosen = self.record_list.chosen
        await self.recompose()
        self.sheet = None
        self.lay_open(reading=False)
        self.said_anew()
        self._showing = None
        self.load(keep=chosen)
        if self.is_current:
            self.set_focus(self.record_list)

    def said_anew(self) -> None:
        """After everything was said again: what a place shows besides its list and its sheet."""
        self._name_lists()

    # -- the list ----------------------------------------------------------------------------------

    def load(self, keep: str | None = None) -> None:
        """Read the list for what is typed in the search field, in a thread."""
        text = self.query_one("#search", Input).value.strip()
        shelf = self.current
        page = shelf.page
        if page is not None and (keep is None if text else not self.record_list.rows):
            self.work(
                f"Reading {shelf.name}",
                lambda: page(FIRST_PAGE, text),
                lambda rows: self._first_page(shelf, text, rows, keep),
                quiet=True,
                key="list",
            )
        else:
            self._load_all(shelf, text, keep)

    def _load_all(self, shelf: Shelfful, text: str, keep: str | None) -> None:
        self.work(
            f"Reading {shelf.name}",
            lambda: shelf.load(text),
            lambda rows: self._fill(shelf, rows, keep),
            quiet=True,
            key="list",
        )

    def _first_page(self, shelf: Shelfful, text: str, rows: Sequence[Any], keep: str | None) -> None:
        """What fits on a screen is shown at once; a long list follows."""
        self._fill(shelf, rows, keep)
        if len(rows) >= FIRST_PAGE and shelf is self.current:
            self.query_one("#count", Static).update(f" {shown(shelf.name)}: {len(rows)} …")
            self.set_timer(REST_AFTER_S, lambda: self._rest(shelf, text, keep))

    def _rest(self, shelf: Shelfful, text: str, keep: str | None) -> None:
        """The rest of a long list, once the first page can be used."""
        if shelf is self.current and self.query_one("#search", Input).value.strip() == text:
            self._load_all(shelf, text, keep)

    def _fill(self, shelf: Shelfful, rows: Sequence[Any], keep: str | None) -> None:
        if shelf is not self.current:
            return
        searching = bool(self.query_one("#search", Input).value.strip())
        empty = "Nothing is found by these words.\nEscape clears the search." if searching else shelf.empty
        self._showing = None
        self.record_list.show(rows, shelf.line, empty, keep=keep or self.record_list.chosen)
        self.query_one("#count", Static).update(f" {shown(shelf.name)}: {len(rows)}")
        if self._first:
            self._first = False
            self.patina.call_after_refresh(self.patina.first_screen_is_usable)
            if self.WHERE == self.patina.DEFAULT_MODE:
                self.set_timer(1.0, self.remind)
            if not rows and not searching:
                self.call_after_refresh(self.first_minute)
        if not rows:
            self.sheet = None
            self.show_prose(Prose().text(empty, "$text-muted"))

    def first_minute(self) -> None:
        """The place was opened for the first time and holds nothing yet; only the first place asks more."""

    def _name_lists(self) -> None:
        if len(self.lists) < 2:
            return
        names = [shown(s.name) for s in self.lists]
        names = [f"[b]▸{name}[/b]" if n == self.at else f" {name}" for n, name in enumerate(names)]
        between = "  " if len(names) < 4 else " "
        self.query_one("#lists", Static).update(between.join(names) + f"{between}[$accent b]v[/]")

    @on(Input.Changed, "#search")
    def _search_changed(self) -> None:
        if self._pause is not None:
            self._pause.stop()
        self._pause = self.set_timer(SEARCH_PAUSE_S, self.load)

    @on(Input.Submitted, "#search")
    def _search_entered(self) -> None:
        self.set_focus(self.record_list)

    @on(RecordList.Moved)
    def _moved(self, message: RecordList.Moved) -> None:
        wanted = message.id
        if wanted is not None and wanted != self._showing:
            self.set_timer(SHEET_PAUSE_S, lambda: self._fetch(wanted))

    def _fetch(self, wanted: str) -> None:
        if wanted != self.record_list.chosen:
            return
        shelf = self.current
        self._showing = wanted
        self.work(
            f"Reading {wanted}",
            lambda: (shelf.fetch(wanted), self.seal_of(wanted)),
            lambda read: self._shown(shelf, *read),
            quiet=True,
            key="sheet",
        )

    def _shown(self, shelf: Shelfful, sheet: Any, signed: Any = None) -> None:
        if shelf is self.current:
            self.sheet, self.signed = sheet, signed
            self.show_sheet(sheet)

    # -- the sheet ---------------------------------------------------------------------------------

    def show_sheet(self, sheet: Any) -> None:
        """Show a record."""
        self.show_prose(self.with_seal(self.current.tell(sheet)))

    def show_prose(self, prose: Prose) -> None:
        """Show words in the sheet, from their beginning."""
        self.query_one("#words", ProseView).show(prose)
        self.query_one("#sheet", VerticalScroll).scroll_home(animate=False)

    def show_record(self, id: str) -> None:
        """Choose a record, whatever was searched for, and open its sheet."""
        self.list_for(id)
        search = self.query_one("#search", Input)
        with search.prevent(Input.Changed):
            search.value = ""
        self._showing = None
        self.load(keep=id)
        self.action_open_sheet()

    def list_for(self, id: str) -> None:
        """Change to the list that holds the record; places with one list need nothing."""

    @on(RecordList.Opened)
    def _opened(self) -> None:
        self.action_open_sheet()

    def action_open_sheet(self) -> None:
        """To the sheet."""
        if self.record_list.chosen is not None or self.patina.wanted is None:
            self.lay_open(reading=True)
            self.focus_sheet()

    def focus_sheet(self) -> None:
        """Where the keys go when the sheet is opened."""
        self.set_focus(self.query_one("#sheet"))

    def action_back(self) -> None:
        """From the sheet to the list; from the search field, clear it."""
        search = self.query_one("#search", Input)
        if self.focused is search and search.value:
            search.value = ""
        self.lay_open(reading=False)
        self.set_focus(self.record_list)

    def lay_open(self, *, reading: bool) -> None:
        """On a narrow terminal show the sheet, or the list; at once, since the focus goes there next."""
        self.set_class(reading, "-reading")
        narrow = self.has_class("-narrow")
        self.query_one("#left").display = not (narrow and reading)
        self.query_one("#right").display = reading or not narrow

    def on_resize(self) -> None:
        """A terminal made wider or narrower."""
        self.call_after_refresh(lambda: self.lay_open(reading=self.has_class("-reading")))

    def action_search(self) -> None:
        """To the search field."""
        self.lay_open(reading=False)
        self.set_focus(self.query_one("#search", Input))

    def action_bring_in(self) -> None:
        """Bring in an old table or old photographs."""
        from tui.screens.bringing import ask_what

        ask_what(self)

    def action_read_again(self) -> None:
        """Read the list again."""
        self._showing = None
        self.load()

    def action_next_list(self) -> None:
        """The next list of this place."""
        self.to_list((self.at + 1) % len(self.lists))

    def to_list(self, at: int) -> None:
        """Change to a list of this place."""
        if at == self.at:
            return
        self.at, self.sheet, self._showing = at, None, None
        self._name_lists()
        self.record_list.show((), self.current.line, "")  # nothing of the other list may be asked for by this one
        self.lay_open(reading=False)
        self.set_focus(self.record_list)
        self.load()

    def has_sheet(self, what: str) -> bool:
        """Whether the sheet of a record is shown; says what to do where none is."""
        if self.sheet is None:
            self.said(f"Choose {what} first.")
        return self.sheet is not None

    def chosen_or_say(self, what: str) -> str | None:
        """Id of the chosen record; None, with a word about it, where the list is empty."""
        chosen = self.record_list.chosen
        if chosen is None:
            self.said(f"Choose {what} first.")
        return chosen
