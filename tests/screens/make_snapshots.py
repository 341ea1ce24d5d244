"""Takes the pictures of every screen again, for test_snapshots.py, and draws them for looking at.

Run by hand: ``python tests/screens/make_snapshots.py [--svg FOLDER] [WALK...]``.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
sys.path.insert(0, str(Path(__file__).parent))

from snapshot_scenes import WALKS
from snapshots import FOLDER, invented_studio, store, walked


def take(name: str, demo: str, svgs: str | None) -> list[str]:
    """Go one way and write its pictures."""
    with tempfile.TemporaryDirectory() as data:
        os.environ["XDG_DATA_HOME"] = data
        walk = asyncio.run(walked(WALKS[name], Path(demo), None if svgs is None else Path(svgs), empty=name == "empty"))
    for picture, taken in walk.taken.items():
        store(taken, FOLDER / f"{picture}.json.gz", name, walk.met[picture])
    return list(walk.taken)


def main(words: list[str]) -> None:
    """Take the pictures of the named ways, or of all; then those of no way are removed."""
    told = argparse.ArgumentParser()
    told.add_argument("--svg", type=Path, help="a folder for drawings of every picture")
    told.add_argument("walks", nargs="*", choices=[*WALKS, []])
    asked = told.parse_args(words)
    FOLDER.mkdir(exist_ok=True)
    if asked.svg is not None:
        asked.svg.mkdir(parents=True, exist_ok=True)
    kept: set[str] = set()
    failed = False
    with tempfile.TemporaryDirectory() as folder, ProcessPoolExecutor(2, get_context("spawn")) as pool:
        demo = str(invented_studio(Path(folder) / "demo"))
        svgs = None if asked.svg is None else str(asked.svg)
        going = {name: pool.submit(take, name, demo, svgs) for name in asked.walks or WALKS}
        for name, done in going.items():
            if trouble := done.exception():
                print(f"{name}: {trouble}", file=sys.stderr)
                failed = True
                continue
            kept |= set(done.result())
            print(f"{name}: {len(done.result())}", flush=True)
    if failed:
        sys.exit(1)
    if not asked.walks:
        for path in FOLDER.glob("*.json.gz"):
            if path.name.removesuffix(".json.gz") not in kept:
                path.unlink()


if __name__ == "__main__":
    main(sys.argv[1:])
