"""Start to first usable screen on the demo, against a bare Textual app that imports sqlalchemy.orm.

Both in one run, alternating. Aim: at most 1.6 times. The ratio is told of the whole process and of the time to the
first usable screen, since at its end a bare app spends a fifth of its time on looking through memory. What is started
is the command `patina`; the library's own driver without a terminal stands in for one of 120 by 36. Both have their
modules compiled, as an installed program has, whatever this environment says of that. The ratio is given by the clock
and by the processor's time; on a machine that does other work the clock counts waiting as well.
Run: python tests/benchmarks/bench_startup.py [rounds]
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
COMPILED = Path(tempfile.gettempdir()) / "patina-start-compiled"

BARE = """
import sqlalchemy.orm
from textual.app import App
from textual.widgets import Static

class Bare(App):
    def compose(self):
        yield Static("bare")
    def on_ready(self):
        self.exit()

Bare().run()
"""

OURS = """
import sys
from tui.start import begin

begin()  # as the command does before it loads the screens
import patina.commands.screens as command
from patina.cli import main
from tui.app import PatinaApp

settled = PatinaApp.first_screen_is_usable
PatinaApp.first_screen_is_usable = lambda self: (settled(self), self.exit())
command._in_a_terminal = lambda: True
main(["--studio", sys.argv[1]])
"""


def _environment() -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    driver = "textual.drivers.headless_driver:HeadlessDriver"
    size = {"COLUMNS": "120", "LINES": "36"}
    return {**kept, **size, "PYTHONPYCACHEPREFIX": str(COMPILED), "TEXTUAL_DRIVER": driver}


def run(code: str, *words: str) -> tuple[float, float]:
    """Seconds of a whole process by the clock and of the processor."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    started = time.perf_counter()
    command = [sys.executable, "-c", code, *words]
    subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.DEVNULL, env=_environment())
    passed = time.perf_counter() - started
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return passed, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def told(where: str, rounds: int) -> str:
    """Medians of a bare app and of patina on a studio, alternating, with their ratios: of the whole process, and up
    to the first usable screen, at which the process is cut off."""
    lines = []
    for until, leave in (("whole process", "self.exit()"), ("to the first screen", "os._exit(0)")):
        codes = ["import os" + code.replace("self.exit()", leave) for code in (BARE, OURS)]
        rows = [(run(codes[0]), run(codes[1], where)) for _ in range(rounds + 1)][1:]  # the first compiles and warms
        for n, by in enumerate(("by the clock", "of the processor")):
            bare, ours = (statistics.median(row[k][n] for row in rows) for k in (0, 1))
            seconds = f"bare Textual + sqlalchemy.orm {bare:.3f} s, patina {ours:.3f} s"
            lines.append(f"{until}, {by + ':':<17} {seconds}, ratio {ours / bare:.2f}")
    return "\n".join(lines)


def main() -> None:
    """Print both medians and their ratio."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 11
    with tempfile.TemporaryDirectory() as folder:
        from patina.demo.studio import make_demo

        studio = str(make_demo(Path(folder) / "studio"))
        print(told(studio, rounds), "(aim: a ratio of at most 1.6)", sep="\n")


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main()
