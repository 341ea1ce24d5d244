"""Start to first usable screen on the demo, against a bare Textual app that imports sqlalchemy.orm.

Whole process, both in one run, alternating. Aim: at most 1.6 times.
Run: python tests/benchmarks/bench_startup.py [rounds]
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]

BARE = """
import sqlalchemy.orm
from textual.app import App
from textual.widgets import Static

class Bare(App):
    def compose(self):
        yield Static("bare")
    def on_ready(self):
        self.exit()

Bare().run(headless=True)
"""

OURS = """
import sys
from patina.bench.studio import open_studio
from tui.app import PatinaApp

PatinaApp.first_screen_is_usable = lambda self: self.exit()

with open_studio(sys.argv[1]) as studio:
    PatinaApp(studio).run(headless=True)
"""


def _seconds(code: str, *words: str) -> float:
    started = time.perf_counter()
    subprocess.run([sys.executable, "-c", code, *words], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - started


def main() -> None:
    """Print both medians and their ratio."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 11
    with tempfile.TemporaryDirectory() as folder:
        from patina.demo.studio import make_demo

        studio = str(make_demo(Path(folder) / "studio"))
        bare, ours = [], []
        for n in range(rounds + 1):
            pair = _seconds(BARE), _seconds(OURS, studio)
            if n:  # the first round warms the caches
                bare.append(pair[0])
                ours.append(pair[1])
    one, other = statistics.median(bare), statistics.median(ours)
    print(f"bare Textual + sqlalchemy.orm  {one:.3f} s")
    print(f"patina on the demo studio      {other:.3f} s")
    print(f"ratio                          {other / one:.2f}  (aim: at most 1.6)")


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main()
