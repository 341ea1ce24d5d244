"""Opening photographs: depth, orientation, profiles, and everything that must be refused."""

from __future__ import annotations

import io
import struct
import sys
import zlib
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image, ImageCms

from patina.colour.photograph import facts_of, open_photo
from patina.colour.profile import SRGB_TO_XYZ, Profile, read_profile, srgb_to_linear
from patina.errors import BadPhotograph


def picture(width: int = 96, height: int = 72) -> np.ndarray:
    """A small colour picture without symmetry, shape (height, width, 3)."""
    x, y = np.meshgrid(np.arange(width), np.arange(height))
    return np.stack([x * 2, y * 3, (x + 2 * y) % 256], axis=-1).astype(np.uint8)


def whole(photo) -> np.ndarray:
    """All codes of a photograph."""
    return np.asarray(photo.codes(0, 0, photo.width, photo.height))


@pytest.mark.parametrize("suffix", ["png", "tif", "webp"])
def test_lossless_formats_come_through(tmp_path, suffix):
    """PNG, TIFF and lossless WebP give the codes that were stored."""
    path = tmp_path / f"a.{suffix}"
    Image.fromarray(picture()).save(path, **({"lossless": True} if suffix == "webp" else {}))
    photo = open_photo(path)
    assert np.array_equal(whole(photo), picture()) and photo.full_scale == 255
    assert (photo.facts.width, photo.facts.height, photo.facts.bits) == (96, 72, 8)


@pytest.mark.parametrize("suffix", ["tif", "png"])
def test_sixteen_bits_are_kept(tmp_path, suffix):
    """A 16-bit colour file stays at 16 bits, which Pillow would cut to 8 without a word."""
    deep = picture().astype(np.uint16) * 257 - np.uint16(100) * (picture() > 50)
    path = tmp_path / f"deep.{suffix}"
    if suffix == "tif":
        tifffile.imwrite(path, deep, photometric="rgb")
    else:
        import cv2

        cv2.imwrite(str(path), deep[..., ::-1])
    photo = open_photo(path)
    assert np.array_equal(whole(photo), deep) and photo.full_scale == 65535 and photo.facts.bits == 16
    assert facts_of(path).bits == 16


@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation_turns_upright(tmp_path, orientation):
    """All eight EXIF orientations turn the picture as Pillow's own transpose does, at 8 and at 16 bits."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = tmp_path / "turned.png"
    Image.fromarray(picture()).save(path, exif=exif)
    photo = open_photo(path)
    from PIL import ImageOps

    with Image.open(path) as image:
        expected = np.asarray(ImageOps.exif_transpose(image))
    assert np.array_equal(whole(photo), expected)
    assert (photo.height, photo.width) == expected.shape[:2]
    deep = tmp_path / "deep.tif"
    tifffile.imwrite(deep, picture().astype(np.uint16) * 257, photometric="rgb", extratags=[(274, "H", 1, orientation)])
    assert np.array_equal(whole(open_photo(deep)), expected.astype(np.uint16) * 257)


@pytest.mark.parametrize("orientation", [0, 9, 200])
def test_invalid_orientation_is_left_alone(tmp_path, orientation):
    """An orientation that means nothing leaves the picture as it lies."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = tmp_path / "odd.jpg"
    Image.fromarray(picture()).save(path, exif=exif, quality=95)
    photo = open_photo(path)
    assert (photo.width, photo.height) == (96, 72)
    assert photo.facts.exif["orientation"] == str(orientation)


def refused(path: Path) -> BadPhotograph:
    """The trouble that opening a file raises, which must say what happened and what to do."""
    with pytest.raises(BadPhotograph) as trouble:
        open_photo(path)
    assert trouble.value.what and trouble.value.remedy
    return trouble.value


def test_a_damaged_entry_takes_no_other_with_it(tmp_path):
    """A TIFF that says its kind of pixels twice (tag 262) still tells its size and program, and is refused in words."""
    path = tmp_path / "a.tif"
    Image.new("F", (96, 72)).save(path, software="mill")
    content = bytearray(path.read_bytes())
    (first,) = struct.unpack_from("<L", content, 4)
    (entries,) = struct.unpack_from("<H", content, first)
    where = next(at for at in range(first + 2, first + 12 * entries, 12) if content[at : at + 2] == b"\x06\x01")
    struct.pack_into("<L", content, where + 4, 2)
    path.write_bytes(content)
    facts = facts_of(path)
    assert (facts.width, facts.height, facts.exif["software"]) == (96, 72, "mill")
    with pytest.raises(BadPhotograph, match="black and white"):
        open_photo(path)


