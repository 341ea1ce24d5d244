"""`patina setting`: what the studio remembers of itself."""

from __future__ import annotations

import click

from patina.commands.common import common, say, table, the_studio


@click.command()
@click.argument("name", required=False)
@click.argument("value", required=False)
@common
def setting(name: str | None, value: str | None, studio: str | None, as_json: bool) -> None:
    """List the studio's settings, show the one called NAME, or set it to VALUE."""
    from patina.bench.settings import change_setting, list_settings, setting_of

    with the_studio(studio) as opened:
        if name is None:
            found = list_settings(opened)
            rows = [(one.name, one.value or "not set", one.meaning) for one in found]
            say(as_json, {"settings": [one.as_json() for one in found]}, table(rows, ("name", "value", "meaning")))
            return
        one = setting_of(opened, name) if value is None else change_setting(opened, name, value)
    say(as_json, one.as_json(), f"{one.name}: {one.value or 'not set'}")
