"""One grammar of keys: the same key does the same kind of thing wherever it stands, or it is said why not."""

from __future__ import annotations

from collections import defaultdict

import pytest

from tui.action import EVERYWHERE, PLACES, Action
from tui.actions import ACTIONS

LONGEST_LABEL = 12

# key: what it means on every screen, and the actions that mean this
GRAMMAR: dict[str, tuple[str, tuple[str, ...]]] = {
    "escape": ("back", ("back", "leave")),
    "question_mark": ("help", ("help",)),
    "f1": ("help", ("help",)),
    "f2": ("handbook", ("handbook",)),
    "f5": ("read again", ("read_again",)),
    "f7": ("print", ("print_sheet", "picture")),
    "slash": ("search", ("search",)),
    "ctrl+z": ("undo", ("undo",)),
    "ctrl+y": ("redo", ("redo",)),
    "u": ("undo", ("undo",)),
    "ctrl+s": ("keep what stands here", ("keep", "save", "save_batch", "save_picture", "keep_mapping", "read")),
    "ctrl+o": ("bring in", ("bring_in",)),
    "ctrl+p": ("find", ("command_palette",)),
    "enter": ("go on with what is chosen", ("open_sheet", "open_tile", "keep", "read", "meaning", "bring", "zone")),
    "n": ("something new", ("new", "write", "add_area", "type('note')")),
    "e": ("edit what stands", ("edit", "change", "correct")),
    "p": ("print", ("print_sheet", "picture")),
    "y": ("plot", ("plot",)),
    "g": ("go to what belongs to it", ("related",)),
    "v": ("next list", ("next_list",)),
    "x": ("more, seldom needed", ("more",)),
    "d": ("take away", ("take_back", "drop_area")),
    "delete": ("take away", ("take_back", "drop_area")),
    "r": ("read, or let go after reading", ("reading", "release")),
    "l": ("look, or look for", ("look", "log", "nearest")),
    "c": ("hold one thing against another", ("compare", "two", "corrected", "missing", "old_data")),
    "H": ("history", ("past",)),
    "A": ("amend", ("amend",)),
    "B": ("archive", ("archive",)),
}

_GLOVES = "at the torch every letter is the first of what a wet glove wants: vessel, step, zone, heat"
_MAP = "the map has no print of its own; letters are the first of what is put on it"
_TABLE = "an old table is not a record: letters are the first of what is asked about it"
_TWO = "nothing more is offered where things lie beside each other; x exchanges them"
# (screen, key): why the key of the grammar means something else there
EXCEPTIONS: dict[tuple[str, str], str] = {
    ("safety", "p"): "the pH measured; F7 and P print",
    ("treatment-map", "p"): _MAP,
    ("treatment-map", "r"): _MAP,
    ("photograph", "p"): "the points of the chart; a photograph is not printed",
    ("photograph", "e"): "the edition of the chart; a photograph is never edited",
    ("bringing", "p"): _TABLE,
    ("bringing", "f7"): _TABLE,
    ("bringing", "e"): _TABLE,
    ("bringing", "l"): _TABLE,
    ("brought", "r"): _TABLE,
    ("torch", "v"): _GLOVES,
    ("map", "x"): _TWO,
    ("comparing", "x"): _TWO,
    ("edge", "x"): _TWO,
    ("finishes", "x"): "one thing only is seldom needed of a recipe: its file",
    ("bench", "x"): "one thing only is seldom needed of a pot: who was exposed to it",
    ("finishes", "d"): "texts that wait are settled there: one of the two goes away",
    ("tiles", "d"): "same again, d for the ditto of a notebook; a tile is never taken away",
}

