"""Many thousand broken inputs, with figures: how many were refused or taken, how long each kind took, and memory.

Run: python tests/benchmarks/fuzz_long.py [NUMBER] [SEED] [KIND ...]; 20,000 of each kind by default, and a share of
those that run a whole command. Each kind has a process of its own, with a limit on its memory; one that is interrupted
tells what it came to. Ends with 1 where anything crashed, and leaves each culprit in a folder that it names.
"""

from __future__ import annotations

import random
import resource
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "property")]

import fuzz_mutations as broken  # noqa: E402
import fuzz_tables as tables  # noqa: E402

from patina.bench.recipes import finishes  # noqa: E402
from patina.bench.studio import Studio, open_studio  # noqa: E402
from patina.bench.upkeep import check  # noqa: E402
from patina.chemistry.strength import parse_strength  # noqa: E402
from patina.chemistry.substances import catalogue  # noqa: E402
from patina.errors import PatinaError  # noqa: E402
from patina.recipe_file import read_recipe_text, write_recipe  # noqa: E402
from patina.safety.notes import safety_of  # noqa: E402

Try = Callable[[random.Random, Path], tuple[bytes, Callable[[], str]]]
MOST_BYTES = 3 << 30  # address space of a kind's process
FRESH_STUDIO = 400  # tables between one new studio and the next, so that it stays as small as it began


def recipe(chance: random.Random, _: Path) -> tuple[bytes, Callable[[], str]]:
    """A recipe file: read, written, read again, and its safety notes."""
    text = broken.broken_recipe(chance)

    def tried() -> str:
        read = read_recipe_text(text, catalogue())
        assert read_recipe_text(write_recipe(read, catalogue()), catalogue()) == read
        safety_of(read, catalogue())
        return "taken"

    return text.encode("utf-8", "replace"), tried


def strength(chance: random.Random, _: Path) -> tuple[bytes, Callable[[], str]]:
    """The words of a strength."""
    words = broken.broken_words(chance)

    def tried() -> str:
        assert parse_strength(words).value > 0
        return "taken"

    return words.encode("utf-8", "replace"), tried


def _command(content: bytes, file: Path, *words: str) -> tuple[bytes, Callable[[], str]]:
    def tried() -> str:
        file.write_bytes(content)
        return "taken" if broken.run(*words).code == 0 else "refused"

    return content, tried


def mixed(chance: random.Random, folder: Path) -> tuple[bytes, Callable[[], str]]:
    """`patina mix` on a recipe file."""
    file = folder / "recipe.toml"
    return _command(broken.broken_recipe(chance).encode("utf-8", "replace"), file, "mix", str(file), "--volume", "2 L")


def pairs(chance: random.Random, folder: Path) -> tuple[bytes, Callable[[], str]]:
    """`patina compare --pairs` on a table."""
    file = folder / "pairs.csv"
    return _command(broken.broken_bytes(chance, broken.PAIRS), file, "compare", "--pairs", str(file))


def photograph(chance: random.Random, folder: Path) -> tuple[bytes, Callable[[], str]]:
    """`patina read` on a picture."""
    name, content = chance.choice(PICTURES)
    file = folder / name
    words = ("read", str(file), "--chart", "none", "--area", "a=4,4,20,20")
    return _command(broken.broken_bytes(chance, content), file, *words)


class _Shop:
    """A studio to bring tables into, made anew from time to time."""

    def __init__(self) -> None:
        self.studio: Studio | None = None
        self.used = 0

    def open(self, folder: Path) -> Studio:
        if self.studio is None or self.used >= FRESH_STUDIO:
            self.close()
            self.studio = open_studio(folder / f"studio-{time.monotonic_ns()}")
            finishes.save_recipe(self.studio, read_recipe_text(broken.RECIPES[0], catalogue()))
            self.used = 0
        self.used += 1
        return self.studio

    def close(self) -> None:
        """Prove that all it holds is sound."""
        if self.studio is not None:
            assert check(self.studio).ok
            self.studio.close()
            self.studio = None


SHOP = _Shop()


def _table(kind: str, chance: random.Random, folder: Path) -> tuple[bytes, Callable[[], str]]:
    name, make = tables.KINDS_OF_FILE[kind]
    content, own = make(chance), random.Random(chance.random())
    return content, lambda: tables.brought_in(SHOP.open(folder), folder / name, content, own)


def csv(chance: random.Random, folder: Path) -> tuple[bytes, Callable[[], str]]:
    """A text table brought in, tried and kept, and brought in again."""
    return _table("csv", chance, folder)


def xlsx(chance: random.Random, folder: Path) -> tuple[bytes, Callable[[], str]]:
    """The same of a workbook."""
    return _table("xlsx", chance, folder)


PICTURES = tuple(broken.pictures())
KINDS: dict[str, tuple[Try, float]] = {
    "recipe": (recipe, 1.0),
    "strength": (strength, 1.0),
    "csv": (csv, 0.5),
    "xlsx": (xlsx, 0.25),
    "photograph": (photograph, 0.5),
    "mixed": (mixed, 0.1),
    "pairs": (pairs, 0.1),
}


def one_kind(name: str, number: int, seed: int) -> int:
    """Try one kind in this process, its memory limited; the number of crashes."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    make, kept, crashes = KINDS[name][0], Path(tempfile.mkdtemp(prefix="broken-")), 0
    chance, ends, slowest, began = random.Random(seed), Counter[str](), 0.0, time.perf_counter()
    signal.signal(signal.SIGINT, signal.default_int_handler)  # also where it was started to run by itself
    for n in range(number):
        start = time.perf_counter()
        content = b""
        try:
            content, tried = make(chance, kept)
            ends[tried()] += 1
        except KeyboardInterrupt:
            break
        except PatinaError:
            ends["refused"] += 1
        except Exception:  # noqa: BLE001  every other end is what is looked for
            crashes += 1
            ends["CRASHED"] += 1
            (kept / f"{name}-{n}").write_bytes(content)
            (kept / f"{name}-{n}.txt").write_text(traceback.format_exc(), encoding="utf-8")
        slowest = max(slowest, time.perf_counter() - start)
    SHOP.close()
    took, total = time.perf_counter() - began, sum(ends.values())
    shown = ", ".join(f"{count} {end}" for end, count in ends.most_common())
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    said = f"{name:>10}: {total} in {took:.0f} s, slowest {1000 * slowest:.0f} ms, peak {peak:.0f} MiB: {shown}"
    print(said + (f"; kept in {kept}" if crashes else ""), flush=True)
    return crashes


def main(number: int, seed: int, names: list[str]) -> int:
    """Try them all, each kind in a process of its own; how many kinds did not end well."""
    bad = 0
    for name in names or list(KINDS):
        own = [str(int(number * KINDS[name][1])), str(seed), name]
        bad += subprocess.run([sys.executable, __file__, "--one", *own], check=False).returncode != 0
    print(f"{bad} kinds of {len(names or KINDS)} with crashes")
    return bad


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        sys.exit(1 if one_kind(sys.argv[4], int(sys.argv[2]), int(sys.argv[3])) else 0)
    figures = [int(word) for word in sys.argv[1:] if word.isdigit()]
    sys.exit(
        1
        if main(
            figures[0] if figures else 20_000,
            figures[1] if len(figures) > 1 else 1,
            [word for word in sys.argv[1:] if word in KINDS],
        )
        else 0
    )
