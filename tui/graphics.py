"""Pictures as sharp as the terminal can show them; half blocks are always there.

A terminal can only be asked before Textual reads its keys, so it is asked once, at the start. The last
question is one that every terminal answers, in order, so nothing is waited for longer than needed.
"""

from __future__ import annotations

import importlib
import io
import os
import re
import sys
import time
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patina.errors import Refused

if TYPE_CHECKING:
    from PIL.Image import Image
    from textual.widget import Widget

ENVIRONMENT = "PATINA_PICTURES"
CHOICES = ("auto", "kitty", "sixel", "blocks")
# A pixel of kitty's protocol, not to be kept; the terminal's name; the size of a cell; what it is.
QUERY = "\x1b_Gi=31,s=1,v=1,a=q,t=d,f=24;AAAA\x1b\\" + "\x1b[>q" + "\x1b[16t" + "\x1b[c"
_PATIENCE_S, _FAR_PATIENCE_S = 1.0, 2.0  # for a terminal here, and for one at the other end of a line
# They answer kitty's question and do not know placeholders, which is how pictures are put among text here.
_NO_PLACEHOLDERS = ("warp", "wezterm", "konsole", "iterm2")
_MULTIPLEXERS = ("tmux", "screen", "zellij")
_MUTE = ("dumb", "linux", "unknown")


@dataclass(frozen=True, slots=True)
class Terminal:
    """What the terminal shows pictures by: "kitty", "sixel" or "blocks". cell_px: width and height of a cell."""

    protocol: str = "blocks"
    cell_px: tuple[int, int] = (10, 20)  # the VT340's, where a terminal does not say


terminal = Terminal()


def wished(environ: Mapping[str, str]) -> str:
    """What PATINA_PICTURES asks for, "auto" where it is not set. Raises Refused for a word that is none.

    >>> wished({"PATINA_PICTURES": "Sixel"}), wished({})
    ('sixel', 'auto')
    """
    word = environ.get(ENVIRONMENT, "").strip().casefold() or "auto"
    if word not in CHOICES:
        raise Refused(f"{ENVIRONMENT} is '{word}'.", f"Set it to one of: {', '.join(CHOICES)}; or leave it out.")
    return word


def may_ask(environ: Mapping[str, str]) -> bool:
    """Whether pictures are tried: not inside tmux, screen and the like, which hand on neither questions nor
    pictures unharmed, not without colour, and not where a question would be printed."""
    term = environ.get("TERM", "").casefold()
    if any(environ.get(name) for name in ("TMUX", "STY", "ZELLIJ", "NO_COLOR")):
        return False
    if environ.get("TERM_PROGRAM") == "Apple_Terminal" or "TEXTUAL_DRIVER" in environ:
        return False
    return term not in ("", *_MUTE) and not term.startswith(_MULTIPLEXERS)


def protocol_of(answers: bytes) -> str:
    """The best protocol that a terminal's answers to QUERY allow.

    Sixel comes first where both are there: those terminals do not know kitty's placeholders.

    >>> protocol_of(b"\\x1b[?62;4;22c"), protocol_of(b"\\x1b_Gi=31;OK\\x1b\\\\\\x1b[?62c"), protocol_of(b"\\x1b[?1;2c")
    ('sixel', 'kitty', 'blocks')
    """
    name = _found(rb"\x1bP>\|([^\x1b]*)\x1b\\", answers).casefold()
    if name.startswith(_MULTIPLEXERS):
        return "blocks"
    if "4" in _found(rb"\x1b\[\?([\d;]*)c", answers).split(";"):
        return "sixel"
    if b"\x1b_Gi=31;OK\x1b\\" in answers and not name.startswith(_NO_PLACEHOLDERS):
        return "kitty"
    return "blocks"


