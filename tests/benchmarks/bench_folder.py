"""Forty photographs with placards read on two cores against one, and the memory that takes.

Aims: at least 1.7 times as fast on two free cores, below 1 GiB with all processes together.
Run: python tests/benchmarks/bench_folder.py [photographs] [width in pixels] [rounds]
"""

from __future__ import annotations

import dataclasses
import os
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))


def make_shoot(folder: Path, count: int, width: int) -> None:
    """Photographs of two rendered scenes, each saved ``count / 2`` times with another time of taking."""
    from swatches.render import jpeg_bytes, render_scene
    from swatches.scenes import demo_scenes

    plain = next(scene for scene in demo_scenes() if scene.placard)
    scenes = [
        dataclasses.replace(plain, size_px=(width, width * 3 // 4), seed=seed, placard=f"T{seed}") for seed in (1, 2)
    ]
    pictures = [render_scene(scene)[0] for scene in scenes]
    for number in range(count):
        which = number % 2
        scene = dataclasses.replace(scenes[which], taken=f"2026:05:04 {10 + number // 60:02d}:{number % 60:02d}:00")
        (folder / f"{number:03d}.jpg").write_bytes(jpeg_bytes(pictures[which], scene))


READ = """
import os, resource, sys, time
from pathlib import Path
from patina.colour.folder import read_folder

if __name__ == "__main__":
    folder, workers, count = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:workers])  # one core is one core
    started = time.perf_counter()
    found = read_folder(folder, edition="before-2014", workers=workers)
    took = time.perf_counter() - started
    assert len(found.filed) == count, [one.what for one in found.unfiled]
    own, child = (resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    worked = sum(os.times()[:4])
    print(took, (own + workers * child if workers > 1 else own) / 1024, worked)
"""


def read(folder: Path, workers: int, count: int) -> tuple[float, float, float]:
    """Read the folder in a fresh process, where all must be filed: seconds on the wall, MiB at most with
    all processes together, seconds of processor time."""
    script = folder.parent / "read.py"
    script.write_text(READ)
    words = [sys.executable, str(script), str(folder), str(workers), str(count)]
    done = subprocess.run(
        words, check=True, capture_output=True, text=True, env={**os.environ, "PYTHONPATH": str(ROOT)}
    )
    took, memory, worked = done.stdout.split()
    return float(took), float(memory), float(worked)


def main() -> None:
    """Print the two times, their ratio, and the largest memory."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    width = int(sys.argv[2]) if len(sys.argv) > 2 else 4000
    rounds = int(sys.argv[3]) if len(sys.argv) > 3 else 2
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "shoot"
        folder.mkdir()
        # Rendered elsewhere: a process's largest memory stays with the processes it starts.
        words = [sys.executable, "-W", "ignore", __file__, "make", str(folder), str(count), str(width)]
        subprocess.run(words, check=True)
        tries = [(read(folder, 1, count), read(folder, 2, count)) for _ in range(rounds)]
    one, two = (min(pair[which][0] for pair in tries) for which in (0, 1))
    worked_one, worked_two = (min(pair[which][2] for pair in tries) for which in (0, 1))
    memory_one, memory_two = (max(pair[which][1] for pair in tries) for which in (0, 1))
    print(
        f"{count} photographs of {width} x {width * 3 // 4} pixels, fresh processes, loading included, best of {rounds}"
    )
    print(f"one core   {one:7.2f} s  ({one / count * 1000:.0f} ms each)  at most {memory_one:.0f} MiB")
    print(f"two cores  {two:7.2f} s  ({two / count * 1000:.0f} ms each)  at most {memory_two:.0f} MiB together")
    print(f"ratio      {one / two:7.2f}     aim: at least 1.70 with two cores free")
    print(f"by work    {2 * worked_one / worked_two:7.2f}     twice the processor time of one core over that of two")
    print(f"load       {os.getloadavg()[0]:7.2f}     others at work make the ratio smaller")
    print(f"memory     {max(memory_one, memory_two):7.0f} MiB  aim: below 1024")


if __name__ == "__main__":
    if sys.argv[1:2] == ["make"]:
        make_shoot(Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4]))
    else:
        main()
