"""How much bronze there is: five methods, the sums and their doubt as one types, two of them reconciled."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll
from textual.timer import Timer
from textual.widgets import Input

from patina.bench.finding.names import alloy_names
from patina.bench.pots import area as deeds
from patina.bench.pots.area_as_typed import begin_with
from patina.errors import PatinaError
from patina.language import shown
from tui import format as show
from tui.dialogs.base import Dialog
from tui.dialogs.form import Field, FieldInput
from tui.widgets.prose import Prose, ProseView
from tui.widgets.words import Label

if TYPE_CHECKING:
    from patina.bench.pots.area import TextureOffer
    from patina.bench.studio import Studio
    from patina.surface.area import AreaEstimate

PAUSE_S = 0.2
LABELS = {
    "weight": "weight and wall",
    "mesh": "mesh file",
    "enlarge": "enlargement",
    "wrap": "foil or paper",
    "shapes": "simple shapes",
}
ASKED = (
    ("weight", "mass", "Weight", "96 kg"),
    ("weight", "wall", "Wall", "5 mm"),
    ("weight", "alloy", "Alloy", "C87300"),
    ("weight", "solids", "Solid parts", "4 kg: armature, base; empty: not known"),
    ("mesh", "file", "File", "heron.stl, .obj or .ply"),
    ("mesh", "unit", "Its unit", "mm: never guessed"),
    ("mesh", "enlarge", "Enlarged", "4: length of the cast over that of the model"),
    ("enlarge", "area", "Maquette's area", "0.062 m2"),
    ("enlarge", "from", "  its height", "450 mm"),
    ("enlarge", "to", "Cast's height", "1800 mm"),
    ("wrap", "foil", "Foil used", "310 g"),
    ("wrap", "thickness", "  its thickness", "0.015 mm"),
    ("wrap", "paper", "or paper used", "168 g"),
    ("wrap", "per_m2", "  1 m² of it", "80 g"),
    ("wrap", "overlap", "Lies double", "30 %"),
    ("shapes", "sketch", "Shapes", "sphere 0.20 m; 2 cylinder 0.09 m x 0.68 m"),
)


class AreaDialog(Dialog[tuple[str, str]]):
    """The answer is the area as it stands in a field ("2.16 m2") and the texture chosen, "" where none was.

    typed: what stood in the field for the area; a weight or shapes are taken over. alloy: where only one can be meant.
    first: what the method kept before gave. found: what the present method gives; taken: what both come to.
    """

    BINDINGS: ClassVar[list[Any]] = [
        Binding("ctrl+s", "take", "Take", priority=True),
        Binding("ctrl+n", "beside", "Second method", priority=True),
    ]
    HEADING = "How much bronze there is"
    YES = "Take (Ctrl+S)"

    def __init__(self, studio: Studio, recipe: str | None, typed: str = "", alloy: str = "") -> None:
        super().__init__()
        self._typed_before, self._alloy = typed, alloy
        self._studio = studio
        self._recipe = recipe
        self._pause: Timer | None = None
        self._offers: tuple[TextureOffer, ...] = ()
        self.first: AreaEstimate | None = None
        self.found: AreaEstimate | None = None
        self.taken: AreaEstimate | None = None

    def body(self) -> ComposeResult:
        """The method, its fields, the texture, and the sums below."""
        self._offers = deeds.texture_offers(self._studio, self._recipe)
        with VerticalScroll(id="area-fields", can_focus=False):
            yield from self._field(Field("method", "Method", "1 to 5", LABELS["weight"], tuple(LABELS.values())))
            for method, key, label, hint in ASKED:
                choices = alloy_names() if key == "alloy" else ("mm", "cm", "m", "in", "ft") if key == "unit" else ()
                known = self._alloy if key == "alloy" else ""
                yield from self._field(Field(f"{method}-{key}", label, hint, known, choices), method)
            words = tuple(f"{offer.factor:.3g}" for offer in self._offers)
            yield from self._field(Field("texture", "Texture", "empty: the recipe's", "", words))
        with VerticalScroll(id="area-said", can_focus=False):
            yield ProseView(id="area-words")

    def _field(self, field: Field, method: str = "") -> ComposeResult:
        with Horizontal(classes=f"field-row of-method of-{method}" if method else "field-row"):
            yield Label(shown(field.label) + (" ↕" if field.choices else ""), markup=False)
            yield FieldInput(field)

    def on_mount(self) -> None:
        """Begin with the method."""
        self.query_one("#field-method").focus()
        if begun := begin_with(self._typed_before):
            self.query_one("#field-method", FieldInput).put(LABELS[begun.method])
            self.query_one(f"#field-{begun.method}-{begun.key}", FieldInput).value = begun.words
        self._show_method()
        self._to_empty()
        self.compute()

    def _to_empty(self) -> None:
        """On to the first field of the method that is empty, where one is filled in already."""
        fields = [f for f in self.query(FieldInput) if f.id and f.id.startswith(f"field-{self.method}-")]
        if any(f.value for f in fields if f.field.key != "weight-alloy"):
            next((f for f in fields if not f.value), fields[0]).focus()

    @property
    def method(self) -> str:
        """The method that stands in its field, by its words, its number or its beginning; "" where none does."""
        typed = self.query_one("#field-method", FieldInput).meant.casefold()
        for n, (key, label) in enumerate(LABELS.items(), 1):
            if typed and (typed == str(n) or label.startswith(typed) or key.startswith(typed)):
                return key
        return ""

    def _show_method(self) -> None:
        for row in self.query(".of-method"):
            row.display = row.has_class(f"of-{self.method}")

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        event.stop()
        if event.input.id == "field-method":
            if event.input.value in tuple("12345"):
                self.query_one("#field-method", FieldInput).put(LABELS[self.method])
            self._show_method()
        self.found = self.taken = None  # nothing is taken by what stood there before
        if self._pause is not None:
            self._pause.stop()
        self._pause = self.set_timer(PAUSE_S, self.compute)

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        self.focus_next(FieldInput)

    def compute(self) -> None:
        """Work the area out from what is typed, in a thread: a mesh may take a while."""
        method = self.method
        if not method:
            self._told(Prose().text(_methods(), "$text-muted"))
            return
        typed = {key: self.query_one(f"#field-{m}-{key}", FieldInput).meant for m, key, _, _ in ASKED if m == method}
        if not any(text.strip() for key, text in typed.items() if key != "unit"):
            self._told(Prose().text(_methods(), "$text-muted"))
            return

        def if_here(then: Callable[[Any], None]) -> Callable[[Any], None]:
            return lambda result: then(result) if self.is_attached else None

        self.patina.jobs.start(
            "Working out the area",
            lambda _: deeds.by_form(method, typed),
            if_here(self._found),
            if_here(self._failed),
            quiet=True,
            key="area",
        )

    def _found(self, estimate: AreaEstimate) -> None:
        self.found = self.taken = estimate
        prose = _estimate(estimate)
        if self.first is not None:
            try:
                self.taken = deeds.reconciled(self.first, estimate)
            except PatinaError as trouble:
                self.taken = None
                stop = Prose().fact("by " + estimate.method, _figure(estimate))
                prose = stop.caution(trouble.what, trouble.remedy, grave=True).text(estimate.working, "$text-muted")
            else:
                prose.extend(_estimate(self.taken))
        self._told(prose)

    def _failed(self, trouble: PatinaError) -> None:
        self.found = self.taken = None
        self._told(Prose().text(f"▲ {trouble.what} {trouble.remedy}", "$text-error"))

    def _told(self, prose: Prose) -> None:
        whole = Prose()
        if self.first is not None:
            whole.fact("first", f"by {self.first.method}, {_figure(self.first)}", "bold")
        whole.extend(prose)
        if (texture := self._texture()) is not None:
            whole.fact("texture", f"{texture.factor:.3g}: {texture.words}")
        if self.found is not None and self.first is None:
            whole.text("Ctrl+N works it out once more by another method, beside this one.", "$text-muted")
        self.query_one("#area-words", ProseView).show(whole)

    def _texture(self) -> TextureOffer | None:
        typed = self.query_one("#field-texture", FieldInput).meant
        return next((offer for offer in self._offers if f"{offer.factor:.3g}" == typed), None)

    def action_beside(self) -> None:
        """Keep this area and work it out once more, by another method."""
        if self.found is None:
            self.notify("Work out one area first.", timeout=4)
            return
        self.first, self.found, self.taken = self.found, None, None
        field = self.query_one("#field-method", FieldInput)
        field.put(next(label for key, label in LABELS.items() if key != self.method))
        field.focus()

    def agreed(self) -> None:
        """The button."""
        self.action_take()

    def action_take(self) -> None:
        """Take the area, of both methods where there are two, and the texture chosen."""
        if self.taken is None:
            self.notify("There is no area to take yet: see below what is missing or wrong.", timeout=4)
            return
        texture = self.query_one("#field-texture", FieldInput).meant
        self.dismiss((f"{self.taken.area_m2:.4g} m2", texture))


def _methods() -> str:
    return "Methods: " + ", ".join(f"{n} {label}" for n, label in enumerate(LABELS.values(), 1)) + "."


def _figure(estimate: AreaEstimate) -> str:
    return f"{show.area(estimate.area_m2)} ± {show.percent(estimate.uncertainty_pct, 0)}"


def _estimate(estimate: AreaEstimate) -> Prose:
    prose = Prose().fact("by " + estimate.method if estimate.method != "reconciled" else "of both", _figure(estimate))
    prose.text(estimate.working, "$text-muted")
    for warning in estimate.warnings:
        prose.caution(warning.text)
    return prose
