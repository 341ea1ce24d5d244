"""Every action of the screens: one table that bindings, key bar, help and palette are made of.

The rows stand in ``action_places`` (everywhere and the five places) and ``action_screens``.
"""

from __future__ import annotations

from textual.binding import Binding

from tui import action_places, action_screens, action_treatment
from tui.action import EVERYWHERE, PLACES, Action, key_name

__all__ = ["ACTIONS", "EVERYWHERE", "PLACES", "Action", "bindings", "key_name", "of_screen"]

ACTIONS: tuple[Action, ...] = (*action_places.ROWS, *action_screens.ROWS, *action_treatment.ROWS)


def of_screen(where: str) -> tuple[Action, ...]:
    """The actions of a screen, its own first, then those that work everywhere."""
    own = [a for a in ACTIONS if where in a.where and where != EVERYWHERE]
    return (*own, *(a for a in ACTIONS if EVERYWHERE in a.where))


def bindings(where: str) -> list[Binding]:
    """The bindings of a screen, or of the app for ``everywhere``."""
    return [
        Binding(",".join(a.keys), a.name, a.label, show=a.rank < 9, tooltip=a.tooltip, priority=a.priority)
        for a in ACTIONS
        if where in a.where
    ]
