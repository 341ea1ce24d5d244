"""Where a studio's photographs lie, and taking them elsewhere."""

from __future__ import annotations

import os
import shutil
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.errors import Refused
from patina.records.photographs.places import ENVIRONMENT, SETTING, Progress, copy_all, photographs_at, photographs_of
from patina.records.photographs.rows import known_hashes, known_sizes

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.records.photographs.files import Photographs


def where_photographs_are(studio: Studio) -> dict[str, Any]:
    """The place of the photographs, as shown, and how many are on record."""
    with studio.store.view() as session:
        return {"where": studio.store.files.where, "photographs": len(known_hashes(session))}


@dataclass(frozen=True, slots=True)
class MovePlan:
    """What moving the photographs would do. before, place: the two places as shown. photographs, size_bytes: on
    record; there: how many of them lie at the new place already, by their size; missing: SHA-256 of those that are
    not where they should be, or not whole in size. free_bytes: at the new place, None where a store does not say.
    cautions: what is to be known."""

    before: str
    place: str
    photographs: int
    size_bytes: int
    there: int
    missing: tuple[str, ...]
    free_bytes: int | None
    cautions: tuple[str, ...]

    @property
    def possible(self) -> bool:
        """Whether nothing stands in the way that is known before."""
        return not self.missing and self.place != self.before


def plan_move(studio: Studio, place: str, progress: Progress = lambda *_: None) -> MovePlan:
    """What ``move_photographs`` to a place would do; nothing is copied. progress: told (done, of how many, hash).
    Raises Refused for what is no place, NotAllowed, StudioTrouble where a store does not answer."""
    studio.require("setting")
    target, before = _target(studio, place), studio.store.files
    with studio.store.view() as session:
        sizes = sorted(known_sizes(session).items())
    missing, there = [], 0
    for number, (sha256, size) in enumerate(sizes, 1):
        progress(number - 1, len(sizes), sha256[:12])
        if before.size(sha256) != size:
            missing.append(sha256)
        there += target.size(sha256) == size
    total, free = sum(size for _, size in sizes), _free_bytes(target.where)
    cautions = []
    if free is not None and free < total:
        cautions.append("There is less room than the photographs need.")
    if studio.store.folder is None and os.environ.get(ENVIRONMENT, "").strip():
        cautions.append(f"{ENVIRONMENT} is set on this machine and goes on saying where this machine looks for them.")
    return MovePlan(before.where, target.where, len(sizes), total, there, tuple(missing), free, tuple(cautions))


def _free_bytes(where: str) -> int | None:
    """Room on the disk of a folder, also one that is not made yet; None for a store."""
    if "://" in where:
        return None
    folder = next((f for f in (Path(where), *Path(where).parents) if f.is_dir()), None)
    return None if folder is None else shutil.disk_usage(folder).free


def _target(studio: Studio, place: str) -> Photographs:
    """The photographs at a place as a person names it. Raises Refused."""
    place = place.strip()
    if place and "://" not in place and not Path(place).expanduser().is_absolute():
        raise Refused(
            f"'{place}' is no full path.",
            "Write it from the root on, or an address such as s3://bucket/prefix.",
            field="place",
        )
    return photographs_at(place) if place else photographs_of(studio.store.folder, studio.where, "")


def move_photographs(studio: Studio, place: str, progress: Progress = lambda *_: None) -> dict[str, Any]:
    """Copy every photograph to another place, prove each there, and keep them there from now on.

    place: a folder's full path, an address such as s3://bucket/prefix, or empty for the studio's own
    folder. What lies at the old place stays there. Nothing changes where one cannot be copied. Returns
    {"where", "photographs", "copied", "before"}. Raises Refused, Damaged, StudioTrouble.
    """
    studio.require("setting")
    place = place.strip()
    before, target = studio.store.files, _target(studio, place)
    with studio.store.view() as session:
        hashes = sorted(known_hashes(session))
    copied = copy_all(hashes, before, target, progress)
    studio.set_setting(SETTING, place)
    with studio.store.view() as session:  # those that came in meanwhile went to the old place
        late = sorted(known_hashes(session) - set(hashes))
    copied += copy_all(late, before, target, progress)
    studio.store = replace(studio.store, files=photographs_of(studio.store.folder, studio.where, place))
    total = len(hashes) + len(late)
    return {"where": studio.store.files.where, "photographs": total, "copied": copied, "before": before.where}


def check_place(studio: Studio, place: str) -> None:
    """Whether a place can be one; it is not looked at. Raises Refused."""
    _target(studio, place)
