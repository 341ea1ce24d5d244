"""Several programs at work in one studio on PostgreSQL, killed at random, with the server restarted in between.

Each client does its own list of deeds (passes and notes at shared works, stock movements from one
lot, pots, tiles, readings, photographs into an S3-compatible store) and says "ack" after each answer.
A client that is killed is started again at the first deed that it had not answered, with the same
id. In the end every deed must be there exactly once, the sums must be right and `check` must be clean.

    python tests/benchmarks/clients.py --clients 8 --deeds 500 --kills 40
"""

from __future__ import annotations

import argparse
import hashlib
import logging
import os
import random
import select
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from patina.bench import upkeep  # noqa: E402
from patina.bench.once import once  # noqa: E402
from patina.bench.pieces import casts  # noqa: E402
from patina.bench.pots import batches  # noqa: E402
from patina.bench.readings import tiles  # noqa: E402
from patina.bench.recipes import finishes  # noqa: E402
from patina.bench.shelves import shelf  # noqa: E402
from patina.bench.studio import Studio, open_studio  # noqa: E402
from patina.bench.torch import work, work_forms  # noqa: E402
from patina.chemistry.strength import parse_strength  # noqa: E402
from patina.entries import NewBatch, NewCast, NewLot, NewPiece, NewReading, NewTile  # noqa: E402
from patina.errors import StudioTrouble  # noqa: E402
from patina.recipe import Ingredient, Recipe, Solution, Step  # noqa: E402
from patina.records.torch.work import Stamp  # noqa: E402

KINDS = ("pass", "pass", "pass", "note", "stock", "stock", "pot", "tile", "reading", "photograph")
LOT_G, POT_ML, WORKS = 100_000.0, 1_000_000.0, 4
TAKEN_G, USED_ML = 0.25, 0.5  # both are exact in binary, so the sums must be too
PHOTOGRAPHS_AMONG = 5  # of the deeds that could be one, so many are


def kind_of(client: int, number: int) -> str:
    """What the numbered deed of a client is; the same in every life."""
    dice = random.Random(f"{client}/{number}")
    kind = dice.choice(KINDS)
    return "reading" if kind == "photograph" and dice.randrange(PHOTOGRAPHS_AMONG) else kind


def uid_of(client: int, number: int) -> str:
    """The id of a deed."""
    return hashlib.sha256(f"{client}/{number}".encode()).hexdigest()[:32]


def make_studio(url: str) -> None:
    """Four works that all clients share, one lot, one pot, a tile for each client's readings."""
    wash = Solution("wash", "distilled_water", (Ingredient("liver_of_sulphur", parse_strength("5 g/L")),))
    brush = Step("apply", solution="wash", method="torch", passes=400, coverage_ml_per_m2=40.0)
    with open_studio(url) as studio:
        finishes.save_recipe(studio, Recipe("Kiln brown", "brown", ("C87300",), "own tiles", (wash,), (brush,)))
        shelf.add_lot(studio, NewLot("liver of sulphur", LOT_G))
        casts.add_piece(studio, NewPiece("Tern"))
        batches.mix_batch(studio, NewBatch("R1", 1, "wash", POT_ML))
        tiles.start_tile(studio, NewTile("shared", "C87300"))
        for n in range(WORKS):
            casts.add_cast(studio, NewCast("W1", f"{n}/9", "C87300"))
            form = {"target": f"C{n + 1}", "recipe": "R1", "batch": "B1", "zones": "head; wing"}
            work.start_work(studio, work_forms.work_form({**form, "thermometer": "contact °C"}))


# -- one client -----------------------------------------------------------------------------------------


