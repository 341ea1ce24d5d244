"""What a screen needs to show a colour or a photograph: nothing here is measured or kept."""

from __future__ import annotations

from pathlib import Path

from patina.colour.lab import in_screen_range, srgb_hex
from patina.colour.preview import Preview
from patina.colour.values import Lab


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
