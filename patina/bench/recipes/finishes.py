"""Finishes: recipes found, saved, revised, taken in and written out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.studio import Studio
from patina.errors import BadQuantity, BadRecipeFile, CannotConvert, Refused
from patina.records.recipes import recipes
from patina.records.studio.unit import unit
from patina.sheets import RecipeRow, RecipeSheet

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.chemistry.substances import Catalogue
    from patina.recipe import Recipe

LONGEST_NAME = 400


def list_recipes(
    studio: Studio, search: str = "", *, limit: int | None = None, offset: int = 0
) -> tuple[RecipeRow, ...]:
    """Recipes in order of name. search: every word must stand in the name, look, alloys, methods,
    provenance, solutions or substances. limit, offset: one page of them."""
    with studio.store.view() as session:
        return recipes.recipe_rows(session, search, limit=limit, offset=offset)


def count_recipes(studio: Studio) -> int:
    """How many recipes the studio holds."""
    with studio.store.view() as session:
        return recipes.recipe_count(session)


def recipe_sheet(studio: Studio, which: str, revision: int | None = None) -> RecipeSheet:
    """A recipe by id or exact name (case does not matter), as it stands or as a revision stood. Raises NotFound."""
    with studio.store.view() as session:
        return recipes.recipe_sheet(session, recipes.find_recipe(session, which), revision)


def save_recipe(studio: Studio, recipe: Recipe, *, by: str = "", reason: str = "first version") -> RecipeSheet:
    """Keep a new recipe as its revision 1. Raises Refused where the name is taken or the recipe is empty."""
    _sound(studio, recipe)
    who = studio.who(by)
    with unit(studio.store, "save recipe", by=who, why=reason) as work:
        row = recipes.add_recipe(work.session, recipe, by=who, reason=reason, words=_words(studio, recipe))
        sheet = recipes.recipe_sheet(work.session, row)
        work.commit()
    return sheet


def revise_recipe(
    studio: Studio,
    which: str,
    recipe: Recipe,
    *,
    reason: str,
    by: str = "",
    version: int | None = None,
    based_on: int | None = None,
) -> RecipeSheet:
    """The next revision of a recipe; the old ones stay, and all that was made by them points at them.

    version: of the sheet the person edited; based_on: the revision it showed. Raises Conflict where somebody
    else revised it since: the text is kept under an id and can be laid beside the other. Raises
    Refused where nothing changed or no reason is given.
    """
    if not reason.strip():
        raise Refused("A revision needs its reason.", "Say in a few words why the recipe was changed.", field="reason")
    _sound(studio, recipe)
    who, words, reason = studio.who(by), _words(studio, recipe), reason.strip()
    with unit(studio.store, "revise recipe", by=who, why=reason) as work:
        row = recipes.find_recipe(work.session, which)
        if version in (None, row.version) and based_on in (None, row.revision):
            frozen = recipes.revise_recipe(
                work.session, row, recipe, by=who, reason=reason, version=version, words=words
            )
            from patina.bench.access import keep_safety_where_withheld

            keep_safety_where_withheld(work.session, studio.catalogue(), row, frozen)
            sheet = recipes.recipe_sheet(work.session, row)
            work.commit()
            return sheet
        began = based_on or max(1, row.revision - max(0, row.version - (version or 0)))
    from patina.bench.recipes.conflicts import keep_draft

    raise keep_draft(studio, which, recipe, based_on=min(began, row.revision), reason=reason, by=by)


def _sound(studio: Studio, recipe: Recipe) -> None:
    """A recipe that can be kept: a name, steps, substances the catalogue knows, strengths that can be mixed."""
    if not recipe.name.strip():
        raise Refused("The recipe has no name.", "Give it one.", field="name")
    if recipes.number_of(recipe.name, "R") is not None:
        raise Refused(f"'{recipe.name}' looks like the id of a recipe.", "Give it another name.", field="name")
    if len(recipe.name) > LONGEST_NAME:
        raise Refused(f"The name is longer than {LONGEST_NAME} characters.", "Shorten it.", field="name")
    if not recipe.steps:
        raise Refused(f"'{recipe.name}' has no steps.", "Add at least one step.", field="step")
    known = studio.catalogue()
    for solution in recipe.solutions:
        known.get(solution.solvent)
        for ingredient in solution.ingredients:
            known.get(ingredient.substance)
    for step in recipe.steps:
        if step.solution is not None:
            recipe.solution(step.solution)
    _has_safety_notes(recipe, known)


def _has_safety_notes(recipe: Recipe, known: Catalogue) -> None:
    """Refuse a recipe whose strengths contradict themselves, so that no safety notes could be worked out for it."""
    from patina.safety.notes import safety_of

    try:
        safety_of(recipe, known)
    except (BadQuantity, CannotConvert) as trouble:
        raise Refused(
            f"'{recipe.name}' cannot be mixed as it is written: {trouble.what}",
            f"{trouble.remedy} Nothing was kept.",
            field="strength",
        ) from None


def _words(studio: Studio, recipe: Recipe) -> list[str]:
    """The names of what the recipe uses, so that a search for any of them finds it."""
    from patina.records.finding.record_words import recipe_words

    return recipe_words(studio.catalogue(), recipe)


def import_files(studio: Studio, paths: Sequence[Path], *, by: str = "") -> tuple[str, ...]:
    """Take in recipe files and backups of this program. All files are taken in, or none.

    A recipe of a name that is here already becomes its next revision; one that is here word for
    word is refused. A backup gives its recipes. Returns the names taken in, in order.
    Raises BadRecipeFile, Refused, NotFound.
    """
    read = [(path, recipe, base) for path in paths for recipe, base in _recipes_in(studio, Path(path))]
    if not read:
        raise Refused("There is no recipe in what was given.", "Give recipe files (.toml) or a backup.")
    who = studio.who(by)
    taken: list[str] = []
    for path, recipe, base in read:
        _sound(studio, recipe)
        _met_nobody(studio, path, recipe, base, by)
    with unit(studio.store, "import", by=who, why=", ".join(Path(p).name for p in paths)[:400]) as work:
        for path, recipe, _ in read:
            _take_in(studio, work.session, path, recipe, who)
            taken.append(recipe.name)
        work.commit()
    return tuple(taken)


def _take_in(studio: Studio, session: Session, path: Path, recipe: Recipe, who: str) -> None:
    reason = f"imported from {Path(path).name}"
    words = _words(studio, recipe)
    row = recipes.named(session, recipe.name)
    if row is None:
        recipes.add_recipe(session, recipe, by=who, reason=reason, words=words)
        return
    sheet = recipes.recipe_sheet(session, row)
    if sheet.recipe == recipe:
        raise Refused(
            f"'{recipe.name}' from {Path(path).name} is already there word for word "
            f"({sheet.id}, revision {sheet.revision}).",
            "Nothing was taken in. Leave that file out.",
        )
    frozen = recipes.revise_recipe(session, row, recipe, by=who, reason=reason, version=None, words=words)
    from patina.bench.access import keep_safety_where_withheld

    keep_safety_where_withheld(session, studio.catalogue(), row, frozen)


def _met_nobody(studio: Studio, path: Path, recipe: Recipe, base: int | None, by: str) -> None:
    """A file that says which revision it was written on must not go over a newer one. Raises Conflict."""
    if base is None:
        return
    with studio.store.view() as session:
        row = recipes.named(session, recipe.name)
        if row is None or base == row.revision:
            return
        if base > row.revision:
            raise Refused(
                f"{Path(path).name} says that it was written on revision {base}, and '{row.name}' has {row.revision}.",
                "Correct based_on in the file, or take it out.",
                field="based_on",
            )
        id, same = row.public_id, recipes.recipe_sheet(session, row).recipe == recipe
    if not same:
        from patina.bench.recipes.conflicts import keep_draft

        raise keep_draft(studio, id, recipe, based_on=base, reason=f"imported from {Path(path).name}", by=by)


def _recipes_in(studio: Studio, path: Path) -> Iterator[tuple[Recipe, int | None]]:
    from patina.recipe_file import based_on, read_recipe

    if path.is_dir():
        raise BadRecipeFile(f"{path.name} is a folder.", "Name the files in it.")
    if _is_zip(path):
        from patina.records.keeping.restore import recipes_in_backup

        for recipe in recipes_in_backup(path):
            yield _as_a_file_would_say(studio, path, recipe), None
    else:
        yield read_recipe(path, studio.catalogue()), based_on(path)


def _as_a_file_would_say(studio: Studio, path: Path, recipe: Recipe) -> Recipe:
    """The recipe of a backup, put through all that a recipe file is asked. Raises BadRecipeFile."""
    from patina.recipe_file import read_recipe_text, write_recipe

    for solution in recipe.solutions:
        for key in (solution.solvent, *(i.substance for i in solution.ingredients)):
            studio.catalogue().get(key)
    try:
        text = write_recipe(recipe, studio.catalogue())
    except (TypeError, ValueError, AttributeError, ArithmeticError):  # a number where words belong, and the like
        raise BadRecipeFile(
            f"{path.name} holds a recipe that is not well formed.", "Nothing was taken in. Use another backup."
        ) from None
    return read_recipe_text(text, studio.catalogue(), name=f"'{recipe.name}' in {path.name}")


def _is_zip(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            return stream.read(4) == b"PK\x03\x04"
    except OSError:
        return False  # reading it as a recipe says what is wrong


def add_starters(studio: Studio, *, by: str = "") -> tuple[str, ...]:
    """Take in the program's own starter finishes that are not here yet; returns their names."""
    from patina.datafile import data_path
    from patina.recipe_file import read_recipe

    read = [(path, read_recipe(path, studio.catalogue())) for path in sorted(data_path("recipes").glob("*.toml"))]
    who = studio.who(by)
    taken: list[str] = []
    with unit(studio.store, "import", by=who, why="starter finishes") as work:
        for _, recipe in read:
            if recipes.named(work.session, recipe.name) is None:
                words = _words(studio, recipe)
                recipes.add_recipe(work.session, recipe, by=who, reason="starter finish", words=words)
                taken.append(recipe.name)
        work.commit()
    return tuple(taken)


def export_recipe(studio: Studio, which: str, revision: int | None = None) -> str:
    """A recipe as the text of its file, with the revision it is (``based_on``), so that an edited copy that is
    taken in again meets nobody unseen. Raises NotFound, and Withheld where the studio holds its quantities."""
    from patina.bench.access import require_open
    from patina.recipe_file import write_recipe

    sheet = recipe_sheet(studio, which, revision)
    first, rest = write_recipe(require_open(sheet.recipe), studio.catalogue()).split("\n", 1)
    return f"{first}\nbased_on = {sheet.revision}\n{rest}"
