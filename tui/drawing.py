"""The chart and the areas drawn on a picture of many pixels, as ``widgets.picture`` draws them in cells."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

    from patina.bench.readings.showing import Preview
    from tui.widgets.picture import Frame, Point

BLACK, WHITE, AMBER = (0, 0, 0), (255, 255, 255), (255, 210, 122)
POINT_NAMES = ("1", "6", "24", "19")
# Shares of the picture's longer side.
_LINE, _LETTER = 1 / 400, 1 / 45


@dataclass(frozen=True, slots=True)
class Drawing:
    """What is drawn over a photograph, in its pixels. patches: outlines of the chart's patches; points: the middles
    of its corner patches; frames: areas; chosen: which of the frames stands out, None for none."""

    patches: tuple[tuple[Point, ...], ...] = ()
    points: tuple[Point, ...] = ()
    frames: tuple[Frame, ...] = ()
    chosen: int | None = None


def picture_of(preview: Preview, drawing: Drawing | None) -> Image:
    """The preview as a picture, with what is drawn over it."""
    from PIL import Image, ImageDraw

    picture = Image.frombytes("RGB", (preview.columns, preview.rows), preview.rgb)
    if drawing is not None:
        _draw(ImageDraw.Draw(picture), preview, drawing)
    return picture


def _draw(pen: ImageDraw, preview: Preview, drawing: Drawing) -> None:
    from PIL import ImageFont

    scale = preview.columns / preview.width_px
    longer = max(preview.columns, preview.rows)
    line = max(round(longer * _LINE), 1)
    font = ImageFont.load_default(max(longer * _LETTER, 10.0))

    def outline(corners: list[tuple[float, float]], ink: tuple[int, int, int]) -> None:
        for colour, width in ((BLACK, 3 * line), (ink, line)):  # told from light and from dark ground
            pen.line([*corners, corners[0], corners[1]], fill=colour, width=width, joint="curve")

    def letters(x: float, y: float, words: str, ink: tuple[int, int, int], anchor: str) -> None:
        pen.text((x, y), words, fill=ink, font=font, anchor=anchor, stroke_width=2 * line, stroke_fill=BLACK)

    for patch in drawing.patches:
        outline([(x * scale, y * scale) for x, y in patch], WHITE)
    for name, (x, y) in zip(POINT_NAMES, drawing.points, strict=False):
        letters(x * scale, y * scale, name, WHITE, "mm")
    for n, frame in enumerate(drawing.frames):
        ink = AMBER if n == drawing.chosen else WHITE
        left, top = frame.x * scale, frame.y * scale
        right, bottom = left + frame.w * scale, top + frame.h * scale
        outline([(left, top), (right, top), (right, bottom), (left, bottom)], ink)
        letters(left + 3 * line, top + 3 * line, frame.name, ink, "la")
