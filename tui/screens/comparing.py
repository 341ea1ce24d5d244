"""Two colours side by side: blocks that touch, figures, words, and what makes them doubtful."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll

from patina.bench.matched.mottle import compare_surfaces, mottle_picture
from patina.bench.readings.comparing import compare
from patina.errors import PatinaError
from patina.sheets.formulas import NAMES, formula_words
from patina.sheets.named import named
from tui import actions
from tui import format as show
from tui.app import STYLES
from tui.few_colours import measured
from tui.screens.base import Base
from tui.screens.matching_words import verdict_more
from tui.widgets.prose import Prose, ProseView
from tui.widgets.words import Static

if TYPE_CHECKING:
    from patina.sheets import ComparisonSheet, VerdictSheet
    from patina.sheets.mottle import MottleSheet

SIGNS = {"pass": "✓ PASS", "fail": "✗ FAIL"}


class Comparing(Base):
    """Reference and sample, by the ids of their records or as L,a,b."""

    WHERE = "comparing"
    CSS_PATH: ClassVar[Any] = STYLES / "screens.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("comparing")

    def __init__(self, reference: str, sample: str) -> None:
        super().__init__()
        self.reference = reference
        self.sample = sample
        self.formula_at = 0
        self.sheet: ComparisonSheet | None = None

    def body(self) -> ComposeResult:
        """The blocks, then the figures."""
        with Horizontal(id="two"):
            yield Static(id="reference-block", classes="block", markup=False)
            yield Static(id="sample-block", classes="block", markup=False)
        with VerticalScroll(id="figures"):
            yield ProseView(id="difference")

    def on_mount(self) -> None:
        """Compare."""
        self.query_one("#figures").focus()
        self.compute()

    def said_anew(self) -> None:
        """After everything was said again."""
        self.compute()

    def compute(self) -> None:
        """Compare, in a thread."""
        formula = tuple(NAMES)[self.formula_at]
        self.work(
            "Comparing",
            lambda: (
                compare(self.studio, self.reference, self.sample, formula),
                compare_surfaces(self.studio, self.reference, self.sample),
            ),
            self._shown,
            self._not,
            key="it",
        )

    def _not(self, trouble: PatinaError) -> None:
        self.query_one("#difference", ProseView).show(Prose().caution(trouble.what, trouble.remedy, grave=True))

    def _shown(self, found: tuple[ComparisonSheet, MottleSheet]) -> None:
        sheet, mottle = found
        self.sheet = sheet
        for id, name, lab in (
            ("#reference-block", f"reference\n{sheet.reference}", sheet.reference_lab),
            ("#sample-block", f"sample\n{sheet.sample}", sheet.sample_lab),
        ):
            block = self.query_one(id, Static)
            shade = measured(lab)
            block.styles.background = shade
            block.styles.color = show.ink_on(shade)
            block.update(f"{name}\n\n{show.lab(lab.L, lab.a, lab.b)}\n{show.colour_words(lab.L, lab.a, lab.b)}")
        self.query_one("#difference", ProseView).show(difference_words(sheet).extend(mottle_words(mottle)))

    def action_formula(self) -> None:
        """The next formula."""
        self.formula_at = (self.formula_at + 1) % len(NAMES)
        self.compute()

    def action_swap(self) -> None:
        """Sample becomes reference."""
        self.reference, self.sample = self.sample, self.reference
        self.compute()

    def action_picture(self) -> None:
        """Write both side by side to a file, tones with their shares."""
        from tui.dialogs.path import AskPath

        start = AskPath.folder or Path.cwd()
        name = "-beside-".join("".join(c for c in one if c.isalnum()) for one in (self.reference, self.sample))
        ask = AskPath(
            "Write both side by side, tones with their shares, to",
            (".svg",),
            value=str(start / f"{name}.svg"),
            must_exist=False,
        )
        self.ask(ask, self._picture_into)

    def _picture_into(self, path: Path) -> None:
        self.work(
            "Drawing",
            lambda: mottle_picture(self.studio, self.reference, self.sample, path),
            lambda _: self.said(f"Written to {path}. Any browser shows it."),
        )

    def action_judge(self) -> None:
        """Judge the sample against an agreed finish."""
        ask_master(self, self.sample)

    def action_back(self) -> None:
        """Back."""
        self.dismiss(None)


def difference_words(sheet: ComparisonSheet) -> Prose:
    """The difference in figures and words."""
    d = sheet.difference
    prose = Prose().title(f"ΔE {show.number(d.delta_e, 2)}", formula_words(d.formula))
    prose.fact("uncertainty", f"{show.give_or_take(sheet.uncertainty_de00)} (95 %, CIEDE2000)")
    words = f"There is {d.words}." if d.words.startswith("no ") else f"The sample is {d.words}."
    prose.text(words, "bold").gap()
    for label, value, more, less in (
        ("ΔL*", d.dL, "lighter", "darker"),
        ("Δa*", d.da, "redder", "greener"),
        ("Δb*", d.db, "yellower", "bluer"),
        ("ΔC*", d.dC, "stronger", "duller"),
        ("ΔH*", d.dH, "hue turned as red to yellow", "hue turned as yellow to red"),
    ):
        word = more if value > 0 else less
        prose.fact(label, f"{show.signed(value, 2):>7}  {_bar(value)}  {word if abs(value) >= 0.05 else 'the same'}")
    if sheet.uncertainty_de00 is not None and d.formula == "de2000" and d.delta_e < sheet.uncertainty_de00:
        prose.gap().caution(
            "The difference is smaller than what the readings can tell.", "Read both again in one picture."
        )
    prose.gap()
    for warning in sheet.warnings:
        prose.caution(warning.text, warning.do)
    return prose


def mottle_words(sheet: MottleSheet) -> Prose:
    """The tones of both as two bars and what differs; nothing where neither is in parts."""
    prose = Prose()
    if not sheet.uneven:
        return prose
    prose.heading("Tones and their shares").text(sheet.words)
    for name, parts, grain in (
        ("reference", sheet.reference_parts, sheet.reference_grain_mm),
        ("sample", sheet.sample_parts, sheet.sample_grain_mm),
    ):
        tones = [(p.lab, p.share) for p in parts]
        coarse = "" if len(tones) < 2 else ", grain not known" if grain is None else f", grain {show.number(grain)} mm"
        prose.text(name + coarse, "$text-muted", 4).bar(tones).parts(tones)
    for caution in sheet.cautions:
        prose.caution(caution)
    return prose


def _bar(value: float, reach: int = 10) -> str:
    """A bar from the middle: one cell for one unit."""
    cells = min(round(abs(value)), reach)
    left = "◂" * cells if value < 0 else ""
    right = "▸" * cells if value > 0 else ""
    return f"{left:>{reach}}│{right:<{reach}}"


def verdict_words(sheet: VerdictSheet) -> Prose:
    """A verdict with its reason."""
    sign = SIGNS.get(sheet.verdict, "? CANNOT BE TOLD")
    style = {"pass": "bold $text-success", "fail": "bold $text-error"}.get(sheet.verdict, "bold $text-warning")
    prose = (
        Prose()
        .text(f"{sign}: {named(sheet.sample, sheet.sample_name)} against {sheet.comparison.reference}", style)
        .text(sheet.why)
        .gap()
    )
    prose.fact("limit", f"{show.plain(sheet.limit_de)} ({formula_words(sheet.comparison.difference.formula)})").gap()
    prose.colour(sheet.comparison.reference_lab, "agreed").colour(sheet.comparison.sample_lab, "sample").gap()
    prose.extend(verdict_more(sheet))
    return prose.extend(difference_words(sheet.comparison))


def ask_master(screen: Base, sample: str) -> None:
    """Ask for an agreed finish, judge the sample against it and tell."""
    from patina.bench.pieces.casts import list_masters
    from tui.dialogs.choose import Choose

    masters = list_masters(screen.studio)
    if not masters:
        screen.said("No finish is agreed yet: choose a tile and press a, or add one in Casts.")
        return
    options = [(m.id, f"{m.id}  {m.name}  limit {show.plain(m.limit_de)}") for m in masters]
    screen.ask(Choose(f"Judge {sample} against", options), lambda master: _judge(screen, master, sample))


def _judge(screen: Base, master: str, sample: str) -> None:
    from tui.dialogs.message import Notes

    def decide() -> VerdictSheet:
        from patina.bench.matched.matching import judge

        return judge(screen.studio, master, sample)

    def tell(verdict: VerdictSheet) -> None:
        screen.app.push_screen(Notes("Verdict", verdict_words(verdict)))

    screen.work("Judging", decide, tell)
