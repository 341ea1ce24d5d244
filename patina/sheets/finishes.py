"""Recipes in lists and in full."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from patina.colour.values import Lab

if TYPE_CHECKING:
    from patina.recipe import Recipe
    from patina.sheets.tiles import TileRow


@dataclass(frozen=True, slots=True)
class RecipeRow:
    """A recipe in a list. colours: the latest reading of each of its tiles, newest first."""

    id: str
    name: str
    finish: str
    alloys: tuple[str, ...]
    methods: tuple[str, ...]
    provenance: str
    revision: int
    colours: tuple[Lab, ...] = ()
    tiles: int = 0


@dataclass(frozen=True, slots=True)
class RevisionRow:
    """One revision in a recipe's history; made_at is UTC."""

    number: int
    reason: str
    by: str
    made_at: datetime


@dataclass(frozen=True, slots=True)
class RecipeSheet:
    """A recipe as it stands (or as an old revision stood), with all that hangs on it.

    version: what a deed that edits must hand back, so that nobody overwrites somebody else. withheld: its quantities
    are left out, since they are held by the studio.
    """

    id: str
    recipe: Recipe
    revision: int
    reason: str
    by: str
    made_at: datetime
    revisions: tuple[RevisionRow, ...]
    tiles: tuple[TileRow, ...]
    version: int
    withheld: bool = False
