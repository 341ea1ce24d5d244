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
    "n": ("something new", ("new", "write", "add_area", "patch", "type('note')")),
    "e": ("edit what stands", ("edit", "change", "correct")),
    "p": ("print", ("print_sheet", "picture")),
    "y": ("plot", ("plot",)),
    "g": ("go to what belongs to it", ("related",)),
    "v": ("another view of the same", ("next_list", "rack_map", "axes", "swap", "first", "unfold", "drawn")),
    "x": ("more, seldom needed", ("more",)),
    "E": ("export", ("export",)),
    "d": ("take away", ("take_back", "drop_area", "drums")),
    "delete": ("take away", ("take_back", "drop_area")),
    "r": ("read, or let go after reading", ("reading", "release", "read")),
    "l": ("look, or look for", ("look", "log", "nearest", "history")),
    "c": ("hold one thing against another", ("compare", "two", "corrected", "missing", "old_data", "drafts")),
    "H": ("history", ("past",)),
    "A": ("amend", ("amend",)),
    "B": ("archive", ("archive",)),
    "K": ("keep safe", ("keep_safe",)),
    "S": ("sign off", ("sign_off",)),
}

# (screen, key): why the key of the grammar means something else there
EXCEPTIONS: dict[tuple[str, str], str] = {
    ("torch", "v"): "at the torch a letter is the first of what a wet glove wants: the vessel, what is left in it",
}

FAMILIES: dict[str, tuple[str, ...]] = {
    "places": PLACES,
    "records": ("treatment", "safety", "torch", "recipe"),
    "pictures": ("photograph", "treatment-map", "change", "areas", "points", "look"),
    "colours": ("map", "series", "comparing", "edge", "reading", "plots"),
    "bringing in": ("bringing", "brought", "reread"),
}
# (family, key): the one thing that a letter outside the grammar means within a family, and the actions that mean it
WITHIN: dict[tuple[str, str], tuple[str, tuple[str, ...]]] = {
    ("places", "a"): ("add what the place is fed with", ("starters", "agree", "add_substance")),
    ("places", "k"): ("keep account", ("count", "care_due", "log_exposure")),
    ("places", "t"): ("take it into use", ("start_tile", "work_done", "use_pot", "take")),
    ("places", "w"): ("the work: at the torch, of the conservator", ("torch", "treatment")),
    ("places", "z"): ("lay side by side", ("lay_out", "series")),
    ("records", "backspace"): ("one step back", ("go_back", "undo")),
    ("records", "t"): ("type what is measured", ("type('temperature')", "try_strength")),
}
# (family, key): why a letter does two things within a family all the same
DIFFERENT: dict[tuple[str, str], str] = {}
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


def test_other_letters_mean_one_thing_within_a_family() -> None:
    """On screens that are used one after the other, a letter means one thing, or it is said why not."""
    wrong, used, meant = [], set(), set()
    for family, screens in FAMILIES.items():
        for key, actions in _by_key(screens).items():
            names = {a.name for a in actions}
            if key in GRAMMAR or key in _MOVES or len(names) < 2:
                continue
            meant.add((family, key))
            if names - set(WITHIN.get((family, key), ("", ()))[1]):
                used.add((family, key))
                if (family, key) not in DIFFERENT:
                    wrong.append(f"{family}: {key} is {', '.join(sorted(names))}")
    assert not wrong
    assert not DIFFERENT.keys() - used, "a reason is given for what is different no more"
    assert not WITHIN.keys() - meant, "a meaning is given for what is one action only"


def test_nothing_is_listed_that_no_action_bears() -> None:
    """The grammar speaks of actions that are there."""
    names = {action.name for action in ACTIONS}
    told = {name for _, actions in (*GRAMMAR.values(), *WITHIN.values()) for name in actions}
    assert not told - names


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
