"""Time of save, find and open as a studio grows: at 1,000, 10,000 and 100,000 recipes of ten tiles each.

Run: python tests/benchmarks/bench_growth.py [N ...] [--keep FOLDER] [--rounds N]. Each tile has one reading. The
studios are filled past the deeds, row by row as the deeds would write them, with the log chained and the index of
words whole (``patina check`` says so at 1,000). Then each deed is done in all studios in turn, again and again, so
that whatever else the machine does slows them alike; the table has the medians. Lists and searches are asked for the
page that a screen shows first. The search by colour is timed as the program does it once its rack is laid out.

Finding and opening must stay under twice their time in the smallest studio, or under 5 ms, which nobody notices. The
last columns have the ratio by the clock and by the processor's time; on a machine that does other work the clock
counts waiting as well, so a deed is called slow where both say so. A studio that was kept has the deeds of the runs
before in it as well.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Any

from bench_records import recipe
from sqlalchemy.dialects import sqlite

from patina.bench import upkeep
from patina.bench.finding import related, search
from patina.bench.history import deeds_on
from patina.bench.matched import rack
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.studio import Studio, open_studio
from patina.entries import NewReading, NewTile
from patina.records.finding import meeting
from patina.records.finding.naming import is_marked, marked, words_of
from patina.records.finding.record_words import recipe_words
from patina.records.finding.searching import grams_of
from patina.records.log.chain import FIRST
from patina.records.log.snapshots import snapshot
from patina.records.recipes.recipes import _search_text, fold_name
from patina.records.tables.base import Record, canonical, level, new_uid, searchable
from patina.records.tables.first import ReadingTable, RecipeTable, RevisionTable, TileTable
from patina.records.tables.recipe_json import content_sha256, recipe_document

TILES = 10
PAGE = 60  # what a screen shows first of a list
MOST = 2.0
UNNOTICED_MS = 5.0
# canonical JSON, with the encoder made once
AS_JSON = json.JSONEncoder(sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode
START = datetime(2026, 1, 1, 8, tzinfo=UTC)


class Kind:
    """A table that is filled row by row: its insert, and the log's words of a row, made from an example.

    changing: the columns that differ from row to row; all others stay as in the example.
    """

    def __init__(self, example: Record, *changing: str):
        self.name, self.letter, self.changing = example.__tablename__, example.LETTER, changing
        columns = {c.key: c.columns[0] for c in type(example).__mapper__.column_attrs}
        names = ", ".join(f'"{c.name}"' for c in columns.values())
        self.insert = f"INSERT INTO {self.name} ({names}) VALUES ({', '.join('?' * len(columns))})"
        self.fixed = []
        for key, column in columns.items():
            write = column.type.dialect_impl(sqlite.dialect()).bind_processor(sqlite.dialect())
            self.fixed.append((key, write, write(getattr(example, key)) if write else getattr(example, key)))
        self.own = {key for key, _, _ in self.fixed}
        self.plain = {key: value for key, value in snapshot(example).items() if key not in changing}
        self.logged = set(snapshot(example)) & set(changing)
        # canonical JSON is that of its sorted parts, so the parts that stay are written once
        self.parts = {key: f"{canonical(key)}:{canonical(value)}" for key, value in self.plain.items()}
        self.order = [(key, f"{canonical(key)}:") for key in sorted({*self.parts, *self.logged})]

    def row(self, values: dict[str, Any]) -> tuple[Any, ...]:
        """What is inserted. values: of the changing columns."""
        return tuple(
            (write(values[key]) if write else values[key]) if key in values else fixed
            for key, write, fixed in self.fixed
        )

    def after(self, values: dict[str, Any]) -> str:
        """What the log says of the row."""
        said = []
        for key, name in self.order:
            if key in self.logged:
                value = values[key]
                said.append(name + AS_JSON(value.isoformat() if isinstance(value, datetime) else value))
            else:
                said.append(self.parts[key])
        return "{" + ",".join(said) + "}"


def kinds() -> tuple[Kind, Kind, Kind, Kind]:
    """A recipe, its revision, a tile and a reading, as the deeds write them."""
    at = START
    return (
        Kind(
            RecipeTable(id=1, uid="", version=1, created_at=at, search_text="", name="", name_folded="", revision=1),
            *("id", "uid", "created_at", "search_text", "name", "name_folded"),
        ),
        Kind(
            RevisionTable(
                id=1, uid="", recipe_id=1, number=1, reason="first version", by="", made_at=at, finish="",
                provenance="", alloys=[], methods=[], document={}, content_sha256="",
            ),
            *("id", "uid", "recipe_id", "made_at", "finish", "provenance", "alloys", "methods", "document"),
            "content_sha256",
        ),
        Kind(
            TileTable(
                id=1, uid="", version=1, created_at=at, engraved="", alloy="C87300", preparation="", wall_mm=None,
                size="", revision_id=1, as_done=[], made_on=None, made_by="", wax_state="not stated", note="",
                batch_id=None, search_text="",
            ),
            *("id", "uid", "created_at", "engraved", "revision_id", "search_text"),
        ),
        Kind(
            ReadingTable(
                id=1, uid="", tile_id=1, cast_id=None, photograph_id=None, lab_l=1.0, lab_a=1.0, lab_b=1.0,
                illuminant="D50", observer="2", source="typed", area="", geometry="not stated", instrument="",
                sd=None, n=1, uncertainty_de00=None, wax_state="not stated", warmth="not stated", read_at=at,
                read_by="", note="", parts=[], added_at=at, latest=True,
            ),
            *("id", "uid", "tile_id", "lab_l", "lab_a", "lab_b", "read_at", "added_at", "latest"),
        ),
    )  # fmt: skip


Each = tuple[int, int]  # tiles of a recipe, readings of a tile


def rows_of(
    n: int, chance: random.Random, known: Any, made_of: tuple[Kind, ...], each: Each
) -> Iterator[tuple[Kind, Any]]:
    """A recipe with all that belongs to it: each row's kind and what changes in it. n: from 1."""
    recipes, revisions, plates, readings = made_of
    made, at = recipe(n, chance), START + timedelta(minutes=n)
    document = recipe_document(made)
    words = _search_text(made, recipe_words(known, made))
    yield recipes, {
        "id": n, "uid": new_uid(), "created_at": at, "search_text": words, "name": made.name,
        "name_folded": fold_name(made.name),
    }  # fmt: skip
    yield revisions, {
        "id": n, "uid": new_uid(), "recipe_id": n, "made_at": at, "finish": made.finish,
        "provenance": made.provenance, "alloys": list(made.alloys), "methods": list(made.methods),
        "document": document, "content_sha256": content_sha256(document),
    }  # fmt: skip
    found_by = level(searchable("C87300", made.name, made.finish))
    for i in range(1, each[0] + 1):
        id = (n - 1) * each[0] + i
        yield plates, {
            "id": id, "uid": new_uid(), "created_at": at, "engraved": f"{n}-{i}", "revision_id": n,
            "search_text": f"{n}-{i} {found_by}",
        }  # fmt: skip
        for k in range(1, each[1] + 1):
            read = {"id": (id - 1) * each[1] + k, "tile_id": id, "read_at": at + timedelta(days=k - 1)}
            lab = {"lab_l": chance.uniform(20, 60), "lab_a": chance.uniform(-20, 20), "lab_b": chance.uniform(-10, 40)}
            yield readings, {**read, "uid": new_uid(), "added_at": read["read_at"], "latest": k == each[1], **lab}


