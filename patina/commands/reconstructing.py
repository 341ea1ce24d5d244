"""`patina reconstruct`: from a vague card and a colour to settings and the tiles that tell them apart."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from patina.commands.common import common, say, table, the_studio
from patina.commands.matching import triple

if TYPE_CHECKING:
    from patina.sheets.reconstruction import ReconstructionSheet


@click.command()
@click.argument("card")
@click.option("--target", required=True, help="The colour to be got: L,a,b, or the id of a reading, tile or cast.")
@click.option("--chemical", default="", help="The substance that works.")
@click.option("--alloy", default="", help="Only tiles of this alloy.")
@click.option("--tried", multiple=True, metavar="TILE", help="A tile made for this card already.")
@click.option("--levels", type=click.IntRange(2, 6), default=3, show_default=True, help="Values of each interval.")
@click.option(
    "--volume", default=None, help="What a spoon or cup of the card goes into: '1 L'. Else assumed, and said."
)
@common
def reconstruct(
    card: str,
    target: str,
    chemical: str,
    alloy: str,
    tried: tuple[str, ...],
    levels: int,
    volume: str | None,
    studio: str | None,
    as_json: bool,
) -> None:
    """Settings that CARD ("2 spoons medium, few coats, hot") may mean, ranked by the colour, and the tiles to make."""
    from patina.bench.matched.reconstruct import reconstruct as deed
    from patina.units import volume_ml

    in_ml = None if volume is None else volume_ml(volume, "volume")
    with the_studio(studio) as opened:
        sheet = deed(opened, card, target, chemical=chemical, alloy=alloy, tried=tried, levels=levels, volume_ml=in_ml)
    say(as_json, reconstruction_json(sheet), reconstruction_text(sheet))


def reconstruction_json(sheet: ReconstructionSheet) -> dict[str, Any]:
    """A reconstruction as JSON has it."""
    return {
        "card": sheet.card,
        "target": triple(sheet.target),
        "meant": [{"factor": m.factor, "said": m.said, "meaning": m.meaning} for m in sheet.meant],
        "not_understood": list(sheet.left),
        "tiles": sheet.tiles,
        "knows": sheet.knows,
        "left_out_inside": sheet.inside,
        "left_out_inside_range": None if sheet.inside_range is None else list(sheet.inside_range),
        "left_out_error": sheet.error,
        "candidates": sheet.candidates,
        "unknown_bits": sheet.unknown_bits,
        "ranked": [
            {
                "setting": dict(r.values),
                "chance": r.chance,
                "lab": triple(r.lab),
                "half_width": list(r.half_width),
                "as_measured": r.as_measured,
            }
            for r in sheet.ranked
        ],
        "ladder": [{"setting": s.setting, "why": s.why, "chance": s.chance, "bits": s.bits} for s in sheet.ladder],
        "tried": [{"tile": t.tile, "setting": t.setting, "delta_e": t.delta_e, "met": t.met} for t in sheet.tried],
        "warnings": list(sheet.cautions),
    }


def reconstruction_text(sheet: ReconstructionSheet) -> str:
    """A reconstruction for a person."""
    lines = [f"{sheet.card} → {sheet.target_name}"]
    lines += [f"  {m.name}: {m.meaning} ({m.said})" for m in sheet.meant]
    if sheet.left:
        lines.append(f"  not understood: {', '.join(sheet.left)}")
    lines += [sheet.knows, ""]
    rows = [
        (
            f"{100 * r.chance:.0f} %",
            r.setting,
            f"{r.lab.L:.0f} {r.lab.a:.0f} {r.lab.b:.0f}",
            "± " + " ".join(f"{h:.0f}" for h in r.half_width),
            r.as_measured,
        )
        for r in sheet.ranked
    ]
    lines += [table(rows, ("chance", "setting", "L* a* b* expected", "95 %", "as measured")), ""]
    lines += [f"{t.tile}: ΔE00 {t.delta_e:.1f} from the target, {'met' if t.met else 'missed'}" for t in sheet.tried]
    lines += [
        f"{n}. make {s.setting}, to {s.why} ({100 * s.chance:.0f} %, {s.bits:.1f} bits)"
        for n, s in enumerate(sheet.ladder, 1)
    ]
    if sheet.ladder:
        lines.append("Read each tile and ask again with --tried before making the next.")
    return "\n".join(lines + [f"! {c}" for c in sheet.cautions])
