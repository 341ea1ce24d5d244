"""A function called on the workers of a Dask cluster; Dask is imported when one is asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from patina.bench.readings.rereading_jobs import Job
from patina.errors import Refused, StudioTrouble
from patina.records.photographs.places import photographs_at
from patina.records.readings.reading_how import reader_mark

R = TypeVar("R")
AHEAD = 2  # jobs on the way to each worker, so that none waits and memory is not filled
CONNECT_S = 15
TITLE = "The cluster cannot be used"


def over_cluster(function: Callable[[Job], R], jobs: Sequence[Job], address: str) -> Iterator[tuple[int, R | None]]:
    """Call a function with each job on the workers at that address of a scheduler.

    Workers fetch photographs from a store by its address, with credentials of their own environment;
    out of a folder, which they may not see, the bytes are sent along. Yields, as they are done, the
    place of the job and what it gave, None where its worker died. Raises StudioTrouble where the
    cluster does not answer, Refused where a worker holds another version of the reading function.
    """
    try:
        from distributed import Client, as_completed
        from distributed.scheduler import KilledWorker
    except ImportError:
        raise StudioTrouble("Dask is not installed.", "Install patina with its extra 'cluster'.", title=TITLE) from None
    try:
        client = Client(address, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as trouble:
        raise StudioTrouble(
            f"The cluster at '{address}' does not answer ({type(trouble).__name__}).",
            "Check the address of its scheduler, such as tcp://host:8786, or read on this machine's cores.",
            title=TITLE,
        ) from None
    with client:
        _require_same(client)
        width = AHEAD * max(len(client.scheduler_info(n_workers=-1)["workers"]), 1)
        rest = list(reversed(range(len(jobs))))
        places: dict[Any, int] = {}
        running: Any = as_completed([], loop=client.loop, raise_errors=False)

        def send() -> None:
            while rest and len(places) < width:
                place = rest.pop()
                future = client.submit(function, _to_send(jobs[place]), pure=False, retries=1)
                places[future.key] = place
                running.add(future)

        send()
        while places:
            future = next(running)
            place = places.pop(future.key)
            if future.status == "finished":
                yield place, future.result()
            elif future.status == "error" and not isinstance(future.exception(), KilledWorker):
                raise future.exception()
            else:
                yield place, None
            send()


def _require_same(client: Any) -> None:
    """Every worker reads as this machine does."""
    marks = client.run(reader_mark)
    if not marks:
        raise StudioTrouble("The cluster has no workers.", "Start some: dask worker ADDRESS.", title=TITLE)
    other = [worker for worker, mark in marks.items() if mark != reader_mark()]
    if other:
        raise Refused(
            f"{len(other)} of {len(marks)} workers read with another version of this program.",
            "Install the same version everywhere, so that all photographs are read alike.",
        )


def _to_send(job: Job) -> Job:
    """The job with the photographs' bytes where they lie in a folder; a store is asked by the worker itself."""
    if "://" in job.place:
        return job
    files = photographs_at(job.place)
    other = job.how.chart_photograph
    return replace(
        job,
        content=_bytes(files.existing(job.sha256)),
        chart_content=None if other is None else _bytes(files.existing(other)),
    )


def _bytes(path: Path) -> bytes:
    return path.read_bytes()
