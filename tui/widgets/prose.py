"""A sheet's text: headings, facts, bullets and colour blocks, laid out with hanging indents."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import wraps
from typing import Any, TypeVar, cast

from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

from patina.bench.readings.showing import near_only
from patina.language import shown
from patina.sheets import Lab
from tui import format as show
from tui.few_colours import in_use, measured
from tui.widgets.words import words

Piece = tuple[Content, Content, Content]  # before the first line, before the others, the text
LABEL = 15


def ink(text: str, style: str = "") -> Content:
    """Plain text in a style; nothing in it is taken for markup."""
    return words(text, style)


Method = TypeVar("Method", bound=Callable[..., "Prose"])


def _said(method: Method) -> Method:
    """What is said stays known as it was given, so that it can be said anew in another language."""

    @wraps(method)
    def remembered(self: Prose, *args: Any, **options: Any) -> Prose:
        args = tuple(tuple(a) if isinstance(a, Iterator) else a for a in args)
        outer, self.inner = self.inner, True
        if not outer:
            self.told.append((method.__name__, args, options))
        try:
            return method(self, *args, **options)
        finally:
            self.inner = outer

    return cast("Method", remembered)


class Prose:
    """What a sheet says, in order. Each method adds something and gives the prose back."""

    def __init__(self) -> None:
        self.pieces: list[Piece] = []
        self.told: list[tuple[str, tuple[Any, ...], dict[str, Any]]] = []
        self.inner = False  # one method is called by another

    def anew(self) -> Prose:
        """The same, as the reader reads by now."""
        prose = Prose()
        for name, args, options in self.told:
            getattr(prose, name)(*(a.anew() if isinstance(a, Prose) else a for a in args), **options)
        return prose

    def _add(self, first: Content, rest: Content, body: Content) -> Prose:
        self.pieces.append((first, rest, body))
        return self

    @_said
    def gap(self) -> Prose:
        """An empty line, never two."""
        if self.pieces and (self.pieces[-1][2].plain or self.pieces[-1][0].plain):
            self._add(ink(""), ink(""), ink(""))
        return self

    @_said
    def title(self, text: str, beside: str = "") -> Prose:
        """The name of the record."""
        body = ink(text, "bold $primary")
        return self._add(ink(""), ink(""), body + ink(f"  {beside}", "$text-muted") if beside else body)

    @_said
    def heading(self, text: str) -> Prose:
        """A section."""
        self.gap()
        return self._add(ink(""), ink(""), ink(text, "bold $accent"))

    @_said
    def text(self, text: str, style: str = "", indent: int = 0) -> Prose:
        """A paragraph."""
        pad = ink(" " * indent)
        return self._add(pad, pad, ink(text, style))

    @_said
    def fact(self, label: str, value: str, style: str = "") -> Prose:
        """A figure or word with its label in front."""
        if not value:
            return self
        said = shown(label)
        name = f"{said:<{LABEL}} " if len(said) <= LABEL else f"{said}  "
        return self._add(Content.styled(name, "$text-muted"), ink(" " * (LABEL + 1)), ink(value, style))

    @_said
    def clickable(self, label: str, value: str, action: str) -> Prose:
        """A line that does something when it is clicked; action: as a binding names it, such as "screen.back()"."""
        said = shown(label)
        name = Content.styled(f"{said:<{LABEL}} ", "$text-muted")
        body = Content.from_markup(f"[@click={action}]$words[/]", words=shown(value))
        return self._add(name, ink(" " * (LABEL + 1)), body)

    @_said
    def bullets(self, items: Iterable[str], sign: str = "\N{BULLET}", style: str = "") -> Prose:
        """Things in no order."""
        for item in items:
            self._add(ink(f" {sign} ", style or "$accent"), ink("   "), ink(item, style))
        return self

    @_said
    def numbered(self, items: Iterable[str]) -> Prose:
        """Things in order."""
        for n, item in enumerate(items, 1):
            self._add(ink(f"{n:>2}. ", "$accent"), ink("    "), ink(item))
        return self

    @_said
    def weighed(self, amount: str, what: str, beneath: str = "") -> Prose:
        """Something to weigh: the amount first, large enough to be found with a finger."""
        self._add(ink(f"{amount:>12}  ", "bold $primary"), ink(" " * 14), ink(what, "bold"))
        if beneath:
            self._add(ink(" " * 14), ink(" " * 14), ink(beneath, "$text-muted"))
        return self

    @_said
    def caution(self, text: str, do: str = "", *, grave: bool = False) -> Prose:
        """A warning, with a sign so that colour is not needed to see it."""
        style = "$text-error" if grave else "$text-warning"
        sign = "\N{BLACK UP-POINTING TRIANGLE}" + ("!" if grave else " ")
        body = ink(text, style)
        return self._add(ink(f" {sign} ", f"bold {style}"), ink("    "), body + ink(f" {do}") if do else body)

    @_said
    def colour(self, lab: Lab, beside: str = "", beneath: str = "") -> Prose:
        """A colour block of two lines with its figures and words beside it."""
        shade = f"on {measured(lab)}"
        block = Content.styled(" " * 10, shade)
        words = show.colour_words(lab.L, lab.a, lab.b)
        if near_only(lab) or in_use():
            words += " (this screen only comes near)"
        figures = ink(show.lab(lab.L, lab.a, lab.b), "bold") + (ink(f"  {beside}") if beside else ink(""))
        self._add(block + ink("  "), block + ink("  "), figures)
        under = ink(words) + (ink("; ", "$text-muted") + ink(beneath, "$text-muted") if beneath else ink(""))
        return self._add(block + ink("  "), ink(" " * 12), under)

    @_said
    def pair(self, before: Lab, after: Lab, beside: str, beneath: str, *, sure: bool) -> Prose:
        """Two colours that touch, the earlier on the left; what is said of their difference beside them."""
        blocks = Content.styled(" " * 8, f"on {measured(before)}") + Content.styled(" " * 8, f"on {measured(after)}")
        self._add(blocks + ink("  "), blocks + ink("  "), ink(beside, "bold" if sure else ""))
        return self._add(blocks + ink("  "), ink(" " * 18), ink(beneath, "" if sure else "$text-muted"))

    @_said
    def parts(self, parts: Iterable[tuple[Lab, float]]) -> Prose:
        """The tones of an uneven surface."""
        for tone, share in parts:
            block = Content.styled("    ", f"on {measured(tone)}")
            text = f"{show.percent(share * 100, 0)}  {show.lab(tone.L, tone.a, tone.b)}"
            self._add(ink(" " * 6) + block + ink("  "), ink(" " * 12), ink(text))
        return self

    @_said
    def bar(self, parts: Iterable[tuple[Lab, float]], cells: int = 40) -> Prose:
        """The tones of a surface as one bar, each as long as its share."""
        line, done, until = ink(""), 0, 0.0
        for tone, share in parts:
            until += share
            line += Content.styled(" " * (round(until * cells) - done), f"on {measured(tone)}")
            done = round(until * cells)
        return self._add(ink(" " * 6), ink(" " * 6), line)

    @_said
    def extend(self, other: Prose) -> Prose:
        """Everything another prose says, after this; a heading in it is set off."""
        if other.pieces and other.pieces[0][2].plain and "bold $accent" in str(other.pieces[0][2].spans):
            self.gap()
        self.pieces += other.pieces
        return self

    def lines(self, width: int) -> list[Content]:
        """Laid out for a width in cells."""
        laid: list[Content] = []
        for first, rest, body in self.pieces:
            room = max(width - first.cell_length, 8)
            wrapped = body.wrap(room) if body.plain else [body]
            laid += [(first if n == 0 else rest) + line.rstrip() for n, line in enumerate(wrapped)]
        return laid

    @property
    def plain(self) -> str:
        """Its words without layout, one piece a line."""
        return "\n".join((first + body).plain for first, _, body in self.pieces)


class ProseView(Widget):
    """Shows a prose at whatever width there is."""

    DEFAULT_CSS = "ProseView { height: auto; width: 1fr; text-wrap: nowrap; }"

    def __init__(self, prose: Prose | None = None, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.prose = prose or Prose()
        self._laid: dict[tuple[int, int], list[Content]] = {}

    def show(self, prose: Prose) -> None:
        """Show another prose."""
        self.prose = prose
        self._laid.clear()
        self.refresh(layout=True)

    def say_anew(self) -> None:
        """The same words as the reader reads by now."""
        self.show(self.prose.anew())

    def get_content_width(self, container: Size, viewport: Size) -> int:
        """All there is."""
        return container.width

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many lines as the words need."""
        return max(len(self._lines(width)), 1)

    def render(self) -> Content:
        """The words, laid out."""
        return Content("\n").join(self._lines(self.content_size.width or 40))

    def _lines(self, width: int) -> list[Content]:
        """Laid out once for each width: the height is asked for several times before anything is drawn."""
        at = (len(self.prose.pieces), width)
        if at not in self._laid:
            self._laid[at] = self.prose.lines(width)
        return self._laid[at]
