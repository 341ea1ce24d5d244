"""The nearest 20 of a million readings, from the database of a studio of that size, against a full scan.

Run: python tests/benchmarks/bench_match_studio.py [READINGS] [FOLDER]
A studio is filled by bulk insert (a tile to a reading; colours of patinas in a dozen clouds), then:
the first search after opening, the searches after it (warm), and a full scan by colour-science's
``delta_E_CIE2000``, whose answer each search must equal. Prints the ratios and stops with 1 where one
is above what was set: first 1.5, warm 0.2.
"""

from __future__ import annotations

import sys
import tempfile
import time
import warnings
from pathlib import Path

import numpy as np

from patina.bench.matched import rack
from patina.bench.studio import open_studio

FIRST, WARM, TARGETS, TOP = 1.5, 0.2, 200, 20


def colours(n: int) -> np.ndarray:
    """Invented readings: clouds of browns, blacks, greens, whites, and a few anywhere."""
    rng = np.random.default_rng(20)
    middles = np.array(
        [[24, 7, 10], [30, 12, 20], [14, 1, 1], [45, -18, 8], [52, -22, -6], [38, 18, 24], [78, 0, 6], [60, 4, 30]]
    )
    cloud = rng.integers(0, len(middles), n)
    found = middles[cloud] + rng.normal(0, (5, 4, 5), (n, 3))
    anywhere = rng.random(n) < 0.05
    found[anywhere] = rng.uniform((2, -50, -50), (98, 50, 60), (int(anywhere.sum()), 3))
    found[:, 0] = np.clip(found[:, 0], 0.5, 99.5)
    return found


def fill(where: Path, labs: np.ndarray) -> None:
    """A studio with one tile to each colour, written in bulk."""
    from sqlalchemy import text

    with open_studio(where) as studio, studio.store.engine.connect() as connection:
        raw = connection.connection.driver_connection
        moment = "2026-03-02 09:00:00.000000"
        raw.execute("BEGIN")
        raw.executemany(
            "INSERT INTO tile (id, uid, version, created_at, search_text, engraved, alloy, preparation, size, as_done,"
            " made_by, wax_state, note) VALUES (?, ?, 1, ?, '', ?, ?, '', '', '[]', '', 'waxed', '')",
            ((i, f"{i:032x}", moment, f"N-{i}", "C87300" if i % 4 else "C83600") for i in range(1, len(labs) + 1)),
        )
        raw.executemany(
            "INSERT INTO reading (id, uid, tile_id, lab_l, lab_a, lab_b, illuminant, observer, source, area, geometry,"
            " instrument, n, uncertainty_de00, wax_state, warmth, read_at, read_by, note, parts, added_at, latest)"
            " VALUES (?, ?, ?, ?, ?, ?, 'D50', '2', 'typed', '', 'unknown', '', 1, 1.0, 'waxed', 'cold', ?, '', '',"
            " '[]', ?, 1)",
            ((i, f"{i:032x}", i, float(L), float(a), float(b), moment, moment) for i, (L, a, b) in enumerate(labs, 1)),
        )
        raw.execute("COMMIT")
        assert connection.execute(text("SELECT count(*) FROM reading")).scalar() == len(labs)


def main() -> int:
    """Fill, search, compare, print."""
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    where = Path(sys.argv[2]) if len(sys.argv) > 2 else Path(tempfile.mkdtemp(prefix="patina-rack-")) / "studio"
    labs = colours(n)
    if not where.exists():
        begun = time.perf_counter()
        fill(where, labs)
        print(f"studio of {n} readings filled in {time.perf_counter() - begun:.0f} s")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from colour.difference import delta_E_CIE2000
    rng = np.random.default_rng(21)
    targets = np.where(
        rng.random((TARGETS, 1)) < 0.7,
        labs[rng.integers(0, n, TARGETS)] + rng.normal(0, 2, (TARGETS, 3)),
        rng.uniform((1, -60, -60), (99, 60, 70), (TARGETS, 3)),
    )
    targets[:, 0] = np.clip(targets[:, 0], 0, 100)
    delta_E_CIE2000(targets[0], labs)
    scans, searches, same = [], [], 0
    with open_studio(where) as studio:
        begun = time.perf_counter()
        first = rack.nearest(studio, _words(targets[0]), top=TOP)
        first_s = time.perf_counter() - begun
        rack.wait_until_laid_out(studio)
        rack.nearest(studio, _words(targets[1]), top=TOP)
        for target in targets:
            begun = time.perf_counter()
            found = rack.nearest(studio, _words(target), top=TOP)
            searches.append(time.perf_counter() - begun)
            begun = time.perf_counter()
            scan = np.asarray(delta_E_CIE2000(target, labs))
            scans.append(time.perf_counter() - begun)
            same += _same(found, scan)
        same_first = _same(first, np.asarray(delta_E_CIE2000(targets[0], labs)))
        with studio.store.view() as session:
            from patina.records.matched.rack import Wanted

            cold = []
            for target in targets[:20]:
                begun = time.perf_counter()
                rack.from_records(session, Wanted("D50", "2"), tuple(float(v) for v in target), TOP)
                cold.append(time.perf_counter() - begun)
    scan_s = float(np.median(scans))
    print(f"full scan {scan_s:.3f} s (median of {TARGETS})")
    print(f"first search {first_s:.3f} s: {first_s / scan_s:.2f} × the scan (at most {FIRST})")
    print(
        f"from the database alone, 20 targets: median {np.median(cold) / scan_s:.2f}, worst {max(cold) / scan_s:.2f} ×"
    )
    warm_s = float(np.median(searches))
    print(
        f"warm {warm_s:.4f} s: {warm_s / scan_s:.3f} × the scan (at most {WARM}); worst {max(searches) / scan_s:.3f} ×"
    )
    print(f"same as the scan: {same} of {TARGETS}, first search {bool(same_first)}")
    good = first_s <= FIRST * scan_s and warm_s <= WARM * scan_s and same == TARGETS and same_first
    return 0 if good else 1


def _words(target: np.ndarray) -> str:
    return ",".join(repr(float(v)) for v in target)


def _same(found: tuple, scan: np.ndarray) -> bool:
    order = np.argsort(scan, kind="stable")[:TOP]
    return [m.tile for m in found] == [f"T{i + 1}" for i in order] and np.allclose(
        [m.delta_e for m in found], scan[order], rtol=0, atol=1e-9
    )


if __name__ == "__main__":
    raise SystemExit(main())
