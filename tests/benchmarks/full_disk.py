"""Fills a small file system while one kind of deed after another is done, and looks whether anything was lost.

Run as root: python tests/benchmarks/full_disk.py [--size 12m]. Mounts a tmpfs of that size, does deeds in turn until
the first is refused for want of room, goes on through every other kind, then makes room: each deed that returned must
be in the log, the check must be clean, and work must go on. Nothing is mounted afterwards. Must be 0 lost, and every
refusal a sentence.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from pathlib import Path

import kill_deeds
from kill_deeds import DEEDS, head, make_studio

from patina.bench import upkeep
from patina.bench.studio import open_studio
from patina.errors import PatinaError

BALLAST = "ballast"


def fill(folder: Path) -> tuple[int, int, list[str]]:
    """Do deeds until the disk is full, and each kind once more. Returns done, refused, and what was no sentence."""
    done = refused = 0
    defects: list[str] = []
    with open_studio(folder / "studio") as studio:
        full = False
        for turn in range(10_000):
            for kind, deed in DEEDS.items():
                before = head(studio)
                try:
                    deed(studio, turn)
                    done += 1
                except PatinaError:
                    refused += 1
                    full = full or head(studio) == before
                    if head(studio) != before:
                        defects.append(f"{kind}: refused, and yet in the log")
                except OSError as trouble:
                    defects.append(f"{kind}: {trouble!r}")
            if full and turn > 2:
                return done, refused, defects
            if turn == 1:  # from here on there is hardly any room
                free = int(subprocess.check_output(["df", "--output=avail", "-B1", str(folder)]).split()[-1])
                (folder / BALLAST).write_bytes(bytes(max(0, free - 300_000)))
    return done, refused, defects


def main() -> int:
    """Mount, fill, make room, look."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--size", default="12m")
    size = parser.parse_args().size
    with tempfile.TemporaryDirectory() as place, tempfile.TemporaryDirectory() as given:
        kill_deeds.GIVEN = Path(given)
        subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", place], check=True)
        try:
            folder = Path(place)
            make_studio(folder / "studio")
            done, refused, defects = fill(folder)
            (folder / BALLAST).unlink(missing_ok=True)
            with open_studio(folder / "studio") as studio:
                sheet = upkeep.check(studio)
                defects += sheet.problems
                DEEDS["tile"](studio, 99_999)
            print(f"{done} deeds done, {refused} refused on a full disk of {size}")
            print(f"problems: {len(defects)} (must be 0)", *defects[:10], sep="\n  ")
        finally:
            subprocess.run(["umount", place], check=True)
    return 1 if defects else 0


if __name__ == "__main__":
    sys.exit(main())
