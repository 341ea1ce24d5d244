"""`patina strength`: what the words of an old recipe can mean in g/L."""

from __future__ import annotations

import click

from patina.commands.common import common, say, studio_if_named


@click.command()
@click.argument("words")
@click.argument("substance")
@click.option("--in", "volume", help="What it goes into, where the words do not say it: '250 mL'.")
@common
def strength(words: str, substance: str, volume: str | None, studio: str | None, as_json: bool) -> None:
    """What WORDS of an old recipe ("2 tsp per US pint", "8 deg Baume") mean of SUBSTANCE, in g/L."""
    from patina.bench.recipes.old import old_strength

    with studio_if_named(studio) as opened:
        found = old_strength(opened, words, substance, volume=volume)
    said = "One figure." if found.certain else "Begin with test tiles at both ends; it is no single figure."
    say(as_json, found.as_json(), f"{found.as_written} of {found.substance}: {found.words}\n{said}")
