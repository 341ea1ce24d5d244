"""A folder of old photographs put with their tiles and casts: by placard, else by what their file names say.

Every file is either taken or listed with its reason. Those without a chart are kept as pictures and marked not to be
measured. What is in the studio already is passed over.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.readings.tiles import target_of
from patina.colour.old_picture import OldPicture, files_in, is_picture, old_picture
from patina.colour.photo_facts import sha256_of
from patina.errors import BadQuantity, PatinaError
from patina.records.photographs import rows as photograph_rows
from patina.records.pieces import brought
from patina.records.studio.unit import unit
from patina.sheets.bringing import PictureRow, PicturesSheet

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.bench.studio import Studio
    from patina.records.tables.first import TileTable
    from patina.records.tables.pieces import CastTable

Progress = Callable[[int, int, str], None]
PARTS = {
    "id": r"(?P<id>[TtCc]\s?\d{1,9})",
    "mark": r"(?P<mark>.+?)",
    "piece": r"(?P<piece>.+?)",
    "number": r"(?P<number>[^_ ]+?)",
    "state": r"(?P<state>.*?)",
    "date": r"(?P<date>\d{4}-?\d{2}-?\d{2})",
}


def pattern_of(words: str) -> re.Pattern[str]:
    """A pattern of file names: {id}, {mark}, {piece}, {number}, {state} and {date} stand for what they are called,
    * for anything; all else for itself, whatever its case. Raises BadQuantity.

    >>> pattern_of("{mark}_{state}").fullmatch("HM-01_before wax").groupdict()
    {'mark': 'HM-01', 'state': 'before wax'}
    """
    made, used = "", set()
    for piece in re.split(r"(\{[^{}]*\}|\*)", words.strip()):
        name = piece[1:-1].strip().casefold() if piece.startswith("{") else ""
        if piece == "*":
            made += ".*?"
        elif name:
            if name not in PARTS or name in used:
                known = ", ".join(f"{{{p}}}" for p in PARTS)
                raise BadQuantity(
                    f"'{piece}' in the pattern is {'there twice' if name in used else 'not known'}.",
                    f"Use each of {known} once at most, and * for anything.",
                    field="pattern",
                )
            used.add(name)
            made += PARTS[name]
        else:
            made += re.escape(piece)
    if words.strip() and not used & {"id", "mark", "piece"}:
        raise BadQuantity(
            "The pattern does not say where the photograph belongs.",
            "Use {id}, {mark} or {piece} in it.",
            field="pattern",
        )
    return re.compile(made, re.I | re.S)


@dataclass(frozen=True, slots=True)
class _Found:
    row: PictureRow
    path: Path
    picture: OldPicture | None = None


def bring_photographs(
    studio: Studio,
    folder: Path,
    pattern: str = "",
    *,
    dry_run: bool = False,
    search: bool = True,
    progress: Progress | None = None,
    by: str = "",
) -> PicturesSheet:
    """Put every photograph of a folder, and of the folders in it, with its tile or cast.

    pattern: see ``pattern_of``; empty where placards alone say it. search: look for placards and charts. progress:
    told (done, of how many, file) while they are looked at; what it raises stops the work before anything is kept.
    Raises BadQuantity for a pattern, NotFound for a folder that is not there.
    """
    folder = Path(folder)
    matcher = pattern_of(pattern) if pattern.strip() else None
    files = files_in(folder)
    with studio.store.view() as session:
        known = photograph_rows.known_hashes(session)
    seen: dict[str, str] = {}
    found: list[_Found] = []
    # of two files with the same bytes the one whose name says something is taken
    for n, path in enumerate(sorted(files, key=lambda path: _matched(folder, path, matcher) is None)):
        if progress is not None:
            progress(n, len(files), path.name)
        found.append(_look(folder, path, known, seen, search))
    found.sort(key=lambda one: one.path)
    with studio.store.view() as session:
        found = [_placed(session, folder, one, matcher) for one in found]
    if progress is not None:
        progress(len(files), len(files), "")
    if not dry_run:
        found = [one if one.row.reason else _keep(studio, one, studio.who(by)) for one in found]
    return PicturesSheet(str(folder), pattern, not dry_run, tuple(one.row for one in found))


def _look(folder: Path, path: Path, known: frozenset[str], seen: dict[str, str], search: bool) -> _Found:
    name = path.relative_to(folder).as_posix()
    blank = PictureRow(name, "", "", "", None)

    def left(reason: str) -> _Found:
        return _Found(replace(blank, reason=reason), path)

    if not is_picture(path):
        return left("It is no photograph by the ending of its name.")
    try:
        digest = sha256_of(path)
    except OSError as trouble:
        return left(f"It cannot be read: {trouble.strerror or 'unknown trouble'}.")
    if digest in known:
        return left("This very photograph is in the studio already.")
    if digest in seen:
        return left(f"It is the same file as {seen[digest]}.")
    seen[digest] = name
    try:
        picture = old_picture(path, search=search)
    except PatinaError as trouble:
        return left(f"{trouble.what} {trouble.remedy}")
    return _Found(replace(blank, taken=picture.facts.taken_at or "", measurable=picture.chart), path, picture)


def _placed(session: Session, folder: Path, one: _Found, matcher: re.Pattern[str] | None) -> _Found:
    """The record that placard or file name say, or why there is none."""
    if one.picture is None:
        return one
    row, placard = one.row, one.picture.placard
    if placard is not None:
        try:
            owner = target_of(session, placard.record)
        except PatinaError as trouble:
            return replace(one, row=replace(row, reason=trouble.what))
        if owner.uid == placard.uid:
            return replace(one, row=replace(row, target=owner.public_id, how="placard"))
        return replace(one, row=replace(row, reason=f"Its placard names {placard.record} of another studio."))
    if matcher is None:
        return replace(one, row=replace(row, reason="It shows no placard, and no pattern of file names was given."))
    matched = _matched(folder, one.path, matcher)
    if matched is None:
        return replace(one, row=replace(row, reason="Its name does not follow the pattern."))
    said = {k: (v or "").strip(" _-") for k, v in matched.groupdict().items()}
    try:
        owner = _owner(session, said)
    except PatinaError as trouble:
        return replace(one, row=replace(row, reason=trouble.what))
    taken = row.taken or _day(said.get("date", ""))
    return replace(
        one, row=replace(row, target=owner.public_id, how="file name", state=said.get("state", "")[:200], taken=taken)
    )


def _matched(folder: Path, path: Path, matcher: re.Pattern[str] | None) -> re.Match[str] | None:
    """The pattern in a file's name, or in its name with the folders it lies in."""
    if matcher is None:
        return None
    return matcher.fullmatch(path.relative_to(folder).with_suffix("").as_posix()) or matcher.fullmatch(path.stem)


