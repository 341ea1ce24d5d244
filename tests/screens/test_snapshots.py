"""Every screen as it was looked at: words, colours and weights, at two sizes and in both looks; and its contrast."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from snapshot_scenes import PLACES, WALKS
from snapshots import (
    FOLDER,
    SIZES,
    VARIANTS,
    Picture,
    apart,
    cells,
    holds,
    near,
    plain,
    store,
    stored,
    whole_of,
)
from test_frame import _ratio

import tui.dialogs
import tui.screens
from tui.dialogs.base import Dialog
from tui.screens.base import Base

MOST_BYTES = 2_500_000
# classes that no picture shows, with the reason
NOT_SHOWN = {
    "Base": "what all screens share",
    "Place": "what the five places share",
    "Keeping": "what the five places share",
    "Going": "what the five places share",
    "Measuring": "what tiles and casts share",
    "Framing": "what screens share on which areas are drawn",
    "Rereading": "a bar that runs while photographs are read: test_photographs_elsewhere drives it",
    "TorchTally": "what the screen at the torch is made of",
    "Dialog": "what all dialogs share",
    "_Read": "what messages and notes share",
    "Conflict": "two people at one recipe: test_people_screens drives it",
    "TakingIn": "a bar that runs while photographs are filed: test_shoot_and_change drives it",
    "dialogs.Bringing": "a bar that runs while rows are brought in: test_bringing_screen drives it",
    "Change": "two photographs laid over each other take ten seconds: test_shoot_and_change drives it",
}


@pytest.mark.parametrize("name", [name for name in WALKS if name not in PLACES])
async def test_screens_look_as_they_were_looked_at(name: str, invented: Path) -> None:
    """Each screen on the way shows the words and colours that were looked at, at both sizes and in both looks."""
    await holds(name, WALKS[name], invented)


def _classes() -> Iterator[str]:
    for package, base in ((tui.screens, Base), (tui.dialogs, Dialog)):
        for module in pkgutil.iter_modules(package.__path__):
            for found in vars(importlib.import_module(f"{package.__name__}.{module.name}")).values():
                if (
                    isinstance(found, type)
                    and issubclass(found, base)
                    and found.__module__.startswith(package.__name__)
                ):
                    twice = found.__name__ == "Bringing" and package is tui.dialogs
                    yield "dialogs.Bringing" if twice else found.__name__


def test_every_screen_and_dialog_is_shown_or_has_a_reason() -> None:
    """No screen and no dialog is left out of the pictures without a word, and no reason stands for one shown."""
    shown = {whole_of(path)["screen"] for path in FOLDER.glob("*.json.gz")}
    missing = set(_classes()) - shown - set(NOT_SHOWN)
    assert not missing, f"never shown: {sorted(missing)}"
    assert not shown & set(NOT_SHOWN), "shown although a reason says it is not"
    assert set(NOT_SHOWN) <= set(_classes()), "a reason for what is not there"


def test_the_folder_stays_small() -> None:
    """All pictures together stay below 2.5 MB."""
    assert 0 < sum(path.stat().st_size for path in FOLDER.iterdir()) < MOST_BYTES


def test_every_line_is_as_wide_as_the_terminal() -> None:
    """No line is cut or too long, and there are as many as the terminal has, at both sizes."""
    from rich.cells import cell_len

    for path in FOLDER.glob("*.json.gz"):
        pictures = stored(path)
        for n, size in enumerate(SIZES):
            for variant in VARIANTS[2 * n : 2 * n + 2]:
                lines = pictures[variant]["lines"]
                assert len(lines) == size[1], (path.name, variant)
                assert {sum(cell_len(run[0]) for run in runs) for runs in lines} == {size[0]}, (path.name, variant)


def _drawn(character: str) -> bool:
    """Whether a character is a drawing rather than text: blanks, boxes, blocks, geometric shapes, Braille."""
    return character.isspace() or 0x2500 <= ord(character) <= 0x25FF or 0x2800 <= ord(character) <= 0x28FF


def faint(picture: Picture, least: float) -> list[str]:
    """Text whose contrast is below the least; of a dialog only itself counts, what lies behind it is out of use."""
    left, top, right, bottom = picture["region"] or (0, 0, 10_000, 10_000)
    found = []
    for n, runs in enumerate(picture["lines"]):
        if not top <= n < bottom:
            continue
        seen: dict[tuple[str, str], str] = {}
        for column, (character, ink, ground, _) in enumerate(cells(runs)):
            if left <= column < right and not _drawn(character):
                seen[ink, ground] = seen.get((ink, ground), "") + character
        for (ink, ground), text in seen.items():
            if (ratio := _ratio(ink, ground)) < least:
                found.append(f"line {n}: {text!r} {ink} on {ground}: {ratio:.2f}")
    return found


def test_every_text_on_every_screen_reaches_aa() -> None:
    """Each text on each picture has at least 4.5 to 1 in both looks. Source: WCAG 2.2, criterion 1.4.3."""
    told = [
        f"{path.name} {variant}: {words}"
        for path in sorted(FOLDER.glob("*.json.gz"))
        for variant, picture in stored(path).items()
        for words in faint(picture, 4.5)
    ]
    assert not told, "\n".join([*told[:40], f"{len(told)} texts are too faint"])


def test_a_difference_is_told_line_by_line(tmp_path: Path) -> None:
    """What is stored comes back as it was; another word, another colour and another weight are each told."""
    run = ("Moss green", "#e9dfd0", "#15110d", False)
    one: Picture = {"lines": [[run], [("  5 g/L", "#b3a48f", "#15110d", True)]], "region": None}
    store(dict.fromkeys(VARIANTS, one), tmp_path / "a.json.gz", "w", "S")
    again = stored(tmp_path / "a.json.gz")[VARIANTS[0]]
    assert again == one and not apart(one, again)
    assert plain(again) == ["Moss green", "  5 g/L"]
    other: Picture = {"lines": [[run], [("  6 g/L", "#b3a48f", "#15110d", True)]], "region": None}
    assert apart(one, other) == ["-  1 │  5 g/L", "+  1 │  6 g/L"]
    paler: Picture = {"lines": [[("Moss green", "#e9dfd0", "#55110d", False)], one["lines"][1]], "region": None}
    assert len(apart(one, paler)) == 1 and "line 0, column 0" in apart(one, paler)[0]
    bolder: Picture = {"lines": [[(*run[:3], True)], one["lines"][1]], "region": None}
    assert len(apart(one, bolder)) == 1


def test_near_colours_are_the_same() -> None:
    """Decoders of photographs differ by a little, themes by more."""
    assert near("#102030", "#112131") and near("", "")
    assert not near("#102030", "#302010") and not near("", "#102030")


def test_faint_text_is_found() -> None:
    """Grey on grey is told, black on white is not, and what lies behind a dialog is not looked at."""
    runs = [("ab", "#777777", "#888888", False), ("cd", "#000000", "#ffffff", False)]
    assert len(faint({"lines": [runs], "region": None}, 4.5)) == 1
    assert faint({"lines": [runs], "region": [2, 0, 4, 1]}, 4.5) == []
    assert len(faint({"lines": [runs], "region": [0, 0, 2, 1]}, 4.5)) == 1