def test_what_is_no_photograph_is_refused(tmp_path):
    """A missing file, a folder, an empty file, text, and a picture cut short are refused with a sentence."""
    refused(tmp_path / "missing.jpg")
    refused(tmp_path)
    empty = tmp_path / "empty.jpg"
    empty.touch()
    assert "0 bytes" in refused(empty).what
    text = tmp_path / "text.jpg"
    text.write_text("this is no picture\n" * 50)
    refused(text)
    for suffix in ("jpg", "png", "tif"):
        stream = io.BytesIO()
        noise = np.random.default_rng(1).integers(0, 255, (200, 300, 3)).astype(np.uint8)
        Image.fromarray(noise).save(stream, {"jpg": "JPEG", "png": "PNG", "tif": "TIFF"}[suffix])
        short = tmp_path / f"short.{suffix}"
        short.write_bytes(stream.getvalue()[: len(stream.getvalue()) // 2])
        refused(short)


def test_black_and_white_is_refused(tmp_path):
    """A grey picture holds no colour to be read."""
    path = tmp_path / "grey.png"
    Image.fromarray(picture()[..., 0]).save(path)
    assert "black and white" in refused(path).what


def test_tiny_picture_is_refused(tmp_path):
    """A thumbnail is refused."""
    path = tmp_path / "tiny.png"
    Image.fromarray(picture(20, 20)).save(path)
    refused(path)


@pytest.mark.parametrize("side", [14_000, 60_000])
def test_decompression_bomb_is_refused(tmp_path, side):
    """A small file that claims to be an enormous picture is refused before it is unpacked."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0))
    path = tmp_path / "bomb.png"
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b""))
    assert "million pixels" in refused(path).what


def test_heic_is_read_with_its_part_and_named_without(tmp_path, monkeypatch):
    """HEIC opens where pillow-heif is installed; where it is not, the sentence names what to install."""
    pillow_heif = pytest.importorskip("pillow_heif")
    path = tmp_path / "a.heic"
    pillow_heif.from_pillow(Image.fromarray(picture(128, 96))).save(path, quality=95)
    photo = open_photo(path)
    assert (photo.width, photo.height) == (128, 96)
    assert np.abs(whole(photo).astype(int) - picture(128, 96)).mean() < 6
    monkeypatch.setitem(sys.modules, "pillow_heif", None)
    assert "patina[heic]" in refused(path).remedy


def test_raw_is_named_where_its_part_is_missing(tmp_path, monkeypatch):
    """Without rawpy a RAW file is refused and the sentence names what to install; a damaged one is refused with it."""
    path = tmp_path / "a.dng"
    path.write_bytes(b"not a raw file at all" * 10)
    refused(path)
    monkeypatch.setitem(sys.modules, "rawpy", None)
    assert "patina[raw]" in refused(path).remedy


def test_srgb_profile_agrees_with_image_cms():
    """The matrix and curves read from a profile give what ImageCms gives: sRGB's own profile is sRGB."""
    data = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    profile = read_profile(data)
    assert profile.description and profile.data is None
    assert np.allclose(profile.matrix, SRGB_TO_XYZ, atol=2e-3)
    assert np.allclose(profile.table(256)[0], srgb_to_linear(np.linspace(0, 1, 256)), atol=1e-3)


def test_wide_gamut_profile_agrees_with_image_cms():
    """Colours of a Display P3 file come out as ImageCms converts them, and those outside sRGB are not cut."""
    sys.path.insert(0, str(Path(__file__).parent))
    from photographs_profile import display_p3

    data = display_p3()
    profile = read_profile(data)
    codes = np.random.default_rng(2).integers(60, 200, (500, 3)).astype(np.uint8)
    light = np.stack([profile.table(256)[c][codes[:, c]] for c in range(3)], axis=-1)
    ours = (light @ profile.matrix.T) @ np.linalg.inv(SRGB_TO_XYZ).T
    source = ImageCms.ImageCmsProfile(io.BytesIO(data))
    image = Image.fromarray(codes[None])
    theirs = np.asarray(ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB")))[0]
    inside = np.all((ours > 0.01) & (ours < 0.99), axis=1)
    assert inside.sum() > 200
    assert np.abs(srgb_to_linear(theirs[inside] / 255.0) - ours[inside]).max() < 0.006
    red = profile.table(256)[0][255] * profile.matrix[:, 0]
    assert (np.linalg.inv(SRGB_TO_XYZ) @ red)[0] > 1.1


def test_damaged_profile_counts_as_none(tmp_path):
    """A damaged profile does not stop the reading; its description says that it was read as sRGB."""
    path = tmp_path / "odd.png"
    Image.fromarray(picture()).save(path, icc_profile=b"damaged" * 30)
    photo = open_photo(path)
    assert isinstance(photo.profile, Profile) and "sRGB" in (photo.facts.profile or "")


def test_facts_do_not_need_the_pixels(tmp_path):
    """Size, format, camera and time come from the file's head; the sum is that of the bytes."""
    import hashlib

    exif = Image.Exif()
    exif[0x010F], exif[0x0110], exif[0x0132] = "Maker", "Model 7", "2024:05:06 07:08:09"
    path = tmp_path / "f.jpg"
    Image.fromarray(picture()).save(path, exif=exif)
    facts = facts_of(path)
    assert facts.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert (facts.format, facts.camera, facts.taken_at) == ("JPEG", "Maker Model 7", "2024-05-06T07:08:09")
