"""The safety page of a recipe: every statement with its reason, and what changes as a strength is typed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.timer import Timer
from textual.widgets import Collapsible, Input
from textual.widgets._collapsible import CollapsibleTitle

from patina.errors import PatinaError
from patina.language import shown
from patina.sources import bibliography
from tui import actions
from tui import format as show
from tui.app import STYLES
from tui.dialogs.measured import Measured
from tui.screens.base import Base
from tui.screens.release_words import release_line
from tui.widgets.prose import Prose, ProseView
from tui.widgets.words import Label, Static

if TYPE_CHECKING:
    from patina.bench.safe.thresholds import ThresholdSheet
    from patina.safety.values import SolutionSafety
    from patina.sheets import RecipeRelease, RecipeSheet, SafetySheet

TYPING_PAUSE_S = 0.2
LEVELS = {"critical": "▲! MUST NOT MEET", "serious": "▲ Keep apart", "caution": "△ Mind"}


class Statements(VerticalScroll, inherit_bindings=False):
    """The statements; up and down are left to the page, which goes from one to the next."""

    BINDINGS: ClassVar[list[Any]] = [
        Binding("pageup", "page_up", show=False),
        Binding("pagedown", "page_down", show=False),
    ]


class SafetyPage(Base):
    """The safety of one revision. notes, state: None before they are worked out."""

    WHERE = "safety"
    CSS_PATH: ClassVar[Any] = STYLES / "safety.tcss"
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[Any]] = actions.bindings("safety")

    def __init__(self, sheet: RecipeSheet) -> None:
        super().__init__()
        self.sheet = sheet
        self.notes: SafetySheet | None = None
        self.state: RecipeRelease | None = None
        self.live: ThresholdSheet | None = None
        self.part_at = 0
        self.parts = [
            (s.name, i.substance, i.strength.as_written) for s in sheet.recipe.solutions for i in s.ingredients
        ]
        self.measured = Measured()
        self._typing: Timer | None = None

    def body(self) -> ComposeResult:
        """State, the strength that is tried, what it makes, and all statements."""
        with Vertical(id="safety"):
            yield Static(id="safety-state", markup=False)
            with Horizontal(id="safety-strength"):
                yield Label(id="safety-part", markup=False)
                yield Input(id="safety-typed", compact=True)
            with Horizontal(id="safety-body"):
                with Statements(id="safety-notes", can_focus=False):
                    yield Static("Working out the safety notes …", id="safety-wait")
                with VerticalScroll(id="safety-live", can_focus=False):
                    yield ProseView(id="safety-turns")

    def on_mount(self) -> None:
        """Work everything out."""
        self._choose_part(0)
        self.compute()

    # -- the notes ---------------------------------------------------------------------------------

    def said_anew(self) -> None:
        """After everything was said again."""
        self.try_strength()
        if self.focused is not None and self.query_one("#safety-notes", Statements) in self.focused.ancestors:
            self.set_focus(None)  # what has the focus is laid out anew; else it would go to the field below
        self.compute()

    def compute(self) -> None:
        """Read the notes and the release, in a thread."""
        self.work("Working out the safety notes", self._read, self._told, self._untold, key="notes")

    def _read(self) -> tuple[SafetySheet, RecipeRelease]:
        from patina.bench.recipes.releases import release_state
        from patina.bench.safe.safety import safety

        id, revision, given = self.sheet.id, self.sheet.revision, self.measured
        notes = safety(self.studio, id, ph=given.ph, density=given.density, regime=given.regime, revision=revision)
        return notes, release_state(self.studio, id, revision)

    def _told(self, read: tuple[SafetySheet, RecipeRelease]) -> None:
        self.notes, self.state = read
        self._show_state(self.state)
        self.call_next(self._lay_out, self.notes)

    async def _lay_out(self, notes: SafetySheet) -> None:
        place = self.query_one("#safety-notes", Statements)
        await place.remove_children()
        await place.mount(*sections(notes))
        self._first_statement()

    def _first_statement(self) -> None:
        if self.focused is None and (titles := list(self.query(CollapsibleTitle))):
            self.set_focus(titles[0])

    def _untold(self, trouble: PatinaError) -> None:
        words = f"▲! The safety notes could not be worked out: {trouble.what} {trouble.remedy}"
        self.query_one("#safety-wait", Static).update(words)

    def _show_state(self, state: RecipeRelease) -> None:
        line = self.query_one("#safety-state", Static)
        line.update(f"{state.recipe}, revision {state.revision}. {release_line(state)}")
        line.set_class(state.released, "-released")

    # -- the strength that is tried ------------------------------------------------------------------

    def _choose_part(self, at: int) -> None:
        row = self.query_one("#safety-strength")
        row.display = bool(self.parts)
        if not self.parts:
            self.query_one("#safety-turns", ProseView).show(Prose().text("Nothing is mixed for this recipe."))
            return
        self.part_at = at % len(self.parts)
        solution, key, written = self.parts[self.part_at]
        name = self.studio.catalogue().get(key).name
        self.query_one("#safety-part", Label).update(f"{name} in {solution}: ")
        typed = self.query_one("#safety-typed", Input)
        typed.placeholder = written
        with typed.prevent(Input.Changed):
            typed.value = written
        self.try_strength()

    @on(Input.Changed, "#safety-typed")
    def _typed(self) -> None:
        if self._typing is not None:
            self._typing.stop()
        self._typing = self.set_timer(TYPING_PAUSE_S, self.try_strength)

    @on(Input.Submitted, "#safety-typed")
    def _entered(self) -> None:
        self.try_strength()

    def try_strength(self) -> None:
        """What the pot is at the strength that is typed, in a thread."""
        if not self.parts:
            return
        solution, key, written = self.parts[self.part_at]
        typed = self.query_one("#safety-typed", Input).value.strip() or written

        def deed() -> ThresholdSheet:
            from patina.bench.safe.thresholds import thresholds

            regime, revision = self.measured.regime, self.sheet.revision
            return thresholds(self.studio, self.sheet.id, solution, key, typed, regime=regime, revision=revision)

        self.work("Trying that strength", deed, self._live, self._not_live, quiet=True, key="live")

    def _live(self, sheet: ThresholdSheet) -> None:
        self.live = sheet
        self.query_one("#safety-typed").remove_class("-wrong")
        self.query_one("#safety-turns", ProseView).show(live_words(sheet))

    def _not_live(self, trouble: PatinaError) -> None:
        """A strength that cannot be read leaves nothing standing that it does not belong to."""
        self.live = None
        self.query_one("#safety-typed").add_class("-wrong")
        self.query_one("#safety-turns", ProseView).show(Prose().caution(trouble.what, trouble.remedy))

    # -- actions -----------------------------------------------------------------------------------

    def action_try_strength(self) -> None:
        """To the field of the strength."""
        if self.parts:
            self.set_focus(self.query_one("#safety-typed"))

    def action_next_part(self) -> None:
        """The next ingredient."""
        if self.parts:
            self._choose_part(self.part_at + 1)

    def action_unfold(self) -> None:
        """Unfold every reason, or fold them all again."""
        folds = list(self.query(Collapsible))
        close = all(not fold.collapsed for fold in folds)
        for fold in folds:
            fold.collapsed = close

    def action_step_statement(self, way: int) -> None:
        """To the next statement, or the one before."""
        titles = list(self.query(CollapsibleTitle))
        if titles:
            at = titles.index(self.focused) if self.focused in titles else -1
            self.set_focus(titles[(at + way) % len(titles)])

    def action_release(self) -> None:
        """Release the revision, or take its release back."""
        from tui.dialogs.recipe_release import release_form, withdraw_form

        if self.state is None:
            self.said("The safety notes are still being worked out.")
        elif self.state.unknown:
            self.said(f"{', '.join(self.state.unknown)} has no hazard information: it cannot be released.")
        else:
            form = withdraw_form if self.state.released else release_form
            self.ask(form(self.studio, self.state), self._released)

    def _released(self, state: RecipeRelease) -> None:
        self.state = state
        self._show_state(state)
        self.said(state.words)

    def action_measured(self) -> None:
        """Give what was measured."""
        from tui.dialogs.measured import measured_form

        self.ask(measured_form(self.studio, self.sheet, self.measured), self._measured)

    def _measured(self, given: Measured) -> None:
        self.measured = given
        self.compute()
        self.try_strength()

    def action_print_sheet(self) -> None:
        """Write the safety sheet of the recipe."""
        from tui.dialogs.printing import ask_sheets, safety_of

        ask_sheets(self, [safety_of(self, self.sheet.id, self.sheet.recipe.name, self.sheet.revision)])

    def action_air(self) -> None:
        """The air of the job in a room."""
        from tui.dialogs.air import air_form

        self.ask(air_form(self.studio, self.sheet), self._air)

    def _air(self, sheet: Any) -> None:
        from tui.dialogs.message import Notes
        from tui.screens.air_words import air_words

        self.app.push_screen(Notes("The air of the job", air_words(sheet)))

    def action_back(self) -> None:
        """From the field to the statements, then back to where one came from."""
        typed = self.query_one("#safety-typed")
        titles = list(self.query(CollapsibleTitle))
        if self.focused is typed and titles:
            self.set_focus(titles[0])
        else:
            self.dismiss(None)


def _source(key: str) -> str:
    """Where a statement comes from, in full where it is known."""
    found = bibliography().get(key)
    return f"[{key}] {found.citation}" if found is not None else f"[{key}]"


def _fold(title: str, prose: Prose) -> Collapsible:
    return Collapsible(ProseView(prose), title=shown(title).replace("[", "\\["), collapsed=True)


def sections(notes: SafetySheet) -> Iterator[Any]:
    """All statements, each to be unfolded."""
    for pot in notes.solutions:
        yield from _pot(pot, notes.regime)
    if notes.dangers:
        yield ProseView(Prose().heading("What must not meet"))
        for d in notes.dangers:
            why = Prose().text(show.sentence(d.consequence)).text(f"Instead: {show.sentence(d.instead)}")
            if d.discard_within_h is not None:
                why.caution(f"Gone within {show.hours(d.discard_within_h)} of mixing, and the same day.", grave=True)
            why.text(f"{d.where}. Rule: {d.rule}. {_source(d.source)}", "$text-muted")
            yield _fold(f"{LEVELS[d.level]}: {' + '.join(d.between)}", why)
    if notes.emits:
        yield ProseView(Prose().heading("What it may give off"))
        for e in notes.emits:
            why = Prose().text(show.sentence(e.when))
            why.bullets([f"{x.who}: {x.value} [{x.source}]" for x in e.limits])
            why.text(e.note).text(_source(e.source), "$text-muted")
            yield _fold(f"{e.gas} from {e.from_}", why)
    for heading, items in (("Wear", notes.ppe), ("Place of work", notes.place), ("Waste", notes.waste)):
        if items:
            yield _fold(f"{shown(heading)} ({len(items)})", Prose().bullets(items))
    yield ProseView(Prose().gap().text(notes.caution, "$text-muted"))


def _pot(pot: SolutionSafety, regime: str) -> Iterator[Any]:
    word = show.signal_word(pot.signal_word)
    prose = Prose().heading(f"{pot.name}: {word} {' '.join(pot.pictograms)}".rstrip())
    ph = "" if pot.ph is None else f", pH {show.plain(pot.ph)} as measured"
    yield ProseView(prose.text(f"as mixed, by {regime}{ph}", "$text-muted"))
    for note in (*pot.classes, *pot.supplemental):
        covered = "" if note.on_label else " (covered by another statement on the label)"
        why = Prose().text(f"Why: {note.why}{covered}").text(_source(note.source), "$text-muted")
        yield _fold(f"{note.h} {note.text} {note.class_code if note.class_code != note.h else ''}".rstrip(), why)
    for open_ in pot.undecided:
        yield _fold(f"? undecided: {open_.class_code}", Prose().text(f"To be known: {open_.needs}"))
    if not pot.classes and not pot.undecided:
        yield ProseView(Prose().bullets(pot.notes or ("No class follows from what is known.",)))
    more = Prose().fact("density", f"{pot.density_g_ml} g/mL" if pot.density_g_ml is not None else "not known")
    more.text(pot.density_note, "$text-muted")
    more.bullets([f"{name}: {show.plain(pct, 3)} % w/w" for name, pct in pot.shares])
    more.fact("precautions", " ".join(pot.p_statements)).bullets(pot.notes)
    yield _fold("What it is reckoned from", more)


def live_words(sheet: ThresholdSheet) -> Prose:
    """What the pot is at the strength that is tried, and where it turns."""
    safety = sheet.safety
    word = show.signal_word(safety.signal_word)
    prose = Prose().text(f"{sheet.strength} is {show.plain(sheet.pct_ww, 3)} % w/w", "bold")
    codes = " ".join(dict.fromkeys(c.h for c in safety.classes)) or "no class found"
    if safety.signal_word:
        prose.caution(f"{word} {' '.join(safety.pictograms)}  {codes}", grave=safety.signal_word == "Danger")
    else:
        prose.text(f"{word}  {codes}")
    if sheet.next is not None:
        prose.bullets([f"Next: {sheet.next.words}"], "▸", "$text-warning")
    for open_ in safety.undecided:
        prose.bullets([f"undecided, {open_.class_code}: {open_.needs}"], "?")
    prose.heading("As it gets stronger")
    for turn in sheet.turns:
        here = turn is sheet.next
        prose.bullets([turn.words + (" ◂ next" if here else "")], "✓" if turn.passed else "▸" if here else "·")
    if not sheet.turns:
        prose.text("No strength changes its class, by what is known.")
    return prose.gap().text(sheet.caution, "$text-muted")
