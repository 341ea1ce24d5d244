"""A small copy of a photograph for showing; nothing is measured in it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Preview:
    """A small copy of a photograph. rgb: rows of ``columns`` × 3 bytes, top row first.
    width_px, height_px: of the upright photograph itself."""

    columns: int
    rows: int
    rgb: bytes
    width_px: int
    height_px: int

    def at(self, column: int, row: int) -> tuple[int, int, int]:
        """The colour of one small pixel, 0 to 255."""
        at = 3 * (row * self.columns + column)
        return self.rgb[at], self.rgb[at + 1], self.rgb[at + 2]


def preview_of(path: Path, columns: int, rows: int) -> Preview:
    """The photograph made to fit into columns × rows small pixels, as it is or smaller.

    Raises BadPhotograph for a file that is not a whole, readable photograph.
    """
    import cv2

    from patina.colour.photograph import open_photo

    photo = open_photo(path)
    small, _ = photo.reduced(4 * max(columns, rows))
    scale = min(columns / photo.width, rows / photo.height, 1.0)
    wide, high = max(round(photo.width * scale), 1), max(round(photo.height * scale), 1)
    fitted = cv2.resize(small, (wide, high), interpolation=cv2.INTER_AREA)
    return Preview(wide, high, fitted.tobytes(), photo.width, photo.height)


def preview_of_png(png: bytes, columns: int, rows: int, *, leave_out_px: int = 0) -> Preview:
    """A picture the program has drawn, made to fit into columns × rows small pixels.

    leave_out_px: so many rows at the bottom are left out, where captions too small to be read stand.
    """
    import cv2
    import numpy as np

    whole = np.asarray(cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_COLOR))[..., ::-1]
    kept = np.ascontiguousarray(whole[: whole.shape[0] - leave_out_px])
    high, wide = kept.shape[:2]
    scale = min(columns / wide, rows / high, 1.0)
    size = (max(round(wide * scale), 1), max(round(high * scale), 1))
    fitted = cv2.resize(kept, size, interpolation=cv2.INTER_AREA)
    return Preview(size[0], size[1], fitted.tobytes(), wide, high)
