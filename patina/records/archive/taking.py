"""Taking a bundle in: all of it in one transaction, or nothing.

Into a studio without records everything becomes what it was, number for number. Elsewhere what is here already
with the same content is passed over, other numbers are given where a number is taken, and what is here with
another content is listed and stops it all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import func, insert, select, text, update
from sqlalchemy.orm import Session

from patina.errors import Damaged, Refused
from patina.records.archive.cells import RECORD
from patina.records.archive.choice import AT_ONCE, read_rows, select_rows
from patina.records.archive.given_store import hash_of_given, keep_earlier, keep_given
from patina.records.archive.numbering import Row, numbers_for
from patina.records.archive.opening import Bag, open_bag, prove_rows
from patina.records.archive.settling import problems_of, settle
from patina.records.archive.shape import CUT_WHERE_OUTSIDE, NOT_A_SETTING, Shape, shapes
from patina.records.finding.searching import index_words
from patina.records.log.changes import Watch, write_log
from patina.records.photographs.files import PhotographFiles, sha256_of
from patina.records.recipes.recipes import fold_name
from patina.records.studio.store import Store
from patina.records.studio.unit import unit
from patina.records.tables.base import canonical, new_uid, now
from patina.records.tables.first import SettingRow
from patina.records.tables.shelf import ChainHead, ChangeTable

Progress = Callable[[str], None]
NOT_COMPARED = {"id", "version", RECORD}
OF_A_TWIN = {"uid", "added_at"}
SHOWN = 12


@dataclass(frozen=True, slots=True)
class Conflict:
    """A record that is here with another content. record: its id here; there: in the bundle."""

    table: str
    record: str
    there: str
    columns: tuple[str, ...]

    def __str__(self) -> str:
        """In words."""
        called = self.record if self.record == self.there else f"{self.record} (there {self.there})"
        return f"{called}: {', '.join(self.columns)}"


@dataclass(frozen=True, slots=True)
class Taken:
    """What came of a bundle. added: rows by table. known: rows that were here already. conflicts: rows that stayed as
    they are here. renumbered: [there, here]. record: id of the bundle here, empty where it became the whole studio."""

    document: dict[str, Any]
    sha256: str
    added: dict[str, int] = field(default_factory=dict)
    known: int = 0
    conflicts: tuple[Conflict, ...] = ()
    renumbered: tuple[tuple[str, str], ...] = ()
    photographs: int = 0
    record: str = ""


@dataclass
class _Seen(Watch):
    """The rows that came in, for the log of changes."""

    rows: list[tuple[Any, dict[str, Any]]] = field(default_factory=list)

    def entries(self) -> Iterator[tuple[Any, None, dict[str, Any]]]:
        """Each with what it is."""
        yield from ((stub, None, values) for stub, values in self.rows)


@dataclass(frozen=True, slots=True)
class _Stub:
    """What the log and the index of words want to know of a row."""

    __tablename__: str
    LETTER: str
    id: int
    search_text: str

    @property
    def public_id(self) -> str:
        """The id that people type."""
        return f"{self.LETTER}{self.id}"


def take_bundle(
    store: Store, file: Path, *, by: str = "", keep_ours: bool = False, progress: Progress = lambda _: None
) -> Taken:
    """Take in a bundle. keep_ours: leave records that are here with another content as they are.

    Raises Refused for what is no bundle of this program, or disagrees with what is here (listed); Damaged for one
    that is not what it says; StudioTrouble. Then nothing was taken in.
    """
    with open_bag(file, progress) as bag:
        prove_rows(bag, progress)
        sha256 = sha256_of(file)
        with unit(store, "import", by=by, why=f"archive bundle {file.name}"[:400]) as work:
            taking = _Taking(work.session, bag, by, keep_ours, progress)
            taken = taking.all(file.name, sha256)
            progress("photographs")
            with _photographs(store, bag, work.session) as count:
                work.commit()
        return Taken(**{**taken, "photographs": count})


class _Taking:
    """One bundle on its way into the records."""

    def __init__(self, session: Session, bag: Bag, by: str, keep_ours: bool, progress: Progress):
        self.session, self.bag, self.by, self.keep_ours, self.progress = session, bag, by, keep_ours, progress
        self.empty = not session.scalar(select(func.count()).select_from(ChangeTable))
        self.as_it_was = self.empty and not bag.document["target"]
        self.seen = _Seen()
        self.known = 0
        self.conflicts: list[Conflict] = []
        self.added: dict[str, int] = {}
        self.cut: dict[str, set[str]] = {}
        for cell in bag.document["left_out"]:
            self.cut.setdefault(cell["record"], set()).add(cell["column"])

    def all(self, file_name: str, sha256: str) -> dict[str, Any]:
        """Everything but the photographs' files."""
        if self.session.get_bind().dialect.name == "sqlite":
            self.session.execute(text("PRAGMA defer_foreign_keys=ON"))
        before = frozenset() if self.empty else frozenset(problems_of(self.session, whole=False))
        self.numbers = numbers_for(self.session, self.bag)
        for shape in self.bag.tables:
            self.progress(f"taking in {shape.name}")
            self._table(shape)
        self._stop_at_conflicts()
        record = ""
        if self.as_it_was:
            self._whole()
        elif self.added:
            record = self._bundle(file_name, sha256)
        if self.added:
            settle(self.session, self.bag, self.numbers, recount=not self.as_it_was)
            self.progress("checking")
            wrong = [p for p in problems_of(self.session, whole=self.as_it_was) if p not in before]
            if wrong:
                raise Damaged(
                    f"What the bundle holds does not agree with itself: {' '.join(wrong[:3])}"[:1200],
                    "Nothing was taken in; use another bundle.",
                )
        return {
            "document": self.bag.document,
            "sha256": sha256,
            "added": self.added,
            "known": self.known,
            "conflicts": tuple(self.conflicts),
            "renumbered": tuple((there, here) for there, here in self.numbers.renumbered()),
            "record": record,
        }

    def _table(self, shape: Shape) -> None:
        fresh: list[tuple[Row, Row]] = []
        same: list[Row] = []
        for row in self.bag.rows(shape):
            moved = self.bag.plain(shape, self.numbers.moved(shape, row))
            if row["id"] in self.numbers.fresh[shape.name]:
                fresh.append((row, moved))
            else:
                same.append(row)
            if len(fresh) >= AT_ONCE:
                self._insert(shape, fresh)
                fresh = []
            if len(same) >= AT_ONCE:
                self._compare(shape, same)
                same = []
        self._insert(shape, fresh)
        self._compare(shape, same)

    def _insert(self, shape: Shape, rows: list[tuple[Row, Row]]) -> None:
        if not rows:
            return
        if "name_folded" in shape.keys:
            self._require_own_names(shape, rows)
        columns = {a.key: a.columns[0].name for a in shape.kind.__mapper__.column_attrs}
        values = [self.bag.values(shape, moved) for _, moved in rows]
        self.session.execute(insert(shape.table), [{columns[k]: v for k, v in value.items()} for value in values])
        self.added[shape.name] = self.added.get(shape.name, 0) + len(rows)
        words = [_Stub(shape.name, shape.letter, m["id"], m.get("search_text") or "") for _, m in rows]
        if "search_text" in shape.keys:
            index_words(self.session, words)  # type: ignore[arg-type]
        if not self.as_it_was:
            derived = shape.kind.DERIVED | {RECORD}
            pairs = zip(words, rows, strict=True)
            self.seen.rows += [(w, {k: m[k] for k in (*shape.keys,) if k not in derived}) for w, (_, m) in pairs]
        if shape.name == "taken_bundle":
            for row, moved in rows:
                keep_earlier(self.session, self.bag, self.numbers, row, moved["id"])

    def _compare(self, shape: Shape, rows: list[Row]) -> None:
        """Rows that are here already: they must say the same, but for what either side had to leave out."""
        if not rows:
            return
        table = shape.table
        ids = [self.numbers.here[shape.name][row["id"]] for row in rows]
        ours = {r["id"]: r for r in read_rows(self.session, shape, select_rows(shape).where(table.c.id.in_(ids)))}
        loose = {key for name, key in CUT_WHERE_OUTSIDE if name == shape.name}
        for row in rows:
            moved = self.bag.plain(shape, self.numbers.moved(shape, row))
            mine = ours[moved["id"]]
            left = NOT_COMPARED | shape.kind.DERIVED | self.cut.get(row[RECORD], set())
            left |= OF_A_TWIN if (shape.name, row["id"]) in self.numbers.twins else set()
            left |= {key for key in loose if moved[key] is None or mine[key] is None}
            if shape.name == "taken_bundle":
                left |= {"renumbered"}
            other = tuple(k for k in shape.keys if k not in left and canonical(moved[k]) != canonical(mine[k]))
            if other:
                self.conflicts.append(Conflict(shape.name, mine[RECORD], row[RECORD], other))
            else:
                self.known += 1

    def _stop_at_conflicts(self) -> None:
        if self.conflicts and not self.keep_ours:
            listed = "; ".join(str(c) for c in self.conflicts[:SHOWN])
            more = f"; and {len(self.conflicts) - SHOWN} more" if len(self.conflicts) > SHOWN else ""
            raise Refused(
                f"{len(self.conflicts)} records of the bundle are here with another content: {listed}{more}.",
                "Nothing was taken in. Say that the records here are to stay as they are (--keep-ours), or take it "
                "into a studio of its own.",
            )

    def _require_own_names(self, shape: Shape, rows: list[tuple[Row, Row]]) -> None:
        """A recipe of that name that is another recipe here would be taken for it."""
        for _, moved in rows:
            moved["name_folded"] = fold_name(str(moved["name"]))
        table = shape.table
        wanted = [moved["name_folded"] for _, moved in rows]
        found = self.session.execute(select(table.c.name, table.c.id).where(table.c.name_folded.in_(wanted))).first()
        if found is not None or len(set(wanted)) != len(wanted):
            name = found.name if found is not None else max(wanted, key=wanted.count)
            raise Refused(
                f"Two records of {shape.name} would be called '{name}'.",
                "Nothing was taken in. Rename the one that is here first, or take the bundle into a studio of its own.",
            )

    def _whole(self) -> None:
        """The log and the settings as they were."""
        last: tuple[int, str] | None = None
        rows: list[dict[str, Any]] = []
        for n, sha256, entry in self.bag.log():
            if entry is None:
                raise Damaged("The log of a whole studio does not stand in full.", "Use another bundle.")
            rows.append({**entry.__dict__})
            last = (n, sha256)
            if len(rows) >= AT_ONCE:
                self.session.execute(insert(ChangeTable), rows)
                rows = []
        if rows:
            self.session.execute(insert(ChangeTable), rows)
        if last is not None:
            self.session.execute(update(ChainHead).values(n=last[0], hash=last[1]))
        self._settings()

    def _settings(self) -> None:
        from patina.records.archive.cells import parsed

        if "data/settings.json" not in self.bag.parts:
            return
        try:
            found = parsed(self.bag.content("data/settings.json"))
        except ValueError:
            found = None
        sound = isinstance(found, dict) and all(isinstance(v, str) and len(k) <= 80 for k, v in found.items())
        if not sound:
            raise Damaged("settings.json cannot be read.", "Use another bundle.")
        assert isinstance(found, dict)
        table = SettingRow.__table__
        for name, value in found.items():
            if name not in NOT_A_SETTING:
                self.session.execute(table.delete().where(table.c.name == name))  # type: ignore[attr-defined]
                self.session.execute(insert(SettingRow), {"name": name, "value": value})

    def _bundle(self, file_name: str, sha256: str) -> str:
        """The bundle itself on record, with the log that came with it, and the log of what came in."""
        shape, document = shapes()["taken_bundle"], self.bag.document
        table = shape.table
        number = (self.session.scalar(select(func.max(table.c.id))) or 0) + 1
        row = {
            "id": number,
            "uid": new_uid(),
            "file_name": file_name[:400],
            "sha256": sha256,
            "target": document["target"][:40],
            "name": document["name"][:400],
            "studio": self.bag.info.get("Source-Organization", "")[:400],
            "program": document["program"][:40],
            "log_n": document["log"]["n"],
            "log_sha256": document["log"]["sha256"],
            "given_sha256": hash_of_given(self.bag, "data/log"),
            "renumbered": self.numbers.renumbered(),
            "by": self.by,
            "at": now().isoformat(),
        }
        columns = {a.key: a.columns[0].name for a in shape.kind.__mapper__.column_attrs}
        values = self.bag.values(shape, {RECORD: f"{shape.letter}{number}", **row})
        self.session.execute(insert(table), [{columns[k]: v for k, v in values.items()}])
        keep_given(self.session, self.bag, "data/log", number, self.numbers.called)
        self.seen.rows.append((_Stub(shape.name, shape.letter, number, ""), row))
        write_log(self.session, self.seen, by=self.by, deed="import", why=f"archive bundle {file_name}"[:400])
        return f"{shape.letter}{number}"


@contextmanager
def _photographs(store: Store, bag: Bag, session: Session) -> Iterator[int]:
    """Store the files of photographs that are not here; taken out again where the records are not kept."""
    added: list[str] = []
    kept = False
    try:
        if "photograph" in bag.document["tables"]:
            for row in bag.rows(shapes()["photograph"]):
                name = bag.photograph(row)
                if store.files.fault(row["sha256"], row["size_bytes"]) is None or name is None:
                    continue
                if store.files.keep_bytes(bag.blocks(name)) != row["sha256"]:
                    raise Damaged(f"Photograph {row[RECORD]} is not what it was.", "Use another bundle.")
                added.append(row["sha256"])
        yield len(added)
        kept = True
    finally:
        if not kept and isinstance(store.files, PhotographFiles):
            for sha256 in added:
                store.files.path(sha256).unlink(missing_ok=True)
