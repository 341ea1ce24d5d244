"""Kills the program while it does one kind of deed after another, and looks whether anything was lost.

Run: python tests/benchmarks/kill_deeds.py [--kills 200] [--each] [--seed 1] [--check-every 1]. The kills are dealt
out over the kinds in turn; with --each every kind is killed so many times. A deed is acknowledged once it has
returned; with it goes the number and hash of the newest change in the log. After each kill the change must stand
there with that hash, and the check must be clean (with --check-every N after every Nth kill of a studio, since what is
broken stays so); a backup that was acknowledged must prove sound. Must be 0 lost. Interrupted, it tells what it found.
"""

from __future__ import annotations

import argparse
import itertools
import os
import random
import select
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

from bench_records import recipe
from PIL import Image
from sqlalchemy import text

from patina.bench import settings, upkeep
from patina.bench.history import undo, withdraw_reading
from patina.bench.matched import agreed
from patina.bench.paper import approving
from patina.bench.paper.archive import archive
from patina.bench.pieces import casts
from patina.bench.pots import batches, waste
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.sealing import amend, seal
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.bench.torch import work
from patina.bench.treating.treat import begin_treatment, write_part
from patina.bench.treating.treat_care import hand_on_care
from patina.entries import (
    NewApproval,
    NewBatch,
    NewCast,
    NewConcession,
    NewLot,
    NewMaster,
    NewPiece,
    NewReading,
    NewTile,
    NewTreatment,
    NewWork,
    NewZone,
    Weighed,
)

CHANCE = random.Random(3)
SOLUTION = "wash"
# where files lie that a deed is given; None: beside the studio
GIVEN: Path | None = None


