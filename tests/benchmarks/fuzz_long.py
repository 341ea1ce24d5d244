"""Many thousand broken inputs, with figures: how many were refused, taken, and how long each kind took.

Run: python tests/benchmarks/fuzz_long.py [NUMBER] [SEED]; 20,000 recipe files by default, and a share of
the other kinds. Ends with 1 where anything crashed, and leaves each culprit in a folder that it names.
"""

from __future__ import annotations

import random
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

from patina.chemistry.strength import parse_strength  # noqa: E402
from patina.chemistry.substances import catalogue  # noqa: E402
from patina.errors import PatinaError  # noqa: E402
from patina.recipe_file import read_recipe_text, write_recipe  # noqa: E402
from patina.safety.notes import safety_of  # noqa: E402

Try = Callable[[random.Random, Path], tuple[bytes, Callable[[], str]]]


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


PICTURES = tuple(broken.pictures())
KINDS: tuple[tuple[Try, float], ...] = ((recipe, 1.0), (strength, 1.0), (mixed, 0.1), (pairs, 0.1), (photograph, 0.1))


def main(number: int, seed: int) -> int:
    """Try them all; the number of crashes."""
    kept, crashes = Path(tempfile.mkdtemp(prefix="broken-")), 0
    for make, share in KINDS:
        chance, ends, slowest, began = random.Random(seed), Counter[str](), 0.0, time.perf_counter()
        for n in range(int(number * share)):
            content, tried = make(chance, kept)
            start = time.perf_counter()
            try:
                ends[tried()] += 1
            except PatinaError:
                ends["refused"] += 1
            except Exception:  # noqa: BLE001  every other end is what is looked for
                crashes += 1
                ends["CRASHED"] += 1
                (kept / f"{make.__name__}-{n}").write_bytes(content)
                (kept / f"{make.__name__}-{n}.txt").write_text(traceback.format_exc(), encoding="utf-8")
            slowest = max(slowest, time.perf_counter() - start)
        took, total = time.perf_counter() - began, sum(ends.values())
        shown = ", ".join(f"{count} {end}" for end, count in ends.most_common())
        print(f"{make.__name__:>10}: {total} in {took:.1f} s, slowest {1000 * slowest:.0f} ms: {shown}")
    print(f"{crashes} crashes" + (f", kept in {kept}" if crashes else ""))
    return crashes


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:3]]
    sys.exit(1 if main(given[0] if given else 20_000, given[1] if len(given) > 1 else 1) else 0)
