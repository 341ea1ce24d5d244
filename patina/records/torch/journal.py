"""A journal on this machine's disk: what was done at the torch while the studio's database was out of reach.

One file for each stretch of work: a head, then a line for each key, each on disk before it is answered.
Every line carries the id that its record will have and a sum over all lines before it, so that nothing
can be taken out unseen, and a line that was cut off by a power failure is known as such.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from patina.errors import Damaged, Refused, StudioTrouble

FORMAT = "patina journal 1"
DONE = "on-record"


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that was done. uid: of the record it becomes. n: 1, 2, 3 … in the file. deed: "pass",
    "note", "move", "level", "temperature" or "back". step, zone: where it was done. given: what
    belongs to it."""

    uid: str
    n: int
    at: datetime
    by: str
    deed: str
    step: int
    zone: str
    given: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Head:
    """Which work a journal belongs to. studio: as shown. work: its id; started_at: when it was begun."""

    studio: str
    work: str
    started_at: datetime
    target: str
    opened_at: datetime


class Journal:
    """A file of entries. The process that writes or replays it holds it alone."""

    def __init__(self, path: Path):
        self.path = path
        self._out: Any = None
        self._sum = ""
        self._n = 0

    @classmethod
    def begin(cls, folder: Path, head: Head, name: str) -> Journal:
        """A new file that holds its head on disk. Raises StudioTrouble where it cannot be written."""
        made = cls(folder / f"{head.work}-{name}.jsonl")
        with _troubles(made.path):
            folder.mkdir(parents=True, exist_ok=True)
            made._out = made.path.open("xb")
            _hold(made._out, made.path)
            made._write({"format": FORMAT, **asdict(head)})
            _sync_folder(folder)
        return made

    def append(self, entry: Entry) -> None:
        """Write an entry; it is on disk before this returns. Raises StudioTrouble."""
        with _troubles(self.path):
            self._write(asdict(entry))
        self._n = entry.n

    def _write(self, document: dict[str, Any]) -> None:
        self._sum = _sum(self._sum, document)
        line = json.dumps({**document, "sum": self._sum}, default=_plain, ensure_ascii=False)
        self._out.write(line.encode() + b"\n")
        self._out.flush()
        os.fsync(self._out.fileno())

    def close(self) -> None:
        """Let go of the file; what it holds waits."""
        if self._out is not None:
            self._out.close()
            self._out = None

    def read(self) -> tuple[Head, tuple[Entry, ...]]:
        """Head and entries. A last line that was cut off was never answered and is left out.

        Raises Damaged for a file that is not what was written.
        """
        lines = self.path.read_bytes().split(b"\n")
        found = list(_documents(self.path, lines))
        if not found or found[0].pop("format", None) != FORMAT:
            raise Damaged(f"'{self.path}' is no journal of this program.", "Move it out of the folder of journals.")
        head, *rest = found
        moments = {"started_at": _moment(head["started_at"]), "opened_at": _moment(head["opened_at"])}
        return Head(**{**head, **moments}), tuple(Entry(**{**one, "at": _moment(one["at"])}) for one in rest)

    @contextmanager
    def held(self) -> Iterator[None]:
        """Hold the file while it is replayed. Raises Refused where another program holds it."""
        if self._out is not None:
            yield
            return
        with self.path.open("rb+") as stream:
            _hold(stream, self.path)
            yield

    def put_away(self) -> None:
        """All of it is on record: the file goes where it does not wait any more."""
        self.close()
        with _troubles(self.path):
            folder = self.path.parent / DONE
            folder.mkdir(exist_ok=True)
            self.path.replace(folder / self.path.name)
            _sync_folder(folder)
            _sync_folder(self.path.parent)


def journals_of(studio: str) -> tuple[Journal, ...]:
    """The journals on this machine that wait for a studio, oldest first."""
    folder = folder_of(studio)
    if not folder.is_dir():
        return ()
    return tuple(Journal(p) for p in sorted(folder.glob("*.jsonl"), key=lambda p: (p.stat().st_mtime, p.name)))


def folder_of(studio: str) -> Path:
    """Where the journals of a studio lie on this machine."""
    from platformdirs import user_data_path

    own = hashlib.sha256(studio.encode()).hexdigest()[:12]
    return user_data_path("patina", appauthor=False) / "journal" / own


def _documents(path: Path, lines: list[bytes]) -> Iterator[dict[str, Any]]:
    total = ""
    for number, line in enumerate(lines):
        if not line.strip():
            continue
        try:
            document = json.loads(line)
            said = document.pop("sum")
        except (ValueError, KeyError, AttributeError, TypeError):
            document, said = None, None
        if document is None or said != (total := _sum(total, document)):
            if number == len(lines) - 1:  # no end of line: cut off while it was written
                return
            raise Damaged(
                f"Line {number + 1} of the journal '{path}' is not what was written.",
                "Keep the file as it is; write down by hand what it says from there on, then move it away.",
            )
        yield document


def _sum(before: str, document: Mapping[str, Any]) -> str:
    text = json.dumps(document, default=_plain, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256((before + text).encode()).hexdigest()[:32]


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} has no place in a journal")


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text)


@contextmanager
def _troubles(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as trouble:
        raise StudioTrouble(
            f"The journal '{path}' cannot be written: {trouble.strerror or trouble}.",
            "Write the work down on paper until the database is back.",
            title="Not written down",
        ) from None


def _hold(stream: Any, path: Path) -> None:
    """Lock the file for this process; the system lets go when the process ends, however it ends."""
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        else:
            import fcntl

            fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        raise Refused(
            f"The journal {path.name} is in use by another program that is open here.",
            "Go to that screen; it puts the journal on record by itself.",
        ) from None


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":
        return
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
