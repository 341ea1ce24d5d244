"""`patina lines`: the studio line by line."""

from __future__ import annotations

import sys
from contextlib import redirect_stderr, redirect_stdout
from io import StringIO

import click

from patina.commands.common import common, name_of_studio, say, the_studio
from patina.errors import Refused


@click.command()
@common
def lines(studio: str | None, as_json: bool) -> None:
    """Use the studio line by line: plain text for screen readers and slow lines.

    Lines are read from standard input until 'quit'.
    """
    from tui.lines.talk import Talk

    where = name_of_studio(studio)
    with the_studio(studio) as opened:
        talk = Talk(opened, lambda words: _run(where, words))
        _tell(as_json, talk.greeting())
        while True:
            if not as_json:
                sys.stdout.write("> ")
                sys.stdout.flush()
            line = sys.stdin.readline()
            if not line or line.strip() == "quit":
                return
            if line.strip():
                _tell(as_json, talk.answer(line))


def _tell(as_json: bool, told: list[str]) -> None:
    say(as_json, {"lines": told}, "\n".join(told), as_it_is=True)
    sys.stdout.flush()


def _run(where: str | None, words: list[str]) -> str:
    """Carry out a command as if it had been typed, and give back what it printed."""
    root = click.get_current_context().find_root().command
    before = ["--studio", where] if where else []
    said = StringIO()
    with redirect_stdout(said), redirect_stderr(said):
        try:
            root.main(args=[*before, *words], prog_name="patina", standalone_mode=False)
        except click.exceptions.Exit:
            pass
        except click.ClickException as trouble:
            raise Refused(f"'{' '.join(words)}' was not understood: {trouble.format_message()}", "Say help.") from None
    return said.getvalue()
