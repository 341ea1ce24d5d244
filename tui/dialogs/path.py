"""Ask for a file: typed with completion, or found in the tree below."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.suggester import Suggester
from textual.widgets import DirectoryTree, Input

from tui.dialogs.base import Dialog
from tui.widgets.words import Static

PHOTOGRAPHS = (
    ".jpg",
    ".jpeg",
    ".png",
    ".tif",
    ".tiff",
    ".webp",
    ".heic",
    ".heif",
    ".dng",
    ".cr2",
    ".cr3",
    ".nef",
    ".arw",
)


class PathSuggester(Suggester):
    """Completes a path from what lies in its folder."""

    def __init__(self, endings: Sequence[str]) -> None:
        super().__init__(use_cache=False, case_sensitive=True)
        self._endings = tuple(endings)

    async def get_suggestion(self, value: str) -> str | None:
        """The first name that goes on from what is typed."""
        if not value:
            return None
        path = Path(value).expanduser()
        folder, start = (path, "") if value.endswith("/") else (path.parent, path.name)
        try:
            names = sorted(p for p in folder.iterdir() if p.name.startswith(start) and not p.name.startswith("."))
        except OSError:
            return None
        for found in names:
            if found.is_dir() or found.suffix.lower() in self._endings or not self._endings:
                return value + found.name[len(start) :] + ("/" if found.is_dir() else "")
        return None


class FileTree(DirectoryTree):
    """Folders, and the files that serve."""

    ICON_NODE = "▸ "
    ICON_NODE_EXPANDED = "▾ "
    ICON_FILE = "· "

    def __init__(self, start: Path, endings: Sequence[str], id: str) -> None:
        super().__init__(start, id=id)
        self._endings = tuple(endings)

    def filter_paths(self, paths: Iterable[Path]) -> Iterable[Path]:
        """Leave out hidden names and other kinds of file."""
        return [
            p
            for p in paths
            if not p.name.startswith(".") and (p.is_dir() or not self._endings or p.suffix.lower() in self._endings)
        ]


class AskPath(Dialog[Path]):
    """The answer is a path. must_exist: the file is to be read, not written."""

    YES = "Take (Enter)"
    folder: ClassVar[Path | None] = None  # where the last file was found

    def __init__(
        self, heading: str, endings: Sequence[str], *, value: str = "", must_exist: bool = True, before: str = ""
    ) -> None:
        super().__init__()
        self._heading = heading
        self._endings = tuple(endings)
        self._value = value
        self._must_exist = must_exist
        self._before = before
        self._told_of = ""  # a file that is there, once that was said

    def heading(self) -> str:
        """What file is asked for."""
        return self._heading

    def body(self) -> ComposeResult:
        """The field and the tree."""
        if self._before:
            yield Static(self._before, classes="field-hint", markup=False)
        start = self._start()
        value = self._value or f"{start}/"
        yield Input(value, id="path-input", suggester=PathSuggester(self._endings), compact=True, select_on_focus=False)
        yield Static(id="form-trouble", markup=False)
        yield Static("→ takes the completion, Tab goes to the folders below", classes="field-hint")
        yield FileTree(start, self._endings, id="path-tree")

    def _start(self) -> Path:
        """The folder below: of the file that is to be written, else the one that was used last."""
        offered = Path(self._value).expanduser().parent if self._value else None
        return offered if offered is not None and offered.is_dir() else AskPath.folder or Path.cwd()

    def on_mount(self) -> None:
        """Begin in the field."""
        self.query_one(Input).focus()

    @on(Input.Changed, "#path-input")
    def _begun_anew(self, event: Input.Changed) -> None:
        """A whole path behind the folder that is offered, as typed or pasted, takes its place."""
        whole = re.search(r"(?<=/)(?:/|~/)[^~]*$", event.value)
        if whole is not None and "://" not in event.value:
            event.input.value = whole[0]
            event.input.cursor_position = len(whole[0])

    @on(DirectoryTree.FileSelected)
    def _found(self, event: DirectoryTree.FileSelected) -> None:
        event.stop()
        self.query_one(Input).value = str(event.path)
        self.agreed()

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        self.agreed()

    def agreed(self) -> None:
        """Take what is typed, if it can be."""
        text = self.query_one(Input).value.strip()
        trouble = self._trouble(text)
        said = self.query_one("#form-trouble", Static)
        said.set_class(bool(trouble), "-said")
        if trouble:
            said.update(f"▲ {trouble}")
            return
        path = Path(text).expanduser()
        AskPath.folder = path.parent.resolve()
        self.dismiss(path)

    def _trouble(self, text: str) -> str:
        path = Path(text).expanduser()
        if not text:
            return "No file is named. Type its path, or choose it below."
        if path.is_dir():
            return f"{text} is a folder. Go on typing the name of a file in it."
        if self._must_exist and not path.is_file():
            return f"There is no file {text}. Check the path, or choose the file below."
        if not self._must_exist and not path.parent.is_dir():
            return f"There is no folder {path.parent}. Name a folder that is there."
        if not self._must_exist and path.is_file() and text != self._told_of:
            self._told_of = text
            return f"{text} is there already. Enter once more writes over it."
        return ""
