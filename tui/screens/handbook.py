"""The handbook on screen: topics on the left, the chosen one on the right."""

from __future__ import annotations

from textwrap import wrap
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import Markdown, OptionList

from patina.handbook import Topic, topics
from patina.language import reader
from tui import actions
from tui.app import STYLES
from tui.screens.base import Base
from tui.widgets.words import Option

# the topic that belongs to the screen it was asked on
_NEAR = {
    "finishes": "recipes",
    "recipe": "recipes",
    "bench": "mixing",
    "torch": "torch",
    "tiles": "photographs",
    "photograph": "photographs",
    "areas": "photographs",
    "points": "photographs",
    "change": "photographs",
    "look": "photographs",
    "reading": "photographs",
    "comparing": "colour",
    "map": "colour",
    "edge": "colour",
    "casts": "agreed-finishes",
    "series": "agreed-finishes",
    "treatment-map": "treatments",
    "safety": "safety",
    "shelf": "mixing",
    "treatment": "treatments",
    "bringing": "bringing-in",
    "history": "records",
    "plots": "agreed-finishes",
}


_TOPIC_CELLS = 26


def _hanging(title: str) -> str:
    """A title of more than one line, so that one sees where the next one begins."""
    return "\n".join(wrap(title, _TOPIC_CELLS, subsequent_indent="  "))


class Handbook(Base):
    """Every topic of the handbook. asked_on: the screen it was opened from, whose topic is shown first."""

    WHERE = "handbook"
    CSS_PATH: ClassVar[Any] = STYLES / "handbook.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("handbook")

    def __init__(self, asked_on: str = "") -> None:
        super().__init__()
        self.topics: tuple[Topic, ...] = topics(reader().language)
        self.first = self._at(_NEAR.get(asked_on, ""))

    def _at(self, name: str) -> int:
        names = [t.name for t in self.topics]
        return names.index(name) if name in names else 0

    async def say_anew(self) -> None:
        """Another language: the topics as they are told in it, at the one that is open."""
        at = self.query_one("#topics", OptionList).highlighted
        open_one = self.topics[at].name if at is not None else ""
        self.topics = topics(reader().language)
        self.first = self._at(open_one)
        await self.recompose()
        self.on_mount()

    def body(self) -> ComposeResult:
        """The list and the text."""
        with Horizontal(id="handbook"):
            yield OptionList(*(Option(_hanging(t.title), id=t.name) for t in self.topics), id="topics")
            with VerticalScroll(id="topic"):
                yield Markdown(id="topic-text", open_links=False)

    def on_mount(self) -> None:
        """Show the topic that belongs to the screen it was opened from."""
        chosen = self.query_one("#topics", OptionList)
        chosen.highlighted = self.first
        chosen.focus()

    @on(OptionList.OptionHighlighted, "#topics")
    async def _turn(self, event: OptionList.OptionHighlighted) -> None:
        text = "\n".join(line for line in self.topics[event.option_index].text.splitlines() if line[:2] != "![")
        await self.query_one(Markdown).update(text)
        self.query_one("#topic", VerticalScroll).scroll_home(animate=False)

    @on(OptionList.OptionSelected, "#topics")
    def _into(self) -> None:
        self.query_one("#topic", VerticalScroll).focus()

    def action_back(self) -> None:
        """From the text to the topics, from the topics back to where it was opened."""
        if self.query_one("#topic", VerticalScroll).has_focus:
            self.query_one("#topics", OptionList).focus()
        else:
            self.dismiss(None)