def _owner(session: Session, said: dict[str, str]) -> TileTable | CastTable:
    if said.get("piece"):
        number = said.get("number", "").replace("of", "/")
        return brought.cast_named(session, said["piece"].replace("_", " "), number.replace("-", "/"))
    return target_of(session, (said.get("id") or said.get("mark", "")).replace(" ", ""))


def _day(text: str) -> str:
    """A day in a file name as the camera would write it; empty where it is none of the calendar."""
    if not text:
        return ""
    try:
        return datetime.strptime(text.replace("-", ""), "%Y%m%d").date().isoformat()
    except ValueError:
        return ""


def _keep(studio: Studio, one: _Found, who: str) -> _Found:
    """The file and its record in one transaction; a trouble leaves both out."""
    assert one.picture is not None
    facts, row = one.picture.facts, one.row
    note = f"taken in from {row.file}"
    if row.measurable is False:
        note += f"; {photograph_rows.NOT_TO_BE_MEASURED}"
    try:
        kept = studio.store.files.keep(one.path)
        if kept != facts.sha256:
            return replace(one, row=replace(row, target="", reason="It changed while it was being read."))
        with unit(studio.store, "bring in photograph", by=who, why=f"by its {row.how}") as work:
            photograph_rows.add_photograph(
                work.session,
                target_of(work.session, row.target),
                facts if facts.taken_at or not row.taken else replace(facts, taken_at=row.taken),
                name=one.path.name[:400],
                size_bytes=one.path.stat().st_size,
                state=row.state,
                note=note[:2000],
                by=who,
            )
            work.commit()
    except PatinaError as trouble:
        return replace(one, row=replace(row, target="", reason=f"{trouble.what} {trouble.remedy}"))
    return one