FAMILIES: dict[str, tuple[str, ...]] = {
    "places": PLACES,
    "records": ("treatment", "safety", "torch", "recipe"),
    "pictures": ("photograph", "treatment-map", "change", "look"),
    "colours": ("map", "series", "comparing", "edge", "reading", "plots"),
    "bringing in": ("bringing", "brought"),
}
# (family, key): why letters outside the grammar differ within a family; each place has deeds of its own
DIFFERENT: dict[tuple[str, str], str] = {
    ("places", "a"): "add what the place is fed with: starters, substance, area, agreed finish",
    ("places", "i"): "take in a file: recipes, readings",
    ("places", "k"): "keep account: count of a lot, care that is due",
    ("places", "m"): "recipes are mixed, the rack has a map",
    ("places", "o"): "weigh from the shelf, order of the rack, owner of a cast",
    ("places", "s"): "safety of a recipe, keep a pot, series of a cast",
    ("places", "t"): "begin: a tile of a recipe, a treatment of a cast; take: from a lot, from a pot",
    ("places", "w"): "withhold a recipe; the work: at the torch, of the conservator",
    ("records", "h"): "heat of a pass at the torch; history of parts in a treatment",
    ("records", "S"): "sign a treatment off, as in the places; beside s, the step before at the torch",
    ("records", "t"): "type what is measured: temperature of the metal, strength of the pot",
    ("records", "o"): "lay photographs over each other; open every reason",
    ("records", "i"): "images of a treatment; ingredient whose strength is tried",
    ("pictures", "t"): "type it as figures",
    ("pictures", "tab"): "the next thing drawn",
}
_WAYS = ("left", "right", "up", "down")
_MOVES = (
    *_WAYS,
    *(f"shift+{way}" for way in _WAYS),
    "less_than_sign",
    "greater_than_sign",
    "plus",
    "minus",
)


def _by_key(screens: tuple[str, ...]) -> dict[str, list[Action]]:
    found: dict[str, list[Action]] = defaultdict(list)
    for action in ACTIONS:
        if set(screens) & set(action.where):
            for key in action.keys:
                found[key].append(action)
    return found


@pytest.mark.parametrize("action", ACTIONS, ids=lambda a: f"{a.where[0]}-{a.name}")
def test_every_action_says_what_it_does(action: Action) -> None:
    """A label that fits the key bar, and a sentence for the help."""
    assert 0 < len(action.label) <= LONGEST_LABEL
    assert action.tooltip.endswith(".") and action.tooltip[0].isupper() and " " in action.tooltip
    assert action.keys and action.where


def test_a_key_of_the_grammar_means_the_same_on_every_screen() -> None:
    """Escape goes back, n makes something new, p prints, x offers more …; what differs is listed with its reason."""
    wrong, used = [], set()
    for action in ACTIONS:
        for key in set(action.keys) & GRAMMAR.keys():
            for where in action.where:
                if action.name in GRAMMAR[key][1]:
                    continue
                used.add((where, key))
                if (where, key) not in EXCEPTIONS:
                    wrong.append(f"{where}: {key} is {action.name}, and elsewhere {GRAMMAR[key][0]}")
    assert not wrong
    assert not EXCEPTIONS.keys() - used, "a reason is given for what is no exception any more"


def test_other_letters_differ_within_a_family_only_with_a_reason() -> None:
    """On screens that are used one after the other, a letter that does two things is listed with its reason."""
    wrong, used = [], set()
    for family, screens in FAMILIES.items():
        for key, actions in _by_key(screens).items():
            if key in GRAMMAR or key in _MOVES or len({a.name for a in actions}) < 2:
                continue
            used.add((family, key))
            if (family, key) not in DIFFERENT:
                wrong.append(f"{family}: {key} is {', '.join(sorted({a.name for a in actions}))}")
    assert not wrong
    assert not DIFFERENT.keys() - used, "a reason is given for what is different no more"


def test_no_screen_has_a_key_twice_and_none_shadows_what_works_everywhere() -> None:
    """A key does one thing on a screen; what works everywhere works there too."""
    screens = {where for action in ACTIONS for where in action.where} - {EVERYWHERE}
    for where in sorted(screens):
        keys = [key for action in ACTIONS if where in action.where or EVERYWHERE in action.where for key in action.keys]
        assert len(keys) == len(set(keys)), (where, sorted({k for k in keys if keys.count(k) > 1}))


def test_every_screen_is_left_by_escape_and_belongs_to_a_family() -> None:
    """No screen is without a way back; the five places go back to their list."""
    screens = {where for action in ACTIONS for where in action.where} - {EVERYWHERE}
    for where in sorted(screens):
        assert any("escape" in action.keys and where in action.where for action in ACTIONS), where
    homeless = screens - {screen for family in FAMILIES.values() for screen in family} - {"handbook"}
    assert not homeless
