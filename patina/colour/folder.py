"""A whole shoot at once: every photograph of a folder read by its placard, over the cores.

Nothing is filed here. What comes back says which record each photograph belongs to and what was
read, and for every other file why it could not be filed.
"""

from __future__ import annotations

import os
import warnings
from collections.abc import Callable, Collection, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from patina.colour.photo_facts import sha256_of
from patina.colour.photograph import HEIF_SUFFIXES, RAW_SUFFIXES
from patina.errors import BadPhotograph, NotFound, PatinaError

if TYPE_CHECKING:
    from patina.colour.placard_reading import PlacardReading

SUFFIXES = RAW_SUFFIXES | HEIF_SUFFIXES | {".jpg", ".jpeg", ".jpe", ".png", ".tif", ".tiff", ".webp"}
BUDGET_MIB = 900.0  # for all workers together; the process that asks takes the rest of 1 GiB
WORKER_MIB = 150.0  # a worker without a photograph
COPIES = 2.0  # of the decoded photograph that a worker holds at the most
RAW_PIXELS = 50_000_000  # assumed for camera RAW, whose size is not told by a quick look
Progress = Callable[[int, int, str], None]
R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Filed:
    """A photograph that says where it belongs. sha256: of the file's bytes."""

    path: Path
    sha256: str
    found: PlacardReading


@dataclass(frozen=True, slots=True)
class Unfiled:
    """A file that was not taken, and why. code: "trouble", "no-placard", "known" or "twice"."""

    path: Path
    code: str
    title: str
    what: str
    remedy: str


@dataclass(frozen=True, slots=True)
class FolderReading:
    """What a folder gave, both lists in the order of the file names."""

    filed: tuple[Filed, ...]
    unfiled: tuple[Unfiled, ...]

    @property
    def troubles(self) -> tuple[Unfiled, ...]:
        """Those that a person should look at: all but the ones filed before or lying there twice."""
        return tuple(one for one in self.unfiled if one.code in ("trouble", "no-placard"))


def photographs_in(folder: Path) -> tuple[Path, ...]:
    """Files of the folder, not of folders in it, whose name ends as a photograph's; hidden ones left out.

    Raises NotFound where there is no such folder.
    """
    if not folder.is_dir():
        raise NotFound(f"There is no folder “{folder}”.", "Check the name, or name a photograph.", field="folder")
    return tuple(
        sorted(p for p in folder.iterdir() if p.suffix.lower() in SUFFIXES and p.is_file() and p.name[0] != ".")
    )


def read_folder(
    source: Path | Sequence[Path],
    *,
    known: Collection[str] = (),
    chart: str | Path = "auto",
    edition: str = "unknown",
    workers: int | None = None,
    progress: Progress | None = None,
) -> FolderReading:
    """Read every photograph of a folder, or those named, by their placards.

    known: SHA-256 of photographs that are filed already; these are passed over, as is the second of
    two files with the same bytes, so that a second run brings nothing new. workers: processes, by
    default one for each core, fewer where memory for the largest photograph asks for it; with 1
    everything is read in this process. progress: told
    (done, of how many, file name) after each file, in this process. Raises NotFound for a folder
    that is not there; a single bad photograph raises nothing and is listed in ``unfiled``.
    """
    paths = photographs_in(source) if isinstance(source, Path) else tuple(sorted(source))
    told = 0

    def tell(path: Path) -> None:
        nonlocal told
        told += 1
        if progress is not None:
            progress(told, len(paths), path.name)

    filed: list[Filed] = []
    unfiled: list[Unfiled] = []
    fresh: list[tuple[Path, str]] = []
    for path, outcome in _sorted_out(paths, frozenset(known)):
        if isinstance(outcome, Unfiled):
            unfiled.append(outcome)
            tell(path)
        else:
            fresh.append((path, outcome))
    for path, sha256, found in _read_all(fresh, str(chart), edition, cores(workers, [path for path, _ in fresh])):
        if isinstance(found, Unfiled):
            unfiled.append(found)
        else:
            filed.append(Filed(path, sha256, found))
        tell(path)
    return FolderReading(
        tuple(sorted(filed, key=lambda one: one.path)), tuple(sorted(unfiled, key=lambda one: one.path))
    )


