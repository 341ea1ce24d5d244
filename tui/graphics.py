"""Pictures as sharp as the terminal can show them; half blocks are always there.

A terminal can only be asked before Textual reads its keys, so it is asked at the start, and only
where its name says that there is something to ask for.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from textual.widget import Widget

    from patina.bench.readings.showing import Preview

# Terminals known for kitty's or the sixel protocol, by what they put into the environment.
_NAMES = ("kitty", "foot", "mlterm", "wezterm", "ghostty", "iterm", "konsole", "contour", "rio")
_sharp: Any = None


def may_be_sharp() -> bool:
    """Whether the terminal's name says that it can show pixels. Inside tmux and screen it is not tried."""
    if os.environ.get("TMUX") or os.environ.get("STY"):
        return False
    words = " ".join(os.environ.get(name, "") for name in ("TERM", "TERM_PROGRAM", "LC_TERMINAL")).lower()
    return any(name in words for name in _NAMES) or "KONSOLE_VERSION" in os.environ


def ask_terminal() -> None:
    """Ask the terminal for its best protocol; to be called before the app runs."""
    global _sharp
    if not may_be_sharp():
        return
    from textual_image import renderable, widget

    if renderable.Image in (renderable.SixelImage, renderable.TGPImage):
        _sharp = widget.Image


def sharp_picture(preview: Preview) -> Widget | None:
    """A widget that shows the picture in pixels; None where the terminal has only cells."""
    if _sharp is None:
        return None
    from PIL import Image

    picture = Image.frombytes("RGB", (preview.columns, preview.rows), preview.rgb)
    widget: Widget = _sharp(picture)
    return widget
