"""Opening a photograph without losing or inventing anything: depth, orientation, profile, facts."""

from __future__ import annotations

import warnings
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from patina.colour.photo_facts import UNREADABLE, facts_from, sha256_of
from patina.colour.profile import PLAIN_SRGB, SRGB_TO_XYZ, Profile, read_profile, srgb_to_linear
from patina.colour.values import PhotoFacts
from patina.errors import BadPhotograph

Array = np.ndarray[Any, np.dtype[Any]]

MAX_PIXELS = 170_000_000  # above the largest single-shot cameras; also what fits in 1 GiB when decoded
MIN_SIDE_PX = 64
RAW_SUFFIXES = frozenset((".dng", ".cr2", ".cr3", ".nef", ".arw", ".raf", ".orf", ".rw2", ".pef", ".srw"))
HEIF_SUFFIXES = frozenset((".heic", ".heif", ".hif", ".avif"))
# EPS and the like are left out: opening one runs an interpreter on what is in it.
OPENED_FORMATS = ("JPEG", "MPO", "PNG", "TIFF", "WEBP", "BMP", "GIF", "HEIF", "AVIF")


@dataclass(eq=False)
class Photo:
    """An opened photograph, upright.

    facts: what the file says of itself. profile: how its codes become light. Pixels are handed out
    in pieces, because a whole frame in floating point is larger than anybody needs.
    """

    facts: PhotoFacts
    profile: Profile
    _image: Image.Image | None = None
    _array: Array | None = None
    notes: tuple[str, ...] = ()
    _tables: dict[int, Array] = field(default_factory=dict)
    _small: dict[int, tuple[Array, float]] = field(default_factory=dict)

    @property
    def width(self) -> int:
        """Pixels across the upright picture."""
        return self.facts.width

    @property
    def height(self) -> int:
        """Pixels down the upright picture."""
        return self.facts.height

    @property
    def full_scale(self) -> int:
        """Largest code: 255 or 65535."""
        return 65535 if self._array is not None and self._array.dtype == np.uint16 else 255

    def codes(self, left: int, top: int, right: int, bottom: int) -> Array:
        """Codes of a box as stored: shape (bottom - top, right - left, 3), uint8 or uint16.

        The box is cut to the frame.
        """
        left, top = max(left, 0), max(top, 0)
        right, bottom = min(right, self.width), min(bottom, self.height)
        if self._array is not None:
            return self._array[top:bottom, left:right]
        assert self._image is not None
        return np.asarray(self._image.crop((left, top, right, bottom)))

    def coarse(self, left: int, top: int, right: int, bottom: int, factor: int) -> Array:
        """A box as uint8 codes, every ``factor`` by ``factor`` pixels made one. The box lies in the frame."""
        if self._image is not None:
            box = (left, top, right, bottom)
            return np.asarray(self._image.crop(box) if factor == 1 else self._image.reduce(factor, box))
        import cv2

        codes = self.eight_bit(self.codes(left, top, right, bottom))
        size = max(codes.shape[1] // factor, 1), max(codes.shape[0] // factor, 1)
        return cv2.resize(codes, size, interpolation=cv2.INTER_AREA) if factor > 1 else codes

    def linear(self, codes: Array) -> Array:
        """Linear light, 0 to 1, in the file's own RGB: same shape, float32."""
        size = self.full_scale + 1
        if size not in self._tables:
            self._tables[size] = self.profile.table(size)
        table = self._tables[size]
        return np.stack([np.take(table[c], codes[..., c]) for c in range(3)], axis=-1)

    def xyz(self, linear: Array) -> Array:
        """XYZ (D50, white Y = 1) of linear light by the profile alone: same shape, float64."""
        return linear.astype(np.float64) @ self.profile.matrix.T

    def reduced(self, longest: int) -> tuple[Array, float]:
        """A small copy for finding things: (uint8 RGB of at most ``longest`` pixels a side, how many
        pixels of the photograph one of its pixels is). Never enlarged.
        """
        if longest not in self._small:
            self._small[longest] = self._reduced(longest)
        return self._small[longest]

    def _reduced(self, longest: int) -> tuple[Array, float]:
        factor = max(1, -(-max(self.width, self.height) // longest))
        for small, whole in self._small.values():
            if factor > whole and max(small.shape) >= 2 * longest:
                return _halved(small, whole, longest)
        if self._image is not None:
            reduced = self._image if factor == 1 else self._image.reduce(factor)
            return np.asarray(reduced), float(factor)
        assert self._array is not None
        import cv2

        size = (max(self.width // factor, 1), max(self.height // factor, 1))
        small_array = cv2.resize(self._array, size, interpolation=cv2.INTER_AREA)
        return self.eight_bit(small_array), float(factor)

    def map_light(self, small: Array) -> Array:
        """Linear light, 0 to 1, of a small copy made by ``reduced``: same shape, float32."""
        if self.profile.linear:
            return (small.astype(np.float32) / 255.0) ** 2.2
        table = self.profile.table(256)
        return np.stack([np.take(table[c], small[..., c]) for c in range(3)], axis=-1)

    def eight_bit(self, codes: Array) -> Array:
        """16-bit codes cut to 8 for finding and showing; linear ones are brightened for the eye."""
        if self.profile.linear:
            return _encoded(codes)
        return (codes >> 8).astype(np.uint8) if codes.dtype == np.uint16 else codes


def _halved(small: Array, factor: float, longest: int) -> tuple[Array, float]:
    """A still smaller copy from a small one: every 2 by 2 (or 3 by 3) pixels become one."""
    import cv2

    step = -(-max(small.shape) // longest)
    rows, columns = small.shape[0] // step * step, small.shape[1] // step * step
    size = (columns // step, rows // step)
    return cv2.resize(small[:rows, :columns], size, interpolation=cv2.INTER_AREA), factor * step


def _encoded(linear: Array) -> Array:
    """Linear codes brightened for finding and showing; white is the brightest hundredth."""
    light = linear.astype(np.float64) / max(float(np.percentile(linear, 99)), 1.0)
    return (255.0 * np.clip(light, 0.0, 1.0) ** (1 / 2.2)).astype(np.uint8)


def open_photo(path: Path) -> Photo:
    """Opens JPEG, PNG, TIFF (8 and 16 bit), WebP, HEIC and camera RAW.

    16-bit files stay at 16 bits. The picture is turned upright by its EXIF entry; an entry outside
    1 to 8 is left alone. RAW comes as linear light in the camera's own colours.
    Raises BadPhotograph for anything that is not a whole, readable colour photograph.
    """
    path = Path(path)
    _require_file(path)
    if path.suffix.lower() in RAW_SUFFIXES:
        return _open_raw(path)
    image = _identify(path)
    with image:
        _require_size(image.size, path)
        deep = _sixteen_bit(path, image)
        if deep is not None:
            return _from_array(path, image, deep)
        return _from_image(path, image)


def facts_of(path: Path) -> PhotoFacts:
    """What the file says of itself, without decoding it. Raises BadPhotograph as ``open_photo``."""
    path = Path(path)
    _require_file(path)
    if path.suffix.lower() in RAW_SUFFIXES:
        return _open_raw(path).facts
    with _identify(path) as image:
        _require_size(image.size, path)
        return facts_from(path, image, bits=16 if _says_sixteen_bit(path, image) else 8)


def _require_file(path: Path) -> None:
    if not path.exists():
        raise BadPhotograph(f"There is no file '{path.name}'.", "Check the name and the folder.")
    if path.is_dir():
        raise BadPhotograph(f"'{path.name}' is a folder, not a photograph.", "Name one photograph in it.")
    try:
        size = path.stat().st_size
    except OSError as trouble:
        raise BadPhotograph(f"'{path.name}' cannot be read: {trouble}.", "Check the disk and the rights.") from trouble
    if size == 0:
        raise BadPhotograph(f"'{path.name}' is empty (0 bytes).", "Copy it from the camera again.")


def picture_formats() -> tuple[str, ...]:
    """Formats of Pillow that are opened: those of cameras and of picture programs, none that runs a program."""
    Image.init()
    return tuple(name for name in OPENED_FORMATS if name in Image.OPEN)


def _identify(path: Path) -> Image.Image:
    if path.suffix.lower() in HEIF_SUFFIXES or _looks_heif(path):
        _register_heif(path)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            return Image.open(path, formats=picture_formats())
    except Image.DecompressionBombError as trouble:
        raise _too_large(path) from trouble
    except UnidentifiedImageError as trouble:
        raise BadPhotograph(
            f"'{path.name}' is not a photograph that can be read here.",
            "Use JPEG, PNG, TIFF, WebP, HEIC or camera RAW; if it should be one, copy it from the camera again.",
        ) from trouble
    except (OSError, ValueError, SyntaxError, EOFError) as trouble:
        raise _broken(path, trouble) from trouble


def _looks_heif(path: Path) -> bool:
    with path.open("rb") as stream:
        head = stream.read(12)
    return head[4:8] == b"ftyp" and head[8:12] in (b"heic", b"heix", b"mif1", b"msf1", b"hevc")


def _register_heif(path: Path) -> None:
    if path.suffix.lower() == ".avif":
        return
    try:
        import pillow_heif
    except ImportError as trouble:
        raise BadPhotograph(
            f"'{path.name}' is a HEIC photograph, and the part that reads those is not installed.",
            "Install it with: pip install 'patina[heic]'. Or let the phone store JPEG.",
        ) from trouble
    pillow_heif.register_heif_opener()


def _require_size(size: tuple[int, int], path: Path) -> None:
    if size[0] * size[1] > MAX_PIXELS:
        raise _too_large(path)
    if min(size) < MIN_SIDE_PX:
        raise BadPhotograph(
            f"'{path.name}' is only {size[0]} × {size[1]} pixels.", "Use the photograph as the camera stored it."
        )


def _too_large(path: Path) -> BadPhotograph:
    return BadPhotograph(
        f"'{path.name}' claims more than {MAX_PIXELS // 1_000_000} million pixels and was not opened.",
        "Use the photograph as the camera stored it, or crop it.",
    )


def _broken(path: Path, trouble: Exception) -> BadPhotograph:
    return BadPhotograph(
        f"'{path.name}' is damaged or cut short ({trouble}).", "Copy it from the camera or the backup again."
    )


def _from_image(path: Path, image: Image.Image) -> Photo:
    facts = facts_from(path, image)
    notes: list[str] = []
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            image.load()
    except (OSError, ValueError, SyntaxError, EOFError, MemoryError) as trouble:
        raise _broken(path, trouble) from trouble
    if image.mode in ("1", "L", "LA", "I", "F", "I;16", "I;16B"):
        raise BadPhotograph(f"'{path.name}' is black and white.", "Use a colour photograph.")
    data = image.info.get("icc_profile")
    profile = read_profile(data)
    turned: Image.Image = image
    try:
        ImageOps.exif_transpose(turned, in_place=True)
    except UNREADABLE as trouble:
        raise _broken(path, trouble) from trouble
    if profile.data is not None or turned.mode == "CMYK":
        turned, profile = _by_image_cms(path, turned, profile), PLAIN_SRGB
        notes.append("converted to sRGB by its profile")
    if turned.mode != "RGB":
        turned = turned.convert("RGB")
    return Photo(facts, profile, _image=turned, notes=tuple(notes))


def _by_image_cms(path: Path, image: Image.Image, profile: Profile) -> Image.Image:
    if profile.data is None:
        raise BadPhotograph(
            f"'{path.name}' is in printing inks (CMYK) without a profile.",
            "Use the photograph as the camera stored it.",
        )
    import io

    source = ImageCms.ImageCmsProfile(io.BytesIO(profile.data))
    try:
        converted = ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except (ImageCms.PyCMSError, ValueError, OSError) as trouble:
        raise BadPhotograph(
            f"The colour profile of '{path.name}' does not fit its pixels.", "Export it again as sRGB."
        ) from trouble
    assert converted is not None
    return converted


def _says_sixteen_bit(path: Path, image: Image.Image) -> bool:
    if image.format == "PNG":
        with path.open("rb") as stream:
            head = stream.read(26)
        return head[24] == 16 and head[25] in (2, 6)
    if image.format == "TIFF":
        bits = getattr(image, "tag_v2", {}).get(258, (8,))
        return max(bits if isinstance(bits, tuple) else (bits,)) == 16
    return False


def _sixteen_bit(path: Path, image: Image.Image) -> Array | None:
    """The pixels at 16 bits, before turning upright, or None for an 8-bit file."""
    if not _says_sixteen_bit(path, image):
        return None
    try:
        if image.format == "TIFF":
            import tifffile

            array = np.asarray(tifffile.imread(path, key=0))
        else:
            import cv2

            raw = cv2.imread(str(path), cv2.IMREAD_UNCHANGED | cv2.IMREAD_IGNORE_ORIENTATION)
            if raw is None or raw.ndim != 3:
                raise ValueError("the pixels cannot be decoded")
            array = raw[..., 2::-1]
    except (OSError, ValueError, RuntimeError, KeyError, IndexError, TypeError) as trouble:
        raise _broken(path, trouble) from trouble
    if array.ndim == 3 and array.shape[0] in (3, 4) and array.shape[2] not in (3, 4):
        array = np.moveaxis(array, 0, -1)
    if array.ndim != 3 or array.shape[2] < 3 or array.dtype != np.uint16:
        raise BadPhotograph(f"'{path.name}' is not a 16-bit colour picture.", "Export it as RGB with 8 or 16 bits.")
    return array[..., :3]


def _from_array(path: Path, image: Image.Image, array: Array) -> Photo:
    profile = read_profile(image.info.get("icc_profile"))
    if profile.data is not None:
        raise BadPhotograph(
            f"'{path.name}' has 16 bits and a table profile, which cannot be joined here.",
            "Export it as 16-bit sRGB, Display P3 or Adobe RGB.",
        )
    facts = facts_from(path, image, bits=16)
    upright = _turn(array, image.getexif().get(0x0112, 1))
    return Photo(facts, profile, _array=np.ascontiguousarray(upright))


def _turn(array: Array, orientation: int) -> Array:
    """Upright by EXIF orientation 1 to 8; other values leave it alone."""
    if orientation in (5, 6, 7, 8):
        array = np.swapaxes(array, 0, 1)
    if orientation in (2, 3, 6, 7):
        array = array[:, ::-1]
    if orientation in (3, 4, 7, 8):
        array = array[::-1]
    return array


def _open_raw(path: Path) -> Photo:
    try:
        import rawpy
    except ImportError as trouble:
        raise BadPhotograph(
            f"'{path.name}' is a camera RAW file, and the part that reads those is not installed.",
            "Install it with: pip install 'patina[raw]'. Or use the camera's JPEG.",
        ) from trouble
    try:
        with rawpy.imread(str(path)) as raw:
            array = raw.postprocess(
                gamma=(1, 1), no_auto_bright=True, output_bps=16, use_camera_wb=True, output_color=rawpy.ColorSpace.raw
            )
    except (rawpy.LibRawError, OSError, ValueError) as trouble:
        raise _broken(path, trouble) from trouble
    height, width = array.shape[:2]
    _require_size((width, height), path)
    facts = PhotoFacts(sha256_of(path), width, height, "RAW", 16, "camera colours, linear")
    profile = Profile("camera colours, linear", None, SRGB_TO_XYZ, linear=True)
    return Photo(facts, profile, _array=np.ascontiguousarray(array), notes=("camera colours",))


__all__ = ["Photo", "facts_of", "open_photo", "srgb_to_linear"]
