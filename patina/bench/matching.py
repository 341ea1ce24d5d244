"""What comes near a colour, and whether a finish meets the one that was agreed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patina.bench.comparing import NamedColour, colour_of, compare_colours
from patina.bench.rack import nearest as nearest
from patina.colour.difference import Difference
from patina.sheets import MasterSheet, VerdictSheet

if TYPE_CHECKING:
    from patina.bench.studio import Studio


def judge(studio: Studio, master: str, sample: str) -> VerdictSheet:
    """Whether a tile, cast or reading meets an agreed finish, with its doubt.

    Passes only where the difference plus its expanded uncertainty stays inside every agreed limit,
    fails only where the difference less that uncertainty lies outside one; else it cannot be told.
    Source: [JCGM106]. Raises NotFound, NotComparable.
    """
    from patina.bench.casts import master_sheet
    from patina.matching.verdict import judge as judge_of

    agreed, read = master_sheet(studio, master), colour_of(studio, sample)
    comparison = compare_colours(colour_of(studio, agreed.id), read, agreed.formula)
    unsure = comparison.uncertainty_de00
    if read.uncertainty_de00 is None or unsure is None:
        why = f"The uncertainty of {read.name} is not known, so it cannot be judged. Read it again with one."
        return VerdictSheet(agreed.id, sample, "cannot be told", why, comparison, agreed.limit_de)
    outcomes = {
        name: (value, limit, judge_of(abs(value), unsure, limit))
        for name, value, limit in _limits(agreed, comparison.difference)
    }
    verdicts = {outcome for _, _, outcome in outcomes.values()}
    verdict = "fail" if "fail" in verdicts else "cannot be told" if "cannot be told" in verdicts else "pass"
    listed = "; ".join(
        f"{name} {value:.2f} ± {unsure:.2f}, limit {limit:g}: {outcome}"
        for name, (value, limit, outcome) in outcomes.items()
    )
    return VerdictSheet(agreed.id, sample, verdict, listed + _state(read, agreed), comparison, agreed.limit_de)


def _limits(agreed: MasterSheet, d: Difference) -> list[tuple[str, float, float]]:
    named = (
        ("ΔE", d.delta_e, agreed.limit_de),
        ("ΔL*", d.dL, agreed.limit_dL),
        ("ΔC*", d.dC, agreed.limit_dC),
        ("ΔH*", d.dH, agreed.limit_dH),
    )
    return [(name, value, limit) for name, value, limit in named if limit is not None]


def _state(sample: NamedColour, agreed: MasterSheet) -> str:
    if sample.wax_state == agreed.wax_state:
        return "."
    return f". Agreed {agreed.wax_state}, read {sample.wax_state}: wax alone shifts a colour."
