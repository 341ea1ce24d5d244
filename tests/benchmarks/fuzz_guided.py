"""Broken inputs found by coverage: Atheris changes them so that each reaches code the ones before did not.

Run: python tests/benchmarks/fuzz_guided.py [SECONDS] [TARGET ...]; a minute of each by default. Atheris is not among
the project's dependencies: install it (`pip install atheris`) for this benchmark alone. Each target has a process of
its own with a limit on its memory. Ends with 1 where anything but a trouble with a name came out.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "property")]

MOST_BYTES = 3 << 30
LONGEST = 6000  # bytes of one input


def targets() -> dict[str, tuple[Callable[[bytes], object], list[bytes]]]:
    """What is tried, with sound inputs to begin with. Imported when Atheris watches, so that it can look inside."""
    import atheris

    with atheris.instrument_imports(include=["patina"]):
        import fuzz_mutations as broken

        from patina.bench.bringing.bring_cells import Column, read_cell
        from patina.bench.bringing.bring_fields import means_something
        from patina.bench.bringing.bring_in import row_words
        from patina.bench.bringing.bring_mapping import mapping_of_text, mapping_text
        from patina.chemistry.strength import parse_strength
        from patina.chemistry.substances import catalogue
        from patina.colour.chart_data import own_values
        from patina.recipe_file import read_recipe_text, write_recipe
        from patina.spreadsheet.reading import book_of
        from patina.spreadsheet.table import table_of

    def text(data: bytes) -> str:
        return data.decode("utf-8", "replace")

    def recipe(data: bytes) -> None:
        read = read_recipe_text(text(data), catalogue())
        assert read_recipe_text(write_recipe(read, catalogue()), catalogue()) == read

    def table(data: bytes) -> None:
        for grid in book_of(data, "table").grids:
            table_of(grid, row_words(), means_something)

    def strength(data: bytes) -> None:
        assert parse_strength(text(data)).value > 0

    def cell(data: bytes) -> None:
        kinds = ("length", "amount", "strength", "window", "day", "moment", "whole", "price", "percent")
        reads = kinds[data[0] % len(kinds)] if data else "length"
        answers = {"unit": "g", "dates": "day-month", "century": "1900", "comma": "decimal", "point": "thousands"}
        answers |= {"range": "middle"}
        read_cell(Column("heading", reads, answers, (), bool(data[:1] > b"m")), text(data[1:]))

    def mapping(data: bytes) -> None:
        read = mapping_of_text(text(data))
        assert mapping_of_text(mapping_text(read)) == read

    folder = Path(tempfile.mkdtemp(prefix="guided-"))

    def chart(data: bytes) -> None:
        file = folder / "chart.csv"
        file.write_bytes(data)
        own_values(file)

    cells = [f"x{words}".encode() for words in (*broken.QUANTITIES, "3/4/2019", "14. März 98", "80-95 °C", "2 x")]
    rows = b'name,alloy,strength\nred,C87300,5 g/L\n"two\nlines",do.,"1,5"\nTotal,,\n'
    own_chart = (ROOT / "patina" / "data" / "chart_24_after_2014.csv").read_bytes()
    sound = b'patina_mapping = 1\nkind = "lots"\n[[column]]\nheading = "a"\nfield = "amount"\n'
    sound += b'[column.answers]\nunit = "g"\n'
    return {
        "recipe": (recipe, [r.encode() for r in broken.RECIPES]),
        "table": (table, [rows, rows.replace(b",", b";"), rows.decode().encode("utf-16")]),
        "strength": (strength, [q.encode() for q in broken.QUANTITIES]),
        "cell": (cell, cells),
        "mapping": (mapping, [sound]),
        "chart": (chart, [own_chart]),
    }


NAMES = ("recipe", "table", "strength", "cell", "mapping", "chart")


def one(name: str, seconds: int) -> None:
    """Try one target in this process; Atheris ends it, with 0 where nothing came out."""
    import atheris

    tried, sound = targets()[name]
    from patina.errors import PatinaError

    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    corpus = Path(tempfile.mkdtemp(prefix=f"guided-{name}-"))
    for n, content in enumerate(sound):
        (corpus / f"sound-{n}").write_bytes(content)
    ends = {"taken": 0, "refused": 0}
    began = time.monotonic()

    def once(data: bytes) -> None:
        try:
            tried(data)
        except PatinaError:
            ends["refused"] += 1
        else:
            ends["taken"] += 1
        total = ends["taken"] + ends["refused"]
        if time.monotonic() - began > seconds:  # libFuzzer's own end gives no figures back
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(
                f"{name:>9}: {total} in {seconds} s, peak {peak:.0f} MiB: {ends['refused']} refused, "
                f"{ends['taken']} taken, {len(list(corpus.iterdir()))} inputs that reached something new",
                flush=True,
            )
            import os

            os._exit(0)

    words = [sys.argv[0], str(corpus), f"-max_len={LONGEST}", f"-artifact_prefix={corpus}/crash-", "-verbosity=0"]
    atheris.Setup([*words, "-rss_limit_mb=0", "-print_final_stats=0", "-timeout=20"], once)
    atheris.Fuzz()


def main(seconds: int, names: list[str]) -> int:
    """Every target in turn; how many did not end well."""
    bad = 0
    for name in names or list(NAMES):
        done = subprocess.run(
            [sys.executable, __file__, "--one", name, str(seconds)], capture_output=True, text=True, check=False
        )
        print(done.stdout.rstrip() or f"{name:>9}: no figures", flush=True)
        if done.returncode:
            bad += 1
            print(done.stderr[-3000:])
    print(f"{bad} targets of {len(names or NAMES)} with crashes")
    return bad


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        one(sys.argv[2], int(sys.argv[3]))
    try:
        import atheris  # noqa: F401
    except ImportError:
        sys.exit("Atheris is not installed; pip install atheris, for this benchmark alone.")
    lasting = [int(word) for word in sys.argv[1:] if word.isdigit()]
    sys.exit(1 if main(lasting[0] if lasting else 60, [w for w in sys.argv[1:] if w in NAMES]) else 0)
