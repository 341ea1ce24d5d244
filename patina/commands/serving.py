"""`patina serve`: the screens in a browser."""

from __future__ import annotations

import sys

import click

from patina.commands.common import common, name_of_studio, say, the_studio


@click.command()
@click.option("--port", type=click.IntRange(1, 65535), default=8023, show_default=True, help="Where to listen.")
@click.option("--host", default="127.0.0.1", show_default=True, help="Another address needs a token.")
@click.option("--token", envvar="PATINA_TOKEN", help="What a browser must show; better set as PATINA_TOKEN.")
@common
def serve(port: int, host: str, token: str | None, studio: str | None, as_json: bool) -> None:
    """Show the same screens in a browser on this machine, until Ctrl+C.

    Only this machine may come in unless a token is set.
    """
    from tui import serving

    serving.check_door(host, token)
    with the_studio(studio) as opened:
        where = name_of_studio(studio) or str(opened.where)
    address = f"http://{f'[{host}]' if ':' in host else host}:{port}/"
    shown = address + ("?token=…" if token else "")
    say(as_json, {"address": address, "token": token is not None}, f"The studio is at {shown}  Ctrl+C ends it.")
    sys.stdout.flush()
    serving.serve(where, host=host, port=port, token=token)
