"""How the screens feel in a large studio: start-up, keys, memory.

A studio of 10,000 recipes and 100,000 tiles with a reading each. Start to first usable screen against
a bare Textual app that imports sqlalchemy.orm (aim: 1.6 times), key to changed screen in its lists
(aim: 50 ms median, 120 ms at the 99th percentile), memory of the whole process (aim: 250 MiB).
Run: python tests/benchmarks/bench_feel.py [recipes] [rounds]
"""

from __future__ import annotations

import asyncio
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).parent)]
TILES_EACH = 10
LISTS = (("1", "finishes"), ("3", "tiles"))
KEYS = ("down", "down", "up", "pagedown", "down", "pageup", "end", "up", "home", "down")


def start_up(where: str, rounds: int) -> tuple[float, float]:
    """Medians in seconds of a bare app and of patina on the studio, alternating, whole process."""
    from bench_startup import BARE, OURS, _seconds

    bare, ours = [], []
    for n in range(rounds + 1):
        pair = _seconds(BARE), _seconds(OURS, where)
        if n:
            bare.append(pair[0])
            ours.append(pair[1])
    return statistics.median(bare), statistics.median(ours)


async def _until(so: Callable[[], Any], seconds: float = 30.0) -> None:
    end = time.perf_counter() + seconds
    while not so():
        assert time.perf_counter() < end, "never seen"
        await asyncio.sleep(0.0005)


async def _key(app: Any, key: str, changed: Callable[[], Any]) -> float:
    """Milliseconds from the key to the screen drawn anew."""
    from textual import events

    event = events.Key(key, key if len(key) == 1 else None)
    event.set_sender(app)
    drawn = asyncio.Event()
    started = time.perf_counter()
    app._driver.send_message(event)
    await _until(changed)
    app.screen.call_after_refresh(drawn.set)
    await drawn.wait()
    return (time.perf_counter() - started) * 1000.0


async def _walk(where: str, rounds: int) -> tuple[list[float], list[float]]:
    """Milliseconds of keys in the lists, and of changes between places."""
    from patina.bench.studio import open_studio
    from tui.app import PatinaApp

    keys: list[float] = []
    places: list[float] = []
    with open_studio(where) as studio:
        app = PatinaApp(studio)
        async with app.run_test(size=(120, 36)) as pilot:
            for place, mode in LISTS * 2:
                moved = await _key(app, place, lambda mode=mode: app.current_mode == mode and _rows(app))
                places.append(moved)
                await _until(lambda: _rows(app) > 1000)  # the whole list is there
                await pilot.pause(0.5)
                app.screen.record_list.focus()
                for key in KEYS * rounds:
                    before = app.screen.record_list.chosen
                    at_end = (key in ("home", "up", "pageup") and _at(app) == 0) or (
                        key in ("end", "down", "pagedown") and _at(app) == len(app.screen.record_list.rows) - 1
                    )
                    if at_end:
                        continue
                    keys.append(await _key(app, key, lambda before=before: app.screen.record_list.chosen != before))
                    await asyncio.sleep(0.02)
    return keys, places


def _rows(app: Any) -> int:
    """Rows of the list in sight; 0 while the place is being set up."""
    found = app.screen.query("#list")
    return len(found.first().rows) if found else 0


def _at(app: Any) -> int:
    return int(app.screen.record_list.cursor)


WALK = """
import asyncio, json, resource, sys
sys.path[:0] = sys.argv[1:3]
import bench_feel
keys, places = asyncio.run(bench_feel._walk(sys.argv[3], int(sys.argv[4])))
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(json.dumps([keys, places, peak]))
"""


def walk(where: str, rounds: int) -> tuple[list[float], list[float], float]:
    """Keys and places in milliseconds and the peak of memory in MiB, in a process of its own."""
    import json

    command = [sys.executable, "-c", WALK, str(ROOT), str(Path(__file__).parent), where, str(rounds)]
    said = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout
    keys, places, peak = json.loads(said.strip().splitlines()[-1])
    return keys, places, peak


def main() -> None:
    """Fill a studio, measure, print."""
    from bench_growth import fill

    from patina.bench.studio import open_studio

    recipes = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 7
    with tempfile.TemporaryDirectory() as folder:
        where = str(Path(folder) / "studio")
        with open_studio(where) as studio:
            fill(studio, recipes)
        print(f"a studio of {recipes} recipes and {recipes * TILES_EACH} tiles with a reading each")
        bare, ours = start_up(where, rounds)
        print(f"bare Textual + sqlalchemy.orm  {bare:.3f} s")
        print(f"patina, first usable screen    {ours:.3f} s")
        print(f"ratio                          {ours / bare:.2f}  (aim: at most 1.6)")
        keys, places, peak = walk(where, rounds)
        worst = statistics.quantiles(keys, n=100)[98]
        print(f"key to changed screen, {len(keys)} keys: median {statistics.median(keys):.1f} ms (aim 50),")
        print(f"  99th percentile {worst:.1f} ms (aim 120)")
        print(f"to another place with its list: {', '.join(f'{ms:.0f}' for ms in places)} ms")
        print(f"memory at its peak             {peak:.0f} MiB (aim 250)")


if __name__ == "__main__":
    main()
