"""How long the records take as a studio grows: save, find, list and open at 1,000 and 10,000 recipes.

Each recipe has ten tiles with one reading each. Run: python tests/benchmarks/bench_records.py [N ...]
The studio is filled through the stores in large units of work (with the log of changes, as always);
then single deeds are timed, the median of several. Peak memory is of the whole process.
"""

from __future__ import annotations

import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import median

from patina.bench import upkeep
from patina.bench.finding import search
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.studio import Studio, open_studio
from patina.chemistry.strength import parse_strength
from patina.entries import NewReading, NewTile
from patina.recipe import Ingredient, Recipe, Solution, Step
from patina.records.readings import readings as reading_store
from patina.records.readings import tiles as tile_store
from patina.records.recipes import recipes as recipe_store
from patina.records.studio.unit import unit

TILES = 10
WORDS = [
    *("harbour", "moss", "slate", "ember", "fjord", "linden", "cellar", "quarry"),
    *("saddle", "tallow", "iron", "dusk", "heron", "birch", "loam", "copper"),
]


def recipe(n: int, chance: random.Random) -> Recipe:
    """A recipe with one or two solutions; its name is its own."""
    name = f"{chance.choice(WORDS).title()} {chance.choice(WORDS)} {n}"
    sulphide = Ingredient("liver_of_sulphur", parse_strength(f"{chance.randint(1, 20)} g/L"))
    ferric = Ingredient("ferric_nitrate_9h2o", parse_strength(f"{chance.randint(5, 90)} g/L"))
    return Recipe(
        name,
        f"{chance.choice(WORDS)} brown, even",
        (chance.choice(["C87300", "C90300", "C83600"]),),
        "own tiles",
        (Solution("wash", "distilled_water", (sulphide,)), Solution("second", "distilled_water", (ferric,))),
        (
            Step("prepare", note="glass bead, degreased"),
            Step("apply", solution="wash", method="torch", passes=4, coverage_ml_per_m2=40.0, transfer=0.5),
            Step("apply", solution="second", method="torch", passes=2, coverage_ml_per_m2=40.0),
            Step("wax"),
        ),
    )


def fill(studio: Studio, count: int) -> float:
    """Fill the studio; seconds per recipe with its tiles."""
    chance = random.Random(7)
    started = time.perf_counter()
    for first in range(0, count, 200):
        with unit(studio.store, "import", why="benchmark") as work:
            for n in range(first, min(first + 200, count)):
                row = recipe_store.add_recipe(work.session, recipe(n, chance), by="", reason="first version")
                revision = recipe_store.find_revision(work.session, row, 1)
                for i in range(TILES):
                    tile = tile_store.add_tile(
                        work.session, NewTile(f"{n}-{i}", "C87300"), revision_id=revision.id, batch_id=None
                    )
                    lab = (chance.uniform(20, 60), chance.uniform(-20, 20), chance.uniform(-10, 40))
                    reading_store.add_reading(work.session, tile, NewReading(*lab), None)
            work.commit()
            work.session.expunge_all()
    return (time.perf_counter() - started) / count


def timed(deed: Callable[[], object], times: int = 7) -> float:
    """Median milliseconds."""
    taken = []
    for _ in range(times):
        started = time.perf_counter()
        deed()
        taken.append((time.perf_counter() - started) * 1000)
    return median(taken)


def open_in_a_new_process(where: str) -> float:
    """Milliseconds inside a new process to open the studio and have the first page of the list."""
    code = f"""
from patina.bench.studio import open_studio
from patina.bench.recipes.finishes import list_recipes
import time
started = time.perf_counter()
studio = open_studio({where!r})
list_recipes(studio, limit=50)
print((time.perf_counter() - started) * 1000)
"""
    return float(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout)


def measure(studio: Studio, count: int, with_check: bool) -> dict[str, float]:
    """Milliseconds by deed."""
    chance = random.Random(count)
    numbers = iter(range(10**9, 2 * 10**9))
    some = f"R{count // 2}"
    base = finishes.recipe_sheet(studio, some).recipe

    def revise() -> None:
        finishes.revise_recipe(studio, some, replace(base, texture=1 + next(numbers) % 997 / 997), reason="benchmark")

    taken = {
        "open, first page": median(open_in_a_new_process(studio.where) for _ in range(5)),
        "save a recipe": timed(lambda: finishes.save_recipe(studio, recipe(next(numbers), chance))),
        "revise a recipe": timed(revise),
        "start a tile": timed(lambda: tiles.start_tile(studio, NewTile("x", "C87300", recipe=some))),
        "add a reading": timed(lambda: tiles.add_reading(studio, "T5", NewReading(30.0, 1.0, 2.0))),
        "recipe by id": timed(lambda: finishes.recipe_sheet(studio, some)),
        "recipe by name": timed(lambda: finishes.recipe_sheet(studio, base.name)),
        "search, one found": timed(lambda: finishes.list_recipes(studio, base.name)),
        "search, first page": timed(lambda: finishes.list_recipes(studio, "torch brown", limit=50)),
        "palette": timed(lambda: search.find_records(studio, "heron 7")),
        "first page of recipes": timed(lambda: finishes.list_recipes(studio, limit=50)),
        "all recipes": timed(lambda: finishes.list_recipes(studio), 3),
        "first page of tiles": timed(lambda: tiles.list_tiles(studio, limit=50)),
        "all tiles": timed(lambda: tiles.list_tiles(studio), 3),
    }
    if with_check:
        taken["check"] = timed(lambda: upkeep.check(studio), 1)
        taken["backup"] = timed(lambda: upkeep.backup(studio, Path(studio.where) / f"b{next(numbers)}"), 1)
    return taken


def main(sizes: list[int]) -> None:
    """Print the table."""
    columns: list[dict[str, float]] = []
    for count in sizes:
        with tempfile.TemporaryDirectory() as folder, open_studio(folder) as studio:
            filled = fill(studio, count)
            taken = measure(studio, count, with_check=count <= 10_000)
            size = (Path(folder) / "studio.db").stat().st_size / 1e6
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            columns.append(
                {**taken, "fill, per recipe": filled * 1000, "database, MB": size, "peak memory, MB": memory}
            )
    names = list(dict.fromkeys(name for column in columns for name in column))
    print(f"{'ms':<26}" + "".join(f"{count:>12,}" for count in sizes) + f"{'ratio':>9}")
    for name in names:
        values = [column.get(name) for column in columns]
        cells = "".join(f"{value:>12.1f}" if value is not None else f"{'-':>12}" for value in values)
        first, last = values[0], values[-1]
        print(f"{name:<26}{cells}" + (f"{last / first:>9.1f}" if first and last else ""))


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or [1_000, 10_000])
