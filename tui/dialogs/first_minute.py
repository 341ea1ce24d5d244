"""The doors into an empty studio."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from textual.content import Content

from tui.dialogs.choose import Choose
from tui.widgets.words import words

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from tui.screens.finishes import Finishes

LOOK_AT_DEMO = "look at the demo"  # what the app is left with; the command opens the demo then

_DOORS = (
    ("demo", "Look at the demo", "An invented studio to look around in. Nothing of yours is touched."),
    ("bring", "Bring in what I have", "Recipe files, spreadsheets, cards, a folder of old photographs."),
    ("first", "Start a first recipe", "A few questions, then its text; what is wrong is said as you write."),
    ("starters", "Take the starters", "Twenty published or common recipes to begin tiles with."),
    ("who", "Who I am, and how I read", "Name, studio, language, decimal mark, °C or °F. Also with F9."),
)


def holds_nothing(studio: Studio) -> bool:
    """Whether neither a tile nor a piece nor a lot is on record."""
    from patina.bench.pieces.casts import list_pieces
    from patina.bench.readings.tiles import list_tiles
    from patina.bench.shelves.shelf import list_lots

    return not list_tiles(studio, limit=1) and not list_pieces(studio) and not list_lots(studio)


def open_doors(screen: Finishes) -> None:
    """Ask an empty studio's owner where to begin; Escape leaves the list as it is."""
    options = [(id, _door(name, what)) for id, name, what in _DOORS]
    heading = f"An empty studio, in {screen.studio.where}"
    screen.ask(Choose(heading, options), lambda door: _through(screen, door))


def _door(name: str, what: str) -> Content:
    return words(name, "bold $primary") + Content("\n  ") + words(what, "$text-muted") + Content("\n")


def _through(screen: Finishes, door: str) -> None:
    if door == "demo":
        screen.patina.exit(LOOK_AT_DEMO)
    elif door == "bring":
        _bring(screen)
    elif door == "first":
        screen.action_new()
    elif door == "starters":
        screen.action_starters()
    else:
        screen.patina.ask_settings(lambda: open_doors(screen))


def _bring(screen: Finishes) -> None:
    from tui.screens.bringing import ask_what

    ways: list[tuple[str, Any]] = [
        ("files", "Recipe files (TOML) or an archive this program wrote"),
        ("tables", "A spreadsheet, or a folder of old photographs"),
    ]
    screen.ask(
        Choose("What do you have?", ways),
        lambda way: screen.action_take_in() if way == "files" else ask_what(screen),
    )
