"""What tiles and casts share: photographs, readings, comparing, judging."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult
from textual.content import Content

from patina.bench.readings import tiles
from patina.bench.readings.showing import preview, screen_colour
from patina.language import shown
from patina.sheets.named import named
from tui import format as show
from tui.screens.place import Place
from tui.widgets.thumbnails import CACHE, COLUMNS, LINES, Thumbnails

if TYPE_CHECKING:
    from patina.sheets import PhotographRow
    from tui.widgets.prose import Prose


MOST_MARKED = 6  # as many as lie side by side on 80 columns


class Measuring(Place):
    """A place whose records have a colour. marked: ids of those that are to lie side by side, in order."""

    WHAT: ClassVar[str] = "a record"

    def __init__(self) -> None:
        super().__init__()
        self.marked: list[str] = []

    @property
    def measurable(self) -> bool:
        """Whether the list shown holds records that are measured."""
        return self.at == 0

    def _target(self) -> str | None:
        if not self.measurable:
            self.said(f"Choose {self.WHAT} first (v changes the list).")
            return None
        return self.chosen_or_say(self.WHAT)

    # -- thumbnails --------------------------------------------------------------------------------

    def below_words(self) -> ComposeResult:
        """The photographs, small."""
        yield Thumbnails(id="thumbnails")

    def show_sheet(self, sheet: Any) -> None:
        """The sheet at once, its photographs one after another as they are read."""
        super().show_sheet(sheet)
        photographs: tuple[PhotographRow, ...] = getattr(sheet, "photographs", ())
        self.query_one(Thumbnails).show([(p.sha256, p.name) for p in photographs])
        self._next_thumbnail()

    def show_prose(self, prose: Prose) -> None:
        """Words alone have no photographs."""
        self.query_one(Thumbnails).show(())
        super().show_prose(prose)

    def _next_thumbnail(self) -> None:
        """One is read at a time, however fast a person goes through the list."""
        sha256 = self.query_one(Thumbnails).missing
        if sha256 is None or any(t.key == f"{self.WHERE}:thumbnails" for t in self.patina.jobs.running):
            return

        def seen(small: Any) -> None:
            CACHE.put(sha256, small)
            self.query_one(Thumbnails).refresh()
            self._next_thumbnail()

        self.work(
            "Reading the photographs",
            lambda: preview(tiles.photograph_path(self.studio, sha256), COLUMNS, 2 * LINES),
            seen,
            lambda trouble: seen(trouble.title),
            quiet=True,
            key="thumbnails",
        )

    # -- photographs -------------------------------------------------------------------------------

    def action_photograph(self) -> None:
        """Give the record a photograph, or measure one it has."""
        from tui.dialogs.choose import Choose

        target = self._target()
        if target is None or self.sheet is None:
            return
        photographs: tuple[PhotographRow, ...] = self.sheet.photographs
        if not photographs:
            self._ask_photograph(target)
            return
        options = [(p.sha256, f"Measure {p.name}, {p.width_px} × {p.height_px} px") for p in photographs]
        self.ask(
            Choose("Photographs", [*options, ("new", "Give it another photograph …")]),
            lambda taken: self._ask_photograph(target) if taken == "new" else self._measure(target, taken),
        )

    def _ask_photograph(self, target: str) -> None:
        from tui.dialogs.path import PHOTOGRAPHS, AskPath

        before = "The file is kept untouched. A chart in the picture makes it measurable."
        self.ask(
            AskPath(f"A photograph for {named(target, self.called)}", PHOTOGRAPHS, before=before),
            lambda path: self._add(target, path),
        )

    def _add(self, target: str, path: Path) -> None:
        def done(row: PhotographRow) -> None:
            self.said(f"{row.name} is kept.")
            self.load(keep=target)
            self._measure(target, row.sha256)

        self.work("Storing the photograph", lambda: tiles.add_photograph(self.studio, target, path), done)

    def _measure(self, target: str, sha256: str) -> None:
        from tui.screens.photograph import Photograph

        self.app.push_screen(Photograph(target, sha256), self._measured)

    def _measured(self, kept: Any) -> None:
        if kept:
            self._showing = None
            self.load()

    def action_before_after(self) -> None:
        """Compare two of its photographs, taken at different times."""
        from tui.screens.change import ask_change

        if (target := self._target()) is not None and self.sheet is not None:
            ask_change(self, target, self.sheet.photographs)

    def action_placard(self) -> None:
        """Print the placard that files its photographs."""
        from tui.dialogs.shoot import ask_placard

        if (target := self._target()) is not None:
            ask_placard(self, target)

    def action_shoot(self) -> None:
        """Take in a folder of photographs that show placards."""
        from tui.dialogs.shoot import ask_shoot

        ask_shoot(self, self.record_list.chosen)

    def action_reread(self) -> None:
        """Read every photograph of the studio again, and see what would change."""
        from tui.dialogs.rereading import ask_reread

        ask_reread(self)

    # -- readings ----------------------------------------------------------------------------------

    def action_reading(self) -> None:
        """Type in a reading."""
        from tui.dialogs.records import reading_form

        if (target := self._target()) is not None:
            self.ask(reading_form(self.studio, target, target), self._typed_in)

    def _typed_in(self, row: Any) -> None:
        self.said(f"Reading {row.id} is kept.")
        self.action_read_again()

    # -- comparing ---------------------------------------------------------------------------------

    def action_mark(self) -> None:
        """Mark, to be laid beside others; one mark too many pushes the first out."""
        if (target := self._target()) is None:
            return
        if target in self.marked:
            self.marked.remove(target)
        else:
            self.marked = [*self.marked, target][-MOST_MARKED:]
        self.record_list.mark(self.marked)

    def action_compare(self) -> None:
        """Compare the two marked; or the marked one, or an asked one, with the chosen."""
        from tui.dialogs.form import Field, Form

        if len(self.marked) > 2:
            self.action_lay_out()
            return
        if len(self.marked) == 2:
            self._compare(*self.marked)
            return
        chosen = self._target()
        if chosen is None:
            return
        others = [m for m in self.marked if m != chosen]
        if others:
            self._compare(others[0], chosen)
            return
        field = Field("reference", "Reference", "T1, C1, M1, D1 or L,a,b")
        form = Form(
            f"Compare {named(chosen, self.called)} with what?",
            [field],
            lambda values: self._check_reference(values["reference"], chosen),
        )
        self.ask(form, lambda pair: self._compare(*pair))

    def action_lay_out(self) -> None:
        """Lay the marked ones edge to edge; of one that is marked, beside the chosen one."""
        from tui.screens.side_by_side import SideBySide

        chosen = self._target()
        ids = [*self.marked, *([chosen] if chosen and len(self.marked) == 1 and chosen not in self.marked else [])]
        unread = {row.id for row in self.record_list.rows if row.lab is None}
        missing = [id for id in ids if id in unread]
        if len(ids) < 2:
            self.said("Mark two or more with Space first.")
        elif missing:
            self.said(f"{', '.join(missing)} has no reading yet: it has no colour to lay beside others.")
        else:
            self.app.push_screen(SideBySide(ids))

    def _check_reference(self, reference: str, chosen: str) -> tuple[str, str]:
        from patina.bench.readings.comparing import colour_of
        from patina.errors import PatinaError

        try:
            colour_of(self.studio, reference)
        except PatinaError as trouble:
            trouble.field = "reference"
            raise
        return reference, chosen

    def _compare(self, reference: str, sample: str) -> None:
        from tui.screens.comparing import Comparing

        self.app.push_screen(Comparing(reference, sample))

    def action_nearest(self) -> None:
        """Find the tiles that come nearest; the one chosen is opened."""
        from tui.dialogs.records import nearest_form

        self.ask(nearest_form(self.studio, self.record_list.chosen or ""), self._like)

    def _like(self, matches: Any) -> None:
        from tui.dialogs.choose import Choose

        if not matches:
            self.said("No other tile has been measured yet: f measures one in a photograph, r types a reading in.")
            return
        options = []
        for m in matches:
            block = Content.styled("    ", f"on {screen_colour(m.lab)}")
            recipe = f"{m.recipe}, revision {m.revision}" if m.recipe_id else "no recipe"
            words = f"  ΔE {show.number(m.delta_e):>5}  {m.tile} {m.engraved}  {recipe}"
            options.append((m.tile, block + Content(shown(words))))
        self.ask(Choose("Most like it, nearest first", options), self.patina.open_record)

    def action_more(self) -> None:
        """What else can be done with the chosen record."""
        from tui.dialogs.matching import ask_more

        if (id := self.chosen_or_say("a record")) is not None:
            ask_more(self, id)

    def action_judge(self) -> None:
        """Judge against an agreed finish."""
        from tui.screens.comparing import ask_master

        if (target := self._target()) is not None:
            ask_master(self, target)
