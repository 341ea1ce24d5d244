"""Bench: how much to mix for what is to be coloured, and the pots that stand open."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.timer import Timer
from textual.widgets import Input

from patina.bench.pots import batches
from patina.bench.recipes import finishes
from patina.errors import Incomplete, PatinaError
from patina.language import shown
from tui import actions
from tui import format as show
from tui.app import STYLES
from tui.screens.finishes import recipe_line
from tui.screens.mix_words import batch_words, mix_words
from tui.screens.place import Place, Shelfful
from tui.screens.release_words import mix_together, pot_together
from tui.widgets.prose import Prose, ProseView
from tui.widgets.record_list import Line
from tui.widgets.words import Label, Static

if TYPE_CHECKING:
    from patina.sheets import BatchSheet, MixSheet

TYPING_PAUSE_S = 0.25
FIELDS = (
    ("area", "Area", "1.8 m2"),
    ("texture", "Texture", "as written"),
    ("passes", "Passes", "as written"),
    ("volume", "Volume", "or 2 L"),
    ("strength", "Strength", "100 %"),
)
WITNESS = "100 mL"
NO_RECIPES = "No recipes yet.\nGo to Finishes (1) and write or take in one."
NO_POTS = "No pot stands open.\nMix a recipe (v changes to the recipes), then press Ctrl+S to keep the pot."


class Bench(Place):
    """The mixing form above, what follows from it below. mix: the last that could be worked out."""

    WHERE = PLACE = "bench"
    CSS_PATH: ClassVar[Any] = STYLES / "screens.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("bench")

    def __init__(self) -> None:
        super().__init__()
        self.mix: MixSheet | None = None
        self.from_shelf = False
        self.witness = False
        self._typing: Timer | None = None

    def on_mount(self) -> None:
        """Say what waits in a journal of this machine."""
        self.work("Journals", self._journals, self._journals_wait, quiet=True)

    def _journals_wait(self, words: str) -> None:
        if words:
            self.notify(words, severity="warning", timeout=20)

    def _journals(self) -> str:
        from patina.bench.torch.offline import waiting
        from tui.dialogs.offline import waiting_at_the_bench

        return waiting_at_the_bench(waiting(self.studio))

    def shelves(self) -> tuple[Shelfful, ...]:
        """Recipes to mix; pots that stand open."""
        return (
            Shelfful(
                "recipes",
                lambda text: finishes.list_recipes(self.studio, text),
                recipe_line,
                lambda id: finishes.recipe_sheet(self.studio, id),
                lambda sheet: Prose(),
                NO_RECIPES,
                lambda most, text: finishes.list_recipes(self.studio, text, limit=most),
            ),
            Shelfful(
                "open pots", self._pots, pot_line, lambda id: batches.batch_sheet(self.studio, id), batch_words, NO_POTS
            ),
        )

    def _pots(self, text: str) -> list[BatchSheet]:
        words = text.lower().split()
        pots = batches.list_batches(self.studio)
        return [p for p in pots if all(w in f"{p.id} {p.recipe} {p.solution}".lower() for w in words)]

    def above_sheet(self) -> ComposeResult:
        """The form."""
        with Vertical(id="mix-form"):
            yield Static(id="mix-recipe", markup=False)
            with Horizontal(id="mix-fields"):
                for key, label, hint in FIELDS:
                    with Vertical(classes="mix-field"):
                        yield Label(label)
                        yield Input(placeholder=shown(hint), id=f"mix-{key}", compact=True)
            yield Static(id="mix-trouble", markup=False)

    def list_for(self, id: str) -> None:
        """Recipes or pots."""
        self.to_list(1 if id[:1].upper() == "B" else 0)

    @property
    def mixing(self) -> bool:
        """Whether the recipes are shown, not the pots."""
        return self.at == 0

    def said_anew(self) -> None:
        """The form belongs to the recipes; nothing is mixed by what stood in it."""
        super().said_anew()
        self.mix = None
        self.query_one("#mix-form").display = self.mixing

    def to_list(self, at: int) -> None:
        """The form belongs to the recipes."""
        super().to_list(at)
        self.query_one("#mix-form").display = self.mixing

    def show_sheet(self, sheet: Any) -> None:
        """Another recipe is worked out with what stands in the form."""
        if not self.mixing:
            super().show_sheet(sheet)
            show_it = self._beside(sheet)
            self.work("Pots open", lambda: pot_together(self.studio, sheet), show_it, quiet=True, key="pots")
            return
        self.query_one("#mix-recipe", Static).update(f"{sheet.recipe.name}: {sheet.recipe.finish}")
        self.query_one("#mix-texture", Input).placeholder = shown(show.plain(sheet.recipe.texture))
        self.mix = None
        self.compute()

    def _beside(self, sheet: BatchSheet) -> Callable[[Prose], None]:
        """Shows below a pot what it must not meet."""

        def show_it(prose: Prose) -> None:
            if sheet is self.sheet:
                self.query_one("#words", ProseView).show(batch_words(sheet).extend(prose))

        return show_it

    def action_log_exposure(self) -> None:
        """Write down who worked with what."""
        from tui.dialogs.exposure import exposure_form

        if self.mixing:
            said = {} if self.sheet is None else {"recipe": self.sheet.id}
        else:
            said = {"batch": self.record_list.chosen or ""}
        form = exposure_form(self.studio, said)
        self.ask(form, lambda row: self.said(f"{row.id}: {row.person}, {show.plain(row.minutes)} min. On record."))

    def focus_sheet(self) -> None:
        """The area is what is asked first; an open pot is only read."""
        self.set_focus(self.query_one("#mix-area" if self.mixing else "#sheet"))

    @on(Input.Changed, "#mix-form Input")
    def _typed(self) -> None:
        self.mix = None  # nothing is kept or printed by what stood there before
        if self._typing is not None:
            self._typing.stop()
        self._typing = self.set_timer(TYPING_PAUSE_S, self.compute)

    @on(Input.Submitted, "#mix-form Input")
    def _entered(self) -> None:
        self.set_focus(self.query_one("#sheet"))

    def compute(self) -> None:
        """Work out the mix for what is typed, in a thread."""
        if self.sheet is None or not self.mixing:
            return
        typed = {key: self.query_one(f"#mix-{key}", Input).value.strip() for key, _, _ in FIELDS}
        if not typed["area"] and not typed["volume"]:
            self._say({})
            self._nothing_yet()
            return
        recipe, shelf, witness = self.sheet.id, self.from_shelf, self.witness
        self.work(
            "Working out the mix",
            lambda: self._mix(recipe, typed, shelf, witness),
            self._mixed,
            self._unmixed,
            key="mix",
            quiet=True,
        )

    def _mix(self, recipe: str, typed: dict[str, str], shelf: bool, witness: bool) -> MixSheet:
        from patina.bench.pots.area_as_typed import area_as_typed
        from patina.bench.pots.mixing import mix

        return mix(
            self.studio,
            recipe,
            area=area_as_typed(typed["area"]) or None,
            texture=typed["texture"] or None,
            passes=whole(typed["passes"]),
            volumes=[v for v in typed["volume"].split(";") if v.strip()],
            strength=typed["strength"] or None,
            witness=WITNESS if witness else None,
            from_shelf=shelf,
        )

    def _nothing_yet(self) -> None:
        self.mix = None
        words = "Write how much bronze there is (1.8 m2, 12 sq ft, 40 x 30 cm), or how much to make (2 L)."
        words += " F3 works the area out: from the weight, a mesh, a maquette, foil, simple shapes."
        self.show_prose(Prose().text(words, "$text-muted"))

    def _mixed(self, mix: MixSheet) -> None:
        self.mix = mix
        self._say({})
        self.show_prose(mix_words(mix))
        recipe, revision = mix.recipe_id or mix.recipe, mix.revision
        self.work(
            "Pots open",
            lambda: mix_together(self.studio, recipe, revision),
            lambda beside: self._warn(mix, beside),
            quiet=True,
            key="together",
        )

    def _warn(self, mix: MixSheet, beside: Prose) -> None:
        """Above what is weighed: what it must not meet of what stands open."""
        if mix is self.mix and beside.pieces:
            self.query_one("#words", ProseView).show(beside.gap().extend(mix_words(mix)))

    def _unmixed(self, trouble: PatinaError) -> None:
        """Said beside the field; the last mix is taken away, so that nobody weighs by it."""
        self.mix = None
        several = trouble.troubles if isinstance(trouble, Incomplete) else (trouble,)
        self._say({t.field or "": f"{t.what} {t.remedy}" for t in several})
        self.query_one("#words", ProseView).show(
            Prose().text("Nothing to weigh until this is put right.", "$text-muted")
        )

    def _say(self, said: dict[str, str]) -> None:
        for key, _, _ in FIELDS:
            self.query_one(f"#mix-{key}").set_class(key in said, "-wrong")
        labels = {key: f"{label}: " for key, label, _ in FIELDS}
        words = "\n".join(f"▲ {labels.get(key, '')}{text}" for key, text in said.items())
        trouble = self.query_one("#mix-trouble", Static)
        trouble.update(words)
        trouble.display = bool(words)

    # -- actions -----------------------------------------------------------------------------------

    def action_from_shelf(self) -> None:
        """Weigh what stands on the shelf, or what the recipe names."""
        self.from_shelf = not self.from_shelf
        self.said("Weighed from the shelf." if self.from_shelf else "Weighed as the recipe names it.")
        self.mix = None
        self.compute()

    def action_witness(self) -> None:
        """Mix a witness more of each solution, or none."""
        self.witness = not self.witness
        self.said(f"{WITNESS} more of each, kept sealed as a witness." if self.witness else "No witness is mixed.")
        self.mix = None
        self.compute()

    def action_measure_area(self) -> None:
        """Work the area out by one of five methods, or two."""
        from tui.dialogs.area import AreaDialog

        if not self.mixing or self.sheet is None:
            self.said("Choose a recipe first: v changes to the recipes.")
        else:
            typed = self.query_one("#mix-area", Input).value
            alloys = self.sheet.recipe.alloys
            alloy = alloys[0] if len(alloys) == 1 else ""
            self.ask(AreaDialog(self.studio, self.sheet.id, typed, alloy), self._measured)

    def _measured(self, found: tuple[str, str]) -> None:
        """The area, and the texture if one was chosen, into the form."""
        for key, words in zip(("area", "texture"), found, strict=True):
            if words:
                self.query_one(f"#mix-{key}", Input).value = words
        self.set_focus(self.query_one("#mix-area"))

    def action_save_batch(self) -> None:
        """Keep a pot as it was mixed."""
        from tui.dialogs.choose import Choose

        if self.mix is None or self.mix.recipe_id is None:
            self.said("There is no mix yet: write an area or a volume first.")
        elif len(self.mix.solutions) == 1:
            self._save(self.mix, 0)
        else:
            mix = self.mix
            options = [(str(n), f"{s.name}, {show.volume(s.volume_ml)}") for n, s in enumerate(mix.solutions)]
            self.ask(Choose("Which pot was mixed?", options), lambda n: self._save(mix, int(n)))

    def _save(self, mix: MixSheet, at: int) -> None:
        from tui.dialogs.stock import batch_form

        self.ask(batch_form(self.studio, mix, mix.solutions[at]), self._saved)

    def _saved(self, sheet: BatchSheet) -> None:
        self.said(f"Kept as {sheet.id}; {show.time_left(sheet.use_until)}.")
        self.show_record(sheet.id)

    def action_print_sheet(self) -> None:
        """Write the batch sheet of the mix, or label and batch sheet of an open pot."""
        from tui.dialogs.printing import print_mix, print_pot

        if not self.mixing:
            if self.sheet is not None:
                print_pot(self, self.sheet.id, self.sheet.solution)
        elif self.mix is None:
            self.said("There is no mix yet: write an area or a volume first.")
        else:
            print_mix(self, self.mix)

    def action_use_pot(self) -> None:
        """Write down what was used from an open pot."""
        from tui.dialogs.stock import use_form

        if self.mixing:
            self.said("Choose an open pot first: v changes to the pots.")
        elif self.chosen_or_say("a pot") is not None and self.sheet is not None:
            self.ask(use_form(self.studio, self.sheet), self._used)

    def action_plot(self) -> None:
        """Plot the strips of the chosen pot."""
        from patina.bench.pots.waste import strip_sheet
        from tui.plots import of_strips
        from tui.screens.plots import show_plots

        pot = self.record_list.chosen
        if self.mixing or pot is None:
            self.said("Choose a pot first: v changes to the pots.")
            return
        nothing = "No strip was dipped into this pot yet: at the torch, x, strip check."
        self.work(
            "Looking at the strips",
            lambda: strip_sheet(self.studio, pot),
            lambda sheet: show_plots(self, of_strips(sheet), nothing),
        )

    def action_torch(self) -> None:
        """To the torch, with what is chosen here."""
        from tui.dialogs.torch import begin

        begin(self, self.record_list.chosen or "", pot=not self.mixing)

    def _used(self, sheet: BatchSheet) -> None:
        self.said(f"{show.volume(sheet.left_ml)} left of {sheet.id}.")
        self.action_read_again()


def pot_line(row: BatchSheet) -> Line:
    """An open pot as the list shows it."""
    left = show.time_left(row.use_until)
    return Line(
        row.id,
        f"{row.id}  {row.solution}",
        f"{show.volume(row.left_ml)} left  {row.recipe}",
        badge=left,
        alarm=left.startswith("PAST"),
    )


def whole(text: str) -> int | None:
    """Passes as typed. Raises BadQuantity beside its field."""
    from patina.errors import BadQuantity

    if not text:
        return None
    if not text.isdecimal():
        raise BadQuantity(f"'{text}' is no whole number.", "Give passes as 1, 2, 3 …", field="passes")
    return int(text)
