"""`patina` and `patina demo`: the screens."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import click

from patina.commands.common import common, named_studio, said_name, say
from patina.errors import Refused


def _in_a_terminal() -> bool:
    """Also where a browser stands in for the terminal."""
    in_browser = "web_driver" in os.environ.get("TEXTUAL_DRIVER", "")
    return in_browser or (sys.stdin.isatty() and sys.stdout.isatty())


def open_screens(where: str | None) -> None:
    """Open the screens on a studio and stay there until the person leaves. Raises Refused without a terminal."""
    if not _in_a_terminal():
        raise Refused(
            "The screens need a terminal, and there is none here.",
            "Start patina in a terminal window, or give a command: see 'patina --help'.",
        )
    from tui.start import begin

    begin()
    from patina.bench.studio import open_studio
    from tui.app import run

    with open_studio(named_studio(where), as_name=said_name()) as studio:
        answer = run(studio)
    if answer is not None:
        from patina.demo.studio import make_demo

        demo_studio = make_demo(None, lambda words: click.echo(f"Making the demo studio: {words} …", err=True))
        click.echo(f"The demo studio is in {demo_studio}.", err=True)
        open_screens(str(demo_studio))


@click.command()
@click.argument("directory", required=False, type=click.Path(path_type=Path, file_okay=False))
@click.option("--no-screen", is_flag=True, help="Only make the demo studio.")
@common
def demo(directory: Path | None, no_screen: bool, studio: str | None, as_json: bool) -> None:
    """Make an invented studio (in DIRECTORY, or a temporary one) and open the screens on it.

    Where there is no terminal it is only made.
    """
    from patina.demo.studio import make_demo

    if studio is not None and directory is None:
        directory = Path(named_studio(studio) or studio)
    tell = None if as_json else lambda words: click.echo(f"Making the demo studio: {words} …", err=True)
    where = make_demo(directory, tell)
    if no_screen or as_json or not _in_a_terminal():
        say(as_json, {"studio": str(where)}, f"The demo studio is in {where}. Open it with: patina --studio '{where}'")
        return
    open_screens(str(where))
