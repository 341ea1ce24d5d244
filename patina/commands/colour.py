"""`patina compare` and `patina match`: how far two colours are apart, and what comes near one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from patina.commands.common import common, say, table, the_studio
from patina.errors import BadQuantity

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets import ChangeSheet, ComparisonSheet, Match
    from patina.sheets.mottle import MottleSheet

_FORMULAS = click.Choice(["de2000", "de94", "cmc", "de76"])


@click.command()
@click.argument("reference", required=False)
@click.argument("sample", required=False)
@click.option(
    "--pairs", type=click.Path(path_type=Path, dir_okay=False), help="A CSV file with columns L1,a1,b1,L2,a2,b2."
)
@click.option("--formula", type=_FORMULAS, default="de2000", show_default=True)
@click.option(
    "--picture",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write both finishes side by side, tones with their shares, to this .svg file.",
)
@common
def compare(
    reference: str | None,
    sample: str | None,
    pairs: Path | None,
    formula: str,
    picture: Path | None,
    studio: str | None,
    as_json: bool,
) -> None:
    """Compare SAMPLE with REFERENCE: each an L,a,b triple, or the id of a reading, tile or agreed finish."""
    from patina.bench.readings import comparing

    if pairs is not None:
        if reference is not None:
            raise BadQuantity("Both a file of pairs and single colours were given.", "Give one or the other.")
        if picture is not None:
            raise BadQuantity("A file of pairs has no picture.", "Give a reference and a sample for one.")
        differences = comparing.compare_pairs(pairs, formula)
        text = "\n".join(f"{d:.4f}" for d in differences)
        say(as_json, {"formula": formula, "delta_e": differences}, text)
        return
    if reference is None or sample is None:
        raise BadQuantity(
            "Two colours are needed.", "Give the reference first, then the sample, each as L,a,b or an id."
        )
    if comparing.is_triple(reference) and comparing.is_triple(sample):
        result = comparing.compare(None, reference, sample, formula)
        mottle = None if picture is None else _pictured(None, reference, sample, picture)
    else:
        with the_studio(studio) as opened:
            result = comparing.compare(opened, reference, sample, formula)
            mottle = _pictured(opened, reference, sample, picture)
    tones = {} if mottle is None or not mottle.uneven else {"mottle": mottle.as_json()}
    file = {} if picture is None else {"picture": str(picture)}
    said = [_comparison_text(result)]
    if mottle is not None and mottle.uneven:
        said += [f"tones: {mottle.words}", *(f"! {c}" for c in mottle.cautions)]
    said += [f"Written: {picture}"] if picture is not None else []
    say(as_json, {**_comparison_json(result), **tones, **file}, "\n".join(said))


def _pictured(opened: Studio | None, reference: str, sample: str, picture: Path | None) -> MottleSheet:
    """Tones and shares compared, and the picture written where one is wanted."""
    from patina.bench.matched import mottle

    if picture is None:
        return mottle.compare_surfaces(opened, reference, sample)
    return mottle.mottle_picture(opened, reference, sample, picture)


def _comparison_json(sheet: ComparisonSheet) -> dict[str, object]:
    extra = {"uncertainty_de00": sheet.uncertainty_de00, "warnings": [w.as_json() for w in sheet.warnings]}
    return {**sheet.difference.as_json(), **extra}


def _comparison_text(sheet: ComparisonSheet) -> str:
    d = sheet.difference
    doubt = f" ± {sheet.uncertainty_de00:.1f}" if sheet.uncertainty_de00 is not None else ""
    lines = [
        f"ΔE {d.delta_e:.4f}{doubt} ({d.formula}): {d.words}",
        f"ΔL* {d.dL:+.4f}  Δa* {d.da:+.4f}  Δb* {d.db:+.4f}  ΔC* {d.dC:+.4f}  ΔH* {d.dH:+.4f}",
    ]
    return "\n".join(lines + [f"! {w.text}" for w in sheet.warnings])


@click.command()
@click.argument("target")
@click.option("--alloy", help="Only tiles of this alloy.")
@click.option("--method", help="Only tiles whose recipe is worked so: torch, cold brush, fume ...")
@click.option("--on-shelf", is_flag=True, help="Only where every chemical of the recipe is on the shelf.")
@click.option("--avoid", multiple=True, metavar="HAZARD", help="Leave out recipes with this hazard: H350, Carc. ...")
@click.option("--every-reading", is_flag=True, help="All readings of a tile count, not its latest alone.")
@click.option("--top", type=click.IntRange(1, 1000), default=10, show_default=True)
@common
def match(
    target: str,
    alloy: str | None,
    method: str | None,
    on_shelf: bool,
    avoid: tuple[str, ...],
    every_reading: bool,
    top: int,
    studio: str | None,
    as_json: bool,
) -> None:
    """The tiles nearest to TARGET: an L,a,b triple, or the id of a reading, tile or agreed finish."""
    from patina.bench.matched.matching import nearest

    with the_studio(studio) as opened:
        found = nearest(
            opened,
            target,
            alloy=alloy,
            top=top,
            method=method,
            on_shelf=on_shelf,
            avoid=avoid,
            every=every_reading,
            once=True,
        )
    say(as_json, {"matches": [_match_json(m) for m in found]}, _matches_text(found))


def _match_json(m: Match) -> dict[str, object]:
    return {
        "tile": m.tile,
        "engraved": m.engraved,
        "recipe": m.recipe or None,
        "revision": m.revision,
        "lab": [m.lab.L, m.lab.a, m.lab.b],
        "delta_e": m.delta_e,
    }


def _matches_text(found: tuple[Match, ...]) -> str:
    if not found:
        return "No tile with a reading fits. Read a tile first, or ask for another alloy."
    rows = [
        (m.tile, m.engraved, m.recipe, f"{m.delta_e:.2f}", f"{m.lab.L:.1f} {m.lab.a:.1f} {m.lab.b:.1f}") for m in found
    ]
    return table(rows, ("tile", "engraved", "recipe", "ΔE00", "L* a* b*"))


@click.command()
@click.argument("before")
@click.argument("after")
@click.option("--area", "areas", multiple=True, metavar="NAME=x,y,w,h", help="What to measure, in pixels of BEFORE.")
@click.option("--edition", type=click.Choice(["before-2014", "after-2014", "unknown"]), default="unknown")
@click.option("--formula", type=_FORMULAS, default="de2000", show_default=True)
@click.option("--piece", metavar="x,y;x,y;x,y…", help="Outline of the piece in BEFORE, where no area is named.")
@click.option("--picture", type=click.Path(path_type=Path, dir_okay=False), help="Write the difference picture (PNG).")
@click.option("--corners-before", metavar="x,y;x,y;x,y;x,y", help="Patches 1, 6, 24 and 19 in BEFORE, in pixels.")
@click.option("--corners-after", metavar="x,y;x,y;x,y;x,y", help="Patches 1, 6, 24 and 19 in AFTER, in pixels.")
@click.option("--flat-before", type=click.Path(path_type=Path), help="Plain card in the place and light of BEFORE.")
@click.option("--flat-after", type=click.Path(path_type=Path), help="Plain card in the place and light of AFTER.")
@common
def change(
    before: str,
    after: str,
    areas: tuple[str, ...],
    piece: str | None,
    edition: str,
    formula: str,
    picture: Path | None,
    corners_before: str | None,
    corners_after: str | None,
    flat_before: Path | None,
    flat_after: Path | None,
    studio: str | None,
    as_json: bool,
) -> None:
    """What has changed on a piece between two photographs, BEFORE and AFTER, each with a chart in it."""
    from patina.bench.readings.change import change as change_deed

    options = {
        "areas": areas,
        "piece": piece,
        "edition": edition,
        "formula": formula,
        "picture": picture,
        "corners_before": corners_before,
        "corners_after": corners_after,
        "flat_before": flat_before,
        "flat_after": flat_after,
    }
    if Path(before).is_file() and Path(after).is_file():
        sheet = change_deed(None, before, after, **options)  # type: ignore[arg-type]
    else:
        with the_studio(studio) as opened:
            sheet = change_deed(opened, before, after, **options)  # type: ignore[arg-type]
    say(as_json, sheet.as_json(), _change_text(sheet))


def _change_text(sheet: ChangeSheet) -> str:
    rows = [
        (
            p.name,
            f"{p.difference.delta_e:.1f} ± {p.uncertainty_de00:.1f}",
            p.difference.words if p.told else "not told apart",
        )
        for p in sheet.patches
    ]
    lines = [table(rows, ("patch", "ΔE", "the later one is"))]
    lines += [f"! {name}: {why}" for name, why in sheet.skipped] + [f"! {w.text} {w.do}" for w in sheet.warnings]
    return "\n".join(lines)
