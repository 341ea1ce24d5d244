"""`patina waste`: drums, what goes into them, and that one was fetched."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from patina.commands.common import common, say, the_studio
from patina.commands.help_words import Group

if TYPE_CHECKING:
    from patina.sheets import DrumRow


@click.group(cls=Group)
def waste() -> None:
    """Waste drums: what stands in each and what must never join it."""


@waste.command("list")
@common
def waste_list(studio: str | None, as_json: bool) -> None:
    """The drums, what went into each since it was last fetched, and what must never join it."""
    from patina.bench.pots.waste import list_drums

    with the_studio(studio) as opened:
        rows = list_drums(opened)
    text = "\n".join(_words(row) for row in rows) or "No drum is on record. patina waste into DRUM puts something in."
    say(as_json, {"drums": [row.as_json() for row in rows]}, text)


@waste.command("into")
@click.argument("drum")
@click.option("--what", required=True, help="What goes in: 'left over', 'first rinse water', 'rags'.")
@click.option("--amount", required=True, help="With its unit: '120 mL', '2 kg'.")
@click.option("--batch", help="The pot it is poured from, which then holds that much less.")
@click.option("--substance", "substances", multiple=True, help="What is in it, for anything else; once for each.")
@click.option("--note", default="")
@common
def waste_into(
    drum: str,
    what: str,
    amount: str,
    batch: str | None,
    substances: tuple[str, ...],
    note: str,
    studio: str | None,
    as_json: bool,
) -> None:
    """Put something into DRUM; what must never share it is refused before anything is written."""
    from patina.bench.forms import amount_and_unit
    from patina.bench.pots.waste import log_waste

    figure, unit = amount_and_unit(amount, "amount")
    with the_studio(studio) as opened:
        row = log_waste(opened, drum, what, figure, unit, batch=batch, substances=substances, note=note)
    say(as_json, row.as_json(), _words(row))


@waste.command("fetched")
@click.argument("drum")
@click.argument("note")
@common
def waste_fetched(drum: str, note: str, studio: str | None, as_json: bool) -> None:
    """DRUM was fetched: NOTE names the carrier and its paper. From then on it stands empty."""
    from patina.bench.pots.waste import empty_drum

    with the_studio(studio) as opened:
        row = empty_drum(opened, drum, note)
    say(as_json, row.as_json(), _words(row))


def _words(row: DrumRow) -> str:
    held = [f"{v:g} {u}" for v, u in ((row.volume_ml, "mL"), (row.mass_g, "g")) if v]
    lines = [f"{row.drum}: {' and '.join(held) or 'empty'}", *(f"  {line}" for line in row.contents)]
    lines += [f"  ▲ never with {line}" for line in row.never_with]
    return "\n".join([*lines, *(f"  fetched {line}" for line in row.fetched)])
