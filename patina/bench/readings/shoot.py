"""A whole shoot: photographs with placards filed to their tiles and casts, and read, with no click."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.readings.charts import as_read, list_charts
from patina.bench.readings.reading import as_readings
from patina.bench.readings.tiles import target_of
from patina.colour.values import CARDS
from patina.entries import HowRead
from patina.errors import BadQuantity, NotFound, PatinaError, Refused
from patina.records.finding.naming import name_of
from patina.records.photographs import rows as photograph_rows
from patina.records.readings import readings
from patina.records.studio.unit import unit
from patina.sheets import FiledPhotograph, ShootSheet, UnfiledPhotograph

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.colour.folder import Filed

Progress = Callable[[int, int, str], None]


def file_shoot(
    studio: Studio,
    source: Path | Sequence[Path],
    *,
    edition: str = "unknown",
    chart: str = "auto",
    workers: int | None = None,
    progress: Progress | None = None,
    by: str = "",
) -> ShootSheet:
    """Read every photograph of a folder by its placard and file it with its reading.

    Each photograph and its reading are kept together or not at all; what is in the studio already
    is passed over, so a second run changes nothing. What could not be filed is listed with its
    reason. An edition that is not known is taken from the studio's setting. workers: processes, None
    for one a core. Raises NotFound for a folder that is not there, BadQuantity for a plain card, which
    has no place on a placard.
    """
    from patina.colour.folder import read_folder

    if chart in CARDS:
        raise BadQuantity(
            "A whole shoot is read by the 24-patch chart on its placards.", "Read photographs with a card one by one."
        )
    with studio.store.view() as session:
        known = photograph_rows.known_hashes(session)
    with as_read(studio, chart, edition) as (named, of_chart):
        own = named if named in ("auto", "none") else Path(named)
        found = read_folder(source, known=known, chart=own, edition=of_chart, workers=workers, progress=progress)
    filed: list[FiledPhotograph] = []
    unfiled = [UnfiledPhotograph(u.path.name, u.code, u.title, u.what, u.remedy) for u in found.unfiled]
    for one in found.filed:
        try:
            filed.append(_file(studio, one, studio.who(by), HowRead("placard", _kept(studio, chart), of_chart)))
        except PatinaError as trouble:
            unfiled.append(UnfiledPhotograph(one.path.name, "trouble", trouble.title, trouble.what, trouble.remedy))
    return ShootSheet(tuple(filed), tuple(unfiled))


def _kept(studio: Studio, chart: str) -> str:
    """What is kept of the chart: a word or the name of one of the studio's; of a file only that it was one."""
    return chart if chart in ("auto", "none") or chart in {own.name for own in list_charts(studio)} else "file"


def _file(studio: Studio, one: Filed, who: str, how: HowRead) -> FiledPhotograph:
    """Photograph and reading in one transaction."""
    facts = one.found.reading.facts
    kept = studio.store.files.keep(one.path)
    if facts is None or kept != one.sha256 or facts.sha256 != kept:
        raise Refused(f"'{one.path.name}' changed while it was being read.", "Read it again.")
    with unit(studio.store, "file photograph", by=who, why="by its placard") as work:
        owner = target_of(work.session, one.found.name.record)
        if owner.uid != one.found.name.uid:
            raise NotFound(
                f"The placard names {one.found.name.record} of another studio.",
                "Print the placard again from this studio, or file the photograph by hand.",
            )
        photograph_rows.add_photograph(
            work.session,
            owner,
            facts,
            name=one.path.name[:400],
            size_bytes=studio.store.files.existing(kept).stat().st_size,
            state="",
            note="filed by its placard",
            by=who,
        )
        photograph = photograph_rows.find_photograph(work.session, kept)
        wax_state = getattr(owner, "wax_state", "not stated")
        entries = as_readings(one.found.reading, kept, wax_state=wax_state, warmth="not stated", by=who)
        entries = [replace(entry, how=how) for entry in entries]
        rows = [readings.add_reading(work.session, owner, entry, photograph) for entry in entries]
        shown = tuple(readings.kept_row(work.session, row) for row in rows)
        target, name = owner.public_id, name_of(work.session, owner)
        work.commit()
    return FiledPhotograph(one.path.name, target, shown, one.found.reading.warnings, name)


def placard(studio: Studio, target: str, path: Path, *, paper: str = "a4") -> Path:
    """Print the placard of a tile or a cast to a PDF or PNG file; paper: "a4", "letter" or "a3".

    Raises NotFound, Refused for another ending of the file's name.
    """
    from patina.bench.saving import write_whole
    from patina.colour.placard import Placard, PlacardName, placard_pdf, placard_png

    with studio.store.view() as session:
        owner = target_of(session, target)
        name, uid, alloy = owner.public_id, owner.uid, owner.alloy
        heading = getattr(owner, "engraved", "") or getattr(owner, "number", "") or name
    printed = Placard(
        PlacardName(name, uid, paper),
        heading,
        (("Alloy", alloy), ("Passes", ""), ("Wax", ""), ("Date", "")),
        studio.setting("studio_name"),
    )
    makers = {".pdf": placard_pdf, ".png": placard_png}
    maker = makers.get(path.suffix.lower())
    if maker is None:
        raise Refused(f"A placard is not written as '{path.suffix}'.", "Name a .pdf or .png file.", field="file")
    return write_whole(path, maker(printed))
