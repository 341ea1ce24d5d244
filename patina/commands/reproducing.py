"""`patina reproduce` and `patina note`: getting an old finish again, why one missed, how a piece was made."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from patina.commands.common import common, say, the_studio
from patina.commands.matching import triple
from patina.sheets.named import named

if TYPE_CHECKING:
    from patina.sheets.reproducing import CauseSheet, EffectRow, PlanSheet


@click.command()
@click.argument("target")
@click.argument("facts", nargs=-1, required=True, metavar="FACT=VALUE...")
@common
def note(target: str, facts: tuple[str, ...], studio: str | None, as_json: bool) -> None:
    """Write down how TARGET (a tile or cast) was made: blast='glass bead, new' weld_rod='same as cast'."""
    from patina.bench.matched.making import note_facts
    from patina.bench.matched.reproduce import parse_facts, words_of

    with the_studio(studio) as opened:
        known = note_facts(opened, target, parse_facts(facts))
    say(as_json, {"facts": known}, "\n".join(f"{words_of(k)}: {v}" for k, v in known.items()))


@click.command()
@click.argument("target")
@click.option("--area", help="Of what is to be finished, with its unit: '1.8 m2'.")
@click.option("--onto", metavar="CAST", help="The new cast or tile.")
@click.option("--now", multiple=True, metavar="FACT=VALUE", help="What is so now: blast='glass bead, new'.")
@click.option("--against", metavar="REF", help="Find why TARGET came out otherwise than REF.")
@common
def reproduce(
    target: str,
    area: str | None,
    onto: str | None,
    now: tuple[str, ...],
    against: str | None,
    studio: str | None,
    as_json: bool,
) -> None:
    """How the finish of TARGET (a tile or cast) is got again; with --against, why it missed."""
    from patina.bench.matched import reproduce as deeds

    with the_studio(studio) as opened:
        if against is not None:
            found = deeds.causes(opened, target, against)
            say(as_json, causes_json(found), causes_text(found))
            return
        plan = deeds.reproduce(opened, target, area=area, onto=onto, now=deeds.parse_facts(now))
    say(as_json, plan_json(plan), plan_text(plan))


def _effect(e: EffectRow) -> dict[str, Any]:
    return {
        "what": e.what,
        "before": e.before,
        "now": e.now,
        "effect": None if e.vector is None else list(e.vector),
        "half_width": None if e.half_width is None else list(e.half_width),
        "comparisons": e.comparisons,
        "changed_with_it": list(e.with_others),
        "explains": e.explains,
        "words": e.words,
    }


def causes_json(found: CauseSheet) -> dict[str, Any]:
    """Causes as JSON has them."""
    return {
        "piece": found.piece,
        "reference": found.reference,
        "miss": list(found.miss),
        "delta_e": found.delta_e,
        "causes": [_effect(c) for c in found.causes],
        "not_written_down": list(found.blank),
        "history": found.history,
    }


def causes_text(found: CauseSheet) -> str:
    """Causes for a person."""
    piece, reference = named(found.piece, found.piece_name), named(found.reference, found.reference_name)
    miss = ", ".join(f"{n} {v:+.1f}" for n, v in zip(("L*", "a*", "b*"), found.miss, strict=True))
    lines = [f"{piece} missed {reference} by ΔE00 {found.delta_e:.1f} ({miss})."]
    for c in found.causes:
        share = "" if c.explains is None else f" would explain {100 * c.explains:.0f} %"
        lines.append(f"- {c.words}{share}")
    if not found.causes:
        lines.append("Nothing that was written down differs.")
    if found.blank:
        lines.append(f"Not written down, and could explain it: {', '.join(found.blank)}.")
    return "\n".join([*lines, f"From {found.history} other tiles and casts of the recipe."])


def plan_json(plan: PlanSheet) -> dict[str, Any]:
    """A plan as JSON has it."""
    return {
        "target": plan.target,
        "name": plan.name,
        "recipe": plan.recipe,
        "revision": plan.revision,
        "lab": None if plan.lab is None else triple(plan.lab),
        "as_done": list(plan.as_done),
        "facts": {f.what: f.value for f in plan.facts},
        "same": list(plan.same),
        "different": [_effect(e) for e in plan.effects],
        "not_written_down": [*plan.blank, *plan.unsaid],
        "not_said_for_now": list(plan.unsaid),
        "tiles_first": list(plan.tiles),
        "mix": None if plan.mix is None else plan.mix.as_json(),
        "history": plan.history,
        "warnings": list(plan.cautions),
    }


def plan_text(plan: PlanSheet) -> str:
    """A plan for a person."""
    lines = [f"{plan.name} ({plan.target}): {plan.recipe}, revision {plan.revision}"]
    lines += [f"  {f.what}: {f.value}" for f in plan.facts]
    if plan.as_done:
        lines += ["As it was done:", *(f"  {n}. {step}" for n, step in enumerate(plan.as_done, 1))]
    lines.append("Different now, and what that did in this house's records:" if plan.effects else "Nothing differs.")
    lines += [f"  {e.words}" for e in plan.effects]
    if plan.unsaid:
        lines.append(f"Known of then, not said for now: {', '.join(plan.unsaid)}.")
    if plan.blank:
        lines.append(f"Not written down then: {', '.join(plan.blank)}.")
    lines += ["Tiles to make first:", *(f"  {t}" for t in plan.tiles)]
    if plan.mix is not None:
        for solution in plan.mix.solutions:
            lines.append(f"{solution.name}: {solution.volume_ml:.0f} mL")
            lines += [f"  {w.rounded:g} {w.unit} {w.substance}" for w in solution.weigh]
        lines += [f"! {d.between[0]} and {d.between[1]}: {d.consequence}" for d in plan.mix.safety.dangers]
        lines.append(f"Safety notes: patina safety {plan.mix.recipe_id or plan.recipe!r}")
    lines.append(f"From {plan.history} other tiles and casts of the recipe.")
    return "\n".join(lines + [f"! {c}" for c in plan.cautions])