def cell_of(answers: bytes) -> tuple[int, int] | None:
    """Width and height of a cell in pixels from the answer to CSI 16 t, None where none came.

    >>> cell_of(b"\\x1b[6;20;9t\\x1b[?62c")
    (9, 20)
    """
    found = re.search(rb"\x1b\[6;(\d+);(\d+)t", answers)
    size = (int(found[2]), int(found[1])) if found else (0, 0)
    return size if min(size) > 0 else None


def _found(pattern: bytes, answers: bytes) -> str:
    found = re.search(pattern, answers)
    return found[1].decode("ascii", "replace") if found else ""


def ask_terminal() -> None:
    """Ask the terminal for its best protocol; to be called before the app runs. Raises Refused for a
    PATINA_PICTURES that is none."""
    global terminal
    terminal = Terminal()
    wish = wished(os.environ)
    if wish == "blocks" or (wish == "auto" and not may_ask(os.environ)):
        return
    answers = _answers(os.environ)
    protocol = protocol_of(answers) if wish == "auto" else wish
    terminal = Terminal(protocol, cell_of(answers) or _cell_by_system() or Terminal().cell_px)
    if protocol == "kitty":  # a picture's number is written as a colour of 24 bits, which ssh does not tell of
        os.environ.setdefault("COLORTERM", "truecolor")


def _cell_by_system() -> tuple[int, int] | None:
    """The size of a cell by the window's size in pixels, None where the system does not say."""
    try:
        import fcntl
        import struct
        import termios

        rows, columns, width, height = struct.unpack("HHHH", fcntl.ioctl(1, termios.TIOCGWINSZ, bytes(8)))
    except (ImportError, OSError):
        return None
    size = (width // max(columns, 1), height // max(rows, 1))
    return size if min(size) > 0 else None


def _answers(environ: Mapping[str, str]) -> bytes:
    """What the terminal answers to QUERY; empty where there is none to ask, or it says nothing in time."""
    if sys.platform == "win32" or not all(s is not None and s.isatty() for s in (sys.__stdin__, sys.__stdout__)):
        return b""
    import select
    import termios
    import tty

    assert sys.__stdin__ is not None and sys.__stdout__ is not None
    keys = sys.__stdin__.fileno()
    before = termios.tcgetattr(keys)
    far = any(environ.get(name) for name in ("SSH_CONNECTION", "SSH_TTY", "SSH_CLIENT"))
    until = time.monotonic() + (_FAR_PATIENCE_S if far else _PATIENCE_S)
    answers = b""
    try:
        tty.setcbreak(keys, termios.TCSANOW)
        sys.__stdout__.write(QUERY)
        sys.__stdout__.flush()
        while not re.search(rb"\x1b\[\?[\d;]*c", answers):
            left = until - time.monotonic()
            if left <= 0 or not select.select([keys], [], [], left)[0]:
                break
            more = os.read(keys, 1024)
            if not more:
                break
            answers += more
    finally:
        termios.tcsetattr(keys, termios.TCSANOW, before)
    return answers


def sharp_picture(picture: Image) -> Widget | None:
    """A widget that shows the picture in pixels; None where the terminal has only cells."""
    if terminal.protocol == "blocks":
        return None
    _library()
    if terminal.protocol == "kitty":
        from tui.widgets.kitty import KittyPicture

        return KittyPicture(picture, terminal.cell_px)
    from textual_image.widget import SixelImage

    widget: Widget = SixelImage(picture)
    return widget


def _library() -> None:
    """Bring in the library that writes pictures, without its asking the terminal, whose answers would now be
    taken for keys; what it would ask is known."""
    if "textual_image.widget" in sys.modules:
        return
    own = sys.__stdout__
    try:
        sys.__stdout__ = io.TextIOWrapper(io.BytesIO())  # type: ignore[misc]
        importlib.import_module("textual_image.widget")
    finally:
        sys.__stdout__ = own  # type: ignore[misc]
    from textual_image import _terminal

    setattr(_terminal.get_cell_size, "_result", _terminal.CellSize(*terminal.cell_px))  # noqa: B010 - where it keeps it