def fill(studio: Studio, count: int, each: Each = (TILES, 1)) -> None:
    """Fill an empty studio with so many recipes. each: tiles of a recipe and readings of a tile."""
    assert studio.store.folder is not None
    known = studio.catalogue()
    studio.store.engine.dispose()
    with closing(sqlite3.connect(studio.store.folder / "studio.db", isolation_level=None)) as database:
        for pragma in ("synchronous=OFF", "cache_size=-600000", "foreign_keys=OFF"):
            database.execute(f"PRAGMA {pragma}")
        database.execute("CREATE TEMP TABLE said (letter TEXT, word TEXT, record_id INTEGER)")
        database.execute("BEGIN IMMEDIATE")
        n, previous = _fill(database, count, known, each)
        columns = "letter, word, record_id"
        database.execute(f"INSERT INTO word ({columns}) SELECT {columns} FROM said ORDER BY 1, 2, 3")
        words = database.execute("SELECT DISTINCT letter, word FROM said").fetchall()
        middles = sorted(
            (letter, gram, word) for letter, word in words if not is_marked(word) for gram in grams_of(word)
        )
        database.executemany("INSERT INTO gram (letter, gram, word) VALUES (?, ?, ?)", middles)
        database.execute("DROP TABLE said")
        database.execute("UPDATE chain_head SET n = ?, hash = ?", (n, previous))
        database.execute("COMMIT")


