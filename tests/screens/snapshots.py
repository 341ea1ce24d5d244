"""What a screen shows, as text with colours: read from the running app, stored small, compared line by line."""

from __future__ import annotations

import gzip
import json
import random
import shutil
import tempfile
import time
import uuid
from collections.abc import Iterator, Sequence
from contextlib import chdir, contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any
from unittest.mock import patch
from zoneinfo import ZoneInfo

import time_machine
from screens_driver import Driver, Running
from textual.screen import ModalScreen
from textual.widgets import Input, TextArea

from patina.demo.studio import make_demo
from tui.screens.torch import Torch
from tui.themes import DARK, LIGHT
from tui.widgets.bars import WorkBar

FOLDER = Path(__file__).parent / "snapshots"
DAY = datetime(2026, 11, 23, 9, 30, tzinfo=ZoneInfo("UTC"))  # after everything in the invented studio
SIZES = ((120, 36), (80, 24))
THEMES = (DARK.name, LIGHT.name)
VARIANTS = tuple(f"{w}x{h} {theme.split()[-1]}" for w, h in SIZES for theme in THEMES)
AGAIN = "If the change is meant: python tests/screens/make_snapshots.py, look at the pictures, commit them."
NEAR = 8  # of 255: how far colours may lie apart, since photographs decode a little differently elsewhere

Run = tuple[str, str, str, bool]  # text, ink, ground, bold
Picture = dict[str, Any]  # lines: of runs. region: of the dialog on top, None without one


@contextmanager
def frozen() -> Iterator[None]:
    """The clock stands still and chance repeats, so that a screen is the same on every day."""
    chance = random.Random(7)
    ids = patch.object(uuid, "uuid4", lambda: uuid.UUID(int=chance.getrandbits(128), version=4))
    with time_machine.travel(DAY, tick=False), ids:
        yield


def invented_studio(where: Path) -> Path:
    """The invented studio of one day."""
    with frozen():
        return make_demo(where)


async def settled(person: Driver, first: float = 0.0) -> None:
    """Wait until no work goes on and two looks show the same; words that go away by themselves are put away.

    first: seconds before the first look, since sheets and searches wait a moment for the next key.
    """
    app = person.app
    if first:
        await person.pilot.pause(first)
    app.clear_notifications()
    app.screen.refresh(layout=True)
    await person.pilot.pause()
    for screen in app.screen_stack:
        if isinstance(screen, Torch):
            screen._read_at = time.monotonic()  # a slow machine spends no minute at the torch
            screen._tick()  # else once a second
    for field in app.screen.query("Input, TextArea"):
        if isinstance(field, Input | TextArea):
            field.cursor_blink = False
    before: Picture | None = None
    for _ in range(400):
        await person.pilot.pause(0.03)
        if app.jobs.running:
            before = None
            continue
        for screen in app.screen_stack:  # the bar of work looks only now and then whether work goes on
            for bar in screen.query(WorkBar):
                bar.set_class(False, "-busy")
        now = picture_of(person)
        if now == before:
            return
        before = now
    raise AssertionError(f"The screen does not come to rest:\n{person.text()}")


def picture_of(person: Driver) -> Picture:
    """What the app shows now."""
    screen = person.app.screen
    lines = []
    for strip in screen._compositor.render_strips():
        runs: list[Run] = []
        for segment in strip:
            style = segment.style
            ink = style.color.triplet.hex if style and style.color and style.color.triplet else ""
            ground = style.bgcolor.triplet.hex if style and style.bgcolor and style.bgcolor.triplet else ""
            run = (segment.text, ink if segment.text.strip() else "", ground, bool(style and style.bold))
            if runs and runs[-1][1:] == run[1:]:
                runs[-1] = (runs[-1][0] + run[0], *run[1:])
            else:
                runs.append(run)
        lines.append(runs)
    region = None
    if isinstance(screen, ModalScreen) and screen.children:
        at = screen.children[0].region
        region = [at.x, at.y, at.right, at.bottom]
    return {"lines": lines, "region": region}


async def pictures(person: Driver, svgs: Path | None = None, name: str = "", looks: int = 2) -> dict[str, Picture]:
    """The screen at both sizes, in both looks or each in one of its own; also as SVG where a folder is given."""
    dark, light = THEMES
    taken: dict[str, Picture] = {}
    for size, themes in zip(SIZES, ((dark, light), (light, dark)), strict=True):  # each look is changed once
        if tuple(person.app.size) != size:
            await person.pilot.resize_terminal(*size)
        for theme in themes[:looks]:
            person.app.theme = theme
            await settled(person)
            variant = f"{size[0]}x{size[1]} {theme.split()[-1]}"
            taken[variant] = picture_of(person)
            if svgs is not None:
                (svgs / f"{name}-{variant.replace(' ', '-')}.svg").write_text(
                    person.app.export_screenshot(title=name), "utf-8"
                )
    await person.pilot.resize_terminal(*SIZES[0])
    await settled(person)
    return {variant: taken[variant] for variant in VARIANTS if variant in taken}


