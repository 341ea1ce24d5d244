"""Before and after: what two photographs of one piece show to have changed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll

from patina.bench.readings.change import change
from patina.bench.readings.showing import difference_preview
from patina.bench.saving import write_whole
from patina.bench.settings import chart_edition
from patina.errors import NoChart, PatinaError
from tui import actions
from tui import format as show
from tui.app import STYLES
from tui.screens.base import Base
from tui.screens.change_by import Both, Placed, ask_by
from tui.widgets.panels import Panels
from tui.widgets.prose import Prose, ProseView
from tui.widgets.words import Static

if TYPE_CHECKING:
    from patina.sheets import ChangeSheet, PatchRow, PhotographRow
    from tui.widgets.picture import Frame


class Change(Base):
    """Two photographs of a record. sheet: what was measured, None before."""

    WHERE = "change"
    CSS_PATH: ClassVar[Any] = STYLES / "screens.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("change")

    def __init__(self, target: str, before: PhotographRow, after: PhotographRow) -> None:
        super().__init__()
        self.target = target
        self.before, self.after = before, after
        self.sheet: ChangeSheet | None = None
        self.frames: tuple[Frame, ...] = ()  # areas that were drawn; without any, a grid of patches
        self.part: tuple[Frame, ...] = ()  # what the grid keeps to, where it keeps to a part
        self.by: Both = (Placed(), Placed())  # of the earlier and the later one

    def body(self) -> ComposeResult:
        """The picture above, what was measured below."""
        with Vertical(id="change"):
            yield Static(id="change-names", markup=False)
            yield Panels(id="panels")
            with VerticalScroll(id="change-sheet"):
                yield ProseView(id="change-words")

    def on_mount(self) -> None:
        """Measure."""
        self.query_one("#change-sheet").focus()
        self.query_one("#change-names", Static).update(f" {self.target}: {self.before.name} → {self.after.name}")
        self._measure()

    def _measure(self) -> None:
        """Measure what is wished: the areas drawn, else a grid."""
        self.query_one(Panels).display = False
        self.sheet = None
        self._say(Prose().text("Laying the two photographs over each other …", "$text-muted"))
        edition = chart_edition(self.studio)
        areas = tuple(f.as_text() for f in self.frames)
        piece = _outline(self.part[0]) if self.part and not areas else None
        one, other = self.by
        self.work(
            "Comparing the photographs",
            lambda: change(
                self.studio,
                self.before.sha256,
                self.after.sha256,
                edition=edition,
                areas=areas,
                piece=piece,
                corners_before=one.corners or None,
                corners_after=other.corners or None,
                flat_before=one.flat,
                flat_after=other.flat,
            ),
            self._measured,
            self._not,
            key="change",
        )

    def _say(self, prose: Prose) -> None:
        self.query_one("#change-words", ProseView).show(prose)

    def _not(self, trouble: PatinaError) -> None:
        prose = Prose().caution(f"{trouble.title}. {trouble.what}", trouble.remedy, grave=True)
        if isinstance(trouble, NoChart):
            prose.text("b places the chart's four points yourself, in either photograph.", indent=4)
        self._say(prose)

    def _measured(self, sheet: ChangeSheet) -> None:
        self.sheet = sheet
        self.query_one(Panels).display = True
        self._say(change_words(sheet))
        self.call_after_refresh(self._room)

    @on(Panels.Resized)
    def _room(self) -> None:
        panels, sheet = self.query_one(Panels), self.sheet
        columns, rows = panels.size.width, panels.picture_rows
        if sheet is None or columns <= 0 or rows <= 0:
            return
        self.work(
            "Drawing the difference",
            lambda: difference_preview(sheet.picture_png, columns, rows),
            lambda small: panels.show(small, self._names(sheet.patches)),
            quiet=True,
            key="panels",
        )

    def _names(self, patches: Sequence[PatchRow]) -> list[tuple[str, float, float]]:
        """Name of each patch and the share of the earlier picture's width and height where its middle lies."""
        return [
            (
                p.name,
                sum(x for x, _ in p.polygon) / len(p.polygon) / self.before.width_px,
                sum(y for _, y in p.polygon) / len(p.polygon) / self.before.height_px,
            )
            for p in patches
            if p.polygon
        ]

    def action_areas(self) -> None:
        """Say what is measured: areas drawn by keys, or a grid of patches."""
        from tui.dialogs.choose import Choose

        options = [
            ("areas", "areas of your own, drawn on the earlier photograph …"),
            ("part", "a grid of patches that keeps to a part of it …"),
            ("grid", "a grid of patches over all that both photographs show"),
        ]
        chosen = "areas" if self.frames else "part" if self.part else "grid"
        self.ask(Choose("What is measured in both photographs?", options, chosen=chosen), self._wished)

    def _wished(self, which: str) -> None:
        from tui.screens.change_areas import ChangeAreas

        if which == "grid":
            self.frames = self.part = ()
            self._measure()
            return

        def drawn(frames: Any) -> None:
            if which == "areas":
                self.frames = frames
            else:
                self.part, self.frames = frames, ()
            self._measure()

        before = self.frames if which == "areas" else self.part
        self.ask(ChangeAreas(self.before.sha256, before, one=which == "part"), drawn)

    def action_by_chart(self) -> None:
        """Say what each of the two is measured by."""

        def said(by: Both) -> None:
            self.by = by
            self._measure()

        ask_by(self, (self.before, self.after), self.by, said)

    def action_save_picture(self) -> None:
        """Save the picture as a PNG file."""
        from tui.dialogs.path import AskPath

        sheet = self.sheet
        if sheet is None:
            self.said("There is no picture yet.")
            return
        folder = Path(self.studio.where) if Path(self.studio.where).is_dir() else Path.cwd()
        value = str(folder / f"change-{self.target.lower()}.png")
        dialog = AskPath("Save the picture of the change", (".png",), value=value, must_exist=False)
        self.ask(
            dialog,
            lambda path: self.work(
                "Saving the picture",
                lambda: write_whole(path, sheet.picture_png),
                lambda written: self.said(f"Written: {written}"),
            ),
        )

    def action_look(self) -> None:
        """See the picture alone."""
        from tui.screens.look import Look

        if self.sheet is None:
            self.said("There is no picture yet.")
        else:
            self.app.push_screen(Look(self.sheet.picture_png))

    def action_back(self) -> None:
        """Back to the record."""
        self.dismiss(None)


