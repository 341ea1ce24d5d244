"""The five places as they were looked at; a file of its own, so that two processes share the pictures."""

from __future__ import annotations

from pathlib import Path

import pytest
from snapshot_scenes import PLACES, WALKS
from snapshots import holds


@pytest.mark.parametrize("name", PLACES)
async def test_places_look_as_they_were_looked_at(name: str, invented: Path) -> None:
    """Each screen on the way through a place shows the words and colours that were looked at, at both sizes and in
    both looks."""
    await holds(name, WALKS[name], invented)
