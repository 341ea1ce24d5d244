"""A page printed by a headless Chromium, and every address it asked the network for."""

from __future__ import annotations

import re
import shutil
import socket
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-default-apps",
    "--disable-domain-reliability",
    "--no-pdf-header-footer",
    "--proxy-bypass-list=<-loopback>",
]
# the browser asks its maker for the time and for updates, whatever the page
_ITS_OWN = re.compile(r"^\S+ (?:https?://)?[\w.-]*\.(?:google|googleapis|gstatic)\.com[:/]")


@dataclass(frozen=True)
class Printed:
    """pages: the text of each sheet, as laid out. asked: what the page asked the network for, by first line."""

    pdf: Path
    pages: tuple[str, ...]
    asked: tuple[str, ...]

    @property
    def words(self) -> str:
        """All text with single blanks."""
        return " ".join(" ".join(self.pages).split())


@contextmanager
def _asked_of() -> Iterator[tuple[int, list[str]]]:
    """A proxy that answers nothing and keeps what it was asked: (its port, the list)."""
    asked: list[str] = []
    door = socket.create_server(("127.0.0.1", 0))

    def answer() -> None:
        while True:
            try:
                caller, _ = door.accept()
            except OSError:
                return  # the door was closed
            with caller:
                caller.settimeout(2)
                asked.append(caller.recv(4096).split(b"\r\n", 1)[0].decode("latin-1"))
                caller.sendall(b"HTTP/1.1 502 Nothing is out there\r\nContent-Length: 0\r\n\r\n")

    threading.Thread(target=answer, daemon=True).start()
    try:
        yield door.getsockname()[1], asked
    finally:
        door.close()


def printed(page: Path, folder: Path) -> Printed:
    """The page as a browser prints it. folder: an empty one for the browser's profile and the PDF."""
    assert CHROMIUM is not None
    pdf = folder / "printed.pdf"
    with _asked_of() as (port, asked):
        command = [CHROMIUM, *FLAGS, f"--user-data-dir={folder / 'profile'}", f"--proxy-server=127.0.0.1:{port}"]
        subprocess.run(
            [*command, f"--print-to-pdf={pdf}", page.absolute().as_uri()], check=True, capture_output=True, timeout=90
        )
    text = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], check=True, capture_output=True, text=True).stdout
    return Printed(pdf, tuple(text.split("\f")[:-1]), tuple(line for line in asked if not _ITS_OWN.search(line)))


def without_styles(html: str) -> str:
    """The same page with every style taken out, as a reader that knows none shows it."""
    return re.sub(r'\sstyle="[^"]*"', "", re.sub(r"<style>.*?</style>", "", html, flags=re.DOTALL))