def store(taken: dict[str, Picture], path: Path, walk: str, screen: str) -> None:
    """Write the pictures of one screen, the same bytes for the same pictures, with the way and the screen's class."""
    styles: list[tuple[str, str, bool]] = []
    small = {}
    for variant, picture in taken.items():
        lines = []
        for runs in picture["lines"]:
            line = []
            for text, *style in runs:
                if tuple(style) not in styles:
                    styles.append(tuple(style))
                line += [text, styles.index(tuple(style))]
            lines.append(line)
        small[variant] = {"lines": lines, "region": picture["region"]}
    text = json.dumps(
        {"walk": walk, "screen": screen, "styles": styles, "pictures": small}, ensure_ascii=False, separators=(",", ":")
    )
    path.write_bytes(gzip.compress(text.encode(), 9, mtime=0))


def whole_of(path: Path) -> dict[str, Any]:
    """What was written of one screen."""
    whole: dict[str, Any] = json.loads(gzip.decompress(path.read_bytes()))
    return whole


def stored(path: Path) -> dict[str, Picture]:
    """The pictures of one screen as they were written."""
    whole = whole_of(path)
    styles = whole["styles"]
    return {
        variant: {
            "lines": [
                [(text, *styles[n]) for text, n in zip(line[::2], line[1::2], strict=True)] for line in one["lines"]
            ],
            "region": one["region"],
        }
        for variant, one in whole["pictures"].items()
    }


def plain(picture: Picture) -> list[str]:
    """The words alone, line by line."""
    return ["".join(run[0] for run in runs).rstrip() for runs in picture["lines"]]


def cells(runs: Sequence[Run]) -> Iterator[tuple[str, str, str, bool]]:
    """Character by character."""
    for text, ink, ground, bold in runs:
        for character in text:
            yield character, ink if character.strip() else "", ground, bold


def apart(one: Picture, other: Picture) -> list[str]:
    """What differs, as a person reads it: lines of text, then places whose colours differ."""
    ours, theirs = plain(one), plain(other)
    found = [
        f"{sign} {n:>2} │{text}" for n in range(max(len(ours), len(theirs))) for sign, text in _line(ours, theirs, n)
    ]
    if found:
        return found
    for n, (mine, other_runs) in enumerate(zip(one["lines"], other["lines"], strict=True)):
        for column, (a, b) in enumerate(zip(cells(mine), cells(other_runs), strict=True)):
            if not (near(a[1], b[1]) and near(a[2], b[2]) and a[3] == b[3]):
                found.append(f"line {n}, column {column} {a[0]!r}: was {a[1:]}, is {b[1:]}")
                break
    return found


def _line(ours: list[str], theirs: list[str], n: int) -> Iterator[tuple[str, str]]:
    mine, yours = (lines[n] if n < len(lines) else "" for lines in (ours, theirs))
    if mine != yours:
        yield "-", mine
        yield "+", yours


def near(one: str, other: str) -> bool:
    """Whether two colours are the same, or as near as two decoders of a photograph come."""
    if one == other:
        return True
    if not one or not other:
        return False
    return all(abs(int(one[i : i + 2], 16) - int(other[i : i + 2], 16)) <= NEAR for i in (1, 3, 5))


SOMEWHERE = "patina_pictures"  # stands for the folder's own name, which is another each time


@contextmanager
def somewhere() -> Iterator[Path]:
    """A folder whose name is as long as SOMEWHERE, which goes away again."""
    short = "/tmp" if Path("/tmp").is_dir() else None
    with tempfile.TemporaryDirectory(prefix="patina_", dir=short) as folder:
        yield Path(folder)


async def walked(way: Any, demo: Path, svgs: Path | None = None, *, empty: bool = False, looks: int = 2) -> Any:
    """Go a way through a copy of the invented studio, or through an empty one, and give the walk with its pictures."""
    from snapshot_scenes import Walk

    from patina.bench.studio import open_studio
    from tui.dialogs.path import AskPath
    from tui.screens import torch
    from tui.widgets import thumbnails

    quick, anew = patch.object(torch, "HELD_KEY_S", 0.0), patch.object(AskPath, "folder", None)
    with somewhere() as folder, chdir(folder), frozen(), quick, anew:
        thumbnails.CACHE._kept.clear()
        where = folder / "studio"
        if not empty:
            shutil.copytree(demo, where)
        with open_studio(where) as studio:
            async with Running(studio, SIZES[0]) as person:
                person.app.animation_level = "none"
                walk = Walk(person, folder, svgs, looks)
                await way(walk)
        for taken in walk.taken.values():
            for picture in taken.values():
                picture["lines"] = [
                    [(text.replace(folder.name, SOMEWHERE), *style) for text, *style in runs]
                    for runs in picture["lines"]
                ]
    return walk


async def holds(name: str, way: Any, invented: Path) -> None:
    """The pictures on a way are those that were looked at, and no others are stored of it."""
    walk = await walked(way, invented, empty=name == "empty")
    told = []
    for picture, taken in walk.taken.items():
        path = FOLDER / f"{picture}.json.gz"
        if not path.is_file():
            told.append(f"{picture}: was never looked at")
            continue
        known = stored(path)
        for variant in taken:
            if differs := apart(known[variant], taken[variant]):
                told.append("\n".join([f"{picture}, {variant}", *differs[:24]]))
    assert not told, "\n\n".join([AGAIN, *told[:6], f"{len(told)} pictures differ"])
    ours = {path.name.removesuffix(".json.gz") for path in FOLDER.glob("*.json.gz") if whole_of(path)["walk"] == name}
    assert ours == set(walk.taken), "pictures of screens that are no longer on the way"
