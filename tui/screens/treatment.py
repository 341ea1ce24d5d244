"""A conservator's treatment: its sections on the left, what stands in the chosen one on the right."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Container, VerticalScroll
from textual.widgets import OptionList

from patina.bench.treating import treat
from patina.language import shown
from patina.sheets.treatment_words import part_line
from tui import actions
from tui.app import STYLES
from tui.screens.keeping import Keeping
from tui.screens.treatment_choices import ALSO, CALLED, STILL_WRITTEN
from tui.screens.treatment_sections import (
    SECTIONS,
    change_lines,
    count_of,
    history_words,
    image_words,
    kinds_of,
    missing_words,
    open_words,
    part_words,
    pressing,
    section_words,
)
from tui.widgets.prose import ProseView
from tui.widgets.words import Option

EARLIER = "earlier-care"

if TYPE_CHECKING:
    from patina.sheets.history import SealSheet
    from patina.sheets.treatment import ImageComparison, MapChange, TreatmentSheet
    from tui.widgets.prose import Prose


class Treatment(Keeping):
    """Dismissed with nothing; the place it was opened from reads again. section: the one that is shown."""

    WHERE = "treatment"
    PLACE = "casts"
    CSS_PATH: ClassVar[Any] = STYLES / "treatment.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("treatment")

    def __init__(self, treatment: str) -> None:
        super().__init__()
        self.treatment = treatment
        self.sheet: TreatmentSheet | None = None
        self.section = SECTIONS[0]

    @property
    def standing_on(self) -> str:
        """Id of the treatment, for its past and its signature."""
        return self.treatment

    def body(self) -> ComposeResult:
        """Sections and words."""
        with Container(id="treatment"):
            yield OptionList(*(Option(name.capitalize(), id=name) for name in SECTIONS), id="sections")
            with VerticalScroll(id="treatment-sheet"):
                yield ProseView(id="words")

    def on_mount(self) -> None:
        """Read it."""
        self.query_one("#sections").focus()
        self.load()

    def load(self, *, finished: bool = False) -> None:
        """Read the treatment, in a thread. finished: ask what becomes of earlier care if it has come to its end."""

        def read(found: tuple[TreatmentSheet, SealSheet | None]) -> None:
            self._read(found)
            if finished and found[0].record.head.finished_on is not None and found[0].earlier_care:
                self._write(EARLIER)

        self.work(
            f"Reading {self.treatment}",
            lambda: (treat.treatment_sheet(self.studio, self.treatment), self.seal_of(self.treatment)),
            read,
            quiet=True,
            key="sheet",
        )

    def _read(self, found: tuple[TreatmentSheet, SealSheet | None]) -> None:
        sheet, self.signed = found
        self.show(sheet)

    def action_sign_off(self) -> None:
        """Sign it off; first, what becomes of care of earlier treatments, since its own schedule is closed then."""
        from tui.dialogs.treatment import earlier_care_form

        if self.sheet is None or self.signed_already or not self.sheet.earlier_care:
            super().action_sign_off()
            return

        def go_on(sheet: TreatmentSheet) -> None:
            self.show(sheet)
            super(Treatment, self).action_sign_off()

        self.ask(earlier_care_form(self.studio, self.sheet, "On to the signature"), go_on)

    def show(self, sheet: TreatmentSheet) -> None:
        """Show the treatment as it stands, at the section that is chosen."""
        self.sheet = sheet
        sections = self.query_one("#sections", OptionList)
        for n, name in enumerate(SECTIONS):
            count = count_of(sheet, name)
            sign = "▲" if pressing(sheet, name) else "✓" if count else "·"
            sections.replace_option_prompt_at_index(n, f"{sign} {shown(name.capitalize())} {count or ''}".rstrip())
        self._tell()

    def said_anew(self) -> None:
        """After everything was said again."""
        if self.sheet is not None:
            self.show(self.sheet)

    def _tell(self) -> None:
        if self.sheet is not None:
            self.query_one("#words", ProseView).show(self._words(self.sheet))
            self.query_one("#treatment-sheet", VerticalScroll).scroll_home(animate=False)

    def _words(self, sheet: TreatmentSheet) -> Prose:
        """The chosen section; how the record was signed off stands with the identification."""
        prose = section_words(sheet, self.section)
        return self.with_seal(prose) if self.section == "identification" else prose

    @on(OptionList.OptionHighlighted, "#sections")
    def _chosen(self, event: OptionList.OptionHighlighted) -> None:
        self.section = str(event.option.id)
        self._tell()

    @on(OptionList.OptionSelected, "#sections")
    def _entered(self) -> None:
        self.set_focus(self.query_one("#treatment-sheet"))

    def action_open_sheet(self) -> None:
        """Enter among the words: read a part in full."""
        self.action_reading()

    def still_open(self) -> str:
        """What it lacks before it is signed off."""
        return "" if self.sheet is None else open_words(self.sheet)

    def go_to(self, section: str) -> None:
        """Choose a section."""
        self.query_one("#sections", OptionList).highlighted = SECTIONS.index(section)

    # -- writing -----------------------------------------------------------------------------------

    def action_write(self) -> None:
        """Write a part of this section; the head where the section is the identification."""
        from tui.dialogs.choose import Choose

        if self.sheet is None:
            return
        kinds = [(name, name) for name in kinds_of(self.section)]
        kinds += [(name, kind) for name, _, kind, _ in ALSO.get(self.section, ())]
        called = {name: words for name, words, _, _ in ALSO.get(self.section, ())}
        if self.signed_already:
            kinds = [(name, kind) for name, kind in kinds if kind in STILL_WRITTEN]
        options = [(name, called.get(name) or CALLED[name]) for name, _ in kinds]
        if self.section in ("identification", "report") and not self.signed_already:
            options.insert(0, ("head", "what the record says of itself: identification, purpose, state after"))
        if self.section == "care" and self.sheet.earlier_care:
            options.append((EARLIER, "care of earlier treatments: take it over or end it"))
        if not options:
            self._say_closed()
            return
        if len(options) == 1:
            self._write(options[0][0])
        else:
            self.ask(Choose("What is to be written?", options), self._write)

    def _write(self, chosen: str) -> None:
        from tui.dialogs.treatment import earlier_care_form, head_form, write_form

        assert self.sheet is not None
        if chosen == "head":
            open_before = self.sheet.record.head.finished_on is None
            self.app.push_screen(head_form(self.studio, self.sheet), lambda _answer: self.load(finished=open_before))
            return
        if chosen == EARLIER:
            self.ask(earlier_care_form(self.studio, self.sheet), self.show)
            return
        kind, given = next(
            ((kind, given) for name, _, kind, given in ALSO.get(self.section, ()) if name == chosen), (chosen, {})
        )
        self.ask(write_form(self.studio, self.sheet, kind, given), lambda written: self.show(written.sheet))

    def action_reading(self) -> None:
        """Read a part of this section in full."""
        from tui.dialogs.message import Notes

        def chosen(part: str) -> None:
            assert self.sheet is not None
            self.app.push_screen(Notes(part, part_words(self.sheet, part)))

        self._ask_part("Read which?", chosen)

    def _ask_part(self, question: str, then: Callable[[str], None], never: tuple[str, ...] = ()) -> None:
        from tui.dialogs.choose import Choose

        if self.sheet is None:
            return
        parts = [
            (kept.id, f"{kept.id}  {part_line(kind.name, kept)}"[:200])
            for kind, kept in self.sheet.record.all_parts()
            if kind.within == self.section and kind.name not in never
        ]
        if not parts:
            self.said("Nothing of this section can be chosen: n writes something down.")
        elif len(parts) == 1:
            then(parts[0][0])
        else:
            self.ask(Choose(question, parts), then)

    @property
    def signed_already(self) -> bool:
        """Whether the record is signed off."""
        return self.sheet is not None and self.sheet.record.signed_off is not None

    def _say_closed(self) -> None:
        self.said(
            "The record is signed off: A adds to it. Signatures, visits and ends of care, and copies are still written."
        )

    def action_correct(self) -> None:
        """Correct a part of this section."""
        from tui.dialogs.treatment import correct_form

        if self.signed_already:
            self._say_closed()
            return

        def chosen(part: str) -> None:
            assert self.sheet is not None
            self.ask(correct_form(self.studio, self.sheet, part), lambda written: self.show(written.sheet))

        if self.section == "identification" and self.sheet is not None and not self.sheet.record.people:
            self._write("head")
        else:
            self._ask_part("Correct which?", chosen, treat.NEVER_CORRECTED)

    def action_take_back(self) -> None:
        """Take a part of this section back."""
        from tui.dialogs.treatment import take_back_form

        if self.signed_already:
            self._say_closed()
            return
        self._ask_part(
            "Take back which?", lambda part: self.ask(take_back_form(self.studio, part), self.show), ("proposal",)
        )

    # -- looking -----------------------------------------------------------------------------------

    def action_draw(self) -> None:
        """Draw on a condition map; a new one is begun where there is none or another is wanted."""
        from tui.dialogs.choose import Choose
        from tui.dialogs.treatment import write_form

        if self.sheet is None:
            return
        maps = [(m.id, f"{m.id}  {part_line('map', m)}") for m in self.sheet.record.maps]

        def chosen(id: str) -> None:
            assert self.sheet is not None
            if id == "new":
                self.ask(write_form(self.studio, self.sheet, "map"), lambda written: self._draw(written.id))
            else:
                self._draw(id)

        if self.signed_already and not maps:
            self._say_closed()
        elif maps:
            more = [] if self.signed_already else [("new", "a new map, on another photograph or visit")]
            self.ask(Choose("Draw on which map?", [*maps, *more]), chosen)
        else:
            chosen("new")

    def _draw(self, map_id: str) -> None:
        from tui.screens.treatment_map import TreatmentMap

        self.app.push_screen(TreatmentMap(self.treatment, map_id), lambda _answer: self.load())

    def action_missing(self) -> None:
        """What is missing, by purpose."""
        from tui.dialogs.message import Notes

        if self.sheet is not None:
            self.app.push_screen(Notes(f"{self.treatment}: what is missing", missing_words(self.sheet)))

    def action_images(self) -> None:
        """Hold the images against each other."""
        from patina.bench.treating.treat_maps import compare_images
        from tui.dialogs.message import Notes

        def told(found: tuple[ImageComparison, ...]) -> None:
            self.app.push_screen(Notes("Images before and after", image_words(found)))

        words = "Holding the images against each other"
        self.work(words, lambda: compare_images(self.studio, self.treatment), told, key="images")

    def action_lay_over(self) -> None:
        """What changed between maps, with their photographs laid over each other."""
        from patina.bench.treating.treat_maps import change_of_maps
        from tui.dialogs.message import Notes

        sheet = self.sheet
        pairs = () if sheet is None else tuple((c.before, c.after) for c in sheet.changes)
        if sheet is None or not pairs:
            self.said("There are no two maps of one view: m draws one.")
            return

        def told(found: tuple[MapChange, ...]) -> None:
            self.app.push_screen(Notes("Changed, photographs laid over each other", change_lines(found, sheet)))

        self.work(
            "Laying the photographs over each other",
            lambda: tuple(change_of_maps(self.studio, one, other, lay_over=True) for one, other in pairs),
            told,
            key="lay-over",
        )

    def action_plot(self) -> None:
        """What salts are out against the root of time."""
        from tui.screens.treatments_list import plot_salts

        plot_salts(self, self.sheet)

    def action_print_sheet(self) -> None:
        """Write the treatment report."""
        from tui.dialogs.printing import ask_sheets, treatment_of

        if self.sheet is not None:
            ask_sheets(self, [treatment_of(self, self.treatment, self.sheet.record.head.name)])

    def action_history(self) -> None:
        """Parts that stand no longer."""
        from tui.dialogs.message import Notes

        if self.sheet is not None:
            self.app.push_screen(Notes(f"{self.treatment}: corrected and taken back", history_words(self.sheet)))

    def action_read_again(self) -> None:
        """Read it again."""
        self.load()

    def action_back(self) -> None:
        """From the words to the sections, then back."""
        sections = self.query_one("#sections")
        if self.focused is not sections:
            self.set_focus(sections)
        else:
            self.dismiss(None)
