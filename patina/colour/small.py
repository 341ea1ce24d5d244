"""A small JPEG of a photograph, for paper and pages; nothing is measured in it."""

from __future__ import annotations

from pathlib import Path


def small_jpeg(path: Path, long_side_px: int) -> bytes:
    """The photograph as an upright sRGB JPEG whose longer side has at most that many pixels.

    Raises BadPhotograph for a file that is not a whole, readable photograph.
    """
    import cv2
    import numpy as np

    from patina.colour.preview import preview_of

    small = preview_of(path, long_side_px, long_side_px)
    rgb = np.frombuffer(small.rgb, np.uint8).reshape(small.rows, small.columns, 3)
    _, coded = cv2.imencode(".jpg", cv2.cvtColor(rgb, cv2.COLOR_RGB2BGR), [cv2.IMWRITE_JPEG_QUALITY, 88])
    return bytes(coded)
