"""Reading an archive of photographs again: two cores and a Dask cluster of two workers against one process.

    python tests/benchmarks/bench_reread.py [PHOTOGRAPHS]

Results of all three must agree row for row; the ratios are of one run on one machine.
"""

from __future__ import annotations

import dataclasses
import os
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from patina.bench.readings import reading, tiles  # noqa: E402
from patina.bench.readings.rereading import reread  # noqa: E402
from patina.bench.studio import Studio, open_studio  # noqa: E402
from patina.entries import NewTile  # noqa: E402
from patina.sheets import RereadSheet  # noqa: E402
from swatches.render import jpeg_bytes, render_scene  # noqa: E402
from swatches.scenes import demo_scenes  # noqa: E402

SIZE = (1600, 1200)


def fill(studio: Studio, folder: Path, photographs: int) -> None:
    """So many tiles with a photograph of its own and one reading each."""
    scene = dataclasses.replace(next(s for s in demo_scenes() if not s.placard and s.chart), size_px=SIZE)
    for n in range(photographs):
        picture, truth = render_scene(dataclasses.replace(scene, seed=n))
        file = folder / f"{n}.jpg"
        file.write_bytes(jpeg_bytes(picture, scene))
        tile = tiles.start_tile(studio, NewTile(f"A{n}", "C87300")).row.id
        kept = tiles.add_photograph(studio, tile, file).sha256
        x, y, wide, high = truth["tiles"][0]["rect"]
        reading.read_into(studio, tile, kept, areas=[f"face={x},{y},{wide},{high}"], edition="before-2014")


def timed(studio: Studio, **how: object) -> tuple[float, RereadSheet]:
    """Seconds, and what came out."""
    started = time.perf_counter()
    found = reread(studio, fresh=True, **how)  # type: ignore[arg-type]
    return time.perf_counter() - started, found


def main() -> int:
    """Print the figures; fails where two ways do not agree."""
    from distributed import LocalCluster

    photographs = int(sys.argv[1]) if len(sys.argv) > 1 else 24
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.environ["XDG_CACHE_HOME"] = str(folder / "cache")
        with open_studio(folder / "studio") as studio:
            fill(studio, folder, photographs)
            one_s, one = timed(studio, workers=1)
            two_s, two = timed(studio, workers=2)
            with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
                dask_s, dask = timed(studio, cluster=cluster.scheduler_address)
    print(f"{photographs} photographs of {SIZE[0]} × {SIZE[1]}, each read again")
    print(f"one process {one_s:.1f} s; two cores {two_s:.1f} s (ratio {one_s / two_s:.2f});", end=" ")
    print(f"Dask with two workers {dask_s:.1f} s (ratio {one_s / dask_s:.2f})")
    print(f"the same row for row: {one == two == dask}; largest ΔE00 {one.largest_de00}")
    return 0 if one == two == dask and len(one.of("same")) == photographs else 1


if __name__ == "__main__":
    raise SystemExit(main())