def cores(asked: int | None, paths: Sequence[Path]) -> int:
    """How many processes: as many as cores, fewer where the largest photograph would not leave memory for them."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    largest = max((_decoded_mib(path) for path in paths), default=0.0)
    affordable = int(BUDGET_MIB / (WORKER_MIB + COPIES * largest))
    return max(1, min(asked or cores, affordable, len(paths)))


def _decoded_mib(path: Path) -> float:
    """Memory of the decoded photograph, by its header alone; 0 for a file that is none."""
    from PIL import Image

    from patina.colour.photograph import picture_formats

    if path.suffix.lower() in RAW_SUFFIXES:
        return RAW_PIXELS * 6 / 2**20
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # reading it refuses what is too large
            with Image.open(path, formats=picture_formats()) as opened:
                wide, high = opened.size
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return 0.0
    return wide * high * (6 if path.suffix.lower() in (".tif", ".tiff") else 3) / 2**20


def _sorted_out(paths: Sequence[Path], known: frozenset[str]) -> Iterator[tuple[Path, str | Unfiled]]:
    seen: dict[str, Path] = {}
    for path in paths:
        try:
            sha256 = sha256_of(path)
        except OSError as trouble:
            reason = trouble.strerror or "unknown trouble"
            yield (
                path,
                Unfiled(path, "trouble", BadPhotograph.title, f"The file cannot be read: {reason}.", "Check it."),
            )
            continue
        if sha256 in known:
            yield (
                path,
                Unfiled(
                    path, "known", "Filed already", "This very photograph is filed already.", "Nothing needs doing."
                ),
            )
        elif sha256 in seen:
            what = f"It is the same file as {seen[sha256].name}."
            yield path, Unfiled(path, "twice", "There twice", what, "Delete one of the two.")
        else:
            seen[sha256] = path
            yield path, sha256


Job = tuple[Path, str]
Outcome = tuple[Path, str, "PlacardReading | Unfiled"]


def _read_all(jobs: Sequence[Job], chart: str, edition: str, workers: int) -> Iterator[Outcome]:
    calls = [(path, chart, edition) for path, _ in jobs]
    for place, found in over_cores(_read_one, calls, workers):
        path, sha256 = jobs[place]
        what = "Reading it, or one beside it, broke off; most likely memory ran out."
        broke_off = Unfiled(path, "trouble", BadPhotograph.title, what, "Read it again by itself.")
        yield path, sha256, broke_off if found is None else found


def over_cores(
    function: Callable[..., R], calls: Sequence[tuple[Any, ...]], workers: int
) -> Iterator[tuple[int, R | None]]:
    """Call a function with each of the arguments in so many processes, with 1 in this one.

    Yields, as they are done, the place of the call in ``calls`` and what it gave, None where its process
    broke off. The function is one of a module, so that another process finds it. Whoever stops asking
    waits for no more than what is under way.
    """
    if workers == 1:
        for place, call in enumerate(calls):
            yield place, function(*call)
        return
    import multiprocessing

    # A fresh interpreter for each worker: a copy of a process that has threads may hang.
    context = multiprocessing.get_context("spawn")
    rest = list(reversed(range(len(calls))))
    while rest:
        # A worker that dies takes its pool along; the calls not yet begun get a new one.
        with _quiet_arithmetic(), ProcessPoolExecutor(workers, mp_context=context, initializer=one_core) as pool:
            yield from _through(pool, function, calls, rest, workers)


def _through(
    pool: ProcessPoolExecutor,
    function: Callable[..., R],
    calls: Sequence[tuple[Any, ...]],
    rest: list[int],
    workers: int,
) -> Iterator[tuple[int, R | None]]:
    waiting: dict[Future[R], int] = {}
    broken = False
    while waiting or (rest and not broken):
        while rest and not broken and len(waiting) <= workers:
            place = rest.pop()
            try:
                waiting[pool.submit(function, *calls[place])] = place
            except BrokenProcessPool:
                rest.append(place)
                broken = True
        if not waiting:
            break
        done, _ = wait(waiting, return_when=FIRST_COMPLETED)
        for future in done:
            place = waiting.pop(future)
            try:
                yield place, future.result()
            except BrokenProcessPool:
                broken = True
                yield place, None


def one_core() -> None:
    """Each worker keeps to one core: OpenCV's own threads would only crowd the others."""
    import cv2

    cv2.setNumThreads(1)


@contextmanager
def _quiet_arithmetic() -> Iterator[None]:
    """While workers are being started, numpy's library is told to use one thread in each of them."""
    names = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
    kept = {name: os.environ.get(name) for name in names}
    os.environ.update(dict.fromkeys(names, "1"))
    try:
        yield
    finally:
        for name, value in kept.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


def _read_one(path: Path, chart: str, edition: str) -> PlacardReading | Unfiled:
    from patina.colour.placard_reading import read_placard_photo

    try:
        own = chart if chart in ("auto", "none") else Path(chart)
        found = read_placard_photo(path, chart=own, edition=edition)
    except PatinaError as trouble:
        return Unfiled(path, "trouble", trouble.title, trouble.what, trouble.remedy)
    if found is not None:
        return found
    return Unfiled(
        path,
        "no-placard",
        "No placard in the photograph",
        "No corner mark of a placard is in the picture.",
        "Print the tile's placard and retake, or add the photograph to its tile by hand.",
    )
