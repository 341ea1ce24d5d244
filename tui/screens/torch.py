"""At the torch: what is to be done now, in figures that are read at arm's length, one key for each thing.

A key is answered only when its record is on disk: the deed is done in the screen's own thread, so the
next key waits. What could not be written is said in the place of the answer. While the database is out
of reach the keys go into a journal on this machine, and onto record by themselves when it is back.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Input

from patina.bench.torch import work
from patina.bench.torch.offline import Live, Tally
from patina.errors import PatinaError, Unreachable
from patina.language import shown
from tui import actions
from tui.screens import torch_words as words
from tui.screens.torch_tally import TorchTally
from tui.widgets.figures import BigFigure
from tui.widgets.prose import Prose, ProseView
from tui.widgets.strip import Strip
from tui.widgets.words import Label, Static

if TYPE_CHECKING:
    from patina.sheets import SafetySheet, StripSheet, WorkSheet

HELD_KEY_S = 0.6
LOOK_S = 2.0
HOW_LINES = 3
PROMPTS = {
    "temperature": ("Metal", "85, or 62 base_coat, or probe 95 ir 68 base_coat"),
    "note": ("Note", "what was seen"),
    "left": ("Left in the pot, mL", "430, or 0.43 L"),
}


class Torch(TorchTally):
    """The work at hand. sheet: as it stands on disk. outlook: whether the pot lasts, None before it is known."""

    WHERE = "torch"
    PLACE = "bench"
    AUTO_FOCUS = ""
    CSS_PATH = "../styles/torch.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("torch")
    VERTICAL_BREAKPOINTS = [(0, "-low"), (30, "-high")]  # noqa: RUF012

    def __init__(self, sheet: WorkSheet) -> None:
        super().__init__()
        self.sheet = sheet
        self.safety: SafetySheet | None = None
        self.outlook: Any = None
        self.strips: StripSheet | None = None
        self._read_at = time.monotonic()
        self._pressed_at = 0.0
        self._asked = ""
        self._taught: dict[str, tuple[float, ...]] = {}

    def body(self) -> ComposeResult:
        """Step, figures, state and log, answer, safety, prompt."""
        with Vertical(id="torch"):
            yield Static(id="torch-step", markup=False)
            yield Static(id="torch-how", markup=False)
            with Horizontal(id="torch-figures"):
                yield BigFigure("Passes", id="figure-passes")
                yield BigFigure("Left", id="figure-left")
                yield BigFigure("Metal", id="figure-metal")
                yield BigFigure("Time", id="figure-time")
            yield Static(id="torch-answer", markup=False)
            with Horizontal(id="torch-middle"):
                yield ProseView(id="torch-state")
                yield ProseView(id="torch-log")
            yield Strip(id="torch-safety")
            with Horizontal(id="torch-prompt"):
                yield Label(id="torch-asked", markup=False)
                yield Input(id="torch-typed", compact=True)

    def on_mount(self) -> None:
        """Show the work; look for what others write; work out the safety notes."""
        self.query_one("#torch-prompt").display = False
        self.tally = Tally(self.studio, self.sheet)
        self.show(self.sheet)
        self.answer(f"Taken up at {words.step_title(self.sheet).lower()}, zone {self.sheet.zone}.")
        self.set_interval(1.0, self._tick)
        self.set_interval(LOOK_S, self._look)
        self.work("Safety notes", self._notes, self._noted, self._not_noted, quiet=True, key="safety")
        self.offer_journal()

    def _notes(self) -> SafetySheet:
        from patina.bench.safe.safety import safety

        row = self.sheet.row
        return safety(self.studio, row.recipe_id, revision=row.revision)

    def _noted(self, notes: SafetySheet) -> None:
        self.safety = notes
        self._show_safety()

    def _not_noted(self, trouble: PatinaError) -> None:
        if not isinstance(trouble, Unreachable):
            raise trouble
        self.lost()

    # -- showing -----------------------------------------------------------------------------------

    def show(self, sheet: WorkSheet) -> None:
        """Show the work as it stands."""
        moved = (sheet.step, sheet.zone) != (self.sheet.step, self.sheet.zone)
        self.sheet, self._read_at = sheet, time.monotonic()
        if moved:
            self.outlook = self.strips = None
        self._tick()
        self._how()
        self._figures()
        self._state()
        self._show_safety()
        self._look_ahead()

    def said_anew(self) -> None:
        """After everything was said again."""
        self.show(self.sheet)

    def _how(self) -> None:
        """What the step asks for; where it is longer than its place, the log tells the rest."""
        place = self.query_one("#torch-how", Static)
        width = max((place.size.width or self.app.size.width) - 2, 20)
        told = shown(words.step_how(self.sheet.here))
        place.update(words.in_lines(told, width, HOW_LINES, f" … {shown('l: all of it')}"))

    def on_resize(self) -> None:
        """The step's words fit the width."""
        self._how()

    def _figures(self) -> None:
        sheet = self.sheet
        large, short, below, style = words.pass_figures(sheet)
        self.query_one("#figure-passes", BigFigure).show(
            f"PASSES  {sheet.zone}", large, below, short=short, style=style
        )
        large, unit, below, style = words.pot_figures(sheet)
        pot = f"LEFT {unit}" + (f"  {sheet.pot.batch}" if sheet.pot else "")
        self.query_one("#figure-left", BigFigure).show(pot, large, below, style=style)
        large, below, style = words.metal_figures(sheet)
        self.query_one("#figure-metal", BigFigure).show("METAL °C", large, below, style=style)

    def _state(self) -> None:
        self.query_one("#torch-state", ProseView).show(
            words.state_words(self.sheet, self.outlook, self.strips, self.tally)
        )
        self.query_one("#torch-log", ProseView).show(words.short_log(self.sheet, 12))

    def _show_safety(self) -> None:
        strip = self.query_one("#torch-safety", Strip)
        if self.safety is None:
            strip.show(Prose().text("Working out what to fear …", "$text-muted"))
        else:
            strip.show(words.strip_words(self.safety, self.sheet))

    def _tick(self) -> None:
        spent = self.sheet.elapsed_s
        if self.sheet.row.ended_at is None:
            spent += time.monotonic() - self._read_at
        step = self.query_one("#torch-step", Static)
        width = max((step.size.width or self.app.size.width) - 2, 20)
        left = shown(words.step_title(self.sheet))
        right = f"{shown(self.sheet.row.target_name)}  {words.clock(spent)} h"
        room = width - len(right) - 2
        step.update(Content(f"{left[:room]:<{room}}  {right}" if room > 20 else left))
        below = f"since {self.sheet.row.started_at.astimezone():%H:%M}"
        self.query_one("#figure-time", BigFigure).show("TIME h:min", words.clock(spent), below, style="$text-muted")

    def _look_ahead(self) -> None:
        if self.tally is not None and self.tally.offline:
            return
        sheet = self.sheet
        self.work(
            "Looking ahead", lambda: self._forecast(sheet), self._looked_ahead, self._no_outlook, quiet=True,
            key="outlook",
        )  # fmt: skip

    def _forecast(self, sheet: WorkSheet) -> Any:
        from patina.bench.pots import outlook, waste

        solution = sheet.here.solution or ""
        if solution not in self._taught:
            self._taught[solution] = outlook.taught(self.studio, sheet)
        strips = None if sheet.pot is None else waste.strip_sheet(self.studio, sheet.pot.batch)
        return outlook.forecast(self.studio, sheet, self._taught[solution]), strips

    def _looked_ahead(self, found: Any) -> None:
        self.outlook, self.strips = found
        self._state()

    def _no_outlook(self, trouble: PatinaError) -> None:
        self.outlook = None
        self._state()
        if isinstance(trouble, Unreachable):
            self.lost()
            return
        self.answer(f"No forecast: {trouble.what}", bad=True)

    def _look(self) -> None:
        """What another program wrote on this work meanwhile must show; whether the database is back."""
        assert self.tally is not None
        if self.tally.offline:
            self.reach()
            return
        try:
            if work.last_number(self.studio, self.sheet.row.id) == self.sheet.seq:
                return
            self.tally.sheet = work.work_sheet(self.studio, self.sheet.row.id)
            self.show(self.tally.sheet)
        except Unreachable:
            self.lost()
            return
        last = self.sheet.events[-1]
        self.answer(f"Written on another screen: {words.event_line(last)}", bad=True)

    # -- writing down ------------------------------------------------------------------------------

    def answer(self, text: str, *, bad: bool = False) -> None:
        """What became of the last key."""
        said = self.query_one("#torch-answer", Static)
        said.set_class(bad, "-bad")
        said.update(f"{'▲' if bad else '✓'} {text}")

    @property
    def which(self) -> str:
        """Id of the work."""
        return self.sheet.row.id

    def action_pass_done(self) -> None:
        """One pass more. A key that is held down counts once."""
        now = time.monotonic()
        if now - self._pressed_at < HELD_KEY_S:
            self._pressed_at = now
            return
        seen = self.sheet.seq
        self.put("pass", {}, lambda stamp: work.pass_done(self.studio, self.which, seen=seen, stamp=stamp))
        self._pressed_at = time.monotonic()

    def action_undo(self) -> None:
        """Take the newest thing back."""
        seen, last = self.sheet.seq, words.to_take_back(self.sheet)
        given = {"taken": "" if last is None else last.id}
        self.put("back", given, lambda stamp: work.go_back(self.studio, self.which, seen=seen, stamp=stamp))

    def action_turn_step(self, way: int) -> None:
        """To the next or the earlier step, in the first zone that still needs it."""
        number = self.sheet.step + way
        if not 1 <= number <= len(self.sheet.steps):
            self.answer("This is the last step: x ends the work." if way > 0 else "This is the first step.", bad=True)
            return
        step = self.sheet.steps[number - 1]
        open_zones = [z.name for z, n in zip(self.sheet.zones, step.done, strict=True) if n < step.passes]
        zone = open_zones[0] if open_zones else self.sheet.zone
        self._move(number, zone)

    def action_turn_zone(self, way: int) -> None:
        """To the next or the earlier zone of this step."""
        zones = self.sheet.zones
        if len(zones) == 1:
            self.answer("This work has one zone.", bad=True)
            return
        self._move(self.sheet.step, zones[(self.sheet.zone_at + way) % len(zones)].name)

    def _move(self, step: int, zone: str) -> None:
        seen = self.sheet.seq
        self.put(
            "move",
            {"step": step, "zone": zone},
            lambda stamp: work.move_to(self.studio, self.which, step=step, zone=zone, seen=seen, stamp=stamp),
        )

    # -- what is typed -----------------------------------------------------------------------------

    def action_type(self, asked: str) -> None:
        """Ask for a figure or a note in the line above the keys."""
        self._asked = asked
        label, hint = PROMPTS[asked]
        if asked == "temperature":
            own = self.sheet.thermometer
            setting = f" at {own['setting']:g}" if own["kind"] == "infrared" else ""
            label = f"{own['kind'].capitalize()}{setting}, {own['unit']}"
        self.query_one("#torch-asked", Label).update(label)
        field = self.query_one("#torch-typed", Input)
        field.value, field.placeholder = "", hint
        self.query_one("#torch-prompt").display = True
        field.focus()

    def _close_prompt(self) -> None:
        self.query_one("#torch-prompt").display = False
        self.set_focus(None)

    @on(Input.Submitted, "#torch-typed")
    def _typed(self, event: Input.Submitted) -> None:
        event.stop()
        text, seen = event.value, self.sheet.seq
        if not text.strip() or self._put_typed(text, seen):
            self._close_prompt()

    def _put_typed(self, text: str, seen: int) -> bool:
        try:
            kind, given, live = self._deed(text, seen)
        except PatinaError as trouble:
            self.app.bell()
            self.answer(f"NOT WRITTEN: {trouble.what} {trouble.remedy}", bad=True)
            return False
        return self.put(kind, given, live)

    def _deed(self, text: str, seen: int) -> tuple[str, dict[str, Any], Live]:
        from patina.bench.torch import heat, offline, work_forms

        studio, which = self.studio, self.which
        if self._asked == "temperature":
            read = heat.temperature_typed(text, self.sheet)
            given = offline.temperature_given(read)
            return "temperature", given, lambda s: heat.read_temperature(studio, which, read, seen=seen, stamp=s)
        if self._asked == "note":
            note = text.strip()
            return "note", {"text": note}, lambda s: work.write_note(studio, which, note, seen=seen, stamp=s)
        left = work_forms.volume_typed(text)
        return "level", {"left_ml": left}, lambda s: work.volume_left(studio, which, left, seen=seen, stamp=s)

    # -- the rest ----------------------------------------------------------------------------------

    def action_heat(self) -> None:
        """The heat budget of a pass."""
        from tui.dialogs.torch import ask_heat

        ask_heat(self)

    def action_release(self) -> None:
        """Rinse, release, wax."""
        if self.without_database("The release"):
            return
        from tui.dialogs.release import ask_release

        ask_release(self)

    def action_log(self) -> None:
        """All that happened."""
        from tui.dialogs.torch import show_log

        show_log(self)

    def action_plot(self) -> None:
        """Temperature by time, zone by zone."""
        from tui.plots import of_work
        from tui.screens.plots import show_plots

        if self.sheet is not None:
            show_plots(self, of_work(self.sheet), "No temperature was read yet: press t.")

    def action_more(self) -> None:
        """What is seldom needed."""
        if self.without_database("That"):
            return
        from tui.dialogs.torch import ask_more

        ask_more(self)

    def action_leave(self) -> None:
        """Close the prompt; else back to the Bench. The work stays open."""
        if self.query_one("#torch-prompt").display:
            self._close_prompt()
            return
        if self.asked_to_stay():
            return
        self.said(f"{self.which} stays open: w on the Bench takes it up again.")
        self.dismiss(None)
