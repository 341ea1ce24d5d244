"""Names to offer while somebody types: alloys, substances, recipes."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from patina.bench.studio import Studio


def alloy_names() -> tuple[str, ...]:
    """Keys of the alloys known here."""
    from patina.surface.alloys import alloys

    return tuple(alloys())


def substance_names(studio: Studio) -> tuple[str, ...]:
    """Names of the substances known to the studio, other names too, in order."""
    known = studio.catalogue().substances.values()
    return tuple(sorted({name for s in known for name in (s.name, *s.other_names)}, key=str.casefold))


def recipe_names(studio: Studio) -> tuple[str, ...]:
    """Names of the studio's recipes, in order."""
    from patina.bench.recipes.finishes import list_recipes

    return tuple(row.name for row in list_recipes(studio))
