"""Time of save, find and open as a studio grows: at 1,000, 10,000 and 100,000 recipes of ten tiles each.

Run: python tests/benchmarks/bench_growth.py [N ...] [--keep FOLDER]. Each tile has one reading. The studios
are filled past the deeds, row by row as the deeds would write them, with the log chained and the index of
words whole (``patina check`` says so at 1,000); then single deeds are timed in turn, the median of several.
Finding and opening must stay under twice their time at 1,000: the last column says how it was.
"""

from __future__ import annotations

import argparse
import hashlib
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Any

from bench_records import recipe
from sqlalchemy import insert, text

from patina.bench import finishes, rack, related, search, tiles, upkeep
from patina.bench.history import deeds_on
from patina.bench.studio import Studio, open_studio
from patina.entries import NewReading, NewTile
from patina.records.base import Record, canonical, new_uid, searchable
from patina.records.derived import recipe_words
from patina.records.log import FIRST, snapshot
from patina.records.recipe_json import content_sha256, recipe_document
from patina.records.recipes import _search_text, fold_name
from patina.records.searching import words_of
from patina.records.shelf_tables import ChangeTable
from patina.records.tables import ReadingTable, RecipeTable, RevisionSubstance, RevisionTable, TileTable, WordRow

TILES = 10
MOST = 2.0
START = datetime(2026, 1, 1, 8, tzinfo=UTC)


def rows_of(n: int, chance: random.Random, known: Any) -> Iterator[Record]:
    """A recipe, its revision, its tiles and their readings, as the deeds write them. n: from 1."""
    made = recipe(n, chance)
    at = START + timedelta(minutes=n)
    document = recipe_document(made)
    words = _search_text(made, recipe_words(known, made))
    yield RecipeTable(
        id=n, uid=new_uid(), version=1, created_at=at, search_text=words,
        name=made.name, name_folded=fold_name(made.name), revision=1,
    )  # fmt: skip
    yield RevisionTable(
        id=n, uid=new_uid(), recipe_id=n, number=1, reason="first version", by="", made_at=at, finish=made.finish,
        provenance=made.provenance, alloys=list(made.alloys), methods=list(made.methods), document=document,
        content_sha256=content_sha256(document),
    )  # fmt: skip
    for i in range(1, TILES + 1):
        id = (n - 1) * TILES + i
        engraved = f"{n}-{i}"
        yield TileTable(
            id=id, uid=new_uid(), version=1, created_at=at, engraved=engraved, alloy="C87300", preparation="",
            wall_mm=None, size="", revision_id=n, as_done=[], made_on=None, made_by="", wax_state="not stated",
            note="", batch_id=None, search_text=searchable(engraved, "C87300", made.name, made.finish),
        )  # fmt: skip
        yield ReadingTable(
            id=id, uid=new_uid(), tile_id=id, cast_id=None, photograph_id=None, lab_l=chance.uniform(20, 60),
            lab_a=chance.uniform(-20, 20), lab_b=chance.uniform(-10, 40), illuminant="D50", observer="2",
            source="typed", area="", geometry="not stated", instrument="", sd=None, n=1, uncertainty_de00=None,
            wax_state="not stated", warmth="not stated", read_at=at, read_by="", note="", parts=[], added_at=at,
            latest=True,
        )  # fmt: skip


def plain(row: Record) -> dict[str, Any]:
    """A row's columns for a bulk insert."""
    return {c.columns[0].name: getattr(row, c.key) for c in type(row).__mapper__.column_attrs}


def fill(studio: Studio, count: int) -> None:
    """Fill an empty studio with so many recipes."""
    chance, known = random.Random(7), studio.catalogue()
    n, previous = 0, FIRST
    raw = studio.store.engine.raw_connection()  # goes back to the pool and is taken again below
    for pragma in ("synchronous=OFF", "cache_size=-400000", "foreign_keys=OFF"):
        raw.driver_connection.execute(f"PRAGMA {pragma}")
    raw.close()
    with studio.store.engine.execution_options(writing=True).connect() as connection, connection.begin():
        connection.exec_driver_sql("CREATE TEMP TABLE said (letter TEXT, word TEXT, record_id INTEGER)")
        for first in range(1, count + 1, 500):
            by_kind: dict[Any, list[dict[str, Any]]] = {}
            said: list[tuple[str, str, int]] = []
            for number in range(first, min(first + 500, count + 1)):
                at = START + timedelta(minutes=number)
                for row in rows_of(number, chance, known):
                    n += 1
                    after = canonical(snapshot(row))
                    entry = dict(
                        n=n, at=at, changed_by="", deed="import", why="benchmark", kind=row.__tablename__,
                        record=row.public_id, before=None, after=after, previous=previous,
                    )  # fmt: skip
                    said_of = {"previous", "changed_by"}
                    content = {k: v for k, v in entry.items() if k not in said_of} | {"by": "", "at": at.isoformat()}
                    previous = entry["hash"] = hashlib.sha256((previous + canonical(content)).encode()).hexdigest()
                    by_kind.setdefault(ChangeTable, []).append(entry)
                    by_kind.setdefault(type(row), []).append(plain(row))
                    if isinstance(row, RecipeTable | TileTable):
                        said += [(row.LETTER, word, row.id) for word in words_of(row.search_text)]
                    elif isinstance(row, RevisionTable):
                        used = {i["substance"] for s in row.document["solutions"] for i in s["ingredients"]}
                        kept = by_kind.setdefault(RevisionSubstance, [])
                        kept += [{"revision_id": row.id, "substance": key} for key in used]
            for kind, values in by_kind.items():
                connection.execute(insert(kind), values)
            connection.exec_driver_sql("INSERT INTO said VALUES (?, ?, ?)", said)
        columns = "letter, word, record_id"
        connection.exec_driver_sql(f"INSERT INTO word ({columns}) SELECT {columns} FROM said ORDER BY 1, 2, 3")
        connection.exec_driver_sql("DROP TABLE said")
        connection.execute(text("UPDATE chain_head SET n = :n, hash = :hash"), {"n": n, "hash": previous})
    studio.store.engine.dispose()
    assert WordRow.__tablename__ == "word"