def _outline(frame: Frame) -> str:
    """A part of the picture as the outline that the deed takes."""
    right, bottom = frame.x + frame.w, frame.y + frame.h
    corners = ((frame.x, frame.y), (right, frame.y), (right, bottom), (frame.x, bottom))
    return ";".join(f"{x:.0f},{y:.0f}" for x, y in corners)


def change_words(sheet: ChangeSheet) -> Prose:
    """What speaks against the comparison first, then each patch before and after."""
    told = [p for p in sheet.patches if p.told]
    prose = Prose()
    many = show.times(len(sheet.patches), "patch", "patches")
    if told:
        most = max(told, key=lambda p: p.difference.delta_e)
        words = f"{len(told)} of {many} changed by more than the uncertainty (95 %), most at {most.name}: "
        words += f"{most.difference.words}."
    else:
        words = f"No change is told apart in {many}."
    prose.text(words, "bold")
    for warning in sheet.warnings:
        prose.caution(warning.text, warning.do)
    prose.gap()
    for patch in sheet.patches:
        _patch(prose, patch)
    for name, why in sheet.skipped:
        prose.caution(f"Patch {name} was left out: {why}")
    prose.heading("How the pictures lie on each other")
    prose.fact("misfit", f"{show.number(sheet.misfit_px, 1)} px of the earlier picture")
    prose.fact("turned", f"{show.number(sheet.turned_deg, 1)}°")
    prose.fact("size", f"{show.percent(100 * sheet.scale, 0)} of the earlier")
    return prose


def _patch(prose: Prose, patch: PatchRow) -> None:
    d = patch.difference
    figure = f"ΔE00 {show.number(d.delta_e, 1)} {show.give_or_take(patch.uncertainty_de00)} (95 %)"
    one, other = (show.colour_words(lab.L, lab.a, lab.b) for lab in (patch.before, patch.after))
    words = f"{one} → {other}: {d.words}" if patch.told else "not told apart: smaller than its uncertainty"
    prose.pair(patch.before, patch.after, f"{patch.name:>3}  {figure}", f"     {words}", sure=patch.told).gap()


def in_order(photographs: Sequence[PhotographRow]) -> list[PhotographRow]:
    """Photographs as they were taken, as far as the camera says; the others as they were added."""

    def digits(photo: PhotographRow) -> str:
        return re.sub(r"\D", "", photo.taken_at or photo.added_at.strftime("%Y%m%d%H%M%S"))

    return sorted(photographs, key=digits)


def ask_change(screen: Base, target: str, photographs: Sequence[PhotographRow]) -> None:
    """Ask which two photographs, then compare them."""
    from tui.dialogs.choose import Choose

    rows = in_order(photographs)
    if len(rows) < 2:
        screen.said(f"{target} has {show.times(len(rows), 'photograph')}; two are needed. Press f to give it another.")
        return

    def show_change(before: PhotographRow, after: PhotographRow) -> None:
        screen.app.push_screen(Change(target, before, after))

    def before_is(sha256: str) -> None:
        before = next(p for p in rows if p.sha256 == sha256)
        others = [p for p in rows if p is not before]
        if len(others) == 1:
            show_change(before, others[0])
            return
        dialog = Choose(
            "After: the later photograph", [(p.sha256, _named(p)) for p in others], chosen=others[-1].sha256
        )
        screen.ask(dialog, lambda taken: show_change(before, next(p for p in others if p.sha256 == taken)))

    screen.ask(Choose("Before: the earlier photograph", [(p.sha256, _named(p)) for p in rows]), before_is)


def _named(photo: PhotographRow) -> str:
    when = photo.taken_at or f"added {show.moment(photo.added_at)}"
    return "  ".join(w for w in (photo.name, when, photo.state) if w)