LOGGED = (
    'INSERT INTO change (n, at, changed_by, deed, why, kind, record, "before", "after", previous, hash) '
    "VALUES (?, ?, '', 'import', 'benchmark', ?, ?, NULL, ?, ?, ?)"
)


def _fill(database: sqlite3.Connection, count: int, known: Any, each: Each) -> tuple[int, str]:
    """The rows and their log; number and hash of the last change."""
    chance, made_of = random.Random(7), kinds()
    n, previous = 0, FIRST
    for first in range(1, count + 1, 500):
        rows: dict[Kind, list[Any]] = {kind: [] for kind in made_of}
        log: list[Any] = []
        said: list[tuple[str, str, int]] = []
        uses: list[tuple[int, str]] = []
        for number in range(first, min(first + 500, count + 1)):
            at = START + timedelta(minutes=number)
            for kind, values in rows_of(number, chance, known, made_of, each):
                n += 1
                record, after = f"{kind.letter}{values['id']}", kind.after(values)
                content = (
                    f'{{"after":{AS_JSON(after)},"at":"{at.isoformat()}","before":null,"by":"",'
                    f'"deed":"import","kind":"{kind.name}","n":{n},"record":"{record}","why":"benchmark"}}'
                )
                hash = hashlib.sha256((previous + content).encode()).hexdigest()
                log.append((n, f"{at:%Y-%m-%d %H:%M:%S}.000000", kind.name, record, after, previous, hash))
                previous = hash
                rows[kind].append(kind.row(values))
                if "search_text" in values:
                    named = marked(values["name"] if "name" in values else values["engraved"])
                    said += [(kind.letter, w, values["id"]) for w in words_of(values["search_text"]) | named]
                if "document" in values:
                    used = {i["substance"] for s in values["document"]["solutions"] for i in s["ingredients"]}
                    uses += [(values["id"], key) for key in used]
        for kind, values in rows.items():
            database.executemany(kind.insert, values)
        database.executemany(LOGGED, log)
        database.executemany("INSERT INTO said VALUES (?, ?, ?)", said)
        database.executemany("INSERT INTO revision_substance (revision_id, substance) VALUES (?, ?)", uses)
    return n, previous


OPENING = """
import sys, time
started = time.perf_counter()
from patina.bench.studio import open_studio
from patina.bench.recipes.finishes import list_recipes
studio = open_studio(sys.argv[1])
list_recipes(studio, limit=60)
print((time.perf_counter() - started) * 1000)
"""


def open_anew(where: str) -> float:
    """Milliseconds of a new process to open the studio and have the first page of its list."""
    done = subprocess.run([sys.executable, "-c", OPENING, where], capture_output=True, text=True, check=True)
    return float(done.stdout)


