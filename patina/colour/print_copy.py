"""A copy of a photograph for paper, as small as its place on the sheet asks for, and the scale in it where a placard
lies. Nothing is measured in a copy."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PIL import Image, ImageCms, ImageOps

from patina.colour.photograph import RAW_SUFFIXES, facts_of, picture_formats
from patina.errors import BadPhotograph, PatinaError

QUALITY = 85
# Marks of a placard are looked for in a copy of so many pixels: 3 to the millimetre where the sheet fills it.
LOOK_PX = 1000


@dataclass(frozen=True, slots=True)
class PrintCopy:
    """A copy as an sRGB JPEG. px_per_mm: of the copy, where a placard lies in the picture, else None.
    original_px: width and height of the upright photograph."""

    content: bytes
    width_px: int
    height_px: int
    original_px: tuple[int, int]
    px_per_mm: float | None = None


def print_copy(path: Path, wide_px: int, *, scale: bool = True) -> PrintCopy:
    """The photograph upright, in sRGB, at most so many pixels wide, never enlarged.

    scale: look for a placard that tells what a millimetre is. A JPEG is decoded at a half, a quarter or an eighth of
    its size where that is enough. Raises BadPhotograph for a file that is not a whole, readable photograph.
    """
    path = Path(path)
    facts = facts_of(path)
    deep = path.suffix.lower() in RAW_SUFFIXES or facts.bits > 8
    wide = max(wide_px, LOOK_PX if scale else 0)
    least = wide, round(wide * facts.height / facts.width)
    picture = _raw(path, max(least)) if deep else _decoded(path, least)
    per_mm = _px_per_mm(_narrowed(picture, LOOK_PX)) if scale else None
    small = _narrowed(picture, wide_px)
    out = io.BytesIO()
    small.save(out, "JPEG", quality=QUALITY, subsampling=0)
    share = None if per_mm is None else per_mm * small.width / min(picture.width, LOOK_PX)
    return PrintCopy(out.getvalue(), *small.size, (facts.width, facts.height), share)


def _narrowed(picture: Image.Image, wide_px: int) -> Image.Image:
    if picture.width <= wide_px:
        return picture
    size = wide_px, max(round(picture.height * wide_px / picture.width), 1)
    return picture.resize(size, Image.Resampling.LANCZOS, reducing_gap=2.0)


def _decoded(path: Path, least: tuple[int, int]) -> Image.Image:
    """Upright, in sRGB, not smaller than so many pixels wide and high where the photograph is not."""
    try:
        with Image.open(path, formats=picture_formats()) as image:
            if image.format in ("JPEG", "MPO"):
                turned = (image.width > image.height) != (least[0] > least[1])
                image.draft("RGB", least[::-1] if turned else least)
            profile = image.info.get("icc_profile")
            image.load()
            upright = ImageOps.exif_transpose(image)
            return _srgb(upright, profile)
    except (OSError, ValueError, SyntaxError, EOFError) as trouble:
        raise BadPhotograph(
            f"'{path.name}' is damaged or cut short ({trouble}).", "Copy it from the camera or the backup again."
        ) from trouble


def _srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """The same picture as a screen without colour management shows it rightly; an unreadable profile counts as sRGB."""
    if image.mode not in ("RGB", "L", "CMYK"):
        image = image.convert("RGBA").convert("RGB") if "A" in image.mode or "transparency" in image.info else image
    if profile:
        try:
            of_file = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            made: Any = ImageCms.profileToProfile(image, of_file, ImageCms.createProfile("sRGB"), outputMode="RGB")
            return made if made is not None else image.convert("RGB")
        except (ImageCms.PyCMSError, OSError, ValueError):
            pass
    return image if image.mode == "RGB" else image.convert("RGB")


def _raw(path: Path, side: int) -> Image.Image:
    """Camera RAW and 16-bit files go the way that pictures on screen go."""
    from patina.colour.preview import preview_of

    small = preview_of(path, side, side)
    return Image.frombytes("RGB", (small.columns, small.rows), small.rgb)


def _px_per_mm(picture: Image.Image) -> float | None:
    """Pixels to the millimetre by a placard in the picture; None where none is seen or it cannot be used."""
    import numpy as np

    from patina.colour.placard_reading import find_placard

    try:
        found = find_placard(np.asarray(picture))
    except PatinaError:
        return None
    return None if found is None else found.px_per_mm