def _picture(studio: Studio, n: int) -> None:
    file = (GIVEN or Path(studio.where)) / f"picture-{os.getpid()}-{n}.png"
    Image.new("RGB", (64, 64), (n % 256, n // 256 % 256, os.getpid() % 256)).save(file)
    tiles.add_photograph(studio, "T1", file)
    file.unlink()


def _undo(studio: Studio, n: int) -> None:
    tiles.start_tile(studio, NewTile(f"U{n}", "C87300"))
    undo(studio)


def _withdraw(studio: Studio, n: int) -> None:
    tiles.add_reading(studio, "T1", NewReading(30, 5, 6))
    withdraw_reading(studio, tiles.tile_sheet(studio, "T1").readings[0].id, "spoilt")


def _seal(studio: Studio, n: int) -> None:
    made = casts.agree_master(studio, NewMaster(f"finish {n}", (30, 5, 6), 2))
    seal(studio, made.id, by="Ida")


def _zone(studio: Studio, n: int) -> None:
    made = casts.agree_master(studio, NewMaster(f"zoned {n}", (30, 5, 6), 2))
    agreed.agree_zone(studio, NewZone(made.id, "base", readings=("30,5,6", "31,5,6")))


def _import(studio: Studio, n: int) -> None:
    from patina.recipe_writing import write_recipe

    file = (GIVEN or Path(studio.where)) / f"recipe-{os.getpid()}.toml"
    file.write_text(write_recipe(recipe(n + 10**9, CHANCE), studio.catalogue()))
    finishes.import_files(studio, [file])
    file.unlink()


def _revise(studio: Studio, n: int) -> None:
    sheet = finishes.recipe_sheet(studio, "R1")
    finishes.revise_recipe(studio, "R1", replace(sheet.recipe, texture=1 + n % 99_991 / 99_991), reason="kill")


def _backup(studio: Studio, n: int) -> None:
    (Path(studio.where).parent / "backups").mkdir(exist_ok=True)
    upkeep.backup(studio, Path(studio.where).parent / "backups" / f"{n}.patina")


def _archive(studio: Studio, n: int) -> None:
    (Path(studio.where).parent / "backups").mkdir(exist_ok=True)
    archive(studio, "R1", Path(studio.where).parent / "backups" / f"{n}.zip")


def _mix(studio: Studio, n: int) -> None:
    line = Weighed("liver of sulphur", 1.0, 1.0, "g", "L1")
    batches.mix_batch(studio, NewBatch("R1", 1, SOLUTION, 100, (line,)))


def _hand_on(studio: Studio, n: int) -> None:
    earlier, later = (begin_treatment(studio, {"cast": "C1", "name": f"{word} {n}"}).id for word in ("care", "next"))
    point = write_part(studio, earlier, "care", {"trigger": "months", "task": f"wax {n}"}).id
    hand_on_care(studio, later, take_over={point: "it goes on"}, end={})


# n is new for each deed
DEEDS: dict[str, Callable[[Studio, int], object]] = {
    "recipe saved": lambda s, n: finishes.save_recipe(s, recipe(n, CHANCE)),
    "revision": _revise,
    "recipe files taken in": _import,
    "tile": lambda s, n: tiles.start_tile(s, NewTile(f"K{n}", "C87300", recipe="R1", revision=1)),
    "tile changed": lambda s, n: tiles.change_tile(s, "T1", NewTile(f"K{n}", "C87300")),
    "reading": lambda s, n: tiles.add_reading(s, "T1", NewReading(20 + n % 30, 5, 6)),
    "reading withdrawn": _withdraw,
    "photograph": _picture,
    "lot": lambda s, n: shelf.add_lot(s, NewLot("liver of sulphur", 100.0 + n % 7)),
    "movement": lambda s, n: shelf.take_from_lot(s, "L1", 0.01, "g", "test"),
    "stock-take": lambda s, n: shelf.count_lot(s, "L1", 9e6 - n % 1000, "g"),
    "pot": _mix,
    "pot used": lambda s, n: batches.use_from_batch(s, "B1", 0.01, "test"),
    "strip check": lambda s, n: waste.strip_check(s, "B1", 10.0 + n % 60),
    "piece": lambda s, n: casts.add_piece(s, NewPiece(f"Seal {n}")),
    "cast": lambda s, n: casts.add_cast(s, NewCast("W1", f"{n}", "C87300")),
    "cast changed": lambda s, n: casts.change_cast(s, "C1", NewCast("W1", "1/9", "C87300", owner=f"owner {n}")),
    "agreed finish": lambda s, n: casts.agree_master(s, NewMaster(f"brown {n}", (30, 5, 6), 2)),
    "zone agreed": _zone,
    "approval": lambda s, n: approving.record_approval(s, NewApproval("C1", f"owner {n}", "approved", master="M1")),
    "concession": lambda s, n: agreed.concede(s, NewConcession("M1", "C1", f"reason {n}", "owner")),
    "treatment step": lambda s, n: casts.add_treatment(s, NewTreatment("C1", f"step {n}")),
    "pass at the torch": lambda s, n: work.pass_done(s, "J1"),
    "signing off": _seal,
    "amendment": lambda s, n: amend(s, "M1", f"words {n}", "kill", by="Ida"),
    "undo": _undo,
    "setting": lambda s, n: settings.change_setting(s, "studio-name", f"Studio {n}"),
    "backup": _backup,
    "archive": _archive,
    "care handed on": _hand_on,
    "conservator's record": lambda s, n: begin_treatment(s, {"cast": "C1", "name": f"treatment {n}"}),
}


def make_studio(folder: Path) -> None:
    """A studio with one of each."""
    with open_studio(folder) as studio:
        studio.set_setting("who", "Ida")
        finishes.save_recipe(studio, recipe(1, CHANCE))
        tiles.start_tile(studio, NewTile("A1", "C87300", recipe="R1", revision=1))
        tiles.add_reading(studio, "T1", NewReading(30, 5, 6))
        casts.add_piece(studio, NewPiece("Grey seal"))
        casts.agree_master(studio, NewMaster("first", (30, 5, 6), 2))
        casts.add_cast(studio, NewCast("W1", "1/9", "C87300", master="M1"))
        tiles.add_reading(studio, "C1", NewReading(35, 5, 6))
        shelf.add_lot(studio, NewLot("liver of sulphur", 9e6))
        batches.mix_batch(studio, NewBatch("R1", 1, SOLUTION, 1e6, (Weighed("liver of sulphur", 1.0, 1.0, "g", "L1"),)))
        work.start_work(studio, NewWork("T1", "R1"))
        seal(studio, "M1")


def head(studio: Studio) -> tuple[int, str]:
    """Number and hash of the newest change."""
    with studio.store.view() as session:
        n, hash = session.execute(text("SELECT n, hash FROM chain_head")).one()
    return int(n), str(hash)


def life(folder: Path, kind: str, first: int, out: int) -> None:
    """Do deeds of a kind until killed, and acknowledge each."""
    with open_studio(folder) as studio:
        for n in itertools.count(first):
            DEEDS[kind](studio, n)
            number, hash = head(studio)
            os.write(out, f"{n} {number} {hash}\n".encode())


@dataclass
class Found:
    """What the kills came to."""

    kills: Counter[str] = field(default_factory=Counter)
    acknowledged: Counter[str] = field(default_factory=Counter)
    lost: list[str] = field(default_factory=list)
    unsound: list[str] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)


def one_life(folder: Path, kind: str, first: int, dice: random.Random, longest_s: float) -> list[tuple[int, int, str]]:
    """What was acknowledged before the kill: number of the deed, of its last change, and its hash."""
    back, out = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(back)
        try:
            life(folder, kind, first, out)
        except Exception as trouble:  # noqa: BLE001  the parent must know why it saw nothing
            os.write(out, f"! {type(trouble).__name__}: {str(trouble)[:150]}\n".encode())
        finally:
            os._exit(1)
    os.close(out)
    heard = b""
    if select.select([back], [], [], 60.0)[0]:
        heard = os.read(back, 65536)
        time.sleep(dice.uniform(0.0, longest_s))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    while block := os.read(back, 65536):
        heard += block
    os.close(back)
    lines = heard.decode().split("\n")[:-1]
    said = [line.split() for line in lines if not line.startswith("!")]
    told = [line for line in lines if line.startswith("!")]
    if told:
        raise RuntimeError(f"{kind}: {told[0]}")
    return [(int(n), int(number), hash) for n, number, hash in said]


def look(folder: Path, kind: str, acknowledged: list[tuple[int, int, str]], found: Found, whole: bool = True) -> None:
    """Whether everything that was acknowledged is there, and (whole) everything checks clean."""
    with open_studio(folder) as studio:
        with studio.store.view() as session:
            for _, number, hash in acknowledged:
                kept = session.execute(text("SELECT hash FROM change WHERE n = :n"), {"n": number}).scalar()
                if kept != hash:
                    found.lost.append(f"{kind}: change {number}")
        if whole:
            found.unsound += [f"{kind}: {problem}" for problem in upkeep.check(studio).problems]
    if kind == "backup":
        for n, _, _ in acknowledged:
            with tempfile.TemporaryDirectory() as new:
                if not upkeep.restore(Path(new) / "studio", folder.parent / "backups" / f"{n}.patina").ok:
                    found.unsound.append(f"backup {n}")


def run(kinds: list[str], kills: int, seed: int, longest_s: float = 0.15, check_every: int = 1) -> Found:
    """Kill so many lives, of one kind after the other; a new studio now and then, so that it stays small."""
    dice, found, renewed = random.Random(seed), Found(), max(len(kinds), 20)
    place = Path(tempfile.mkdtemp(prefix="kill-deeds-"))
    try:
        make_studio(place / "new")
        for number in range(kills):
            kind = kinds[number % len(kinds)]
            folder = place / "studio"
            if number % renewed == 0:
                shutil.rmtree(folder, ignore_errors=True)
                shutil.copytree(place / "new", folder)
            try:
                acknowledged = one_life(folder, kind, 1000 * (number + 1) + 10**6, dice, longest_s)
            except RuntimeError as trouble:
                found.failed.append(str(trouble))
                continue
            found.kills[kind] += 1
            found.acknowledged[kind] += len(acknowledged)
            last = number % renewed == renewed - 1 or number == kills - 1
            look(folder, kind, acknowledged, found, last or number % check_every == 0)
    except KeyboardInterrupt:
        print("interrupted")
    finally:
        shutil.rmtree(place, ignore_errors=True)
    return found


def main() -> int:
    """Print the figures; fails where anything was lost or unsound."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--kills", type=int, default=200)
    options.add_argument("--each", action="store_true", help="so many kills of each kind")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--check-every", type=int, default=1, help="a whole check after so many kills")
    options.add_argument("kinds", nargs="*", default=list(DEEDS))
    given = options.parse_args()
    signal.signal(signal.SIGINT, signal.default_int_handler)  # also where it was started to run by itself
    started = time.monotonic()
    kills = given.kills * (len(given.kinds) if given.each else 1)
    found = run(given.kinds, kills, given.seed, check_every=given.check_every)
    for kind in given.kinds:
        print(f"{kind:<24} killed {found.kills[kind]:>4} times, {found.acknowledged[kind]:>6} acknowledged")
    print(f"{sum(found.kills.values())} kills, {sum(found.acknowledged.values())} acknowledged")
    print(f"lost: {len(found.lost)} {found.lost[:5]}")
    print(f"unsound: {len(found.unsound)} {found.unsound[:5]}")
    print(f"not begun: {len(found.failed)} {found.failed[:5]}")
    print(f"{time.monotonic() - started:.0f} s")
    return 1 if found.lost or found.unsound or found.failed else 0


if __name__ == "__main__":
    sys.exit(main())
