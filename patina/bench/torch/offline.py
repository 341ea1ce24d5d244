"""The tally at the torch while the database is out of reach, and putting it on record when it is back.

Every key is given its id where it is pressed. If the database does not answer, the key goes into a
journal under that id; when the database is back each entry becomes the record of that id. What was
there already is passed over, so however often a journal is replayed, or cut off while it is, each key
counts once. Nothing else works without the database.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from threading import Lock
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from patina.bench.torch import heat, work
from patina.bench.torch.tally import as_it_stands
from patina.entries import NewTemperature
from patina.errors import Changed, NotFound, PatinaError, Refused, StudioTrouble, Unreachable
from patina.records.studio.opening import shown_url
from patina.records.tables.ids import fetch
from patina.records.tables.work import WorkTable
from patina.records.torch.journal import DONE, Entry, Head, Journal, folder_of, journals_of
from patina.records.torch.work import Stamp, event_stamped
from patina.sheets import JournalRow, ReplaySheet, WorkSheet

if TYPE_CHECKING:
    from patina.bench.studio import Studio

Live = Callable[[Stamp], WorkSheet]
DEEDS = ("pass", "note", "move", "level", "temperature", "back")


class Tally:
    """What one screen writes down of one work. sheet: as it stands, with what waits in the journal."""

    def __init__(self, studio: Studio, sheet: WorkSheet):
        self.studio = studio
        self.sheet = sheet
        self.who = ""
        self.since: datetime | None = None
        self._journal: Journal | None = None
        self._entries: list[Entry] = []
        self._lock = Lock()  # a key that is pressed while the journal is replayed waits for its end

    @property
    def offline(self) -> bool:
        """Whether the database is out of reach."""
        return self.since is not None

    @property
    def waiting(self) -> int:
        """How many keys wait in the journal."""
        return len(self._entries)

    def lost(self) -> None:
        """The database does not answer: from now on keys go into the journal."""
        self.since = self.since or datetime.now(UTC)

    def write(self, kind: str, given: dict[str, Any], live: Live) -> WorkSheet:
        """Write down a key: in the database, or where that is out of reach in the journal.

        kind, given: one of DEEDS and what belongs to it, for the journal. live: the deed, told its stamp.
        Raises what the deed raises, but not Unreachable; StudioTrouble where the journal cannot be written.
        """
        uid = uuid4().hex
        with self._lock:
            if not self.offline:
                try:
                    self.sheet = live(Stamp(uid))
                    return self.sheet
                except Unreachable:
                    # it may have been saved all the same: under this id it will not be saved twice
                    self.lost()
            return self._into_journal(uid, kind, given)

    def _into_journal(self, uid: str, kind: str, given: dict[str, Any]) -> WorkSheet:
        entry = Entry(uid, self.waiting + 1, datetime.now(UTC), self.who, kind, self.sheet.step, self.sheet.zone, given)
        after = as_it_stands(self.sheet, entry)  # refuses what cannot be before anything is written
        if self._journal is None:
            row = self.sheet.row
            name = f"{row.target_name} by {row.recipe}"
            head = Head(self.studio.where, row.id, row.started_at, name, datetime.now(UTC))
            self._journal = Journal.begin(folder_of(self.studio.where), head, uuid4().hex[:8])
        self._journal.append(entry)
        self._entries.append(entry)
        self.sheet = after
        return after

    def reconnect(self) -> ReplaySheet | None:
        """Put what waits on record if the database answers again; None while it does not."""
        try:
            work.last_number(self.studio, self.sheet.row.id)
        except Unreachable:
            return None
        with self._lock:
            try:
                before = work.last_number(self.studio, self.sheet.row.id)
                told = ReplaySheet(self.sheet.row.id, 0, 0, 0, ())
                if self._journal is not None:
                    told = replay(self.studio, self._journal)
                sheet = work.work_sheet(self.studio, self.sheet.row.id)
            except Unreachable:
                return None
            except StudioTrouble:
                raise
            except PatinaError:  # the journal cannot go on record: it waits in its file, the work goes on
                self.close()
                self.since, self._journal, self._entries = None, None, []
                raise
            # a key that was saved though its answer was lost is nobody else's
            others = max(before - self.sheet.seq - told.there, 0)
            self.sheet, self.since, self._journal, self._entries = sheet, None, None, []
        return replace(told, others=others)

    def close(self) -> None:
        """Let go of the journal; what it holds waits for the database."""
        if self._journal is not None:
            self._journal.close()


def waiting(studio: Studio | str, which: str | None = None) -> tuple[JournalRow, ...]:
    """The journals of this machine that wait for this studio, or for one of its works; oldest first.

    studio: an open one, or its URL, since its database need not answer. A journal that cannot be read is
    listed with its trouble.
    """
    found = []
    for journal in journals_of(_shown(studio)):
        row = _row(journal)
        if which is None or row.work == which:
            found.append(row)
    return tuple(found)


def _row(journal: Journal) -> JournalRow:
    try:
        head, entries = journal.read()
    except PatinaError as trouble:
        return JournalRow(journal.path.name, journal.path.name.partition("-")[0], "", None, None, 0, trouble.what)
    last = entries[-1].at if entries else head.opened_at
    return JournalRow(journal.path.name, head.work, head.target, head.opened_at, last, len(entries))


def entries_of(studio: Studio | str, name: str) -> tuple[Entry, ...]:
    """What one journal holds, by the name of its file. Raises NotFound, Damaged."""
    return _named(studio, name).read()[1]


def _shown(studio: Studio | str) -> str:
    """The studio as its journals name it: without a password."""
    return shown_url(studio) if isinstance(studio, str) else studio.where


def replay_all(studio: Studio, names: Sequence[str] = ()) -> tuple[ReplaySheet, ...]:
    """Put the journals of these names on record, or all that wait. Raises NotFound, Damaged, Refused
    where another program holds one, Unreachable where the database goes away again."""
    chosen = [_named(studio, name) for name in names] if names else journals_of(studio.where)
    return tuple(replay(studio, journal) for journal in chosen)


def _named(studio: Studio | str, name: str) -> Journal:
    for journal in journals_of(_shown(studio)):
        if name in (journal.path.name, journal.path.stem):
            return journal
    raise NotFound(f"No journal '{name}' waits on this machine.", "patina journal lists those that do.")


def replay(studio: Studio, journal: Journal) -> ReplaySheet:
    """Put every entry of a journal on record once, in its order and with its time, and put the file away."""
    with journal.held():
        head, entries = journal.read()
        there, notes = 0, []
        with studio.store.view() as session:
            row = fetch(session, WorkTable, head.work, field="work")
            if row.started_at != head.started_at:
                raise Refused(
                    f"{head.work} of this studio is another work than the journal was kept for ({head.target}).",
                    f"Look at {journal.path} and write down by hand what belongs on record.",
                )
            known = {entry.uid for entry in entries if event_stamped(session, entry.uid) is not None}
        for entry in entries:
            if entry.uid in known:
                there += 1
            elif (why := _put(studio, head.work, entry)) is not None:
                notes.append(why)
        journal.put_away()
    return ReplaySheet(head.work, len(entries) - there, there, 0, tuple(notes))


def _put(studio: Studio, which: str, entry: Entry) -> str | None:
    """One entry on record. What the records refuse is kept as a note, so that nothing that was done is lost."""
    stamp = Stamp(entry.uid, entry.at, entry.step, entry.zone)
    try:
        _deed(studio, which, entry, stamp)
    except (StudioTrouble, Changed):
        raise
    except PatinaError as trouble:
        said = f"Kept from the journal as a note: {entry.deed} {_words(entry)}. {trouble.what}"[: work.LONGEST_NOTE]
        work.write_note(studio, which, said, by=entry.by, stamp=stamp)
        return said
    return None


def _deed(studio: Studio, which: str, entry: Entry, stamp: Stamp) -> WorkSheet:
    given, by = dict(entry.given), entry.by
    if entry.deed == "pass":
        return work.pass_done(studio, which, by=by, stamp=stamp)
    if entry.deed == "note":
        return work.write_note(studio, which, given["text"], by=by, stamp=stamp)
    if entry.deed == "move":
        return work.move_to(studio, which, step=given["step"], zone=given["zone"], by=by, stamp=stamp)
    if entry.deed == "level":
        return work.volume_left(studio, which, given["left_ml"], by=by, stamp=stamp)
    if entry.deed == "temperature":
        return heat.read_temperature(studio, which, NewTemperature(**given), by=by, stamp=stamp)
    if entry.deed == "back":
        return work.go_back(studio, which, taken=given["taken"], by=by, stamp=stamp)
    raise Refused(f"A journal entry '{entry.deed}' is of a newer program.", "Install the newer program.")


def _words(entry: Entry) -> str:
    return ", ".join(f"{k.replace('_', ' ')} {v}" for k, v in entry.given.items() if v not in (None, ""))


def temperature_given(reading: NewTemperature) -> dict[str, Any]:
    """A reading as the journal keeps it: as it was read; it is made true when it goes on record."""
    return asdict(reading)


@dataclass(frozen=True, slots=True)
class Kept:
    """Where journals lie. folder: those that wait; on_record: those that were replayed."""

    folder: str
    on_record: str


def where_kept(studio: Studio | str) -> Kept:
    """The folders of this machine that hold the journals of a studio."""
    folder = folder_of(_shown(studio))
    return Kept(str(folder), str(folder / DONE))
