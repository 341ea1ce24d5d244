"""An old photograph looked at once: what its file says, whether it shows a placard, whether a chart."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from patina.colour.chart import find_chart
from patina.colour.folder import SUFFIXES
from patina.colour.photograph import facts_of, open_photo
from patina.colour.placard import PlacardName
from patina.colour.placard_reading import LONG_SIDE_PX, find_placard
from patina.colour.values import PhotoFacts
from patina.errors import BadPhotograph, NotFound

MOST_FILES = 20_000


@dataclass(frozen=True, slots=True)
class OldPicture:
    """placard: the record it names, None where none is seen. chart: a chart was found; None where nobody looked."""

    facts: PhotoFacts
    placard: PlacardName | None = None
    chart: bool | None = None


def old_picture(path: Path, *, search: bool = True) -> OldPicture:
    """Look at a photograph. search: also for placard and chart, which takes a second. Raises BadPhotograph."""
    if not search:
        facts = facts_of(path)
        return OldPicture(facts)
    photo = open_photo(path)
    picture, _ = photo.reduced(LONG_SIDE_PX)
    try:
        placard = find_placard(picture)
    except BadPhotograph:  # marks that are no placard's, or one that cannot be read: the file name may still say
        placard = None
    try:
        find_chart(photo)
        chart = True
    except BadPhotograph:  # none, or one that does not serve
        chart = False
    return OldPicture(photo.facts, None if placard is None else placard.name, chart)


def files_in(folder: Path) -> tuple[Path, ...]:
    """Every file of a folder and of the folders in it, hidden ones and links left out, in order of name.

    Raises NotFound where there is no such folder or it holds more than anybody means.
    """
    if not folder.is_dir():
        raise NotFound(f"There is no folder “{folder}”.", "Check the name.", field="folder")
    found = []
    for path in folder.rglob("*"):
        hidden = any(part.startswith(".") for part in path.relative_to(folder).parts)
        if hidden or path.is_symlink() or not path.is_file():
            continue
        found.append(path)
        if len(found) > MOST_FILES:
            raise NotFound(f"“{folder}” holds more than {MOST_FILES:,} files.", "Name a folder in it.", field="folder")
    return tuple(sorted(found))


def is_picture(path: Path) -> bool:
    """Whether a file's name ends as a photograph's."""
    return path.suffix.lower() in SUFFIXES
