"""Bringing in an old table: what its columns mean, what they leave open, a preview, and what came of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import OptionList

from patina.errors import PatinaError
from patina.sheets.bringing import KINDS, TableMapping
from tui import actions
from tui.app import STYLES
from tui.dialogs.bringing import Bringing as Working
from tui.dialogs.bringing import Told, ask_pictures, mapping_name, row_of_headings, typed_answer
from tui.dialogs.choose import Choose
from tui.dialogs.path import AskPath
from tui.screens.base import Base
from tui.screens.bringing_words import (
    came_words,
    column_line,
    column_words,
    every_line,
    head_words,
    pictures_words,
    questions_at,
)
from tui.screens.brought import Came
from tui.widgets.prose import Prose, ProseView
from tui.widgets.words import Option, Static

if TYPE_CHECKING:
    from patina.sheets.bringing import BringPlan, BringQuestion, BroughtSheet

TABLES = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm")


def ask_what(screen: Base) -> None:
    """Ask what is to be brought in, a table or photographs, and go on with it."""
    ways = [("table", "A table: CSV or XLSX"), ("pictures", "A folder of old photographs")]
    screen.ask(Choose("Bring in", ways), lambda way: _ask_table(screen) if way == "table" else _ask_pictures(screen))


def _ask_table(screen: Base) -> None:
    before = "Recipes, tiles, readings, lots, pieces, casts or what was done to them, one table of a sheet at a time."
    dialog = AskPath("Bring in a table", TABLES, before=before)

    def taken(path: Path) -> None:
        screen.app.push_screen(Bringing(path), lambda _: _read_again(screen))

    screen.ask(dialog, taken)


def _read_again(screen: Base) -> None:
    again = getattr(screen, "action_read_again", None)
    if again is not None:
        again()


def _ask_pictures(screen: Base) -> None:
    from patina.bench.bringing.bring_photographs import pattern_of

    screen.ask(ask_pictures(pattern_of), lambda said: _look_at_pictures(screen, *said))


def _look_at_pictures(screen: Base, folder: Path, pattern: str, search: bool) -> None:
    from patina.bench.bringing.bring_photographs import bring_photographs

    def look(dry_run: bool) -> Callable[[Told], Any]:
        return lambda told: bring_photographs(
            screen.studio, folder, pattern, dry_run=dry_run, search=search, progress=told
        )

    def keep(result: Came) -> None:
        def kept(came: Any) -> None:
            result.tell(pictures_words(came), stored=True)
            _read_again(screen)

        result.ask(Working("Keeping the photographs", look(False), keeps=True), kept)

    def shown(came: Any) -> None:
        screen.app.push_screen(Came(pictures_words(came), keep if came.taken else None))

    screen.ask(Working("Looking at the photographs", look(True), keeps=False), shown)


class Bringing(Base):
    """The mapping of one table. plan: how it would be read, None before it is looked at."""

    WHERE = "bringing"
    CSS_PATH: ClassVar[Any] = STYLES / "screens.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("bringing")

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.path = path
        self.plan: BringPlan | None = None
        self.came: BroughtSheet | None = None
        self.encoding = ""

    def body(self) -> ComposeResult:
        """What file it is, its columns, and below them what is said of the chosen one."""
        yield Static("Reading the file …", id="bring-head", markup=False)
        yield OptionList(id="bring-columns")
        with VerticalScroll(id="bring-said", can_focus=False):
            yield ProseView(id="words")

    def on_mount(self) -> None:
        """Look at the file."""
        self.query_one(OptionList).focus()
        self.look(None)

    def look(
        self, mapping: TableMapping | None, *, kind: str = "", sheet: str = "", header_row: int | None = None
    ) -> None:
        """Read the table by a mapping, or guess one; in a thread."""
        from patina.bench.bringing.bring_in import plan

        encoding = self.encoding

        self.work(
            "Reading the table",
            lambda: plan(
                self.studio, self.path, mapping, kind=kind, sheet=sheet, header_row=header_row, encoding=encoding
            ),
            self._looked,
            self._not,
            key="plan",
        )

    def _not(self, trouble: PatinaError) -> None:
        self.query_one("#bring-head", Static).update(trouble.title)
        self.query_one("#words", ProseView).show(Prose().caution(trouble.what, trouble.remedy, grave=True))

    def _looked(self, plan: BringPlan) -> None:
        first = self.plan is None
        self.plan = plan
        self.query_one("#bring-head", Static).update(head_words(plan))
        columns = self.query_one(OptionList)
        at = columns.highlighted or 0
        width = max(60, self.size.width - 6)
        lines = [column_line(plan, n, width) for n in range(len(plan.mapping.columns))]
        lines += [every_line(q, width) for q in questions_at(plan, "")]
        columns.clear_options()
        columns.add_options([Option(line) for line in lines])
        columns.highlighted = min(at, len(lines) - 1) if lines else None
        self._tell()
        if first and plan.notes:
            self.notify("\n".join(plan.notes[:4]), title="The table", timeout=8, markup=False)

    def said_anew(self) -> None:
        """After everything was said again."""
        if self.plan is not None:
            self._looked(self.plan)

    def on_resize(self) -> None:
        """A terminal made wider or narrower."""
        if self.plan is not None:
            self._looked(self.plan)

    # -- the chosen line ---------------------------------------------------------------------------

    @property
    def _heading(self) -> str:
        """Heading of the chosen column; empty for a line of every row."""
        at = self.query_one(OptionList).highlighted
        if self.plan is None or at is None or at >= len(self.plan.mapping.columns):
            return ""
        return self.plan.mapping.columns[at].heading

    def _every(self) -> BringQuestion | None:
        at = self.query_one(OptionList).highlighted
        if self.plan is None or at is None or at < len(self.plan.mapping.columns):
            return None
        return questions_at(self.plan, "")[at - len(self.plan.mapping.columns)]

    @on(OptionList.OptionHighlighted)
    def _tell(self) -> None:
        if self.plan is None:
            return
        every, heading = self._every(), self._heading
        if every is not None:
            said = Prose().text(every.asks).fact("Answer", every.answer or "open; A or Enter answers it")
        else:
            at = next((n for n, c in enumerate(self.plan.mapping.columns) if c.heading == heading), 0)
            said = column_words(self.plan, heading, self.plan.samples[at] if self.plan.samples else ())
        self.query_one("#words", ProseView).show(said)

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        self.action_meaning()

    def action_meaning(self) -> None:
        """Say what the chosen column means, or answer the chosen line."""
        from patina.bench.bringing.bring_fields import fields_of
        from patina.bench.bringing.bring_questions import remapped

        plan, every = self.plan, self._every()
        if plan is None:
            return
        if every is not None:
            self._answer(every)
            return
        heading = self._heading
        column = next(c for c in plan.mapping.columns if c.heading == heading)
        rows = [("", "— leave the column out")]
        rows += [
            (f.name, f"{f.name:<20} {f.label}{' (needed)' if f.needed else ''}") for f in fields_of(plan.mapping.kind)
        ]
        self.ask(
            Choose(f"What is '{heading[:40]}'?", rows, chosen=column.field),
            lambda field: self.look(
                remapped(plan.mapping, heading, field, column.substance if field == column.field else "")
            ),
        )

    def action_answer(self) -> None:
        """Answer what the chosen line leaves open; where it leaves nothing open, the next that does."""
        if self.plan is None:
            return
        every = self._every()
        own = [every] if every is not None else [q for q in questions_at(self.plan, self._heading) if self._heading]
        still = [q for q in own if not q.answer] or list(self.plan.open) or own
        if not still:
            self.said("Nothing is open.")
            return
        self._answer(still[0])

    def _answer(self, question: BringQuestion) -> None:
        from patina.bench.bringing.bring_questions import answered

        def done(answer: str) -> None:
            if self.plan is not None:
                self.look(answered(self.plan.mapping, question.heading, question.about, answer))

        if question.free:
            self.ask(typed_answer(question), done)
            return
        where = f"{question.heading[:30]}: " if question.heading else ""
        options = [(a, f"{a:<14} {reads}" if a != reads else a) for a, reads in question.options]
        self.ask(Choose(f"{where}{question.asks}", options, chosen=question.answer or None), done)

    # -- the table ---------------------------------------------------------------------------------

    def action_kind(self) -> None:
        """What the rows are."""
        if self.plan is not None:
            sheet = self.plan.sheet if len(self.plan.sheets) > 1 else ""
            kinds = [(k, k) for k in KINDS]
            dialog = Choose("What is one row of it?", kinds, chosen=self.plan.mapping.kind)
            self.ask(dialog, lambda kind: self.look(None, kind=kind, sheet=sheet))

    def action_sheet(self) -> None:
        """Another sheet of the workbook."""
        if self.plan is None or len(self.plan.sheets) < 2:
            self.said("The file has one sheet.")
            return
        sheets = [(s, s) for s in self.plan.sheets]
        self.ask(Choose("Which sheet?", sheets, chosen=self.plan.sheet), lambda sheet: self.look(None, sheet=sheet))

    def action_headings(self) -> None:
        """Say which row the headings stand in."""
        plan = self.plan
        if plan is not None:
            sheet = plan.sheet if len(plan.sheets) > 1 else ""
            self.ask(row_of_headings(plan.header_row), lambda row: self.look(None, sheet=sheet, header_row=row))

    def action_encoding(self) -> None:
        """Say in which letters a text file is written."""

        def said(encoding: str) -> None:
            self.encoding = encoding
            self.look(None)

        from patina.bench.bringing.bring_in import ENCODINGS

        rows = [("", "find it out"), *((e, e) for e in ENCODINGS)]
        self.ask(Choose("In which encoding is the file written?", rows, chosen=self.encoding), said)

    def action_keep_mapping(self) -> None:
        """Keep the mapping under a name."""
        from patina.bench.bringing.bring_mapping import save_mapping

        plan = self.plan
        if plan is None:
            return

        def named(name: str) -> None:
            mapping = replace(plan.mapping, name=name)
            save_mapping(self.studio, mapping)
            self.said(f"Kept as '{name}'.")
            self.look(mapping)

        self.ask(mapping_name(plan.mapping.name), named)

    def action_take_mapping(self) -> None:
        """Take a mapping that was kept."""
        from patina.bench.bringing.bring_mapping import saved_mapping, saved_mappings

        names = saved_mappings(self.studio)
        if not names:
            self.said("No mapping is kept yet: w keeps this one.")
            return
        dialog = Choose("Which mapping?", [(n, n) for n in names])
        self.ask(dialog, lambda name: self.look(saved_mapping(self.studio, name)))

    # -- in ----------------------------------------------------------------------------------------

    def _work(self, *, dry_run: bool) -> Callable[[Told], Any]:
        from patina.bench.bringing.bring_in import bring

        assert self.plan is not None
        mapping, encoding = self.plan.mapping, self.encoding
        return lambda told: bring(
            self.studio,
            self.path,
            mapping,
            dry_run=dry_run,
            encoding=encoding,
            progress=lambda done, of: told(done, of, "rows"),
        )

    def action_preview(self) -> None:
        """Show every row as it would be kept, and what would be refused."""
        if self.plan is not None:
            self.ask(Working("Trying every row", self._work(dry_run=True), keeps=False), self._previewed)

    def _previewed(self, came: BroughtSheet) -> None:
        from patina.bench.bringing.bring_out import write_refused

        def write(path: Path) -> Path:
            return write_refused(self.came or came, path)

        refused = write if any(not r.here for r in came.refused) else None
        self.app.push_screen(Came(came_words(came), self._bring if came.brought else None, refused))

    def _bring(self, shown: Came) -> None:
        def kept(came: BroughtSheet) -> None:
            self.came = came
            shown.tell(came_words(came), stored=True)
            shown.said(came.in_words)

        shown.ask(Working("Bringing in", self._work(dry_run=False), keeps=True), kept)

    def action_back(self) -> None:
        """Back to where it was asked for."""
        self.dismiss(None)