def do(studio: Studio, client: int, number: int, folder: Path) -> None:
    """The numbered deed, once."""
    kind, uid, name = kind_of(client, number), uid_of(client, number), f"{client}/{number}"
    which = f"J{1 + (client + number) % WORKS}"
    if kind == "pass":
        work.pass_done(studio, which, by=name, stamp=Stamp(uid))
    elif kind == "note":
        work.write_note(studio, which, name, stamp=Stamp(uid))
    elif kind == "stock":
        once(studio, uid, lambda: shelf.take_from_lot(studio, "L1", TAKEN_G, "g", name))
    elif kind == "pot":
        once(studio, uid, lambda: batches.use_from_batch(studio, "B1", USED_ML, name))
    elif kind == "tile":
        once(studio, uid, lambda: tiles.start_tile(studio, NewTile(name, "C87300", recipe="R1")))
    elif kind == "reading":
        once(studio, uid, lambda: tiles.add_reading(studio, "T1", NewReading(30.0, 1.0, 2.0, note=name)))
    else:
        file = folder / f"{client}-{number}.png"
        if not file.exists():
            from PIL import Image

            Image.new("RGB", (120, 120), (client * 20, number // 256, number % 256)).save(file)
        once(studio, uid, lambda: tiles.add_photograph(studio, "T1", file, note=name))


def be_a_client(url: str, client: int, start: int, deeds: int, folder: Path) -> None:
    """Do deeds from ``start`` on; "ack N" after each. What the server did not take is sent again."""
    studio: Studio | None = None
    for number in range(start, deeds):
        while True:
            try:
                studio = studio or open_studio(url)
                do(studio, client, number, folder)
                break
            except StudioTrouble:
                time.sleep(0.1)
        os.write(1, f"ack {number}\n".encode())


# -- the parent -----------------------------------------------------------------------------------------


@dataclass
class Client:
    """A client as the parent sees it. acked: how many deeds were answered, in order."""

    number: int
    acked: int = 0
    heard: bytes = b""
    process: subprocess.Popen[bytes] | None = None

    def listen(self) -> None:
        """Take in what was said since."""
        assert self.process is not None and self.process.stdout is not None
        out: IO[bytes] = self.process.stdout
        while select.select([out], [], [], 0)[0]:
            part = os.read(out.fileno(), 65_536)
            if not part:
                return
            self.heard += part
            *lines, self.heard = self.heard.split(b"\n")  # a line cut off by a kill was not said
            for line in lines:
                assert line == b"ack %d" % self.acked, (self.number, line, self.acked)
                self.acked += 1


@dataclass
class Found:
    """What it came to."""

    deeds: int = 0
    kills: int = 0
    restarts: int = 0
    seconds: float = 0.0
    wrong: list[str] = field(default_factory=list)


def run(clients: int, deeds: int, kills: int, seed: int) -> Found:
    """Let the clients work until all is answered, killing some and restarting the server half-way."""
    from moto.server import ThreadedMotoServer
    from postgres_server import Server

    found, dice = Found(), random.Random(seed)
    logging.getLogger("werkzeug").disabled = True
    store = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    store.start()
    host, port = store.get_host_and_port()
    os.environ |= {
        "AWS_ENDPOINT_URL": f"http://{host}:{port}",
        "AWS_ACCESS_KEY_ID": "bench",
        "AWS_SECRET_ACCESS_KEY": "none",
        "AWS_DEFAULT_REGION": "us-east-1",
        "PATINA_PHOTOGRAPHS": "s3://clients/photographs",
    }
    import fsspec

    fsspec.filesystem("s3", skip_instance_cache=True).mkdir("clients")
    try:
        with Server() as server, tempfile.TemporaryDirectory() as folder:
            os.environ["XDG_CACHE_HOME"] = folder
            url = server.create("studio")
            make_studio(url)
            everyone = [Client(n) for n in range(clients)]
            started = time.monotonic()
            _let_them_work(everyone, server, url, deeds, kills, dice, Path(folder), found)
            found.seconds = time.monotonic() - started
            found.deeds = sum(c.acked for c in everyone)
            _look(url, clients, deeds, found)
    finally:
        store.stop()
    return found


def _let_them_work(everyone, server, url, deeds, kills, dice, folder, found) -> None:  # type: ignore[no-untyped-def]
    total = len(everyone) * deeds
    kill_at = sorted(dice.randrange(total // 10, total) for _ in range(kills))
    restart_at = total // 2
    while any(c.acked < deeds for c in everyone):
        for client in everyone:
            if client.acked < deeds and (client.process is None or client.process.poll() is not None):
                client.heard = b""
                words = ["--be", str(client.number), str(client.acked), "--deeds", str(deeds), "--url", url]
                command = [sys.executable, __file__, *words, "--folder", str(folder)]
                client.process = subprocess.Popen(command, stdout=subprocess.PIPE, cwd=ROOT)
        time.sleep(0.01)
        for client in everyone:
            client.listen()
        done = sum(c.acked for c in everyone)
        if not found.restarts and done >= restart_at:
            found.restarts += 1
            server.stop("immediate")
            time.sleep(0.5)
            server.start()
        while kill_at and done >= kill_at[0]:
            kill_at.pop(0)
            client = dice.choice([c for c in everyone if c.process and c.process.poll() is None] or everyone)
            time.sleep(dice.uniform(0.0, 0.02))
            client.process.send_signal(signal.SIGKILL)
            client.process.wait()
            client.listen()
            found.kills += 1
    for client in everyone:
        client.process.wait(timeout=60)


def _look(url: str, clients: int, deeds: int, found: Found) -> None:
    """Count every deed in the records."""
    asked = {(c, n): kind_of(c, n) for c in range(clients) for n in range(deeds)}
    wanted = Counter(asked.values())
    there: dict[str, Counter[str]] = {}
    with open_studio(url) as studio:
        events = [e for n in range(WORKS) for e in work.work_sheet(studio, f"J{n + 1}").events]
        there["pass"] = Counter(e.by for e in events if e.kind == "pass")
        there["note"] = Counter(e.note for e in events if e.kind == "note")
        there["stock"] = Counter(m.why for m in shelf.lot_movements(studio, "L1") if m.amount < 0)
        there["pot"] = Counter(use[2] for use in batches.batch_sheet(studio, "B1").used)
        there["tile"] = Counter(row.engraved for row in tiles.list_tiles(studio, limit=10**6) if "/" in row.engraved)
        shared = tiles.tile_sheet(studio, "T1")
        there["reading"] = Counter(row.note for row in shared.readings)
        there["photograph"] = Counter(row.note for row in shared.photographs)
        for (client, number), kind in asked.items():
            times = there[kind][f"{client}/{number}"]
            if times != 1:
                found.wrong.append(f"deed {client}/{number} ({kind}) is there {times} times")
        for kind, names in there.items():
            if sum(names.values()) != wanted[kind]:
                found.wrong.append(f"{sum(names.values())} of kind {kind}, {wanted[kind]} were done")
        numbers = Counter((e.kind, e.step, e.zone, e.pass_number, e.id) for e in events)
        if max(numbers.values()) > 1:
            found.wrong.append("an event twice")
        left, pot = shelf.lot_row(studio, "L1").left, batches.batch_sheet(studio, "B1").left_ml
        if left != LOT_G - TAKEN_G * wanted["stock"] or pot != POT_ML - USED_ML * wanted["pot"]:
            found.wrong.append(f"{left} g and {pot} mL are left")
        found.wrong += upkeep.check(studio).problems


def main() -> int:
    """Print the figures; fails where a deed is missing, there twice, or a sum is wrong."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    for name, usual in (("--clients", 8), ("--deeds", 500), ("--kills", 40), ("--seed", 1)):
        options.add_argument(name, type=int, default=usual)
    options.add_argument("--be", type=int, nargs=2, help=argparse.SUPPRESS)
    options.add_argument("--url", help=argparse.SUPPRESS)
    options.add_argument("--folder", type=Path, help=argparse.SUPPRESS)
    given = options.parse_args()
    if given.be:
        be_a_client(given.url, *given.be, given.deeds, given.folder)
        return 0
    found = run(given.clients, given.deeds, given.kills, given.seed)
    print(
        f"{given.clients} clients, {found.deeds} deeds answered, {found.kills} kills, {found.restarts} server restart"
    )
    print(f"lost, twice or wrong: {len(found.wrong)} {found.wrong[:5]}")
    print(f"{found.seconds:.0f} s, {found.deeds / found.seconds:.0f} deeds a second")
    return 1 if found.wrong or found.deeds != given.clients * given.deeds else 0


if __name__ == "__main__":
    raise SystemExit(main())