def timed(deed: Callable[[], object], times: int = 9) -> float:
    """Median milliseconds; the first, which fills caches, is left out."""
    deed()
    taken = []
    for _ in range(times):
        started = time.perf_counter()
        deed()
        taken.append((time.perf_counter() - started) * 1000)
    return median(taken)


OPENING = """
import sys, time
started = time.perf_counter()
from patina.bench.studio import open_studio
from patina.bench.finishes import list_recipes
studio = open_studio(sys.argv[1])
list_recipes(studio, limit=300)
print((time.perf_counter() - started) * 1000)
"""


def open_anew(where: str) -> float:
    """Milliseconds of a new process to open the studio and have the first page of its list."""
    done = subprocess.run([sys.executable, "-c", OPENING, where], capture_output=True, text=True, check=True)
    return float(done.stdout)


def measure(studio: Studio, count: int) -> dict[str, float]:
    """Milliseconds by deed; those that begin with find or open are bound by the limit."""
    chance = random.Random(count)
    numbers = iter(range(10**8, 2 * 10**8))
    some, tile = f"R{count // 2}", f"T{count * 5}"
    base = finishes.recipe_sheet(studio, some).recipe

    def revise() -> None:
        finishes.revise_recipe(studio, some, replace(base, texture=1 + next(numbers) % 997 / 997), reason="benchmark")

    return {
        "save a recipe": timed(lambda: finishes.save_recipe(studio, recipe(next(numbers), chance))),
        "save a revision": timed(revise),
        "save a tile": timed(lambda: tiles.start_tile(studio, NewTile("x", "C87300", recipe=some))),
        "save a reading": timed(lambda: tiles.add_reading(studio, tile, NewReading(30.0, 1.0, 2.0))),
        "find a recipe by its name": timed(lambda: finishes.list_recipes(studio, base.name, limit=300)),
        "find recipes by a common word": timed(lambda: finishes.list_recipes(studio, "heron brown", limit=300)),
        "find recipes by a word of all": timed(lambda: finishes.list_recipes(studio, "torch", limit=300)),
        "find by the middle of a word": timed(lambda: finishes.list_recipes(studio, base.name[1:], limit=300)),
        "find nothing": timed(lambda: finishes.list_recipes(studio, "zzyzx", limit=300)),
        "find a tile by its mark": timed(lambda: tiles.list_tiles(studio, f"{count // 2}-5", limit=300)),
        "find any record (palette)": timed(lambda: search.find_records(studio, base.name)),
        "find any record by a common word": timed(lambda: search.find_records(studio, "heron")),
        "find the nearest colours": timed(lambda: rack.nearest(studio, "30,5,10", once=True)),
        "open the studio, first page": median(open_anew(studio.where) for _ in range(5)),
        "open recipes, first page": timed(lambda: finishes.list_recipes(studio, limit=300)),
        "open tiles, first page": timed(lambda: tiles.list_tiles(studio, limit=300)),
        "open a recipe": timed(lambda: finishes.recipe_sheet(studio, some)),
        "open a tile": timed(lambda: tiles.tile_sheet(studio, tile)),
        "open what hangs together": timed(lambda: related.related(studio, some)),
        "open the history of a tile": timed(lambda: deeds_on(studio, tile)),
        "open the newest deeds": timed(lambda: deeds_on(studio, limit=100)),
    }


def main() -> int:
    """Print the table; fails where finding or opening is slower than twice its time in the smallest studio."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("sizes", nargs="*", type=int, default=[1_000, 10_000, 100_000])
    options.add_argument("--keep", type=Path, help="keep the studios in this folder, and use those that are there")
    given = options.parse_args()
    columns: list[dict[str, float]] = []
    place = given.keep or Path(tempfile.mkdtemp(prefix="growth-"))
    try:
        for count in given.sizes:
            new = not (place / str(count)).exists()
            with open_studio(place / str(count)) as studio:
                started = time.perf_counter()
                if new:
                    fill(studio, count)
                filled = (time.perf_counter() - started) if new else float("nan")
                if count <= 1_000 and new:
                    assert upkeep.check(studio).ok, upkeep.check(studio).problems[:5]
                taken = measure(studio, count)
                size = (place / str(count) / "studio.db").stat().st_size / 1e6
            columns.append({**taken, "(filled in, s)": filled, "(database, MB)": size})
    finally:
        if given.keep is None:
            shutil.rmtree(place, ignore_errors=True)
    return told(given.sizes, columns)


def told(sizes: list[int], columns: list[dict[str, float]]) -> int:
    """Print the table; 1 where something is slower than it may be."""
    print(f"{'ms':<36}" + "".join(f"{count:>12,}" for count in sizes) + f"{'times':>9}")
    slow = 0
    for name in columns[0]:
        values = [column[name] for column in columns]
        ratio = max(values) / max(values[0], 1e-9)
        bound = name.startswith(("find", "open"))
        slow += bound and ratio >= MOST
        verdict = "" if name.startswith("(") else f"{ratio:>9.2f}" + (" SLOW" if bound and ratio >= MOST else "")
        print(f"{name:<36}" + "".join(f"{value:>12.1f}" for value in values) + verdict)
    print(f"{slow} of finding and opening took {MOST:g} times or more of what they take in the smallest studio")
    return 1 if slow else 0


if __name__ == "__main__":
    raise SystemExit(main())
