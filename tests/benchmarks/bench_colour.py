"""Speed of the colour rooms, as ratios in one run. Run: python tests/benchmarks/bench_colour.py

CIEDE2000 on 1,000,000 pairs against colour-science (aim 0.45 or less); a 24-megapixel JPEG with a
chart, read to five areas, against Pillow's full decode of it (aim 3 or less).
"""

from __future__ import annotations

import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from statistics import median

import numpy as np
from PIL import Image

from patina.colour.difference import delta_e_many
from patina.colour.reading import read_photo
from patina.colour.values import AreaSpec

SWATCH = Path(__file__).resolve().parents[2] / "swatches" / "brown-and-chestnut.jpg"


def seconds(work: Callable[[], object], runs: int = 5) -> float:
    """Median time of some runs, after one that warms up."""
    work()
    taken = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return median(taken)


def differences() -> None:
    """CIEDE2000 against colour-science, on random pairs."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    rng = np.random.default_rng(1)
    first, second = (rng.uniform([0, -100, -100], [100, 100, 100], (1_000_000, 3)) for _ in range(2))
    ours = seconds(lambda: delta_e_many(first, second))
    theirs = seconds(lambda: colour.difference.delta_E_CIE2000(first, second))
    apart = np.abs(delta_e_many(first, second) - colour.difference.delta_E_CIE2000(first, second)).max()
    print(
        f"CIEDE2000, 1,000,000 pairs: {ours:.3f} s against {theirs:.3f} s: ratio {ours / theirs:.2f}, apart {apart:.1e}"
    )


def photograph() -> None:
    """Chart and five areas of a 24-megapixel JPEG against its full decode."""
    large = np.asarray(Image.open(SWATCH).convert("RGB").resize((6000, 4500), Image.Resampling.LANCZOS))[:4000]
    grain = np.random.default_rng(2).normal(0, 4, (4000, 6000, 1)).astype(np.int16)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "large.jpg"
        Image.fromarray(np.clip(large + grain, 0, 255).astype(np.uint8)).save(path, quality=92)
        areas = [AreaSpec(f"area {n}", (900 + 520 * (n % 2), 2600 + 450 * (n // 2), 400, 400)) for n in range(5)]

        def decode() -> None:
            with Image.open(path) as image:
                image.load()

        full = seconds(decode)
        whole = seconds(lambda: read_photo(path, areas=areas))
    print(
        f"24-megapixel JPEG to five areas: {whole:.3f} s against {full:.3f} s for its decode: ratio {whole / full:.2f}"
    )


if __name__ == "__main__":
    differences()
    photograph()
