"""Thousands of spoilt archive bundles: how many were refused or taken in, in what memory, and whether any crashed.

Run: python tests/benchmarks/fuzz_archives.py [NUMBER] [SEED]; 20,000 by default. Each is taken into an empty studio:
it is refused in words and leaves nothing, or it comes in and the check finds it sound. Ends with 1 where one did
neither, and leaves the culprits in a folder that it names. Interrupted, it tells what it came to.
"""

from __future__ import annotations

import random
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "records"), str(ROOT / "tests")]

from archive_files import Parts, parts_of  # noqa: E402
from archive_mutations import WAYS  # noqa: E402

from patina.bench.paper import archive  # noqa: E402
from patina.bench.studio import Studio, open_studio  # noqa: E402
from patina.bench.upkeep import check  # noqa: E402
from patina.errors import PatinaError  # noqa: E402

MOST_BYTES = 3 << 30  # address space of this process
TARGETS = ("studio", "W1", "R1", "T1")
OFTEN = (1, 3, 8, 8)  # the small ones more often: what is tried is the door, not the carrying


def sound_bundles(folder: Path) -> list[Parts]:
    """Bundles of the invented studio, in parts."""
    from patina.demo.studio import make_demo

    place = make_demo(folder / "demo", None)
    found = []
    with open_studio(place) as studio:
        for target in TARGETS:
            archive.archive(studio, target, folder / f"{target}.zip", printed=False)
            found.append(parts_of(folder / f"{target}.zip"))
    return found


class Taker:
    """An empty studio, emptied again whenever something came in. It stays open: what was compiled is used again."""

    def __init__(self, folder: Path):
        self.empty, self.place = folder / "empty", folder / "into"
        open_studio(self.empty).close()
        shutil.copytree(self.empty, self.place)
        self.studio: Studio = open_studio(self.place)

    def clear(self) -> None:
        """As empty as at first."""
        self.studio.store.engine.dispose()
        for name in ("studio.db-wal", "studio.db-shm"):
            (self.place / name).unlink(missing_ok=True)
        shutil.copy(self.empty / "studio.db", self.place / "studio.db")
        shutil.rmtree(self.place / "photographs", ignore_errors=True)

    def attempt(self, file: Path) -> str:
        """Take a bundle in; "refused: what" or "taken". Raises AssertionError where something stayed or is unsound."""
        try:
            taken = archive.take_in(self.studio, file)
        except PatinaError as trouble:
            assert trouble.what and trouble.remedy
            with self.studio.store.view_of_all() as session:
                from sqlalchemy import text

                assert session.execute(text("SELECT count(*) FROM change")).scalar_one() == 0, "something stayed"
                assert session.execute(text("SELECT count(*) FROM photograph")).scalar_one() == 0, "something stayed"
            return f"refused: {type(trouble).__name__}"
        if taken.records:
            found = check(self.studio)
            unsound = [p for p in found.problems if "Photograph" not in p or "missing" not in p]
            self.clear()
            assert not unsound, unsound
        return "taken"


def main(number: int, seed: int) -> int:
    """Spoil, take in, count."""
    warnings.simplefilter("ignore")  # of the ZIP library on names given twice, which is what is wanted here
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    folder = Path(tempfile.mkdtemp(prefix="fuzz-archives-"))
    bundles = sound_bundles(folder)
    taker, chance, ended = Taker(folder), random.Random(seed), Counter[str]()
    ways: dict[str, Counter[str]] = {}
    began, crashes = time.perf_counter(), 0
    signal.signal(signal.SIGINT, signal.default_int_handler)  # also where it was started to run by itself
    for n in range(1, number + 1):
        way = chance.choice(WAYS)
        try:
            file = way(chance, dict(chance.choices(bundles, OFTEN)[0]), folder / "spoilt.zip")
            end = taker.attempt(file)
        except KeyboardInterrupt:
            number = n - 1
            break
        except Exception as defect:  # noqa: BLE001  every end but a refusal in words is what is looked for
            crashes += 1
            end = f"CRASHED: {type(defect).__name__}"
            shutil.copy(folder / "spoilt.zip", folder / f"crash-{n}.zip")
            (folder / f"crash-{n}.txt").write_text(traceback.format_exc())
            print(f"{n}: {way.__name__[1:]}: {str(defect)[:300]}")
            taker.clear()
        ended[end] += 1
        ways.setdefault(way.__name__[1:], Counter())[end] += 1
        if n % 1000 == 0:
            print(
                f"{n} of {number}, {n / (time.perf_counter() - began):.0f} each second, {crashes} crashes", flush=True
            )
    for name, counted in sorted(ways.items()):
        print(f"{name:10} " + ", ".join(f"{end} {count}" for end, count in counted.most_common()))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{number} bundles in {time.perf_counter() - began:.0f} s; largest memory {memory:.0f} MiB; crashes {crashes}"
    )
    if crashes:
        print(f"The culprits are in {folder}.")
    else:
        shutil.rmtree(folder)
    return 1 if crashes else 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000, int(sys.argv[2]) if len(sys.argv) > 2 else 1))