def open_again(where: str) -> None:
    """The same in a process that has the program in memory."""
    with open_studio(where) as studio:
        finishes.list_recipes(studio, limit=PAGE)


def anew(studio: Studio, words: str) -> None:
    """Find by words that are not in memory, as after each change in the studio."""
    meeting._STUDIOS.clear()
    finishes.list_recipes(studio, words, limit=PAGE)


def reading_deeds(studio: Studio, count: int) -> dict[str, Callable[[], object]]:
    """What finds and opens, which is bound by the limit."""
    some, tile = f"R{count // 2}", f"T{count * 5}"
    name = finishes.recipe_sheet(studio, some).recipe.name
    rack.nearest(studio, "30,5,10")
    rack.wait_until_laid_out(studio)
    return {
        "find a recipe by its name": lambda: finishes.list_recipes(studio, name, limit=PAGE),
        "find recipes by a common word": lambda: finishes.list_recipes(studio, "heron brown", limit=PAGE),
        "find recipes by a word of all": lambda: finishes.list_recipes(studio, "torch", limit=PAGE),
        "find by the middle of a word": lambda: finishes.list_recipes(studio, name[1:], limit=PAGE),
        "find by the middle of a common word": lambda: finishes.list_recipes(studio, "ordan", limit=PAGE),
        "find by two words that seldom meet": lambda: finishes.list_recipes(studio, "moss heron", limit=PAGE),
        "find by two words that never meet": lambda: finishes.list_recipes(studio, "c87300 navy", limit=PAGE),
        "seldom meet, first after a change": lambda: anew(studio, "moss heron"),
        "never meet, first after a change": lambda: anew(studio, "c87300 navy"),
        "find nothing": lambda: finishes.list_recipes(studio, "zzyzx", limit=PAGE),
        "find a tile by its mark": lambda: tiles.list_tiles(studio, f"{count // 2}-5", limit=PAGE),
        "find tiles by a common word": lambda: tiles.list_tiles(studio, "heron", limit=PAGE),
        "find any record (palette)": lambda: search.find_records(studio, name),
        "find any record by a common word": lambda: search.find_records(studio, "heron"),
        "find the nearest colours": lambda: rack.nearest(studio, "30,5,10"),
        "open the studio, program running": lambda: open_again(studio.where),
        "open recipes, first page": lambda: finishes.list_recipes(studio, limit=PAGE),
        "open tiles, first page": lambda: tiles.list_tiles(studio, limit=PAGE),
        "open a recipe": lambda: finishes.recipe_sheet(studio, some),
        "open a tile": lambda: tiles.tile_sheet(studio, tile),
        "open what hangs together": lambda: related.related(studio, some),
        "open the history of a tile": lambda: deeds_on(studio, tile),
        "open the newest deeds": lambda: deeds_on(studio, limit=50),
    }


def saving_deeds(studio: Studio, count: int) -> dict[str, Callable[[], object]]:
    """What saves."""
    chance, numbers = random.Random(count), iter(range(time.time_ns() % 10**9 + 10**8, 10**10))
    some, tile = f"R{count // 2}", f"T{count * 5}"
    base = finishes.recipe_sheet(studio, some).recipe

    def revise() -> None:
        other = replace(base, texture=1 + next(numbers) % 997 / 997)
        finishes.revise_recipe(studio, some, other, reason="benchmark")

    return {
        "save a recipe": lambda: finishes.save_recipe(studio, recipe(next(numbers), chance)),
        "save a revision": revise,
        "save a tile": lambda: tiles.start_tile(studio, NewTile("x", "C87300", recipe=some)),
        "save a reading": lambda: tiles.add_reading(studio, tile, NewReading(30.0, 1.0, 2.0)),
    }


