"""A whole archive of photographs read again with today's reading function, on this machine's cores or a cluster.

One function reads one photograph, wherever it runs. What it gave is kept aside as it comes in, so that a
run that was stopped goes on where it was. Readings are compared; on request the new ones are put
beside the old, which stay as they are.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import closing
from dataclasses import asdict, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.readings.rereading_jobs import Job, Plan, Reading, plan, read_job
from patina.bench.readings.tiles import target_of
from patina.colour.difference import compare
from patina.colour.values import Lab
from patina.entries import NewReading
from patina.errors import BadPhotograph, Damaged, PatinaError, Refused, StudioTrouble
from patina.records.photographs import rows as photograph_rows
from patina.records.readings import readings
from patina.records.readings.reading_how import reader_mark
from patina.records.studio.unit import unit
from patina.records.tables.first import ReadingTable
from patina.records.tables.ids import fetch
from patina.sheets import RereadRow, RereadSheet

if TYPE_CHECKING:
    from patina.bench.studio import Studio

Progress = Callable[[int, int, str], None]
SAME = 1e-6  # L*, a*, b* that agree to this are the same reading


def reread(
    studio: Studio,
    *,
    since: date | None = None,
    keep: bool = False,
    withdraw: bool = False,
    cluster: str = "",
    workers: int | None = None,
    progress: Progress | None = None,
    stop: Callable[[], bool] = lambda: False,
    fresh: bool = False,
    by: str = "",
) -> RereadSheet:
    """Read every photograph of the studio again and say what comes out differently.

    since: only photographs added on that day or later. keep: put each reading that comes out otherwise
    beside the old one, at the old one's moment; without it nothing is written. withdraw: let the old one
    count no more (it stays on record). cluster: address of a Dask scheduler, empty for this machine's
    cores; workers: how many of these, None for all. progress: told (done, of how many, photograph).
    stop: asked between photographs; what was read by then is kept aside and not read again, unless
    ``fresh``. Raises Refused, and StudioTrouble where the cluster or the store does not answer.
    """
    if withdraw and not keep:
        raise Refused("Old readings are withdrawn only where new ones are kept.", "Say that they are kept as well.")
    asked = plan(studio, since)
    aside = Aside(studio, fresh)
    rows = list(asked.cannot)
    done = 0
    todo: list[Job] = []
    for job in asked.jobs:
        found = aside.known(job)
        if found is None:
            todo.append(job)
        else:
            done += 1
            rows += _judged(studio, asked, job, found, keep, withdraw, by)
    from_before, stopped = done, False
    with closing(_readings(todo, cluster, workers, studio)) as coming:
        for job, found in coming:
            if found.away:
                raise StudioTrouble(found.what, found.remedy, title=found.title)
            aside.keep(job, found)
            done += 1
            rows += _judged(studio, asked, job, found, keep, withdraw, by)
            if progress is not None:
                progress(done, len(asked.jobs), job.sha256[:12])
            if stop():
                stopped = True
                break
    left = len(asked.jobs) - done
    order = sorted(rows, key=lambda r: (r.photograph, r.target, r.area, r.reading))
    return RereadSheet(
        tuple(order), len(asked.jobs), done, from_before, left, stopped and left > 0, keep, reader_mark()
    )


def _readings(
    jobs: Sequence[Job], cluster: str, workers: int | None, studio: Studio
) -> Generator[tuple[Job, Reading], None, None]:
    """Each job with what it gave, as it comes in: the same function here and there."""
    if not jobs:
        return
    if cluster:
        from patina.bench.readings.cluster import over_cluster

        calls = over_cluster(read_job, jobs, cluster)
    else:
        from patina.colour.folder import cores, over_cores

        calls = over_cores(read_job, [(job,) for job in jobs], cores(workers, _largest(studio, jobs)))
    for place, found in calls:
        broken = Reading((), BadPhotograph.title, "Reading it broke off; most likely memory ran out.", "Read it alone.")
        yield jobs[place], broken if found is None else found


def _largest(studio: Studio, jobs: Sequence[Job]) -> list[Path]:
    """The largest photograph, as often as there are jobs: memory is reckoned for it."""
    for job in sorted(jobs, key=lambda job: -job.pixels):
        try:
            return [studio.store.files.existing(job.sha256)] * len(jobs)
        except Damaged:
            continue  # it will be told as one that cannot be read
    return []


# -- what comes out ----------------------------------------------------------------------------------


def _judged(
    studio: Studio, asked: Plan, job: Job, found: Reading, keep: bool, withdraw: bool, by: str
) -> list[RereadRow]:
    """The rows of one photograph; with ``keep`` the readings that are other ones are put on record."""
    rows, new = _compared(job, found)
    if not keep or not new:
        return rows
    try:
        kept = _kept(studio, job, new, withdraw, studio.who(by))
    except PatinaError as trouble:
        return [
            replace(row, outcome="cannot be kept", words=trouble.what) if row.reading in new else row for row in rows
        ]
    return [replace(row, kept=kept.get(row.reading, "")) for row in rows]


def _compared(job: Job, found: Reading) -> tuple[list[RereadRow], dict[str, NewReading]]:
    blank = RereadRow(job.sha256, job.target, "", "", None, None, None, None, None, "", "")
    if found.title:
        outcome = "nothing to read" if found.title == "no placard" and not job.old else "cannot be read"
        blank = replace(blank, outcome=outcome, words=f"{found.what} {found.remedy}".strip())
        unread = [
            replace(blank, reading=old.id, area=old.area, before=old.lab, doubt_before=old.uncertainty_de00)
            for old in job.old
        ]
        return unread or [blank], {}
    rows: list[RereadRow] = []
    new: dict[str, NewReading] = {}
    by_area = {one.area: one for one in found.readings}
    for old in job.old:
        one = by_area.get(old.area)
        if one is None:
            words = "Today's function finds no such area."
            rows.append(
                replace(blank, reading=old.id, area=old.area, before=old.lab, outcome="cannot be read", words=words)
            )
            continue
        lab = Lab(one.L, one.a, one.b, one.illuminant, one.observer)
        moved = compare(old.lab, lab)
        same = max(abs(x - y) for x, y in zip(old.lab.as_list(), lab.as_list(), strict=True)) < SAME
        if not same:
            new[old.id] = one
        rows.append(
            replace(
                blank,
                reading=old.id,
                area=old.area,
                before=old.lab,
                after=lab,
                doubt_before=old.uncertainty_de00,
                doubt_after=one.uncertainty_de00,
                de00=moved.delta_e,
                outcome="same" if same else "other",
                words="" if same else moved.words,
            )
        )
    if not job.old:
        for one in found.readings:
            lab = Lab(one.L, one.a, one.b, one.illuminant, one.observer)
            new[""] = one
            rows.append(
                replace(blank, area=one.area, after=lab, doubt_after=one.uncertainty_de00, outcome="first reading")
            )
    return rows, new


def _kept(studio: Studio, job: Job, new: dict[str, NewReading], withdraw: bool, who: str) -> dict[str, str]:
    """Put new readings of a photograph beside the old ones, all or none; their ids by the old ones'."""
    today = f"Read again on {datetime.now(UTC):%Y-%m-%d}."
    kept: dict[str, str] = {}
    with unit(studio.store, "read again", by=who, why="photographs read again by today's function") as deed:
        session = deed.session
        owner = target_of(session, job.target)
        photograph = photograph_rows.find_photograph(session, job.sha256)
        for old_id, one in new.items():
            moment = job.added_at
            if old_id:
                moment = fetch(session, ReadingTable, old_id).read_at
            note = " ".join(words for words in (today, one.note) if words)
            how = replace(job.how_of(old_id), again_of=old_id or None)
            entry = replace(one, read_at=moment, read_by=who, note=note, how=how)
            row = readings.add_reading(session, owner, entry, photograph)
            kept[old_id] = row.public_id
            if withdraw and old_id:
                from patina.records.log.withdrawn import withdraw as take_out

                old = fetch(session, ReadingTable, old_id)
                take_out(session, old, why=f"read again as {row.public_id}", by=who)
        deed.commit()
    return kept


