"""`patina judge` and what follows from it: verdicts, agreed finishes, concessions."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from patina.commands.common import common, say, the_studio
from patina.sheets.named import named

if TYPE_CHECKING:
    from patina.sheets import Lab, VerdictSheet


def triple(lab: Lab) -> list[float]:
    """A colour as JSON has it."""
    return [lab.L, lab.a, lab.b]


@click.command()
@click.argument("master")
@click.argument("sample")
@common
def judge(master: str, sample: str, studio: str | None, as_json: bool) -> None:
    """Whether SAMPLE (a tile, cast, reading, or L,a,b) meets the agreed finish MASTER: pass, fail or cannot be told."""
    from patina.bench.matched.matching import judge as decide

    with the_studio(studio) as opened:
        sheet = decide(opened, master, sample)
    say(as_json, verdict_json(sheet), verdict_text(sheet))


def verdict_json(sheet: VerdictSheet) -> dict[str, Any]:
    """A verdict as JSON has it."""
    d = sheet.comparison.difference
    return {
        "master": sheet.master,
        "sample": sheet.sample,
        "verdict": sheet.verdict,
        "why": sheet.why,
        "formula": d.formula,
        "delta_e": d.delta_e,
        "uncertainty_de": sheet.comparison.uncertainty_de00,
        "limit_de": sheet.limit_de,
        "chance_inside": sheet.chance,
        "sampling_de": sheet.sampling_de,
        "findings": [
            {
                "zone": f.zone,
                "of": f.of,
                "value": f.value,
                "expanded": f.expanded,
                "limit": f.limit,
                "outcome": f.outcome,
                "readings_that_would_decide": f.more,
            }
            for f in sheet.findings
        ],
        "mottle": [
            {
                "zone": m.zone,
                "distance_de00": m.distance,
                "outcome": m.outcome,
                "words": m.words,
                "spread_ratio": m.spread_ratio,
                "grain_ratio": m.grain_ratio,
                "agreed_grain_mm": m.agreed_grain_mm,
                "sample_grain_mm": m.sample_grain_mm,
            }
            for m in sheet.mottle
        ],
        "readings_that_would_decide": sheet.more,
        "remedy": sheet.remedy,
        "missing_zones": list(sheet.missing),
        "readings": list(sheet.readings),
        "warnings": list(sheet.cautions),
    }


def verdict_text(sheet: VerdictSheet) -> str:
    """A verdict for a person."""
    lines = [
        f"{sheet.verdict.upper()}: {named(sheet.sample, sheet.sample_name)} against {sheet.comparison.reference}",
        sheet.why,
    ]
    if sheet.chance is not None:
        lines.append(f"Chance that ΔE is truly inside: {100 * sheet.chance:.0f} %.")
    if sheet.sampling_de is not None:
        lines.append(f"Sampling alone would show {sheet.sampling_de:.1f} between identical pieces.")
    lines += [f"{m.zone}: {m.words}" for m in sheet.mottle]
    if sheet.remedy:
        lines.append(f"→ {sheet.remedy}")
    return "\n".join(lines + [f"! {c}" for c in sheet.cautions])
