"""``--help`` in the reader's language: the texts stay English in the source and are said when help is asked for."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

import click

from patina.language import help_text

_EXTRAS = re.compile(r"(^|  )\[([^\[\]]+)\]$")
_DEFAULT = "default: "


class Formatter(click.HelpFormatter):
    """Writes help as the reader reads it; names of commands, options and placeholders are what they are."""

    def write_usage(self, prog: str, args: str = "", prefix: str | None = None) -> None:
        """The line that shows how the command is written."""
        super().write_usage(prog, args, f"{help_text('Usage:')} " if prefix is None else prefix)

    def write_heading(self, heading: str) -> None:
        """A heading such as Options."""
        super().write_heading(help_text(heading))

    def write_text(self, text: str) -> None:
        """What a command is for."""
        super().write_text(help_text(text))

    def write_dl(self, rows: Iterable[tuple[str, str]], col_max: int = 30, col_spacing: int = 2) -> None:
        """Options, arguments or commands, each with what it is for."""
        super().write_dl([(name, _said(text)) for name, text in rows], col_max, col_spacing)


def _said(text: str) -> str:
    extras = _EXTRAS.search(text)
    if extras is None:
        return help_text(text)
    said = "; ".join(_extra(one) for one in extras[2].split("; "))
    return f"{help_text(text[: extras.start()])}{extras[1]}[{said}]"


def _extra(one: str) -> str:
    if one.startswith(_DEFAULT):
        return help_text(_DEFAULT + "{0}").replace("{0}", one.removeprefix(_DEFAULT))
    return help_text(one)


class Context(click.Context):
    """What a command is called with; it speaks the language that counts where it is called."""

    formatter_class = Formatter

    def make_formatter(self) -> click.HelpFormatter:
        """A writer of help; the language is looked for now, and not before."""
        choose_language(self.find_root().obj)
        return super().make_formatter()

    def invoke(self, *given: Any, **named: Any) -> Any:
        """Do the command. Also one that opens no studio answers in the language of the one that is meant."""
        if given and given[0] is self.command.callback and not isinstance(self.command, click.Group):
            choose_language(
                {**(self.find_root().obj or {}), **({"studio": said} if (said := named.get("studio")) else {})}
            )
        return super().invoke(*given, **named)


def choose_language(called: object) -> None:
    """Read as the studio says that a command was called with, where no studio was opened.

    called: the words of the command line under "words", and the studio named in front of the command under "studio".
    """
    from patina.bench.settings import read_as_named

    said = called if isinstance(called, dict) else {}
    read_as_named(said.get("studio") or _named_in(said.get("words", ())))


def _named_in(words: Iterable[str]) -> str | None:
    """The word behind --studio, wherever it stands: help is asked for before options are read."""
    named = None
    for before, word in zip(["", *words], words, strict=False):
        named = word if before == "--studio" else word.partition("=")[2] if word.startswith("--studio=") else named
    return named


class Group(click.Group):
    """A group of commands whose help is said in the reader's language."""

    context_class = Context

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name."""
        command = super().get_command(ctx, cmd_name)
        if command is not None:
            command.context_class = Context
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The commands, each with the first sentence of what it is for."""
        commands = [(name, self.get_command(ctx, name)) for name in self.list_commands(ctx)]
        shown = [(name, command) for name, command in commands if command is not None and not command.hidden]
        limit = formatter.width - 6 - max((len(name) for name, _ in shown), default=0)
        if shown:
            with formatter.section("Commands"):
                formatter.write_dl([(name, _short(command, limit)) for name, command in shown])


def _short(command: click.Command, limit: int) -> str:
    from inspect import cleandoc

    brief = click.Command(command.name, help=help_text(cleandoc(command.help or "")))
    return brief.get_short_help_str(limit)
