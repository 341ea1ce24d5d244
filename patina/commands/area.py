"""`patina area`: how much bronze there is, by several methods."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from patina.commands.common import common, say
from patina.commands.help_words import Group

if TYPE_CHECKING:
    from patina.surface.area import AreaEstimate


@click.group(cls=Group)
def area() -> None:
    """The area to be coloured, with its uncertainty and working."""


def _tell(as_json: bool, estimate: AreaEstimate) -> None:
    text = f"{estimate.area_m2:.3f} m² ± {estimate.uncertainty_pct:.0f} % ({estimate.method})\n{estimate.working}"
    say(as_json, estimate.as_json(), "\n".join([text, *(f"! {w.text}" for w in estimate.warnings)]))


@area.command()
@click.option("--mass", required=True, help="Weight of the shell, with its unit: '96 kg'.")
@click.option("--wall", required=True, help="Wall thickness: '5 mm'.")
@click.option("--alloy", required=True, help="Alloy: C87300, C83600 …")
@click.option("--solids", default=None, help="Weight of solid parts to leave out: '4 kg'.")
@common
def weight(mass: str, wall: str, alloy: str, solids: str | None, studio: str | None, as_json: bool) -> None:
    """Area from weight and wall thickness."""
    from patina.bench.pots.area import by_weight

    _tell(as_json, by_weight(mass=mass, wall=wall, alloy=alloy, solids=solids))


@area.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--unit", default=None, help="The unit of the file's coordinates: mm, cm, m, in, ft.")
@click.option(
    "--enlarge", type=float, default=1.0, show_default=True, help="Length of the cast over length of the model."
)
@click.option("--shrinkage", default=None, help="How much shorter the metal is than the mesh: '1.5 %'.")
@common
def mesh(
    file: Path, unit: str | None, enlarge: float, shrinkage: str | None, studio: str | None, as_json: bool
) -> None:
    """Area of a mesh file (STL, OBJ, PLY)."""
    from patina.bench.pots.area import by_mesh

    _tell(as_json, by_mesh(file, unit=unit, enlarge=enlarge, shrinkage=shrinkage))


@area.command()
@click.option("--area", "model_area", required=True, help="Area of the maquette: '0.062 m2'.")
@click.option("--from", "from_", required=True, help="Height of the maquette: '450 mm'.")
@click.option("--to", required=True, help="Height of the enlargement: '1800 mm'.")
@common
def enlarge(model_area: str, from_: str, to: str, studio: str | None, as_json: bool) -> None:
    """Area of an enlargement from its maquette."""
    from patina.bench.pots.area import by_enlargement

    _tell(as_json, by_enlargement(area=model_area, from_=from_, to=to))


@area.command()
@click.option("--foil", help="Weight of the foil used: '310 g'.")
@click.option("--thickness", help="Thickness of the foil: '0.015 mm'.")
@click.option("--paper", help="Weight of the paper used: '168 g'.")
@click.option("--per-m2", help="Weight of 1 m² of that paper: '80 g'.")
@click.option("--overlap", default="0 %", show_default=True, help="Share that lay double.")
@common
def wrap(
    foil: str | None,
    thickness: str | None,
    paper: str | None,
    per_m2: str | None,
    overlap: str,
    studio: str | None,
    as_json: bool,
) -> None:
    """Area from foil or paper wrapped round the piece and weighed."""
    from patina.bench.pots.area import by_wrap

    _tell(as_json, by_wrap(foil=foil, thickness=thickness, paper=paper, per_m2=per_m2, overlap=overlap))


@area.command()
@click.argument("sketch")
@common
def shapes(sketch: str, studio: str | None, as_json: bool) -> None:
    """Area of simple shapes added up: 'sphere 0.20 m; cylinder 0.32 m x 0.62 m'."""
    from patina.bench.pots.area import by_shapes

    _tell(as_json, by_shapes(sketch))


@area.command()
@click.argument("one")
@click.argument("other")
@common
def reconcile(one: str, other: str, studio: str | None, as_json: bool) -> None:
    """One area of two methods' results: 'weight 2.3 m2 ± 16 %' and 'foil 2.1 m2 ± 12 %'."""
    from patina.bench.pots.area import reconciled, said

    _tell(as_json, reconciled(said(one), said(other)))
