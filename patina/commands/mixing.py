"""`patina mix` and `patina safety`: what to weigh, and what to fear."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from patina.commands.common import common, say, studio_for
from patina.errors import BadQuantity

if TYPE_CHECKING:
    from patina.sheets import MixedSolution, MixSheet, SafetySheet, WeighLine


@click.command()
@click.argument("recipe")
@click.option("--area", help="The bronze to be coloured, with its unit: '1.8 m2'.")
@click.option("--texture", help="Developed area over plain area, instead of the recipe's.")
@click.option("--passes", type=int, help="Passes of every apply step, instead of the recipe's.")
@click.option("--volume", "volumes", multiple=True, help="Make this much: '2 L', or 'SOLUTION=2 L' for one of several.")
@click.option("--have", multiple=True, metavar="SUBSTANCE[,assay=98%]", help="What stands on the shelf instead.")
@click.option("--from-shelf", is_flag=True, help="Weigh from the lots on the studio's shelf, each in its own form.")
@click.option("--strength", help="Share of the recipe's strength, of every ingredient: '80 %'.")
@click.option("--witness", help="This much more of each solution, to be kept sealed: '100 mL'.")
@click.option("--balance", default="0.1 g", show_default=True, help="Smallest step of the balance.")
@click.option("--cylinder", default="1 mL", show_default=True, help="Smallest step of the measuring cylinder.")
@click.option(
    "--sheet", type=click.Path(path_type=Path, dir_okay=False), help="Write the batch sheet (.pdf, .svg or .png)."
)
@common
def mix(
    recipe: str,
    area: str | None,
    texture: str | None,
    passes: int | None,
    volumes: tuple[str, ...],
    have: tuple[str, ...],
    from_shelf: bool,
    strength: str | None,
    witness: str | None,
    balance: str,
    cylinder: str,
    sheet: Path | None,
    studio: str | None,
    as_json: bool,
) -> None:
    """What to weigh of each substance for RECIPE (a name in the studio, or a recipe file)."""
    from patina.bench.paper.printing import batch_sheet
    from patina.bench.pots.mixing import mix as mix_deed

    options = {
        "area": area,
        "texture": texture,
        "passes": passes,
        "volumes": volumes,
        "have": have,
        "from_shelf": from_shelf,
        "strength": strength,
        "witness": witness,
        "balance": balance,
        "cylinder": cylinder,
    }
    with studio_for(recipe, studio) as opened:
        result = mix_deed(opened, recipe, **options)  # type: ignore[arg-type]
    if sheet is not None:
        batch_sheet(result, sheet)
    say(as_json, result.as_json(), _mix_text(result, sheet))


def _mix_text(mix: MixSheet, sheet: Path | None) -> str:
    where = f"{mix.area_m2:.3g} m² × texture {mix.texture:g}" if mix.area_m2 is not None else "volume as given"
    lines = [f"{mix.recipe}, revision {mix.revision}: {where}"]
    if mix.deviations:
        lines.append(f"Not as the recipe says: {'; '.join(mix.deviations)}.")
    for solution in mix.solutions:
        lines += _solution_text(solution)
    if mix.from_shelf:
        lines += ["", *_cost_text(mix)]
    lines += [f"! {w.text} {w.do}".rstrip() for w in mix.warnings]
    lines += ["", _safety_text(mix.safety)]
    if sheet is not None:
        lines.append(f"Batch sheet written to {sheet}.")
    return "\n".join(lines)


def _solution_text(solution: MixedSolution) -> list[str]:
    lines = ["", f"{solution.name}: {solution.volume_ml:.0f} mL", f"  {solution.working}"]
    for line in solution.weigh:
        where = "  MISSING on the shelf" if line.missing else _from(line) if line.lot else ""
        got = "" if line.share_pct > 99.999 else f"; in all {line.achieved_g_per_l:.4g} g/L"
        asked = f"{line.asked}; rounding {line.error_pct:+.2f} %{got}"
        lines.append(f"  {line.rounded:g} {line.unit}  {line.substance}{where}  ({asked})")
        lines.append(f"      {line.working}")
    lines += [f"  {n}. {text}" for n, text in enumerate(solution.order, 1)]
    lines.append(f"  Bottles: {' + '.join(_size(ml) for ml in solution.bottles_ml)}")
    if solution.witness_ml:
        lines.append(f"  Keep {solution.witness_ml:g} mL of it sealed, as a witness.")
    return lines


def _from(line: WeighLine) -> str:
    return f"  from {line.lot}" + (f" ({line.lot_words})" if line.lot_words else "")


def _size(ml: float) -> str:
    return f"{ml / 1000:g} L" if ml >= 1000 else f"{ml:g} mL"


def _cost_text(mix: MixSheet) -> list[str]:
    lines = (
        [f"Cost: {' + '.join(f'{amount} {currency}'.rstrip() for currency, amount in mix.cost)}"] if mix.cost else []
    )
    if mix.unpriced:
        lines.append(f"Cost unknown of: {', '.join(mix.unpriced)}")
    return lines


@click.command()
@click.argument("recipe")
@click.option("--ph", multiple=True, metavar="SOLUTION=1.8", help="A measured pH.")
@click.option("--density", multiple=True, metavar="SOLUTION=1.05", help="A measured density in g/mL.")
@click.option(
    "--regime", type=click.Choice(["CLP", "HCS"]), default="CLP", show_default=True, help="Whose rules classify."
)
@common
def safety(
    recipe: str, ph: tuple[str, ...], density: tuple[str, ...], regime: str, studio: str | None, as_json: bool
) -> None:
    """What each solution of RECIPE is at its strength, what must not meet, and what it gives off."""
    from patina.bench.safe.safety import safety as safety_deed

    measured = {"ph": _measured(ph, "--ph"), "density": _measured(density, "--density"), "regime": regime}
    with studio_for(recipe, studio) as opened:
        result = safety_deed(opened, recipe, **measured)  # type: ignore[arg-type]
    say(as_json, result.as_json(), _safety_text(result))


def _measured(pairs: tuple[str, ...], option: str) -> dict[str, str]:
    measured: dict[str, str] = {}
    for pair in pairs:
        name, equals, value = pair.rpartition("=")
        if not equals or not name.strip():
            raise BadQuantity(f"{option} '{pair}' does not name a solution.", f"Write {option} 'SOLUTION=number'.")
        if name.strip() in measured:
            raise BadQuantity(f"{option} is given twice for '{name.strip()}'.", "Give it once.")
        measured[name.strip()] = value.strip()
    return measured


def _safety_text(safety: SafetySheet) -> str:
    lines: list[str] = []
    for solution in safety.solutions:
        lines.append(
            f"{solution.name}: {solution.signal_word or 'no signal word'} {' '.join(solution.pictograms)}".rstrip()
        )
        lines += [f"  {c.h} {c.text} ({c.class_code}): {c.why}" for c in solution.classes]
        lines += [f"  {e}" for e in solution.euh]
        lines += [f"  undecided: {u.class_code}: {u.needs}" for u in solution.undecided]
    lines += [f"{d.level.upper()}: {d.between[0]} and {d.between[1]}: {d.consequence}" for d in safety.dangers]
    for emission in safety.emits:
        limits = "; ".join(f"{limit.who} {limit.value}" for limit in emission.limits)
        lines.append(f"Gives off {emission.gas} from {emission.from_}: {emission.when}. {limits}".rstrip())
    lines += [f"Wear: {p}" for p in safety.ppe] + [f"Waste: {w}" for w in safety.waste]
    return "\n".join([*lines, safety.caution])
