"""Bundles as their parts, and parts as bundles again, with or without hashes that agree."""

from __future__ import annotations

import hashlib
import zipfile
from pathlib import Path

Parts = dict[str, bytes]
MANIFEST, TAGS = "manifest-sha256.txt", "tagmanifest-sha256.txt"


def parts_of(file: Path) -> Parts:
    """What lies in a bundle, by its path in the bag."""
    with zipfile.ZipFile(file) as archive:
        return {name.partition("/")[2]: archive.read(name) for name in archive.namelist()}


def payload_of(file: Path) -> Parts:
    """What lies under data."""
    return {name: content for name, content in parts_of(file).items() if name.startswith("data/")}


def records_of(file: Path) -> Parts:
    """The tables and photographs alone."""
    kept = ("data/tables/", "data/photographs/")
    return {name: content for name, content in parts_of(file).items() if name.startswith(kept)}


def with_hashes(parts: Parts) -> Parts:
    """The same parts with manifests that agree with them, as somebody who knows how would write them."""
    lines = [f"{hashlib.sha256(c).hexdigest()}  {n}\n" for n, c in sorted(parts.items()) if n.startswith("data/")]
    parts = {**parts, MANIFEST: "".join(lines).encode()}
    info = parts["bag-info.txt"].decode("utf-8", "replace").splitlines()
    size = sum(len(c) for n, c in parts.items() if n.startswith("data/"))
    oxum = f"Payload-Oxum: {size}.{len(lines)}"
    parts["bag-info.txt"] = "\n".join(
        [oxum if line.startswith("Payload-Oxum") else line for line in info] + [""]
    ).encode()
    tags = [f"{hashlib.sha256(parts[n]).hexdigest()}  {n}\n" for n in ("bag-info.txt", "bagit.txt", MANIFEST)]
    parts[TAGS] = "".join(tags).encode()
    return parts


def written(file: Path, parts: Parts, *, base: str = "patina-C1", pack: int = zipfile.ZIP_STORED) -> Path:
    """A bundle of the parts."""
    with zipfile.ZipFile(file, "w", pack) as archive:
        for name, content in parts.items():
            archive.writestr(zipfile.ZipInfo(f"{base}/{name}"), content, compress_type=pack)
    return file
