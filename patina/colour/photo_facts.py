"""What a photograph file says of itself: size, depth, profile, time, camera, exposure."""

from __future__ import annotations

import hashlib
import struct
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from PIL import ExifTags, Image

from patina.colour.profile import read_profile
from patina.colour.values import PhotoFacts

# EXIF entries worth keeping: they tell whether two photographs were taken under the same terms.
_KEPT = {
    "ExposureTime": "exposure_s",
    "FNumber": "f_number",
    "ISOSpeedRatings": "iso",
    "ExposureBiasValue": "exposure_bias_ev",
    "WhiteBalance": "white_balance",
    "Flash": "flash",
    "FocalLength": "focal_length_mm",
    "LightSource": "light_source",
    "Software": "software",
}


# what the library raises at an entry that is damaged
UNREADABLE = (OSError, ValueError, SyntaxError, TypeError, KeyError, IndexError, OverflowError, struct.error)


def sha256_of(path: Path) -> str:
    """SHA-256 of the file's bytes, in hexadecimal."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def facts_from(path: Path, image: Image.Image, bits: int = 8) -> PhotoFacts:
    """Facts of an opened, not yet decoded image. Damaged EXIF counts as none."""
    entries = _entries(image)
    width, height = image.size
    if image.format != "TIFF" and entries.get("Orientation") in (5, 6, 7, 8):  # Pillow states a TIFF's size upright
        width, height = height, width
    camera = " ".join(dict.fromkeys(_text(entries.get(key)) for key in ("Make", "Model") if entries.get(key)))
    kept = {ours: _text(entries[theirs]) for theirs, ours in _KEPT.items() if entries.get(theirs) is not None}
    if entries.get("Orientation") is not None:
        kept["orientation"] = _text(entries["Orientation"])
    return PhotoFacts(
        sha256=sha256_of(path),
        width=width,
        height=height,
        format=image.format or "unknown",
        bits=bits,
        profile=read_profile(image.info.get("icc_profile")).description,
        taken_at=_moment(entries),
        camera=camera or None,
        lens=_text(entries["LensModel"]) if entries.get("LensModel") else None,
        exif=kept,
    )


def _entries(image: Image.Image) -> Mapping[str, Any]:
    try:
        exif = image.getexif()
        detail = exif.get_ifd(ExifTags.IFD.Exif)
    except UNREADABLE:
        return {}
    return {ExifTags.TAGS.get(tag, str(tag)): value for tag, value in (*_sound(exif), *_sound(detail))}


def _sound(entries: Mapping[int, Any]) -> Iterator[tuple[int, Any]]:
    """The entries that can be read; a damaged one takes no other with it."""
    for tag in entries:
        try:
            yield tag, entries[tag]
        except UNREADABLE:
            continue


def _text(value: Any) -> str:
    if isinstance(value, bytes):
        value = value.decode("latin-1")
    return "".join(c for c in str(value) if c.isprintable()).strip()[:200]


def _moment(entries: Mapping[str, Any]) -> str | None:
    """The time of taking in ISO form, without inventing a time zone."""
    written = _text(entries.get("DateTimeOriginal") or entries.get("DateTime") or "")
    parts = written.split(" ")
    if len(parts) != 2 or parts[0].startswith("0000"):
        return None
    return f"{parts[0].replace(':', '-')}T{parts[1]}{_text(entries.get('OffsetTimeOriginal') or '')}"
