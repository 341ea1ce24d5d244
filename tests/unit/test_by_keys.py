"""Remedies on a screen name the key beside the command, in both languages, and each key is one that exists."""

from __future__ import annotations

import re

import pytest

from patina.language import read_as
from tui import by_keys as module
from tui.actions import ACTIONS, key_name
from tui.by_keys import by_keys


def test_every_key_named_is_one_of_the_table() -> None:
    """The last key of each entry belongs to an action; a digit before it is a place."""
    known = {key_name(key) for action in ACTIONS for key in action.keys}
    for _, keys in module._KEYS:
        assert set(keys.split(", ")) <= known, keys


@pytest.mark.parametrize(
    ("remedy", "key"),
    [
        ("Roles: head, client; patina people list shows the persons.", "F10"),
        ("Restore it from a backup; patina check lists all that is missing.", "K"),
        ("patina undo --redo puts it back.", "Ctrl+Y"),
    ],
)
def test_the_key_stands_beside_the_command(remedy: str, key: str) -> None:
    """Nothing else of the remedy changes."""
    told = by_keys(remedy)
    assert f"(here: {key})" in told
    assert re.sub(r" \(here: [^)]*\)", "", told) == remedy


def test_in_german_it_is_said_in_german() -> None:
    """The remedy is the German one, and so is the word before the key."""
    try:
        read_as("de")
        told = by_keys("Run patina check and restore the last good backup.")
    finally:
        read_as()
    assert "patina check (hier: K)" in told and "restore" not in told
