"""Kills the torch screen at random moments while keys arrive, and looks for anything that was lost.

Each life is a process of its own: it takes the work up where it was and presses keys (passes, notes,
temperatures, figures of the pot, going back, zones). It reports a key only after the screen has
answered it. The parent sends SIGKILL at a random moment, before or after the first answer, and then
reads the database without the program: every answered key must be there under its number, the numbers
must have no gap, at most the one key that was under way may be there unanswered, the pot must hold what
its uses leave, and `check` must find nothing. SIGKILL takes the process, not the machine: that commits
reach the disk (synchronous=FULL) is asserted beside it, not proved by it.

    python tests/benchmarks/kill_at_the_torch.py --kills 200
"""

from __future__ import annotations

import argparse
import asyncio
import os
import random
import select
import shutil
import signal
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from contextlib import closing, suppress
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from textual.keys import _character_to_key  # noqa: E402

import tui.app  # noqa: E402
import tui.dialogs.torch  # noqa: E402
import tui.screens.bench  # noqa: E402
import tui.screens.torch  # noqa: E402
from patina.bench import upkeep  # noqa: E402
from patina.bench.pieces import casts  # noqa: E402
from patina.bench.pots import batches  # noqa: E402
from patina.bench.recipes import finishes  # noqa: E402
from patina.bench.studio import open_studio  # noqa: E402
from patina.bench.torch import work, work_forms  # noqa: E402
from patina.chemistry.strength import parse_strength  # noqa: E402
from patina.entries import NewBatch, NewCast, NewPiece  # noqa: E402
from patina.recipe import Ingredient, Recipe, Solution, Step  # noqa: E402

POT_ML = 1_000_000.0
LEAST_LIFE_S = 30.0


def make_studio(folder: Path) -> None:
    """A cast with three zones, a large pot, and a work that stands at the step with passes."""
    wash = Solution("wash", "distilled_water", (Ingredient("liver_of_sulphur", parse_strength("5 g/L")),))
    brush = Step("apply", solution="wash", method="torch", passes=400, coverage_ml_per_m2=40.0)
    recipe = Recipe("Kiln brown", "brown", ("C87300",), "own tiles", (wash,), (brush,))
    with open_studio(folder) as studio:
        finishes.save_recipe(studio, recipe)
        casts.add_piece(studio, NewPiece("Tern"))
        casts.add_cast(studio, NewCast("W1", "1/1", "C87300", wall_mm=5.0))
        batches.mix_batch(studio, NewBatch("R1", 1, "wash", POT_ML))
        form = {"target": "C1", "recipe": "R1", "batch": "B1", "zones": "head 0.1 m2; wing 0.2 m2; base 0.1 m2"}
        work.start_work(studio, work_forms.work_form({**form, "thermometer": "contact °C"}))


# -- one life ----------------------------------------------------------------------------------------


async def press_on(folder: Path, out: int, dice: random.Random) -> None:
    """Press keys for ever; write the number and kind of each event that the screen has answered."""
    from tui.screens.torch import Torch

    tui.screens.torch.HELD_KEY_S = 0.0
    with open_studio(folder) as studio:
        app = tui.app.PatinaApp(studio)
        async with app.run_test(size=(80, 24)) as pilot:
            screen = Torch(work.take_up(studio, "J1"))
            await app.push_screen(screen)
            seq = screen.sheet.seq
            os.write(out, f"up {seq}\n".encode())
            while True:
                await pilot.press(*_keys(dice, screen))
                if screen.sheet.seq != seq:
                    new = [e for e in screen.sheet.events if e.seq > seq]
                    seq = screen.sheet.seq
                    os.write(out, "".join(f"ack {e.seq} {e.kind}\n" for e in new).encode())


def _keys(dice: random.Random, screen: tui.screens.torch.Torch) -> list[str]:
    roll = dice.random()
    if roll < 0.70:
        return ["space"]
    if roll < 0.76:
        return ["z"]
    if roll < 0.80:
        return ["b"]
    pot = screen.sheet.pot
    assert pot is not None
    key, text = dice.choice([("n", "darker"), ("t", "88"), ("v", f"{pot.left_ml - 7:.0f}")])
    return [key, *(_character_to_key(c) for c in text), "enter"]


# -- the killer --------------------------------------------------------------------------------------


@dataclass
class Found:
    """What the killing came to."""

    kills: int = 0
    before_first_answer: int = 0
    answered: Counter[str] = field(default_factory=Counter)
    under_way: int = 0
    lost: list[str] = field(default_factory=list)
    unsound: list[str] = field(default_factory=list)


