"""The palette: records by name and every action of the screen."""

from __future__ import annotations

import asyncio
from functools import partial
from typing import TYPE_CHECKING, cast

from textual.command import DiscoveryHit, Hit, Hits, Provider

from patina.language import shown
from tui import actions

if TYPE_CHECKING:
    from tui.app import PatinaApp


class RecordsAndActions(Provider):
    """Finds records of the studio by name or id, and actions by what they do."""

    @property
    def _app(self) -> PatinaApp:
        return cast("PatinaApp", self.app)

    def _actions(self) -> tuple[actions.Action, ...]:
        return actions.of_screen(getattr(self.screen, "WHERE", actions.EVERYWHERE))

    def _do(self, action: actions.Action) -> None:
        target = action.name if "(" in action.name else f"{action.name}()"
        scope = "app" if actions.EVERYWHERE in action.where else "screen"
        self._app.call_later(self._app.run_action, f"{scope}.{target}")

    async def discover(self) -> Hits:
        """Before anything is typed: every action."""
        for action in self._actions():
            if action.name != "command_palette":
                yield DiscoveryHit(_named(action), partial(self._do, action), help=shown(action.tooltip))

    async def search(self, query: str) -> Hits:
        """Records first, then actions."""
        from patina.bench.finding.search import find_records

        for n, found in enumerate(await asyncio.to_thread(find_records, self._app.studio, query)):
            words = f"{found.id}  {found.name}"
            yield Hit(
                2.0 - n / 1000, words, partial(self._app.open_record, found.id), text=words, help=shown(found.kind)
            )
        matcher = self.matcher(query)
        for action in self._actions():
            score = matcher.match(_named(action))
            if score > 0:
                yield Hit(
                    score, matcher.highlight(_named(action)), partial(self._do, action), help=shown(action.tooltip)
                )


def _named(action: actions.Action) -> str:
    return f"{shown(action.label)}  ({action.key})"
