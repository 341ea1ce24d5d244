"""A treatment report of twenty pages or more with forty photographs from a camera, on paper and as a page.

Aim: below 5 s each, from the records to the file, photographs made small and the pages set.
Run: python tests/benchmarks/bench_reports.py [photographs] [width in pixels]
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "unit")]

LOG = "rinsed with deionised water, brushed from below upward, dried with warm air, and looked at in raking light; "


def photographs(studio: object, cast: str, folder: Path, count: int, width: int) -> list[str]:
    """So many different photographs of a camera's size, stored with a cast; gives their hashes."""
    from PIL import Image

    from patina.bench.readings.tiles import add_photograph

    found = []
    sources = [Image.open(ROOT / "swatches" / name) for name in ("relief-before.jpg", "relief-after.jpg")]
    large = [s.resize((width, width * 3 // 4), Image.Resampling.BICUBIC) for s in sources]
    for n in range(count):
        picture = large[n % 2].copy()
        picture.paste((n * 5 % 256, 80, 40), (0, 0, 64, 64))
        path = folder / f"{n:02d}.jpg"
        picture.save(path, quality=92)
        found.append(add_photograph(studio, cast, path, state="before" if n % 2 == 0 else "after").sha256)  # type: ignore[arg-type]
        path.unlink()
    return found


def main(count: int, width: int) -> None:
    """Make the studio, print twice, tell the seconds."""
    import pypdf
    from report_treatment import treated

    from patina.bench.paper.print_reports import treatment_report
    from patina.bench.studio import open_studio
    from patina.bench.treating.treat import treatment_sheet, write_part

    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        with open_studio(place / "studio") as studio:
            id = treated(studio)
            cast = treatment_sheet(studio, id).record.object.cast
            for n, sha256 in enumerate(photographs(studio, cast, place, count - 3, width)):
                said = {
                    "photograph": sha256,
                    "role": ("before", "after")[n % 2],
                    "view": f"side {n // 2}",
                    "light": "raking",
                }
                write_part(studio, id, "image", {**said, "on": "2026-03-02", "by": "B. Invented"})
            for n in range(24):
                said = {
                    "on": f"2026-03-{n % 20 + 1:02d}",
                    "by": "A. Invented",
                    "did": LOG * 3,
                    "zone": f"zone {n}",
                    "how": LOG * 2,
                }
                write_part(studio, id, "action", said)
            for ending in (".pdf", ".html"):
                file = place / f"report{ending}"
                began = time.perf_counter()
                treatment_report(studio, id, file)
                took = time.perf_counter() - began
                pages = f"{len(pypdf.PdfReader(file).pages)} pages, " if ending == ".pdf" else ""
                size = f"{file.stat().st_size / 1e6:.1f} MB"
                print(f"{ending[1:]:5} {pages}{count} photographs, {size}: {took:.2f} s (aim 5)")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40, int(sys.argv[2]) if len(sys.argv) > 2 else 4000)
