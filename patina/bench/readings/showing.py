"""What a screen needs to show a colour or a photograph: nothing here is measured or kept."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from patina.colour.lab import in_screen_range, srgb_hex
from patina.colour.preview import Preview
from patina.colour.values import Lab, Point


def screen_colour(lab: Lab) -> str:
    """The nearest colour a screen can show, as "#rrggbb"."""
    return srgb_hex(lab)


def near_only(lab: Lab) -> bool:
    """Whether the screen can only come near the colour."""
    return not in_screen_range(lab)


def preview(path: Path, columns: int, rows: int) -> Preview:
    """The photograph made to fit into columns × rows small pixels. Raises BadPhotograph."""
    from patina.colour.preview import preview_of

    return preview_of(path, columns, rows)


def corrected(
    path: Path,
    columns: int,
    rows: int,
    *,
    chart: str = "auto",
    edition: str = "unknown",
    corners: Sequence[Point] | None = None,
    card: str | None = None,
    chart_photo: Path | None = None,
    flat: Path | None = None,
) -> Preview:
    """The photograph as its chart says it should look, made to fit into columns × rows small pixels.

    chart, edition, card, chart_photo, flat: as ``patina.bench.readings.reading.read`` takes them. corners: centres of
    patches 1, 6, 24, 19 in pixels, where they were placed by hand. Raises BadPhotograph, NoChart, BadChart.
    """
    from patina.colour.corrected import corrected_preview

    return corrected_preview(
        path,
        columns,
        rows,
        chart=chart,
        edition=edition,
        corners=corners,
        card=card,
        chart_frame=chart_photo,
        flat_frame=flat,
    )


def proposed_area(
    width_px: int, height_px: int, corners: Sequence[Point] = (), *, card: bool = False
) -> tuple[float, float, float, float]:
    """x, y, width and height of the first area to be measured: in the middle, or beside the chart that lies there.

    corners: centres of patches 1, 6, 24, 19 in pixels; with ``card`` the outer corners of a card.
    """
    from patina.colour.proposed import proposed_area as of

    return of(width_px, height_px, corners, card=card)


def patch_outlines(corners: Sequence[Point]) -> tuple[tuple[Point, ...], ...]:
    """The 24 patches of a chart as squares of four corners each, in pixels of the photograph."""
    from patina.colour.corrected import patch_outlines as of

    return of(corners)


def difference_preview(png: bytes, columns: int, rows: int, *, captions: bool = False) -> Preview:
    """The picture of a change, made to fit into columns × rows small pixels. captions: with the words
    and the scale below it, which only many pixels show."""
    from patina.colour.difference_picture import LEGEND_PX
    from patina.colour.preview import preview_of_png

    return preview_of_png(png, columns, rows, leave_out_px=0 if captions else LEGEND_PX)
