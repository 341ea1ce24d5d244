"""What is to be read again: one job for each photograph and way of reading, and the function that does one."""

from __future__ import annotations

import hashlib
import tempfile
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field, replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.readings.charts import list_charts
from patina.bench.readings.reading import as_readings, read
from patina.bench.settings import chart_edition
from patina.colour.values import CARDS, AreaSpec, Lab
from patina.entries import HowRead, NewReading
from patina.errors import NotFound, PatinaError, StudioTrouble
from patina.records.photographs.places import photographs_at
from patina.records.readings.reading_how import how_of, read_again_by, reader_mark, uses_with_readings
from patina.records.tables.base import canonical
from patina.records.tables.first import ReadingTable
from patina.records.tables.photographs import PhotographUse
from patina.sheets import RereadRow

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.bench.studio import Studio


@dataclass(frozen=True, slots=True)
class OldReading:
    """A reading as it is on record."""

    id: str
    area: str
    lab: Lab
    uncertainty_de00: float | None
    how: HowRead


@dataclass(frozen=True, slots=True)
class Job:
    """A photograph to be read one way. place: where photographs lie; content, chart_content: their bytes
    instead, for a worker that cannot reach the place. pixels: in the photograph. how: the way; values: of
    the chart's own file. areas: empty where its placard says. old: what was read so, empty where nothing was."""

    sha256: str
    target: str
    uid: str
    place: str
    how: HowRead
    edition: str
    values: str
    areas: tuple[AreaSpec, ...]
    wax_state: str
    warmth: str
    added_at: datetime
    old: tuple[OldReading, ...]
    pixels: int
    content: bytes | None = None
    chart_content: bytes | None = None

    @property
    def mark(self) -> str:
        """What the result depends on, as a hash."""
        asked = {
            "photograph": self.sha256,
            "target": self.target,
            "how": asdict(replace(self.how, again_of=None, area=None)),
            "edition": self.edition,
            "values": self.values,
            "areas": [asdict(area) for area in self.areas],
            "state": [self.wax_state, self.warmth],
        }
        return hashlib.sha256(canonical(asked).encode()).hexdigest()

    def how_of(self, old_id: str) -> HowRead:
        """How the reading of that id was taken, or the way of the job."""
        return next((old.how for old in self.old if old.id == old_id), self.how)


@dataclass(frozen=True, slots=True)
class Reading:
    """What a job gave: readings, or the trouble in three texts. away: whether it is the store that does not
    answer, so that the other photographs would fare alike."""

    readings: tuple[NewReading, ...]
    title: str = ""
    what: str = ""
    remedy: str = ""
    away: bool = False


@dataclass
class Plan:
    """All jobs, and what cannot be read again, with the reason."""

    jobs: list[Job] = field(default_factory=list)
    cannot: list[RereadRow] = field(default_factory=list)


# -- the function that reads, here and on a cluster ------------------------------------------------------


def read_job(job: Job) -> Reading:
    """Read one photograph as the job says. Raises nothing that has a name: it is in what comes back."""
    from patina.colour.folder import one_core

    one_core()
    try:
        with _file(job, job.sha256, job.content) as photo, _chart(job) as chart:
            if job.how.taken_by == "placard":
                return _by_placard(job, photo, chart)
            with _other(job) as chart_photo:
                found = read(
                    photo,
                    chart=chart,
                    edition=job.edition,
                    corners=job.how.corners,
                    areas=job.areas,
                    wax_state=job.wax_state,
                    warmth=job.warmth,
                    card=job.how.card or None,
                    chart_photo=chart_photo,
                )
    except PatinaError as trouble:
        return Reading((), trouble.title, trouble.what, trouble.remedy, isinstance(trouble, StudioTrouble))
    return Reading(tuple(as_readings(found, job.sha256, wax_state=job.wax_state, warmth=job.warmth, by="")))


def _by_placard(job: Job, photo: Path, chart: str) -> Reading:
    from patina.colour.placard_reading import read_placard_photo

    own = chart if chart in ("auto", "none") else Path(chart)
    found = read_placard_photo(photo, chart=own, edition=job.edition)
    if found is None:
        return Reading((), "no placard", "No placard is in the picture and no area was kept with it.")
    if found.name.uid != job.uid:
        raise NotFound(f"Its placard names {found.name.record} of another studio or record.", "File it by hand.")
    return Reading(tuple(as_readings(found.reading, job.sha256, wax_state=job.wax_state, warmth=job.warmth, by="")))


@contextmanager
def _file(job: Job, sha256: str, content: bytes | None) -> Iterator[Path]:
    """The photograph as a file: out of its place, or of the bytes that came along."""
    if content is None:
        yield photographs_at(job.place).existing(sha256)
        return
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / sha256
        path.write_bytes(content)
        yield path


@contextmanager
def _other(job: Job) -> Iterator[Path | None]:
    if job.how.chart_photograph is None:
        yield None
        return
    with _file(job, job.how.chart_photograph, job.chart_content) as path:
        yield path


