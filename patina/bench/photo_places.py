"""Where a studio's photographs lie, and taking them elsewhere."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.errors import Refused
from patina.records.photo_places import SETTING, Progress, copy_all, photographs_at, photographs_of
from patina.records.photograph_rows import known_hashes

if TYPE_CHECKING:
    from patina.bench.studio import Studio


def where_photographs_are(studio: Studio) -> dict[str, Any]:
    """The place of the photographs, as shown, and how many are on record."""
    with studio.store.view() as session:
        return {"where": studio.store.files.where, "photographs": len(known_hashes(session))}


def move_photographs(studio: Studio, place: str, progress: Progress = lambda *_: None) -> dict[str, Any]:
    """Copy every photograph to another place, prove each there, and keep them there from now on.

    place: a folder's full path, an address such as s3://bucket/prefix, or empty for the studio's own
    folder. What lies at the old place stays there. Nothing changes where one cannot be copied. Returns
    {"where", "photographs", "copied", "before"}. Raises Refused, Damaged, StudioTrouble.
    """
    place = place.strip()
    if place and "://" not in place and not Path(place).expanduser().is_absolute():
        raise Refused(
            f"'{place}' is no full path.", "Write it from the root on, or an address such as s3://bucket/prefix."
        )
    before = studio.store.files
    target = photographs_at(place) if place else photographs_of(studio.store.folder, studio.where, "")
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
