"""Which place holds a studio's photographs: its own folder, another folder, or a store by its address."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from patina.errors import Refused
from patina.records.photographs.files import PhotographFiles, Photographs, folder_for_url, require_hash

ENVIRONMENT = "PATINA_PHOTOGRAPHS"
SETTING = "photographs"
Progress = Callable[[int, int, str], None]


def photographs_at(words: str) -> Photographs:
    """The photographs in a folder or at an address such as s3://bucket/prefix. Nothing is opened yet."""
    protocol, sign, rest = words.partition("://")
    if not sign or protocol in ("file", "local"):
        return PhotographFiles(Path(rest if sign else words).expanduser())
    from patina.records.photographs.store import PhotographStore, cache_for

    address = words.rstrip("/")
    return PhotographStore(address, cache_for(address))


def photographs_of(folder: Path | None, shown: str, setting: str) -> Photographs:
    """The place that counts for a studio. folder: of a studio in a folder, None for one at the URL ``shown``.

    For a studio on a server PATINA_PHOTOGRAPHS counts first; it says where this machine sees them. Then
    the studio's own setting, then its folder, or the data folder of this machine.
    """
    chosen = os.environ.get(ENVIRONMENT, "").strip() if folder is None else ""
    if chosen or setting:
        return photographs_at(chosen or setting)
    return PhotographFiles(folder / "photographs" if folder is not None else folder_for_url(shown))


def copy_all(hashes: list[str], source: Photographs, target: Photographs, progress: Progress) -> int:
    """Copy photographs from one place to another, each proved there; how many were not there before.

    Raises Refused where one comes out as another than it should be, and what the two places raise.
    """
    added = 0
    for number, sha256 in enumerate(hashes, 1):
        progress(number, len(hashes), require_hash(sha256)[:12])
        path = source.existing(sha256)
        if target.fault(sha256, path.stat().st_size) is None:
            continue
        if target.keep(path) != sha256:
            raise Refused(
                f"The photograph {sha256[:12]}… in '{source.where}' is not what it was.",
                "Nothing was changed. Run patina check, and restore it from a backup first.",
            )
        added += 1
    return added