@contextmanager
def _chart(job: Job) -> Iterator[str]:
    """The chart's word, or a file of its own values."""
    if not job.values:
        yield job.how.chart if job.how.chart in ("none", *CARDS) else "auto"
        return
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / ("values.txt" if "BEGIN_DATA" in job.values else "values.csv")
        file.write_text(job.values, encoding="utf-8")
        yield str(file)


# -- what there is to do -----------------------------------------------------------------------------------


def plan(studio: Studio, since: date | None) -> Plan:
    """Every photograph with a tile or cast, added on that day or later, each way it was read."""
    made = Plan()
    charts = {own.name: own for own in list_charts(studio)}
    edition = chart_edition(studio)
    with studio.store.view() as session:
        repeated = read_again_by(session, reader_mark())
        for use, rows in uses_with_readings(session, since):
            owner = f"T{use.tile_id}" if use.tile_id is not None else f"C{use.cast_id}"
            _of_use(session, made, use, owner, rows, repeated, charts, edition, studio)
    return made


def _of_use(
    session: Session,
    made: Plan,
    use: PhotographUse,
    owner: str,
    rows: list[ReadingTable],
    repeated: frozenset[int],
    charts: dict[str, Any],
    edition: str,
    studio: Studio,
) -> None:
    hows = how_of(session, [row.id for row in rows])
    newer = {hows[row.id].again_of for row in rows if row.id in hows}
    again_today = {f"D{n}" for n in repeated}
    groups: dict[tuple[Any, ...], list[OldReading]] = defaultdict(list)
    for row in rows:
        if row.public_id in again_today or row.public_id in newer:
            continue  # a newer reading of the same area counts
        how = hows.get(row.id)
        if how is not None and how.again_of in again_today:
            continue  # that is today's own
        if how is None and use.note == "filed by its placard" and row.area == "tile":
            how = HowRead("placard", edition=edition)
        lab = Lab(row.lab_l, row.lab_a, row.lab_b, row.illuminant, row.observer)
        why = _cannot(how, charts)
        if how is None or why:
            made.cannot.append(
                RereadRow(use.photograph.sha256, owner, row.area, row.public_id, lab, None, row.uncertainty_de00, None,
                          None, "cannot be read", why)
            )  # fmt: skip
            continue
        state = (row.wax_state, row.warmth)
        state = (row.wax_state, row.warmth)
        way = (how.taken_by, how.chart, how.edition, how.corners, how.card, how.chart_photograph, *state)
        turn = 0  # an area that was read twice is read again twice, since each may have an outline of its own
        while any(one.area == row.area for one in groups[(turn, *way)]):
            turn += 1
        groups[(turn, *way)].append(OldReading(row.public_id, row.area, lab, row.uncertainty_de00, how))
    for (*_, wax_state, warmth), old in groups.items():
        made.jobs.append(_job(session, studio, use, owner, old[0].how, old, charts, edition, wax_state, warmth))
    if not rows:
        how = HowRead("placard", edition=edition)
        made.jobs.append(_job(session, studio, use, owner, how, [], charts, edition, "not stated", "not stated"))


def _cannot(how: HowRead | None, charts: dict[str, Any]) -> str:
    """Why a reading cannot be taken again, empty where it can."""
    if how is None:
        return "Where in the picture it was read was not kept then."
    if how.flat:
        return "A photograph of plain card was used, which the studio does not hold."
    if "file" in (how.chart, how.card):
        return "It was read by a file of values that the studio does not hold: patina chart add keeps one."
    if how.chart not in ("auto", "none", *CARDS, *charts):
        return f"The studio's chart '{how.chart}' was dropped."
    return ""


def _job(
    session: Session,
    studio: Studio,
    use: PhotographUse,
    owner: str,
    how: HowRead,
    old: list[OldReading],
    charts: dict[str, Any],
    edition: str,
    wax_state: str,
    warmth: str,
) -> Job:
    from patina.records.tables.first import TileTable
    from patina.records.tables.pieces import CastTable

    target = session.get_one(TileTable, use.tile_id) if use.tile_id else session.get_one(CastTable, use.cast_id)
    if not old:
        wax_state = getattr(target, "wax_state", wax_state)
    own = charts.get(how.chart)
    known = how.edition if how.edition != "unknown" else own.edition if own is not None else edition
    areas = tuple(_spec(one.how.area) for one in old if one.how.area is not None) if how.taken_by == "areas" else ()
    return Job(
        sha256=use.photograph.sha256,
        target=owner,
        uid=target.uid,
        place=studio.store.files.where,
        how=how,
        edition=known,
        values="" if own is None else own.values,
        areas=areas,
        wax_state=wax_state,
        warmth=warmth,
        added_at=use.added_at,
        old=tuple(old),
        pixels=use.photograph.width_px * use.photograph.height_px,
    )


def _spec(area: Any) -> AreaSpec:
    rect, polygon = area["rect"], area["polygon"]
    return AreaSpec(
        area["name"],
        None if rect is None else tuple(rect),
        None if polygon is None else tuple(tuple(point) for point in polygon),
        bool(area["whole_tile"]),
    )