def one_life(folder: Path, dice: random.Random, found: Found, longest_s: float) -> dict[int, str]:
    """Start a life, kill it at a random moment, and give back what it had answered, by number."""
    read, write = os.pipe()
    seed = dice.random()
    pid = os.fork()
    if pid == 0:
        os.close(read)
        with suppress(BaseException):
            asyncio.run(press_on(folder, write, random.Random(seed)))
        os._exit(1)
    os.close(write)
    heard = b""
    if dice.random() < 0.15:  # while it starts, or just after
        deadline, moment = time.monotonic(), time.monotonic() + dice.uniform(0.0, 0.9)
    else:
        deadline, moment = time.monotonic() + LEAST_LIFE_S, 0.0
    while True:
        wait = (moment or deadline) - time.monotonic()
        if wait <= 0:
            break
        if select.select([read], [], [], wait)[0]:
            part = os.read(read, 65_536)
            if not part:
                break
            heard += part
            if not moment and b"ack" in heard:
                moment = time.monotonic() + dice.uniform(0.0, longest_s)
    os.kill(pid, signal.SIGKILL)
    ended = os.waitpid(pid, 0)[1]
    if not os.WIFSIGNALED(ended):
        found.unsound.append("the screen ended by itself")
    while part := os.read(read, 65_536):
        heard += part
    os.close(read)
    found.kills += 1
    answers = [line.split() for line in heard.decode().splitlines() if line.startswith("ack")]
    found.before_first_answer += not answers
    return {int(seq): kind for _, seq, kind in answers}


def look(folder: Path, answers: dict[int, str], before: int, found: Found) -> int:
    """Compare what is on disk with what was answered; the number of the last event on disk."""
    with closing(sqlite3.connect(folder / "studio.db")) as database:
        rows = dict(database.execute("SELECT seq, kind FROM work_event WHERE work_id = 1").fetchall())
        sound = database.execute("PRAGMA integrity_check").fetchone()[0]
        left = database.execute("SELECT left_ml FROM batch").fetchone()[0]
        used = database.execute("SELECT coalesce(sum(ml), 0) FROM batch_use").fetchone()[0]
    for seq, kind in answers.items():
        if rows.get(seq) != kind:
            found.lost.append(f"event {seq} ({kind})")
    if sorted(rows) != list(range(1, len(rows) + 1)):
        found.unsound.append("the numbers have a gap")
    unanswered = len(rows) - before - len(answers)
    # a work that is taken up after a break writes that down before the first key
    if unanswered not in (0, 1):
        found.unsound.append(f"{unanswered} events that nobody answered")
    found.under_way += unanswered == 1
    if sound != "ok" or abs(POT_ML - used - left) > 1e-3:
        found.unsound.append(f"integrity: {sound}; pot {left} mL after {used} mL used")
    found.answered.update(answers.values())
    with open_studio(folder) as studio:
        checked = upkeep.check(studio)
    if not checked.ok:
        found.unsound.extend(checked.problems)
    return len(rows)


def writes_through(folder: Path) -> bool:
    """Whether the program's own connections wait for the disk at each commit."""
    with open_studio(folder) as studio, studio.store.view() as session:
        return session.connection().exec_driver_sql("PRAGMA synchronous").scalar() == 2


def run(kills: int, seed: int, longest_s: float) -> Found:
    """Kill so many lives of one work, each at most longest_s seconds after its first answer."""
    folder = Path(tempfile.mkdtemp(prefix="torch-")) / "studio"
    dice, found = random.Random(seed), Found()
    try:
        make_studio(folder)
        if not writes_through(folder):
            found.unsound.append("commits do not wait for the disk")
        before = 2  # begun, and the pot named
        for _ in range(kills):
            answers = one_life(folder, dice, found, longest_s)
            before = look(folder, answers, before, found)
    finally:
        shutil.rmtree(folder.parent, ignore_errors=True)
    return found


def main() -> int:
    """Print the figures; fails where anything was lost or unsound."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--kills", type=int, default=200)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--longest", type=float, default=2.0, help="seconds of pressing after the first answer")
    given = options.parse_args()
    started = time.monotonic()
    found = run(given.kills, given.seed, given.longest)
    kinds = ", ".join(f"{n} {kind}" for kind, n in found.answered.most_common())
    print(f"killed {found.kills} times, {found.before_first_answer} of them before the first answer")
    print(f"answered: {sum(found.answered.values())} keys ({kinds})")
    print(f"lost: {len(found.lost)} {found.lost[:5]}")
    print(f"on disk though not yet answered: {found.under_way}")
    print(f"unsound: {len(found.unsound)} {found.unsound[:5]}")
    print(f"{time.monotonic() - started:.0f} s")
    return 1 if found.lost or found.unsound or not found.answered["pass"] else 0


if __name__ == "__main__":
    raise SystemExit(main())
