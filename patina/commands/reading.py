"""`patina read`: the colour of areas in a photograph."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from patina.commands.common import common, say, the_studio, times
from patina.errors import BadQuantity
from patina.sheets.editions import edition_words
from patina.sheets.named import named

if TYPE_CHECKING:
    from patina.sheets import PhotoReading, ShootSheet


@click.command()
@click.argument("photo", type=click.Path(path_type=Path))
@click.option(
    "--chart",
    default="auto",
    show_default=True,
    metavar="auto|none|FILE|step-card|white-card",
    help="Find the chart, do without, the chart's own values, or a plain card in its place.",
)
@click.option("--card", metavar="PERCENT|FILE", help="What the card reflects: '90 %', or a CSV file of its steps.")
@click.option("--flat", type=click.Path(path_type=Path), help="A photograph of plain card in the same place and light.")
@click.option("--chart-photo", type=click.Path(path_type=Path), help="Another photograph, which shows the chart.")
@click.option("--state", metavar="WAX,WARMTH", help="Of the surface: waxed, unwaxed, lacquered or wet; cold or warm.")
@click.option(
    "--edition", type=click.Choice(["before-2014", "after-2014", "unknown"]), default="unknown", show_default=True
)
@click.option(
    "--corners", metavar="x,y;x,y;x,y;x,y", help="Centres of patches 1, 6, 24 and 19 in pixels; of a card its corners."
)
@click.option(
    "--workers", type=click.IntRange(1, 64), default=None, help="Processes for a folder; one a core by default."
)
@click.option(
    "--area",
    "areas",
    multiple=True,
    metavar="NAME=x,y,w,h",
    help="An area in pixels; or NAME=x,y;x,y;x,y, or NAME=tile.",
)
@click.option(
    "--scale",
    default="",
    metavar="SCALE",
    help="How large things are, for the grain in mm: '12.4 px/mm', or what an area measures: 'face=80x60 mm'.",
)
@click.option("--keep", metavar="TARGET", help="File the photograph with this tile or cast and keep the readings.")
@common
def read(
    photo: Path,
    chart: str,
    edition: str,
    corners: str | None,
    workers: int | None,
    areas: tuple[str, ...],
    card: str | None,
    flat: Path | None,
    chart_photo: Path | None,
    state: str | None,
    scale: str,
    keep: str | None,
    studio: str | None,
    as_json: bool,
) -> None:
    """Read the colour of areas of PHOTO, corrected by the 24-patch chart in it.

    Where PHOTO is a folder, every photograph in it that shows a placard is filed in the studio and read.
    The studio's own chart edition counts where --studio is given and --edition is not.
    """
    from patina.bench.readings.reading import keep_read, parse_state
    from patina.bench.readings.reading import read as read_deed

    if photo.is_dir():
        if corners is not None or areas or scale or any(x is not None for x in (card, flat, chart_photo, state, keep)):
            raise BadQuantity(
                "A folder is read by its placards.",
                "Leave out all but --chart, --edition and --workers, or name one photograph.",
            )
        _read_folder(photo, chart, edition, workers, studio, as_json)
        return
    wax_state, warmth = ("not stated", "not stated") if state is None else parse_state(state)
    with _chart_of(chart, edition, studio) as (named, known):
        result = read_deed(
            photo,
            chart=named,
            edition=known,
            corners=corners,
            areas=areas,
            wax_state=wax_state,
            warmth=warmth,
            card=card,
            flat=flat,
            chart_photo=chart_photo,
            scale=scale,
        )
    if keep is None:
        say(as_json, result.as_json(), _text(result))
        return
    with the_studio(studio) as opened:
        kept = keep_read(opened, keep, photo, result, wax_state=wax_state, warmth=warmth)
    ids = [row.id for row in kept]
    said = f"{times(len(ids), 'reading')} kept with {kept[0].tile or kept[0].cast}: {', '.join(ids)}."
    say(as_json, {**result.as_json(), "kept": ids}, f"{_text(result)}\n{said}")


@contextmanager
def _chart_of(chart: str, edition: str, studio: str | None) -> Iterator[tuple[str, str]]:
    """Chart and edition as the reader takes them: of the studio named on the command; reading alone opens none."""
    named = studio if studio is not None else (click.get_current_context().find_root().obj or {}).get("studio")
    if named is None:
        yield chart, edition
        return
    from patina.bench.readings.charts import as_read

    with the_studio(studio) as opened, as_read(opened, chart, edition) as found:
        yield found


def _text(reading: PhotoReading) -> str:
    chart = reading.chart
    if chart.found and chart.kind.endswith("card"):
        lines = [f"A {chart.kind} was used: {chart.method}."]
    elif chart.found:
        lines = [f"Chart found, {edition_words(chart.edition)}; corrected by {chart.method}."]
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
            grain = f"{area.grain_px:.0f} pixels" if area.grain_px is not None else "not known"
            grain += f", {area.grain_mm:.1f} mm by {area.scale_from}" if area.grain_mm is not None else ", mm not known"
            lines += [f"    in parts: {parts}", f"    grain: {grain}"]
    return "\n".join(lines + [f"! {w.text} {w.do}".rstrip() for w in reading.warnings])


def _read_folder(
    folder: Path, chart: str, edition: str, workers: int | None, studio: str | None, as_json: bool
) -> None:
    from patina.bench.readings.shoot import file_shoot

    with the_studio(studio) as opened:
        if as_json:
            sheet = file_shoot(opened, folder, edition=edition, chart=chart, workers=workers)
        else:
            with click.progressbar(length=1, label="Reading", file=sys.stderr) as bar:

                def told(done: int, of: int, _name: str) -> None:
                    bar.length = of
                    bar.update(done - bar.pos)

                sheet = file_shoot(opened, folder, edition=edition, chart=chart, workers=workers, progress=told)
    say(as_json, sheet.as_json(), _shoot_text(sheet))


def _shoot_text(sheet: ShootSheet) -> str:
    lines = [f"{times(len(sheet.filed), 'photograph')} filed, {len(sheet.unfiled)} not."]
    for one in sheet.filed:
        whose = named(one.target, one.name)
        for row in one.readings:
            doubt = "" if row.uncertainty_de00 is None else f" ± {row.uncertainty_de00:.1f} ΔE00"
            lines.append(f"{one.file}: {whose}  {row.id}  {row.lab.L:.1f} {row.lab.a:.1f} {row.lab.b:.1f}{doubt}")
    return "\n".join(lines + [f"! {u.file}: {u.what} {u.remedy}" for u in sheet.unfiled])


@click.command()
@click.argument("target")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--paper", type=click.Choice(["a4", "letter", "a3"]), default="a4", show_default=True)
@common
def placard(target: str, file: Path, paper: str, studio: str | None, as_json: bool) -> None:
    """Print the placard of TARGET (a tile or cast) to FILE (.pdf or .png), to lay in its photographs."""
    from patina.bench.readings.shoot import placard as placard_deed

    with the_studio(studio) as opened:
        written = placard_deed(opened, target, file, paper=paper)
    say(as_json, {"file": str(written)}, f"Written to {written}. Print it at full size and check the scale.")
