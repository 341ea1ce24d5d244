"""Textual's widgets that hold words, saying them as the reader reads (see ``patina.language``)."""

from __future__ import annotations

from typing import Any

from textual import widgets
from textual.content import Content
from textual.widgets import option_list

from patina.language import shown


def said(words: Any) -> Any:
    """Text as the reader reads it; anything else as it is."""
    return shown(words) if isinstance(words, str) else words


class Static(widgets.Static):
    """Words or content that may be changed."""

    def __init__(self, content: Any = "", **options: Any) -> None:
        super().__init__(said(content), **options)
        self.as_given = content

    def update(self, content: Any = "", **options: Any) -> None:
        """Other words."""
        self.as_given = content
        super().update(said(content), **options)

    def say_anew(self) -> None:
        """The same words as the reader reads by now."""
        if isinstance(self.as_given, str):
            self.update(self.as_given)


class Label(widgets.Label):
    """A label."""

    def __init__(self, content: Any = "", **options: Any) -> None:
        super().__init__(said(content), **options)
        self.as_given = content

    def update(self, content: Any = "", **options: Any) -> None:
        """Other words."""
        self.as_given = content
        super().update(said(content), **options)

    def say_anew(self) -> None:
        """The same words as the reader reads by now."""
        if isinstance(self.as_given, str):
            self.update(self.as_given)


class Button(widgets.Button):
    """A button."""

    def __init__(self, label: Any = None, *places: Any, **options: Any) -> None:
        super().__init__(said(label), *places, **options)
        self.as_given = label

    def say_anew(self) -> None:
        """The same words as the reader reads by now."""
        if isinstance(self.as_given, str):
            self.label = said(self.as_given)


class Option(option_list.Option):
    """A line of a list of choices."""

    def __init__(self, prompt: Any, **options: Any) -> None:
        super().__init__(said(prompt), **options)
        self.as_given = prompt


def say_options_anew(choices: widgets.OptionList) -> None:
    """Every choice of a list as the reader reads by now; what is chosen stays."""
    for at, option in enumerate(choices.options):
        if isinstance(option, Option) and isinstance(option.as_given, str):
            choices.replace_option_prompt_at_index(at, said(option.as_given))


def words(text: str, style: str = "") -> Content:
    """Plain text in a style, as the reader reads it; nothing in it is taken for markup."""
    return Content.styled(shown(text), style) if style else Content(shown(text))
