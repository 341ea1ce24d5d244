"""The recipes that come with the program."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from patina.datafile import data_path

if TYPE_CHECKING:
    from patina.bench.studio import Studio


def starter_files() -> tuple[Path, ...]:
    """The recipe files that come with the program, by file name."""
    return tuple(sorted(data_path("recipes").glob("*.toml")))


def take_in_starters(studio: Studio, *, by: str = "") -> tuple[str, ...]:
    """Take the starter recipes into a studio; those it has already are left as they are.

    Returns the names taken in.
    """
    from patina.bench.finishes import import_files, list_recipes
    from patina.recipe_file import read_recipe

    there = {row.name.casefold() for row in list_recipes(studio)}
    known = studio.catalogue()
    wanted = [f for f in starter_files() if read_recipe(f, known).name.casefold() not in there]
    return import_files(studio, wanted, by=by) if wanted else ()
