"""Before and after: what two photographs of one piece show to have changed."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.readings.reading import Corners, parse_area, parse_corners, parse_outline
from patina.colour.values import AreaSpec
from patina.errors import NotFound

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets import ChangeSheet


def change(
    studio: Studio | None,
    before: str,
    after: str,
    *,
    areas: Sequence[str | AreaSpec] = (),
    piece: str | None = None,
    edition: str = "unknown",
    chart: str = "auto",
    formula: str = "de2000",
    picture: Path | None = None,
    corners_before: str | None = None,
    corners_after: str | None = None,
    flat_before: Path | None = None,
    flat_after: Path | None = None,
) -> ChangeSheet:
    """Lay the later photograph over the earlier one, and measure patches in both.

    before, after: paths, or SHA-256 of stored photographs. areas: "NAME=x,y,w,h" in pixels of the
    earlier picture; none: a grid of patches. piece: "x,y;x,y;x,y…", the outline of the piece in the
    earlier picture, so that the grid keeps to it. corners_before, corners_after: "x,y;x,y;x,y;x,y", centres of
    patches 1, 6, 24 and 19 where the chart is not found. flat_before, flat_after: photographs of plain card in
    the place and light of each. picture: where to write the difference picture (PNG).
    Raises NotComparable, BadPhotograph, NoChart, BadChart, NotFound, BadQuantity.
    """
    from patina.bench.saving import write_whole
    from patina.colour.before_after import before_after
    from patina.sheets.change import ChangeSheet, PatchRow

    found = before_after(
        _photograph(studio, before),
        _photograph(studio, after),
        areas=[a if isinstance(a, AreaSpec) else parse_area(a) for a in areas],
        piece=None if piece is None else parse_outline(piece),
        chart=chart if chart == "auto" else Path(chart),
        edition=edition,
        formula=formula,
        corners=(_points(corners_before), _points(corners_after)),
        flat=(flat_before, flat_after),
    )
    if picture is not None:
        write_whole(picture, found.picture_png)
    return ChangeSheet(
        patches=tuple(
            PatchRow(p.name, p.before.lab, p.after.lab, p.difference, p.uncertainty_de00, p.before.polygon)
            for p in found.patches
        ),
        skipped=found.skipped,
        warnings=found.cautions,
        misfit_px=found.registration.misfit_px,
        turned_deg=found.registration.turned_deg,
        scale=found.registration.scale,
        picture_png=found.picture_png,
    )


def _points(corners: str | None) -> Corners | None:
    return None if corners is None else parse_corners(corners)


def _photograph(studio: Studio | None, named: str) -> Path:
    path = Path(named)
    if path.is_file():
        return path
    if studio is not None and len(named) >= 8 and all(c in "0123456789abcdef" for c in named.lower()):
        from patina.bench.readings.tiles import photograph_path

        return photograph_path(studio, named)
    raise NotFound(f"There is no photograph '{named}'.", "Give a file's path, or the SHA-256 of a stored photograph.")