# -- what was read before a run was stopped --------------------------------------------------------------


class Aside:
    """What today's function gave for each photograph, in a file of this machine's cache; a line each."""

    def __init__(self, studio: Studio, fresh: bool):
        from platformdirs import user_cache_path

        folder = user_cache_path("patina", appauthor=False) / "read-again"
        self.path = folder / f"{studio.setting('studio uid')[:12] or 'studio'}-{reader_mark()}.jsonl"
        if fresh:
            self.path.unlink(missing_ok=True)
        self._known: dict[str, Reading] = dict(_lines(self.path))

    def known(self, job: Job) -> Reading | None:
        """What a job gave before, None where it was not done."""
        return self._known.get(job.mark)

    def keep(self, job: Job, found: Reading) -> None:
        """Write down what a job gave. A cache that cannot be written costs time later, and nothing else."""
        if found.title and found.title != "no placard":
            return  # what could not be read may be readable the next time
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            with self.path.open("a", encoding="utf-8") as out:
                out.write(json.dumps([job.mark, asdict(found)]) + "\n")
        except OSError:
            return


def _lines(path: Path) -> Iterator[tuple[str, Reading]]:
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except OSError:
        return
    for line in lines:
        try:
            mark, document = json.loads(line)
            yield mark, _reading(document)
        except (ValueError, TypeError, KeyError):
            continue  # a line that was cut off: that photograph is read again


def _reading(document: dict[str, Any]) -> Reading:
    def new(one: dict[str, Any]) -> NewReading:
        tuples: dict[str, Any] = {"parts": tuple(tuple(part) for part in one["parts"])}
        for name in ("sd", "doubt_de00"):
            tuples[name] = None if one[name] is None else tuple(one[name])
        return NewReading(**{**one, **tuples})

    found = tuple(new(one) for one in document["readings"])
    return Reading(found, document["title"], document["what"], document["remedy"])
