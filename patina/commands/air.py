"""`patina air`, `patina dangers`, `patina thresholds`: what the air holds, what must not meet, where classes begin."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from patina.commands.common import common, say, studio_for, the_studio

if TYPE_CHECKING:
    from patina.sheets.air import AirLine, AirSheet


@click.command()
@click.argument("recipe")
@click.option("--room", required=True, help="The room, with its unit: '60 m3'.")
@click.option("--changes", help="Air changes an hour: 6.")
@click.option("--hood", help="What an extraction draws: '0.5 m3/s'.")
@click.option("--area", help="The bronze to be coloured: '1.8 m2'.")
@click.option("--volume", "volumes", multiple=True, help="What is used: '2 L', or 'SOLUTION=2 L'.")
@click.option("--minutes", multiple=True, metavar="30 | STEP=10", help="Over which a step lasts (30 by default).")
@click.option("--fraction", "fractions", multiple=True, metavar="5% | GAS=5%", help="Share thought to be released.")
@click.option("--temperature", help="Of the air: '20 °C'.")
@click.option("--k", type=float, help="Mixing factor, 1 (ideal) to 10 (poor); 5 by default.")
@common
def air(
    recipe: str,
    room: str,
    changes: str | None,
    hood: str | None,
    area: str | None,
    volumes: tuple[str, ...],
    minutes: tuple[str, ...],
    fractions: tuple[str, ...],
    temperature: str | None,
    k: float | None,
    studio: str | None,
    as_json: bool,
) -> None:
    """The gas that each step of RECIPE can give off, against each body's limit, in this room."""
    from patina.bench.safe.air import air as air_deed

    options = {
        "room": room,
        "changes": changes,
        "hood": hood,
        "area": area,
        "volumes": volumes,
        "minutes": minutes,
        "fractions": fractions,
        "temperature": temperature,
        "k": k,
    }
    with studio_for(recipe, studio) as opened:
        sheet = air_deed(opened, recipe, **options)  # type: ignore[arg-type]
    say(as_json, sheet.as_json(), _air_text(sheet))


def _air_text(sheet: AirSheet) -> str:
    lines = [
        f"{sheet.recipe} in {sheet.room_m3:g} m³, fresh air {sheet.flow_m3_h:g} m³/h ({sheet.flow_words}), "
        f"K = {sheet.k:g}, {sheet.temperature_c:g} °C"
    ]
    for step in sheet.steps:
        used = "" if step.volume_ml is None else f" {step.volume_ml:.0f} mL"
        lines += ["", f"Step {step.number}, {step.do} {step.solution or ''}{used} over {step.minutes:g} min"]
        lines.append(f"  {step.words}")
        for line in step.lines:
            lines += _line_text(line)
    lines += ["", "All pots together:"]
    for line in sheet.whole:
        lines += _line_text(line)
    return "\n".join([*lines, "", *sheet.notes, sheet.caution])


def _line_text(line: AirLine) -> list[str]:
    grams = "grams not known" if line.grams_at_most is None else f"{line.grams_at_most:.3g} g at most"
    once = "" if line.ppm_at_once is None else f", {line.ppm_at_once:.3g} ppm if all at once"
    over = "  OVER A LIMIT" if line.over else ""
    lines = [f"  {line.gas} from {line.from_}: {grams}{once}{over}", f"      {line.working}"]
    for a in line.against:
        minutes = None if a.hours_to_limit is None else a.hours_to_limit * 60
        reached = "not reached" if minutes is None else f"reached after {minutes:.1f} min"
        lines.append(
            f"      {a.who} {a.limit_words}: mean {a.times:.2g} × the limit, {reached}; "
            f"needs {a.flow_needed_m3_h:.0f} m³/h [{a.source}]"
        )
    return [*lines, f"      {line.note}"] if line.note else lines


@click.command()
@common
def dangers(studio: str | None, as_json: bool) -> None:
    """What stands together now and must not meet: open pots, lots of one place, waste drums."""
    from patina.bench.safe.dangers import dangers_now

    with the_studio(studio) as opened:
        sheet = dangers_now(opened)
    lines = []
    for heading, found in (("Open pots", sheet.bench), ("Shelf", sheet.shelf), ("Waste", sheet.waste)):
        lines.append(f"{heading}: {'nothing that must not meet' if not found else ''}".rstrip())
        for d in found:
            lines.append(f"  {d.level.upper()}: {' and '.join(d.between)}: {d.consequence}")
            lines.append(f"      {d.instead} [{d.source}]")
    lines += [f"? {name}: nobody has said what it is, so nothing can be told." for name in sheet.unknown]
    say(as_json, sheet.as_json(), "\n".join([*lines, sheet.caution]))


@click.command()
@click.argument("recipe")
@click.argument("solution")
@click.argument("substance")
@click.option("--strength", help="A strength in place of the recipe's: '5 % w/w'.")
@click.option("--regime", type=click.Choice(["CLP", "HCS"]), default="CLP", show_default=True)
@common
def thresholds(
    recipe: str, solution: str, substance: str, strength: str | None, regime: str, studio: str | None, as_json: bool
) -> None:
    """Where the classes of SOLUTION change as SUBSTANCE gets stronger in it."""
    from patina.bench.safe.thresholds import thresholds as deed

    with studio_for(recipe, studio) as opened:
        sheet = deed(opened, recipe, solution, substance, strength, regime=regime)
    word = sheet.safety.signal_word or "no signal word"
    lines = [f"{sheet.substance} in {sheet.solution}: {sheet.strength} is {sheet.pct_ww:.3g} % w/w, {word}"]
    lines += [f"  {'✓' if t.passed else ' '} {t.words}" for t in sheet.turns] or ["  No strength changes its class."]
    say(as_json, sheet.as_json(), "\n".join([*lines, sheet.caution]))
