"""A file that would run a program is not opened as a photograph."""

from __future__ import annotations

from pathlib import Path

import pytest

from patina.colour.photograph import open_photo, picture_formats
from patina.errors import BadPhotograph

EPS = b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 40 40\n%%EndComments\n0 0 40 40 rectfill\nshowpage\n%%EOF\n"


def test_postscript_under_a_photographs_name_is_refused(tmp_path: Path) -> None:
    """Opening PostScript means running it, so it is refused whatever its name says."""
    file = tmp_path / "tile.jpg"
    file.write_bytes(EPS)
    with pytest.raises(BadPhotograph):
        open_photo(file)


def test_the_formats_that_are_opened_are_listed() -> None:
    """Cameras' formats are opened; EPS, PDF and icon formats are not."""
    assert {"JPEG", "PNG", "TIFF", "WEBP"} <= set(picture_formats())
    assert not {"EPS", "PDF", "ICO", "WMF"} & set(picture_formats())
