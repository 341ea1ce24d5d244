"""`patina read`: the colour of areas in a photograph."""

from __future__ import annotations

from pathlib import Path

import click

from patina.commands.common import common, say
from patina.sheets import PhotoReading


@click.command()
@click.argument("photo", type=click.Path(path_type=Path))
@click.option(
    "--chart",
    default="auto",
    show_default=True,
    metavar="auto|none|FILE",
    help="Find the chart, do without, or the chart's own values.",
)
@click.option(
    "--edition", type=click.Choice(["before-2014", "after-2014", "unknown"]), default="unknown", show_default=True
)
@click.option("--corners", metavar="x,y;x,y;x,y;x,y", help="Centres of patches 1, 6, 24 and 19 in pixels.")
@click.option("--area", "areas", multiple=True, metavar="NAME=x,y,w,h", help="An area to read, in pixels.")
@common
def read(
    photo: Path,
    chart: str,
    edition: str,
    corners: str | None,
    areas: tuple[str, ...],
    studio: str | None,
    as_json: bool,
) -> None:
    """Read the colour of areas of PHOTO, corrected by the 24-patch chart in it."""
    from patina.bench.reading import read as read_deed

    result = read_deed(photo, chart=chart, edition=edition, corners=corners, areas=areas)
    say(as_json, result.as_json(), _text(result))


def _text(reading: PhotoReading) -> str:
    chart = reading.chart
    if chart.found:
        lines = [f"Chart found ({chart.edition} edition), corrected by {chart.method}."]
        if chart.loo_mean_de00 is not None:
            lines.append(f"A patch left out is predicted within {chart.loo_mean_de00:.1f} ΔE00 on average.")
    else:
        lines = ["No chart was used."]
    for area in reading.areas:
        sd = ", ".join(f"{s:.1f}" for s in area.sd)
        lines.append(
            f"{area.name}: L* {area.lab.L:.1f}  a* {area.lab.a:.1f}  b* {area.lab.b:.1f}  "
            f"± {area.uncertainty_de00:.1f} ΔE00 (95 %), {area.illuminant}/{area.observer}°, spread {sd}"
        )
        if len(area.parts) > 1:
            parts = "; ".join(f"{p.share:.0%} at {p.lab.L:.0f} {p.lab.a:.0f} {p.lab.b:.0f}" for p in area.parts)
            lines.append(f"    in parts: {parts}")
    return "\n".join(lines + [f"! {w.text} {w.do}".rstrip() for w in reading.warnings])
