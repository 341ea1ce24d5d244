"""The twenty nearest of a million readings, against a full scan by colour-science's CIEDE2000.

Aims: a warm search at most 0.2 of the scan; the first, with laying out, at most 1.5 of it; the same
answer as the scan on every target.
Run: python tests/benchmarks/bench_search.py [readings] [targets]
"""

from __future__ import annotations

import sys
import time
import warnings
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from patina.matching.search import Rack

NEAREST = 20


def studio(count: int) -> np.ndarray:
    """Readings of browns, greens, blacks and whites, as a studio's would lie."""
    rng = np.random.default_rng(1)
    kinds = ((30, 9, 14, 8, 5, 7), (55, -18, 6, 12, 8, 8), (22, 2, 3, 6, 2, 3), (75, 0, 8, 8, 3, 5))
    labs = np.concatenate([rng.normal(k[:3], k[3:], (count // 4, 3)) for k in kinds])
    labs[:, 0] = labs[:, 0].clip(0, 100)
    return rng.permutation(labs)


def main(readings: int = 1_000_000, targets: int = 200) -> int:
    """Prints the figures; the exit status is 1 where an aim is missed."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from colour.difference import delta_E_CIE2000

    labs = studio(readings)
    rng = np.random.default_rng(2)
    wanted = labs[rng.integers(len(labs), size=targets)] + rng.normal(0, 3, (targets, 3))
    wanted[:, 0] = wanted[:, 0].clip(0, 100)

    start = time.perf_counter()
    rack = Rack(labs)
    rack.nearest(wanted[0], NEAREST)
    first = time.perf_counter() - start

    searches, scans, unlike = [], [], 0
    for target in wanted:
        start = time.perf_counter()
        rows, differences = rack.nearest(target, NEAREST)
        searches.append(time.perf_counter() - start)
        start = time.perf_counter()
        scanned = delta_E_CIE2000(np.broadcast_to(target, labs.shape), labs)
        scans.append(time.perf_counter() - start)
        best = np.lexsort((np.arange(len(labs)), scanned))[:NEAREST]
        # Two programs agree to rounding: rows may change places only within it.
        unlike += not (np.allclose(scanned[best], differences, atol=1e-9) and np.allclose(scanned[rows], differences))
    warm, scan = float(np.median(searches)), float(np.median(scans))
    print(f"{len(labs)} readings, {targets} targets")
    print(f"scan {scan * 1e3:.0f} ms; warm search {warm * 1e3:.1f} ms = {warm / scan:.3f} of it (aim 0.2)")
    print(f"slowest search {max(searches) * 1e3:.1f} ms")
    print(f"first search with laying out {first * 1e3:.0f} ms = {first / scan:.2f} of it (aim 1.5)")
    print(f"answers unlike the scan: {unlike} of {targets}")
    return int(warm > 0.2 * scan or first > 1.5 * scan or unlike > 0)


if __name__ == "__main__":
    sys.exit(main(*(int(a) for a in sys.argv[1:3])))
