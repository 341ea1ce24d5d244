"""A recipe as a document of plain values and back, equal in every field."""

from __future__ import annotations

import hashlib
from dataclasses import asdict
from typing import Any

from patina.chemistry.strength import Strength
from patina.errors import Damaged
from patina.own_words import meet
from patina.recipe import Ingredient, Recipe, Solution, Step
from patina.records.tables.base import canonical


def recipe_document(recipe: Recipe) -> dict[str, Any]:
    """The whole recipe as dictionaries and lists."""
    return asdict(recipe)


def content_sha256(document: dict[str, Any]) -> str:
    """The hash that a frozen revision must keep for ever."""
    return hashlib.sha256(canonical(document).encode()).hexdigest()


def recipe_from(document: dict[str, Any]) -> Recipe:
    """The recipe of a document; fields that a later program added take their defaults. Raises Damaged."""
    try:
        values = dict(document)
        meet(values["name"], name=True)
        meet(values["finish"])
        values["alloys"] = tuple(values["alloys"])
        values["solutions"] = tuple(_solution(s) for s in values["solutions"])
        values["steps"] = tuple(_step(s) for s in values["steps"])
        return Recipe(**values)
    except (KeyError, TypeError, ValueError) as trouble:
        raise Damaged(
            f"A stored recipe cannot be read: {trouble}.", "Run patina check and restore the last good backup."
        ) from trouble


def _solution(document: dict[str, Any]) -> Solution:
    values = dict(document)
    meet(values["name"], name=True)
    values["ingredients"] = tuple(
        Ingredient(**{**item, "strength": Strength(**item["strength"])}) for item in values["ingredients"]
    )
    return Solution(**values)


def _step(document: dict[str, Any]) -> Step:
    values = dict(document)
    for own in ("note", "tool"):
        meet(values.get(own))
    window = values.get("surface_temperature_c")
    values["surface_temperature_c"] = None if window is None else (window[0], window[1])
    return Step(**values)