def in_turn(deeds: list[Callable[[], object]], rounds: int) -> tuple[list[float], list[float]]:
    """Median milliseconds of each, by the clock and of the processor; the first round, which fills caches, is
    left out."""
    taken: list[list[float]] = [[] for _ in deeds]
    worked: list[list[float]] = [[] for _ in deeds]
    for deed in deeds:
        deed()
    for _ in range(rounds):
        for deed, times, work in zip(deeds, taken, worked, strict=True):
            started, began = time.perf_counter(), time.process_time()
            deed()
            times.append((time.perf_counter() - started) * 1000)
            work.append((time.process_time() - began) * 1000)
    return [median(times) for times in taken], [median(work) for work in worked]


Times = tuple[list[float], list[float]]


def measured(studios: list[Studio], sizes: list[int], rounds: int) -> dict[str, Times]:
    """Milliseconds of each deed by studio, by the clock and of the processor."""
    rows: dict[str, Times] = {}
    # Saving first: it makes a rack that was laid out stale, and the newest deeds are then of one kind everywhere.
    for kind in (saving_deeds, reading_deeds):
        deeds = [kind(studio, count) for studio, count in zip(studios, sizes, strict=True)]
        for name in deeds[0]:
            rows[name] = in_turn([own[name] for own in deeds], rounds)
    again = [[open_anew(studio.where) for studio in studios] for _ in range(max(5, rounds // 3))]
    by_clock = [median(times) for times in zip(*again, strict=True)]
    rows["open the studio, new process"] = by_clock, by_clock
    return rows


def main() -> int:
    """Print the table; fails where finding or opening is slower than it may be."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("sizes", nargs="*", type=int, default=[1_000, 10_000, 100_000])
    options.add_argument("--keep", type=Path, help="keep the studios in this folder, and use those that are there")
    options.add_argument("--rounds", type=int, default=15, help="how often each deed is done in each studio")
    given = options.parse_args()
    place = given.keep or Path(tempfile.mkdtemp(prefix="growth-"))
    filled = []
    with ExitStack() as open_ones:
        if given.keep is None:
            open_ones.callback(shutil.rmtree, place, ignore_errors=True)
        studios = []
        for count in given.sizes:
            new = not (place / str(count)).exists()
            studios.append(open_ones.enter_context(open_studio(place / str(count))))
            started = time.perf_counter()
            if new:
                fill(studios[-1], count)
            filled.append((time.perf_counter() - started) if new else float("nan"))
            if count <= 1_000 and new:
                assert upkeep.check(studios[-1]).ok, upkeep.check(studios[-1]).problems[:5]
        rows = measured(studios, given.sizes, given.rounds)
        rows["(filled in, s)"] = filled, filled
        megabytes = [(place / str(count) / "studio.db").stat().st_size / 1e6 for count in given.sizes]
        rows["(database, MB)"] = megabytes, megabytes
    return told(given.sizes, rows)


def told(sizes: list[int], rows: dict[str, Times]) -> int:
    """Print the table; 1 where something is slower than it may be."""
    print(f"{'ms':<36}" + "".join(f"{count:>12,}" for count in sizes) + f"{'times':>9}{'of work':>9}")
    slow = 0
    for name, (values, work) in rows.items():
        ratios = [max(own) / max(own[0], 1e-9) for own in (values, work)]
        beyond = name.startswith(("find", "open", "seldom", "never")) and min(ratios) >= MOST
        slow += beyond and max(values) >= UNNOTICED_MS
        word = "" if not beyond else " SLOW" if max(values) >= UNNOTICED_MS else f" under {UNNOTICED_MS:g} ms"
        verdict = "" if name.startswith("(") else "".join(f"{ratio:>9.2f}" for ratio in ratios) + word
        print(f"{name:<36}" + "".join(f"{value:>12.1f}" for value in values) + verdict)
    print(f"{slow} of finding and opening took {MOST:g} times or more of what they take in the smallest studio")
    return 1 if slow else 0


if __name__ == "__main__":
    raise SystemExit(main())
