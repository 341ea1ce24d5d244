"""A terminal of the test's own: the program runs in it as in any, its questions are answered by the published
protocols, and what it writes is kept.

Sources: kitty's terminal graphics protocol (query a=q, answered by OK; chunks; placeholders); the VT340 manual (primary
device attributes, of which 4 is sixel; sixel data); xterm's control sequences (CSI 16 t, XTVERSION).
"""

from __future__ import annotations

import fcntl
import io
import os
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from base64 import standard_b64decode
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Self

from PIL import Image

ROOT = Path(__file__).parents[2]
CELL = (10, 20)  # width and height of a cell in pixels
_QUESTIONS = re.compile(rb"\x1b_Gi=(?P<kitty>\d+),[^;]*a=q[^;]*;[^\x1b]*\x1b\\|(?P<cell>\x1b\[16t)|"
                        rb"(?P<name>\x1b\[>0?q)|(?P<what>\x1b\[0?c)")  # fmt: skip
_SEQUENCE = re.compile(
    rb"\x1b_[^\x1b]*\x1b\\|\x1bP[^\x1b]*\x1b\\|\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)|"
    rb"\x1b\[[0-?]*[ -/]*[@-~]|\x1b[()][0-2AB]|\x1b."
)


class Terminal:
    """kitty: whether the graphics protocol is answered by OK. attributes: of the answer to "what are you", None for
    a terminal that answers nothing. name: its answer to XTVERSION, empty for none. size: columns and lines."""

    def __init__(
        self,
        program: list[str],
        *,
        kitty: bool = False,
        attributes: str | None = None,
        name: str = "",
        size: tuple[int, int] = (120, 36),
        env: Mapping[str, str] | None = None,
    ) -> None:
        self.kitty, self.attributes, self.name = kitty, attributes, name
        self.written = b""
        self.asked: list[str] = []
        self._answered = 0
        self._master, self._slave = os.openpty()
        fcntl.ioctl(self._slave, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
        own = {
            k: v
            for k, v in os.environ.items()
            if not re.match("TMUX|STY|ZELLIJ|SSH_|NO_COLOR|COLORTERM|TERM|PATINA_|COLUMNS$|LINES$", k)
        }
        own.update({"TERM": "xterm-256color", "LANG": "C.UTF-8", "PYTHONPATH": str(ROOT), **(env or {})})
        self._process = subprocess.Popen(
            [sys.executable, "-c", "from patina.cli import main; main()", *program],
            stdin=self._slave, stdout=self._slave, stderr=self._slave, env=own, cwd=ROOT,
            start_new_session=True, preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0) and None,
        )  # fmt: skip
        os.close(self._slave)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self._process.poll() is None:
            os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()
        os.close(self._master)

    def _read(self, seconds: float) -> None:
        come = []
        while select.select([self._master], [], [], 0.02 if come else seconds)[0]:
            try:
                come.append(os.read(self._master, 65536))
            except OSError:
                raise AssertionError(f"the program ended:\n{self.text()[-2000:]}") from None
        self.written += b"".join(come)
        self._answer()

    def _answer(self) -> None:
        for found in _QUESTIONS.finditer(self.written, self._answered):
            kind = found.lastgroup or ""
            self._answered = found.end()
            self.asked.append(kind)
            answers = {
                "kitty": f"\x1b_Gi={(found['kitty'] or b'').decode()};OK\x1b\\" if self.kitty else "",
                "cell": f"\x1b[6;{CELL[1]};{CELL[0]}t",
                "name": f"\x1bP>|{self.name}\x1b\\" if self.name else "",
                "what": f"\x1b[?{self.attributes}c",
            }
            if self.attributes is not None:
                os.write(self._master, answers[kind].encode())

    def press(self, keys: str) -> None:
        """Type."""
        os.write(self._master, keys.encode())

    def until(self, seen: Callable[[], bool], seconds: float = 60.0) -> None:
        """Wait until something is so."""
        end = time.monotonic() + seconds
        while not seen():
            assert time.monotonic() < end, f"never seen; written last:\n{self.text()[-3000:]}"
            self._read(0.2)

    def until_text(self, *words: str, since: int = 0) -> None:
        """Wait until words were written, after so many bytes."""
        self.until(lambda: any(w in self.text(since) for w in words))

    def rest(self, seconds: float = 0.4, most: float = 3.0) -> None:
        """Wait until nothing was written for a while; a cursor that blinks is not waited for."""
        end = time.monotonic() + most
        while time.monotonic() < end:
            before = len(self.written)
            self._read(seconds)
            if len(self.written) == before:
                return

    def text(self, since: int = 0) -> str:
        """What was written, without control sequences."""
        return _SEQUENCE.sub(b"", self.written[since:]).decode("utf-8", "replace")


def kitty_pictures(written: bytes) -> dict[int, Image.Image]:
    """Every picture that was sent by kitty's protocol and not removed, by its number."""
    pictures: dict[int, Image.Image] = {}
    keys: dict[str, str] = {}
    data = b""
    for found in re.finditer(rb"\x1b_G([^;\x1b]*)(?:;([^\x1b]*))?\x1b\\", written):
        now = dict(pair.split("=", 1) for pair in found[1].decode().split(","))
        if now.get("a") == "q":
            continue
        if now.get("a") == "d":
            assert now["d"] == "I"
            pictures.pop(int(now["i"]), None)
            continue
        assert len(found[2] or b"") <= 4096, "no piece is longer than 4096 bytes"
        if data:
            assert set(now) <= {"m", "q"}, "further pieces carry nothing else"
        else:
            keys = now
        data += found[2] or b""
        if now.get("m", "0") == "0" and data:
            assert keys["f"] == "100"
            pictures[int(keys["i"])] = Image.open(io.BytesIO(standard_b64decode(data))).convert("RGB")
            data = b""
    assert not data, "a picture was sent to its end"
    return pictures


def placeholders(written: bytes) -> set[tuple[int, int, int]]:
    """Cells that stand for a picture: its number by their colour, and their first two marks."""
    found = set()
    for cells in re.finditer(rb"\x1b\[(?:\d+;)*38;2;(\d+);(\d+);(\d+)[\d;]*m([^\x1b]*)", written):
        number = int(cells[1]) << 16 | int(cells[2]) << 8 | int(cells[3])
        for one in cells[4].decode("utf-8", "replace").split(chr(0x10EEEE))[1:]:
            found.add((number, ord(one[0]), ord(one[1])))
    return found


def sixel_pictures(written: bytes, folder: Path) -> list[Image.Image]:
    """Every sixel picture that was written, decoded by libsixel."""
    pictures = []
    for n, found in enumerate(re.finditer(rb"\x1bP[\d;]*q[^\x1b]*\x1b\\", written)):
        source, target = folder / f"{n}.six", folder / f"{n}.png"
        source.write_bytes(found[0])
        subprocess.run(["sixel2png", "-i", source, "-o", target], check=True, timeout=60)
        pictures.append(Image.open(target).convert("RGB"))
    return pictures
