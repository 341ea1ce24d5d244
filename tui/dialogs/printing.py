"""Printing: ask where to, then set the sheet in a thread."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tui.dialogs.path import AskPath

if TYPE_CHECKING:
    from tui.screens.base import Base

ENDINGS = (".pdf", ".svg", ".png")


def ask_print(screen: Base, what: str, name: str, write: Callable[[Path], Any]) -> None:
    """Ask for a path, then write. what: the sheet in words. name: what the file is called at first."""
    plain = "-".join("".join(c if c.isalnum() else " " for c in name.lower()).split())
    folder = Path(screen.studio.where) if Path(screen.studio.where).is_dir() else Path.cwd()
    before = "Ends in .pdf; .svg and .png are written too where that is its ending."
    dialog = AskPath(f"Write the {what}", ENDINGS, value=str(folder / f"{plain}.pdf"), must_exist=False, before=before)
    screen.ask(dialog, lambda path: _write(screen, what, path, write))


def _write(screen: Base, what: str, path: Path, write: Callable[[Path], Any]) -> None:
    def done(written: Any) -> None:
        paths = written if isinstance(written, tuple) else (path,)
        screen.said(f"Written: {', '.join(str(p) for p in paths)}")

    screen.work(f"Setting the {what}", lambda: write(path), done)
