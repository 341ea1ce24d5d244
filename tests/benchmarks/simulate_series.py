"""Simulated truth through the records in full counts: drifts, verdicts, and the ladder against a fixed grid.

Run: python tests/benchmarks/simulate_series.py [RUNS of drift, VERDICTS, CARDS]; 1000, 10000 and 200 by default.
Aims: a drift of 0.5 ΔE a cast told by cast 6 in 80 % with 5 % of false alarms; wrong verdicts below 5 %; the
ladder's median below the grid's.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "unit"))
from simulated_studio import climbs, drifts, empty_studio, verdicts

from patina.bench.studio import open_studio

BATCH = 250  # pieces of one studio


def main(runs: int, pieces: int, cards: int) -> None:
    """Print each rate with its count and aim."""
    with tempfile.TemporaryDirectory() as folder:
        told = false = wrong_pass = wrong_fail = outside = inside = 0
        for n in range(0, runs, BATCH):
            with open_studio(Path(folder) / f"drift-{n}") as studio:
                found = drifts(studio, min(BATCH, runs - n), seed=n)
            told, false = told + found.told, false + found.false
        print(f"drift told: {told / runs:.1%} of {runs} (aim 80 %); false alarms {false / runs:.1%} (aim 5 % at most)")
        for n in range(0, pieces, BATCH):
            with open_studio(Path(folder) / f"verdicts-{n}") as studio:
                judged = verdicts(studio, min(BATCH, pieces - n), seed=n)
            outside, inside = outside + judged.outside, inside + judged.inside
            wrong_pass, wrong_fail = wrong_pass + judged.wrong_pass, wrong_fail + judged.wrong_fail
        print(
            f"wrong passes {wrong_pass / outside:.2%} of {outside}, wrong fails {wrong_fail / inside:.2%} of {inside}"
        )
        empty = empty_studio(Path(folder) / "empty")
        for earlier in (0, 3):
            got = list(climbs(empty, Path(folder), cards, seed=1, earlier=earlier))
            ladder, grid = ([getattr(c, k) for c in got] for k in ("ladder", "grid"))
            print(
                f"{cards} cards, {earlier} tiles before: ladder {statistics.median(ladder)} tiles "
                f"(mean {statistics.mean(ladder):.2f}), grid {statistics.median(grid)} ({statistics.mean(grid):.2f})"
            )


if __name__ == "__main__":
    main(*([int(a) for a in sys.argv[1:]] or (1000, 10_000, 200)))
