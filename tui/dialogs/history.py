"""The history of a record: deeds on the left, what each of them altered beside or below."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from tui.app import STYLES
from tui.dialogs.base import Dialog
from tui.dialogs.form import Field, Form
from tui.screens.history_words import deed_line, deed_words
from tui.widgets.prose import ProseView
from tui.widgets.words import words

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets.history import DeedRow


class History(Dialog[tuple[str, Any]]):
    """Deeds, newest first. The answer says what is wanted: ("undo", number of a change) or ("withdraw", id)."""

    CSS_PATH: ClassVar[Any] = [STYLES / "dialogs.tcss", STYLES / "history.tcss"]
    BINDINGS: ClassVar[list[Any]] = [
        Binding("u", "take_back", "Take back"),
        Binding("w", "withdraw", "Withdraw a reading"),
        Binding("tab", "turn", "To and fro", show=False, priority=True),
    ]
    YES = "Take back (u)"
    NO = "Back (Esc)"

    def __init__(self, heading: str, deeds: Sequence[DeedRow]) -> None:
        super().__init__()
        self._heading = heading
        self.deeds = tuple(deeds)

    def heading(self) -> str:
        """Of which record."""
        return self._heading

    def body(self) -> ComposeResult:
        """The deeds, and the one that is chosen."""
        yield OptionList(*(Option(words(deed_line(deed))) for deed in self.deeds), id="deeds")
        with VerticalScroll(id="deed"):
            yield ProseView(deed_words(self.deeds[0]), id="deed-words")

    def on_mount(self) -> None:
        """Begin on the newest."""
        self.query_one("#deeds", OptionList).focus()
        self.query_one("#deeds", OptionList).highlighted = 0

    @property
    def chosen(self) -> DeedRow:
        """The deed under the cursor."""
        return self.deeds[self.query_one("#deeds", OptionList).highlighted or 0]

    @on(OptionList.OptionHighlighted)
    def _moved(self, event: OptionList.OptionHighlighted) -> None:
        event.stop()
        self.query_one("#deed-words", ProseView).show(deed_words(self.deeds[event.option_index]))
        self.query_one("#deed", VerticalScroll).scroll_home(animate=False)

    def action_turn(self) -> None:
        """From the list to the words and back, so that long ones can be scrolled."""
        deeds, words = self.query_one("#deeds"), self.query_one("#deed")
        (words if self.focused is deeds else deeds).focus()

    def agreed(self) -> None:
        """The button."""
        self.action_take_back()

    def action_take_back(self) -> None:
        """Take the chosen deed back."""
        self.dismiss(("undo", self.chosen.last))

    def action_withdraw(self) -> None:
        """Withdraw the reading that the chosen deed added."""
        reading = next((one.record for one in self.chosen.alterations if one.kind == "reading"), None)
        if reading is None:
            self.notify("That deed added no reading.", timeout=4)
            return
        self.dismiss(("withdraw", reading))


def withdraw_form(studio: Studio, reading: str) -> Form:
    """Asks why a reading is to count no longer."""
    from patina.bench.history import withdraw_reading

    fields = (Field("why", "Why", "the card lay in the shade"),)
    before = "It stays on record with the reason, and counts nowhere any more."
    heading = f"Withdraw reading {reading}"
    return Form(heading, fields, lambda v: withdraw_reading(studio, reading, v["why"]), before=before)


def seal_form(studio: Studio, id: str, word: str, still_open: str = "") -> Form:
    """Asks for the words and the name under a record. still_open: what the signer should know first."""
    from patina.bench.sealing import STATEMENT, seal

    fields = (Field("statement", "Statement", value=STATEMENT), Field("by", "Signed by", value=studio.who()))
    before = f"The {word} as it stands now is never edited again; what is new is added as an amendment."
    before = f"{before}\n{still_open}" if still_open else before
    return Form(f"Sign {id} off", fields, lambda v: seal(studio, id, v["statement"], by=v["by"]), before=before)


def amend_form(studio: Studio, id: str) -> Form:
    """Asks what is to be added to a record that was signed off, and why."""
    from patina.bench.sealing import amend

    fields = (
        Field("words", "What is added"),
        Field("why", "Why", "noticed at the second visit"),
        Field("by", "Added by", value=studio.who()),
    )
    before = "The record stays as it was signed and shows these words."
    return Form(f"Amend {id}", fields, lambda v: amend(studio, id, v["words"], v["why"], by=v["by"]), before=before)
