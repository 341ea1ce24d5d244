"""`patina setting` and `patina chart`: what the studio remembers of itself and of its charts."""

from __future__ import annotations

from pathlib import Path

import click

from patina.commands.common import Typed, common, say, table, the_studio
from patina.commands.help_words import Group

_EDITIONS = click.Choice(["before-2014", "after-2014", "unknown"])


@click.group(cls=Group)
def chart() -> None:
    """The studio's own charts, by name: `patina read --chart NAME` reads by one."""


@chart.command("add")
@click.argument("name")
@click.option("--edition", type=_EDITIONS, default="unknown", show_default=True, help="Printed on its back.")
@click.option("--values", type=click.Path(path_type=Path), help="Its own measured values: a CSV or CGATS file.")
@common
def chart_add(name: str, edition: str, values: Path | None, studio: str | None, as_json: bool) -> None:
    """Remember the chart NAME with its edition, or with its own values."""
    from patina.bench.readings.charts import add_chart

    with the_studio(studio) as opened:
        kept = add_chart(opened, name, edition=edition, values=values)
    say(as_json, kept.as_json(), f"Remembered: {kept.name}.")


@chart.command("list")
@common
def chart_list(studio: str | None, as_json: bool) -> None:
    """The charts that the studio remembers."""
    from patina.bench.readings.charts import list_charts

    with the_studio(studio) as opened:
        found = list_charts(opened)
    rows = [(one.name, one.edition, "own values" if one.values else "published values") for one in found]
    text = table(rows, ("chart", "edition", "values")) if rows else "No chart is remembered yet."
    say(as_json, {"charts": [one.as_json() for one in found]}, text)


@chart.command("drop")
@click.argument("name")
@common
def chart_drop(name: str, studio: str | None, as_json: bool) -> None:
    """Forget the chart NAME; what was read by it stays as it was."""
    from patina.bench.readings.charts import drop_chart

    with the_studio(studio) as opened:
        drop_chart(opened, name)
    say(as_json, {"dropped": name}, f"Forgotten: {name}.")


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
            rows = [(Typed(one.name), Typed(one.value) if one.value else "not set", one.meaning) for one in found]
            text = table(rows, ("name", "value", "meaning"))
            say(as_json, {"settings": [one.as_json() for one in found]}, text, as_it_is=True)
            return
        one = setting_of(opened, name) if value is None else change_setting(opened, name, value)
    say(as_json, one.as_json(), f"{one.name}: {one.value or 'not set'}")
