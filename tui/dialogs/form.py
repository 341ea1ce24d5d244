"""A form: fields in words, all that is wrong said at once beside the fields it belongs to."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from textwrap import wrap
from typing import TYPE_CHECKING, Any, ClassVar

from rich.cells import cell_len
from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.suggester import SuggestFromList
from textual.widgets import Input

from patina.errors import Incomplete, PatinaError
from patina.language import shown
from tui.by_keys import by_keys
from tui.dialogs.base import Dialog
from tui.widgets.words import Label, Static

if TYPE_CHECKING:
    from patina.bench.form_drafts import FormDraft

TAKEN_UP = "What was typed here before and not saved stands below; Ctrl+Z forgets it."


@dataclass(frozen=True, slots=True)
class Field:
    """A field of a form. key: as the deed calls it. hint: an example, shown while it is empty.
    choices: words that are offered as one types; also by the arrow keys up and down. meanings: what offered words
    stand for that say nothing by themselves, such as ids. many: several words, with semicolons between them."""

    key: str
    label: str
    hint: str = ""
    value: str = ""
    choices: tuple[str, ...] = ()
    meanings: tuple[tuple[str, str], ...] = ()
    many: bool = False


LABEL_WIDTH = 20
HINT_WIDTH = 48  # columns of a field on 80
TOLD_WIDTH = 70  # columns of what is said in a dialog
FRAME_LINES = 7  # frame, heading, buttons and what is empty between them
LEAST_LINES = 5
LOOK_S = 0.3
# Words that a field may open with, or that its hint names, without offering them.
OWN_WORDS = ("today", "whole")


class FieldInput(Input):
    """A field; up and down walk through the offered words, which stand in the reader's language."""

    BINDINGS: ClassVar[list[Any]] = [Binding("up", "offer(-1)", show=False), Binding("down", "offer(1)", show=False)]

    def __init__(self, field: Field) -> None:
        self.field = field
        self._meant = in_own_words((*field.choices, *OWN_WORDS))
        self.offered = tuple(self._meant)[: len(dict.fromkeys(field.choices))]
        super().__init__(
            self.as_said(field.value),
            # in brackets: without colour a hint must not be taken for what stands there
            placeholder=f"({shown(field.hint)})" if field.hint else "",
            id=f"field-{field.key}",
            suggester=SuggestFromList(self.offered, case_sensitive=False) if field.choices else None,
            compact=True,
        )

    def as_said(self, word: str) -> str:
        """A word that the field offers as the reader reads it; anything else as it is."""
        return next((said for said, meant in self._meant.items() if meant == word), word)

    @property
    def meant(self) -> str:
        """What stands in the field, an offered word as the deeds know it."""
        text = self.value.strip()
        folded = text.casefold()
        return next((meant for said, meant in self._meant.items() if said.casefold() == folded), text)

    def put(self, word: str) -> None:
        """Write into the field, an offered word as the deeds know it."""
        self.value = self.as_said(word)
        self.cursor_position = len(self.value)

    def action_offer(self, way: int) -> None:
        """The next offered word; without any, the next field."""
        words = self.offered
        if not words:
            (self.screen.focus_next if way > 0 else self.screen.focus_previous)(FieldInput)
            return
        before, between, last = self.value.rpartition(";") if self.field.many else ("", "", self.value)
        at = words.index(last.strip()) if last.strip() in words else (-1 if way > 0 else 0)
        self.value = f"{before}{between}{' ' if between else ''}{words[(at + way) % len(words)]}"
        self.cursor_position = len(self.value)

    @property
    def meaning(self) -> str:
        """What the words in the field stand for, where they are ids."""
        known = dict(self.field.meanings)
        words = self.value.split(";") if self.field.many else [self.meant]
        return "; ".join(known[word.strip()] for word in words if word.strip() in known)


def asked(field: Field) -> ComposeResult:
    """A field with its label beside it, or above it where the label is longer than its place; room for what is said
    of it below."""
    label = shown(field.label) + (" ↕" if field.choices else "")
    above = cell_len(label) > LABEL_WIDTH
    with Vertical(classes="field"):
        if above:
            yield Label(label, classes="field-label", markup=False)
        with Horizontal(classes="field-row"):
            yield Label("" if above else label, markup=False)
            yield FieldInput(field)
        if field.hint:
            yield Static(f"({shown(field.hint)})", id=f"hint-{field.key}", classes="long-hint", markup=False)
        if field.meanings:
            yield Static(id=f"meaning-{field.key}", classes="field-meaning", markup=False)
        yield Static(id=f"trouble-{field.key}", classes="field-trouble", markup=False)


