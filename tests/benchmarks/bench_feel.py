"""How the screens feel in a large studio: start-up, keys, memory.

A studio of 10,000 recipes, 10,000 tiles and 100,000 readings: start to first usable screen against a bare Textual app
that imports sqlalchemy.orm (aim: 1.6 times), key to changed screen in its lists of 10,000 (aim: 50 ms median, 120 ms
at the 99th percentile), memory of the whole process (aim: 250 MiB). Then the keys and the memory once more with a
list of 100,000 tiles, for which there is no aim. The slowest keys are named. Of a key, the processor's time is told
as well: on a machine that does other work the clock counts waiting.
Run: python tests/benchmarks/bench_feel.py [recipes] [rounds] [--keep FOLDER]
"""

from __future__ import annotations

import argparse
import asyncio
import json
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).parent)]
LISTS = (("1", "finishes"), ("3", "tiles"))
KEYS = ("down", "down", "up", "pagedown", "down", "pageup", "end", "up", "home", "down")
READINGS = 10
SLOWEST = 5


@dataclass(frozen=True)
class Key:
    """One key. ms: until the screen was drawn anew. worked_ms: the processor's time meanwhile, of all threads."""

    key: str
    place: str
    n: int
    ms: float
    worked_ms: float


async def _until(so: Callable[[], Any], seconds: float = 30.0) -> None:
    end = time.perf_counter() + seconds
    while not so():
        assert time.perf_counter() < end, "never seen"
        await asyncio.sleep(0.0005)


async def _key(app: Any, key: str, changed: Callable[[], Any]) -> tuple[float, float]:
    """Milliseconds from the key to the screen drawn anew, by the clock and of the processor."""
    from textual import events

    event = events.Key(key, key if len(key) == 1 else None)
    event.set_sender(app)
    drawn = asyncio.Event()
    started, worked = time.perf_counter(), time.process_time()
    app._driver.send_message(event)
    await _until(changed)
    app.screen.call_after_refresh(drawn.set)
    await drawn.wait()
    return (time.perf_counter() - started) * 1000.0, (time.process_time() - worked) * 1000.0


async def _walk(where: str, rounds: int) -> tuple[list[Key], list[Key]]:
    """Keys in the lists, and changes between places."""
    from patina.bench.studio import open_studio
    from tui.app import PatinaApp
    from tui.start import begin

    begin()
    keys: list[Key] = []
    places: list[Key] = []
    with open_studio(where) as studio:
        app = PatinaApp(studio)
        async with app.run_test(size=(120, 36)) as pilot:
            for place, mode in LISTS * 2:
                moved = await _key(app, place, partial(_is_at, app, mode))
                places.append(Key(place, mode, len(places), *moved))
                if len(places) <= len(LISTS):  # the first walk goes on while the rest of the list is being read
                    await _keys(app, mode, rounds // 2, keys)
                await _until(lambda: _rows(app) > 1000)  # the whole list is there
                await pilot.pause(0.5)
                await _keys(app, mode, rounds, keys)
    return keys, places


async def _keys(app: Any, mode: str, rounds: int, keys: list[Key]) -> None:
    """Rounds of keys in the list of a place."""
    app.screen.record_list.focus()
    for key in KEYS * rounds:
        before = app.screen.record_list.chosen
        at_end = (key in ("home", "up", "pageup") and _at(app) == 0) or (
            key in ("end", "down", "pagedown") and _at(app) == len(app.screen.record_list.rows) - 1
        )
        if at_end:
            continue
        taken = await _key(app, key, partial(_has_moved, app, before))
        keys.append(Key(key, mode, len(keys), *taken))
        await asyncio.sleep(0.02)


def _is_at(app: Any, mode: str) -> bool:
    return app.current_mode == mode and _rows(app) > 0


def _has_moved(app: Any, before: str) -> bool:
    return bool(app.screen.record_list.chosen != before)


def _rows(app: Any) -> int:
    """Rows of the list in sight; 0 while the place is being set up."""
    found = app.screen.query("#list")
    return len(found.first().rows) if found else 0


def _at(app: Any) -> int:
    return int(app.screen.record_list.cursor)


WALK = """
import asyncio, dataclasses, json, resource, sys
sys.path[:0] = sys.argv[1:3]
import bench_feel
told = [[dataclasses.astuple(k) for k in kind] for kind in asyncio.run(bench_feel._walk(sys.argv[3], int(sys.argv[4])))]
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(json.dumps([*told, peak]))
"""


def walk(where: str, rounds: int) -> tuple[list[Key], list[Key], float]:
    """Keys, changes of place and the peak of memory in MiB, of a process of its own."""
    command = [sys.executable, "-c", WALK, str(ROOT), str(Path(__file__).parent), where, str(rounds)]
    said = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout
    keys, places, peak = json.loads(said.strip().splitlines()[-1])
    return [Key(*key) for key in keys], [Key(*key) for key in places], peak


def told_of_walk(where: str, rounds: int, aims: bool) -> None:
    """Print what keys and memory come to in a studio."""
    keys, places, peak = walk(where, rounds)
    for by, of in (("by the clock", "ms"), ("of the processor", "worked_ms")):
        taken = [getattr(key, of) for key in keys]
        worst = statistics.quantiles(taken, n=100)[98]
        print(
            f"  {len(keys)} keys {by}: median {statistics.median(taken):.1f} ms{' (aim 50)' if aims else ''},", end=""
        )
        print(f" 99th percentile {worst:.1f} ms{' (aim 120)' if aims else ''}")
    slow = sorted(keys, key=lambda key: -key.ms)[:SLOWEST]
    print("  slowest: " + ", ".join(f"{k.key} in {k.place} (no. {k.n}) {k.ms:.0f}/{k.worked_ms:.0f} ms" for k in slow))
    print(
        "  to another place with its list: " + ", ".join(f"{k.place} {k.ms:.0f}/{k.worked_ms:.0f} ms" for k in places)
    )
    print(f"  memory at its peak {peak:.0f} MiB{' (aim 250)' if aims else ''}")


def studio_of(place: Path, recipes: int, each: tuple[int, int]) -> str:
    """A studio that is filled unless it is there. each: tiles of a recipe, readings of a tile."""
    from bench_growth import fill

    from patina.bench.studio import open_studio

    where = place / f"{recipes}-{each[0]}-{each[1]}"
    new = not where.exists()
    with open_studio(where) as studio:
        if new:
            fill(studio, recipes, each)
    return str(where)


def main() -> None:
    """Fill the studios, measure, print."""
    from bench_startup import told

    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("recipes", nargs="?", type=int, default=10_000)
    options.add_argument("rounds", nargs="?", type=int, default=7)
    options.add_argument("--keep", type=Path, help="keep the studios in this folder, and use those that are there")
    given = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        place = given.keep or Path(folder)
        where = studio_of(place, given.recipes, (1, READINGS))
        print(f"{given.recipes} recipes, {given.recipes} tiles, {given.recipes * READINGS} readings")
        print(told(where, given.rounds), "(aim: a ratio of at most 1.6)", sep="\n")
        told_of_walk(where, given.rounds, aims=True)
        where = studio_of(place, given.recipes, (READINGS, 1))
        print(f"{given.recipes} recipes, {given.recipes * READINGS} tiles with a reading each")
        told_of_walk(where, given.rounds, aims=False)


if __name__ == "__main__":
    main()
