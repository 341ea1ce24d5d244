"""Model fit and proposal on 500 tiles of a studio (at most 5 s), and on 5,000.

Run: python tests/benchmarks/bench_reconstruct.py
"""

from __future__ import annotations

import math
import random
import sys
import tempfile
import time
from pathlib import Path

from patina.bench.matched import reconstruct
from patina.bench.recipes import finishes
from patina.bench.studio import open_studio

LIMIT_S = 5.0


def fill(where: Path, n: int) -> None:
    """A studio with n tiles of one recipe at random settings, written in bulk."""
    rng = random.Random(11)
    with open_studio(where) as studio:
        finishes.add_starters(studio)
        recipe = finishes.recipe_sheet(studio, "Torch sulphide brown").id
        with studio.store.engine.connect() as connection:
            raw = connection.connection.driver_connection
            (revision,) = raw.execute("SELECT id FROM revision WHERE recipe_id = ?", (int(recipe[1:]),)).fetchone()
            moment = "2026-03-02 09:00:00.000000"
            raw.execute("BEGIN")
            for i in range(1, n + 1):
                passes, surface, strength = rng.randint(1, 9), rng.uniform(60, 130), rng.uniform(10, 200)
                L = 55 - 9 * math.log(passes) + rng.gauss(0, 0.7)
                a, b = (
                    4 + 0.08 * (surface - 60) + rng.gauss(0, 0.5),
                    8 + 5 * math.log(strength / 30) + rng.gauss(0, 0.5),
                )
                raw.execute(
                    "INSERT INTO tile (id, uid, version, created_at, search_text, engraved, alloy, preparation, size,"
                    " as_done, made_by, wax_state, note, revision_id)"
                    " VALUES (?, ?, 1, ?, '', ?, 'C87300', '', '', ?, '', 'waxed', '', ?)",
                    (i, f"{i:032x}", moment, f"N-{i}", f'["wash: {passes} passes"]', revision),
                )
                raw.execute(
                    "INSERT INTO reading (id, uid, tile_id, lab_l, lab_a, lab_b, illuminant, observer, source, area,"
                    " geometry, instrument, n, uncertainty_de00, wax_state, warmth, read_at, read_by, note, parts,"
                    " added_at, latest) VALUES (?, ?, ?, ?, ?, ?, 'D50', '2', 'typed', '', 'unknown', '', 1, 1.0,"
                    " 'waxed', 'cold', ?, '', '', '[]', ?, 1)",
                    (i, f"{i:032x}", i, L, a, b, moment, moment),
                )
                for k, (fact, value) in enumerate((("surface_c", surface), ("strength_g_per_l", strength))):
                    raw.execute(
                        "INSERT INTO making_fact (uid, tile_id, fact, value, at, written_by)"
                        " VALUES (?, ?, ?, ?, ?, '')",
                        (f"{2 * i + k:032x}", i, fact, f"{value:.1f}", moment),
                    )
            raw.execute("COMMIT")


def main() -> int:
    """Fill, ask, print; 1 where 500 tiles take too long."""
    times = {}
    for n in (500, 5000):
        where = Path(tempfile.mkdtemp(prefix="patina-tiles-")) / "studio"
        fill(where, n)
        with open_studio(where) as studio:
            begun = time.perf_counter()
            sheet = reconstruct.reconstruct(studio, "2 spoons medium, few coats, hot", "44,6.5,12")
            times[n] = time.perf_counter() - begun
            print(f"{n} tiles: {times[n]:.2f} s; {sheet.knows} Ladder of {len(sheet.ladder)}.")
    return 0 if times[500] <= LIMIT_S else 1


if __name__ == "__main__":
    sys.exit(main())