def in_own_words(words: Sequence[str]) -> dict[str, str]:
    """Words as the reader reads them, each with the word it stands for; two that read the same stay as they are."""
    found: dict[str, str] = {}
    for word in words:
        said = shown(word)
        found.setdefault(word if found.get(said, word) != word else said, word)
    return found


class Form(Dialog[Any]):
    """Asks for several things; ``submit`` gets them as text and gives the answer, or raises.

    Troubles with a ``field`` are said under that field, the others above the buttons. draft: keeps what is typed
    until it is saved, also when the form is left or the program ends; it stands there when the form is opened again.
    remember: fields that begin with what was saved in them last (needs a draft). yes: what the button does, where
    nothing is saved. slow: what is being done, where the answer takes a while; it is worked out in a thread.
    """

    BINDINGS: ClassVar[list[Any]] = [
        Binding("ctrl+s", "submit", "Save", priority=True),
        Binding("ctrl+z", "forget", "Forget", priority=True),
    ]
    YES = "Save (Ctrl+S)"

    def __init__(
        self,
        heading: str,
        fields: Sequence[Field],
        submit: Callable[[Mapping[str, str]], Any],
        *,
        before: str = "",
        draft: FormDraft | None = None,
        remember: Sequence[str] = (),
        yes: str = "",
        slow: str = "",
    ) -> None:
        super().__init__()
        self._slow = slow
        self.YES = f"{yes} (Ctrl+S)" if yes else type(self).YES
        self._heading = heading
        self.draft = draft
        self._remember = tuple(remember)
        fields = self._with_last(fields)
        kept = draft.read() if draft is not None else {}
        self.fields = tuple(replace(f, value=kept[f.key]) if f.key in kept else f for f in fields)
        self._submit = submit
        self._before = " ".join(filter(None, (before, TAKEN_UP if kept else "")))
        self._elsewhere = ""
        self._as_opened = {f.key: f.value.strip() for f in fields}

    def _with_last(self, fields: Sequence[Field]) -> tuple[Field, ...]:
        last = self.draft.last.read() if self.draft is not None and self._remember else {}
        return tuple(
            replace(f, value=last[f.key]) if last.get(f.key) and f.key in self._remember else f for f in fields
        )

    def heading(self) -> str:
        """What is asked."""
        return self._heading

    def body(self) -> ComposeResult:
        """The fields."""
        if self._before:
            yield Static(self._before, id="form-before", classes="field-hint", markup=False)
        with VerticalScroll(id="form-fields", can_focus=False):
            for field in self.fields:
                yield from asked(field)
        yield Static(id="form-trouble", markup=False)
        yield Static(id="form-busy", classes="field-hint", markup=False)

    def on_mount(self) -> None:
        """Begin in the first field."""
        self.query(FieldInput).first().focus()
        self.fit()

    def on_resize(self) -> None:
        """The buttons stay in sight at every size."""
        self.fit()

    def fit(self) -> None:
        """Leave room for what is said above and below the fields, which scroll."""
        told = [self._before, self._elsewhere]
        lines = sum(len(wrap(line, TOLD_WIDTH)) for text in told for line in shown(text).splitlines())
        self.query_one("#form-fields").styles.max_height = max(self.size.height - FRAME_LINES - lines, LEAST_LINES)

    @property
    def values(self) -> dict[str, str]:
        """What stands in the fields."""
        return {f.field.key: f.meant for f in self.query(FieldInput)}

    def agreed(self) -> None:
        """The button."""
        self.action_submit()

    @on(events.DescendantFocus)
    def _somebody_here(self, event: events.DescendantFocus) -> None:
        """The label of the field somebody is in stands out; a hint longer than its field is told below it."""
        self.query(".long-hint").set(display=False)
        field = event.widget
        for row in self.query(".field-row"):
            row.set_class(row is field.parent, "-here")
        if not isinstance(field, FieldInput) or field.value:
            return
        if cell_len(str(field.placeholder)) > max(field.content_size.width, HINT_WIDTH):
            self.query(f"#hint-{field.field.key}").set(display=True)

    @on(Input.Changed)
    def _mean(self, event: Input.Changed) -> None:
        if isinstance(event.input, FieldInput) and event.input.field.meanings:
            beneath = self.query_one(f"#meaning-{event.input.field.key}", Static)
            beneath.update(event.input.meaning)
            beneath.set_class(bool(event.input.meaning), "-meant")

    @on(Input.Submitted)
    def _next(self, event: Input.Submitted) -> None:
        event.stop()
        fields = list(self.query(FieldInput))
        if event.input is fields[-1]:
            self.action_submit()
        else:
            self.focus_next(FieldInput)

    def action_submit(self) -> None:
        """Try to save; stay with all that is wrong."""
        self._clear()
        if self._slow:
            self._work_out()
            return
        try:
            answer = self._submit(self.values)
        except PatinaError as trouble:
            self._refused(trouble)
        else:
            self._answered(answer)

    def _work_out(self) -> None:
        """The answer from a thread; the form stays, and takes no second order meanwhile."""
        values, busy = self.values, self.query_one("#form-busy", Static)
        if busy.display:
            return
        busy.update(f"{self._slow} … Ctrl+T stops")
        busy.display = True

        def told(then: Callable[[Any], None]) -> Callable[[Any], None]:
            def here(result: Any) -> None:
                if self.is_attached:
                    busy.display = False
                    then(result)

            return here

        ticket = self.patina.jobs.start(
            self._slow, lambda _: self._submit(values), told(self._answered), told(self._refused)
        )

        def look() -> None:
            if ticket.stopped:
                busy.display = False
            elif busy.display:
                self.set_timer(LOOK_S, look)

        self.set_timer(LOOK_S, look)

    def _answered(self, answer: Any) -> None:
        if self.draft is not None:
            self.draft.drop()
            if self._remember:
                self.draft.last.keep({key: self.values[key] for key in self._remember})
        self.dismiss(answer)

    def _refused(self, trouble: PatinaError) -> None:
        self.tell(trouble.troubles if isinstance(trouble, Incomplete) else (trouble,))

    def action_leave(self) -> None:
        """Leave; what was typed stays as a draft."""
        self.keep_draft()
        super().action_leave()

    def action_forget(self) -> None:
        """Empty the form again: what was typed before is forgotten."""
        if self.draft is not None:
            self.draft.drop()
            for field in self.query(FieldInput):
                field.put(self._as_opened[field.field.key])
            self._before = ""
            self.query("#form-before").remove()
            self.fit()

    @on(Input.Blurred)
    def _field_left(self, event: Input.Blurred) -> None:
        self.keep_draft()

    def keep_draft(self) -> None:
        """Keep what is typed, where it says something else than the form as it was opened."""
        if self.draft is not None and self.is_mounted and self.values != self._as_opened:
            self.draft.keep(self.values)

    def _clear(self) -> None:
        self._elsewhere = ""
        for said in self.query(".-said"):
            said.remove_class("-said")
        for field in self.query(FieldInput):
            field.remove_class("-wrong")

    def tell(self, troubles: Sequence[PatinaError]) -> None:
        """Say each trouble where it belongs; go to the first field that has one."""
        keys = {f.key for f in self.fields}
        elsewhere: list[str] = []
        beside: dict[str, list[str]] = {}
        for trouble in troubles:
            words = f"▲ {shown(trouble.what)} {by_keys(trouble.remedy)}"
            if trouble.field in keys:
                beside.setdefault(str(trouble.field), []).append(words)
            else:
                elsewhere.append(words)
        for key, said in beside.items():
            self.query_one(f"#trouble-{key}", Static).update("\n".join(said))
            self.query_one(f"#trouble-{key}").add_class("-said")
            self.query_one(f"#field-{key}").add_class("-wrong")
        self._elsewhere = "\n".join(elsewhere)
        if elsewhere:
            self.query_one("#form-trouble", Static).update(self._elsewhere)
            self.query_one("#form-trouble").add_class("-said")
        self.fit()
        first = next((f for f in self.query(FieldInput) if f.field.key in beside), None)
        if first is not None:
            first.focus()
