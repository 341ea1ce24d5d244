"""`patina predict`: what a reading becomes when it is cold and waxed, and what an old piece was."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from patina.commands.common import common, say, the_studio
from patina.commands.matching import triple
from patina.sheets.named import named

if TYPE_CHECKING:
    from patina.sheets.ageing import Foretold, PredictionSheet


@click.command()
@click.argument("target")
@click.option("--wax", default="", help="State foretold: waxed, lacquered, unwaxed; else the agreed one.")
@click.option("--kept", default="", help="Twins to take for the ageing: dark, shelf, outdoors.")
@click.option("--days", type=float, help="Age of the piece at its reading; else from its last treatment.")
@common
def predict(target: str, wax: str, kept: str, days: float | None, studio: str | None, as_json: bool) -> None:
    """What TARGET (a tile, cast or reading) becomes when it is cold and waxed, and what it was when delivered."""
    from patina.bench.matched.ageing import foretell

    with the_studio(studio) as opened:
        sheet = foretell(opened, target, wax=wax, kept=kept, days=days)
    say(as_json, prediction_json(sheet), prediction_text(sheet))


def _foretold(found: Foretold | None) -> dict[str, Any] | None:
    if found is None:
        return None
    half = None if found.half_width is None else list(found.half_width)
    return {"lab": triple(found.lab), "half_width": half, "words": found.words}


def prediction_json(sheet: PredictionSheet) -> dict[str, Any]:
    """A prediction as JSON has it."""
    return {
        "target": sheet.target,
        "reading": sheet.reading,
        "lab": triple(sheet.lab),
        "was": sheet.was,
        "becomes": sheet.becomes,
        "final": _foretold(sheet.final),
        "missing": list(sheet.missing),
        "shifts": [
            {
                "of": s.of,
                "vector": list(s.vector),
                "sd": None if s.sd is None else list(s.sd),
                "tiles": list(s.tiles),
                "own_recipe": s.own,
            }
            for s in sheet.shifts
        ],
        "master": sheet.master,
        "delta_e": sheet.delta_e,
        "as_delivered": _foretold(sheet.delivered),
        "as_delivered_words": sheet.delivered_words,
        "ageing": [
            {
                "kept": c.kept,
                "amount": list(c.amount),
                "time_days": c.time_days,
                "low_days": c.low_days,
                "high_days": c.high_days,
                "twins": c.twins,
                "readings": c.readings,
                "longest_days": c.longest_days,
            }
            for c in sheet.courses
        ],
        "warnings": list(sheet.cautions),
    }


def _colour(found: Foretold) -> str:
    parts = []
    for i, (name, value) in enumerate(zip(("L*", "a*", "b*"), triple(found.lab), strict=True)):
        doubt = "" if found.half_width is None else f" ± {found.half_width[i]:.1f}"
        parts.append(f"{name} {value:.1f}{doubt}")
    return ", ".join(parts)


def prediction_text(sheet: PredictionSheet) -> str:
    """A prediction for a person."""
    lab = sheet.lab
    whose = named(sheet.target, sheet.target_name)
    lines = [f"{whose}, {sheet.reading}: L* {lab.L:.1f}, a* {lab.a:.1f}, b* {lab.b:.1f}, {sheet.was}"]
    if sheet.final is not None:
        lines += [f"{sheet.becomes}: {_colour(sheet.final)} (95 %)", f"  {sheet.final.words}"]
    lines += [f"? {m}" for m in sheet.missing]
    if sheet.delta_e is not None:
        lines.append(f"That is ΔE00 {sheet.delta_e:.1f} from {named(sheet.master, sheet.master_name)}.")
    if sheet.delivered is not None:
        lines += [f"as delivered: {_colour(sheet.delivered)}", f"  {sheet.delivered.words}"]
    else:
        lines.append(f"as delivered: {sheet.delivered_words}")
    return "\n".join(lines + [c.words for c in sheet.courses] + [f"! {c}" for c in sheet.cautions])
