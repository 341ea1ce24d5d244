"""Withheld recipes: whose quantities are held by the studio, opened again, and what is shown all the same."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from patina.bench.history import short_reason
from patina.errors import NotFound, Refused, Withheld
from patina.records.access import roles as access
from patina.records.access import safety as access_safety
from patina.records.access import withheld as access_withheld
from patina.records.access.rows import hides
from patina.records.people import people
from patina.records.recipes import recipes
from patina.records.studio.unit import unit
from patina.sheets.access import WithheldRow

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.bench.studio import Studio
    from patina.chemistry.substances import Catalogue
    from patina.recipe import Recipe
    from patina.records.tables.first import RecipeTable, RevisionTable
    from patina.safety.values import SafetySheet

REGIMES = ("CLP", "HCS")
is_withheld = access_safety.is_withheld


def withhold(
    studio: Studio, recipe: str, *, why: str, revision: int | None = None, open_to: Sequence[str] = (), by: str = ""
) -> WithheldRow:
    """Withhold the quantities of a recipe, or of one revision, from all whose role does not see them.

    open_to: roles and names of registered persons who may see them all the same. Tiles, colours, limits, care and
    safety notes stay visible to everybody. Raises NotFound, Refused.
    """
    if not why.strip():
        raise Refused("Withholding a recipe needs its reason.", "Say in a few words why.", field="why")
    why = short_reason(why.strip())
    who, known = studio.who(by), studio.catalogue()
    with unit(studio.store, "withhold recipe", by=who, why=why) as work:
        row = recipes.find_recipe(work.session, recipe)
        numbers = range(1, row.revision + 1) if revision is None else (revision,)
        frozen = [recipes.find_revision(work.session, row, number) for number in numbers]
        readers = _readers(work.session, open_to)
        access_withheld.add_withholding(
            work.session, row.id, number=revision, withheld=True, open_to=readers, why=why, by=work.by
        )
        for one in frozen:
            keep_safety(work.session, known, one)
        made = next(
            r
            for r in access_withheld.withheld_rows(work.session)
            if (r.recipe_id, r.revision) == (row.public_id, revision)
        )
        work.commit()
    return made


def open_again(studio: Studio, recipe: str, *, why: str, revision: int | None = None, by: str = "") -> str:
    """Show the quantities of a recipe, or of one revision, to everybody again. Returns its name.

    Raises NotFound, Refused.
    """
    if not why.strip():
        raise Refused("Opening a recipe needs its reason.", "Say in a few words why.", field="why")
    why = short_reason(why.strip())
    with unit(studio.store, "open recipe", by=studio.who(by), why=why) as work:
        row = recipes.find_recipe(work.session, recipe)
        standing = [r for r in access_withheld.withheld_rows(work.session) if r.recipe_id == row.public_id]
        if not any(revision is None or r.revision in (None, revision) for r in standing):
            raise Refused(f"The quantities of '{row.name}' are not withheld.", "Nothing is to be done.")
        access_withheld.add_withholding(
            work.session, row.id, number=revision, withheld=False, open_to=(), why=why, by=work.by
        )
        work.commit()
        return row.name


def list_withheld(studio: Studio) -> tuple[WithheldRow, ...]:
    """The recipes and revisions whose quantities are withheld from some, by name."""
    with studio.store.view() as session:
        return access_withheld.withheld_rows(session)


def withheld_ids(studio: Studio) -> frozenset[str]:
    """Ids of the recipes whose quantities, or those of one revision, are withheld from some."""
    return frozenset(row.recipe_id for row in list_withheld(studio))


def _readers(session: Session, open_to: Sequence[str]) -> list[str]:
    """Roles and persons as they are written on record. Raises NotFound."""
    words = {word.casefold(): role for role, word in access.ROLES.items()} | {role: role for role in access.ROLES}
    found = []
    for entry in filter(str.strip, open_to):
        role = words.get(entry.strip().casefold())
        if role is None:
            try:
                role = people.find_person(session, entry).name
            except NotFound:
                raise NotFound(
                    f"'{entry.strip()}' is neither a role nor a person who is registered.",
                    f"Roles: {', '.join(access.ROLES)}; patina people list shows the persons.",
                    field="open_to",
                ) from None
        found.append(role)
    return list(dict.fromkeys(found))


def keep_safety(session: Session, known: Catalogue, frozen: RevisionTable) -> None:
    """Keep the safety notes of a withheld revision without its strengths, for those who may not read it."""
    from patina.safety.notes import safety_of

    recipe = access_safety.true_recipe(session, frozen)
    if recipe is not None:
        access_safety.keep_open_safety(session, frozen, [safety_of(recipe, known, regime=r) for r in REGIMES])


def keep_safety_where_withheld(session: Session, known: Catalogue, row: RecipeTable, frozen: RevisionTable) -> None:
    """The same for a new revision of a recipe that is withheld."""
    if access_withheld.withheld_from(session, "", "").of(row.id, frozen.number):
        keep_safety(session, known, frozen)


def safety_seen(
    session: Session,
    known: Catalogue,
    frozen: RevisionTable,
    *,
    regime: str = "CLP",
    ph: Mapping[str, float] | None = None,
    density: Mapping[str, float] | None = None,
) -> SafetySheet:
    """The safety notes of a revision for whoever is at work: all of them, and without figures of how strong it is
    where these are withheld.

    ph, density: measured, by solution; the second counts only where the recipe can be read. Raises Withheld where
    neither the recipe can be read nor notes were kept.
    """
    from patina.records.tables.recipe_json import recipe_from
    from patina.safety.notes import safety_of

    shown = recipe_from(frozen.document)
    if not hides(session, frozen.recipe_id, frozen.number) and not is_withheld(shown):
        return safety_of(shown, known, regime=regime, ph=ph, density=density)
    recipe = access_safety.true_recipe(session, frozen)
    if recipe is not None:
        return access_safety.open_safety(safety_of(recipe, known, regime=regime, ph=ph, density=density))
    kept = access_safety.kept_safety(session, frozen, regime)
    if kept is None:
        raise Withheld(
            f"The safety notes of revision {frozen.number} were not kept when its quantities were withheld.",
            "Do not work with it until the studio has given you its safety sheet.",
        )
    return kept


def recipe_for_dangers(studio: Studio, which: str, revision: int | None = None) -> Recipe:
    """A recipe with its quantities, for working out what must not meet and nothing else; without them where the
    database itself withholds them. Raises NotFound."""
    from patina.records.tables.recipe_json import recipe_from

    with studio.store.view() as session:
        frozen = recipes.find_revision(session, recipes.find_recipe(session, which), revision)
        return access_safety.true_recipe(session, frozen) or recipe_from(frozen.document)


def require_open(recipe: Recipe) -> Recipe:
    """The recipe itself. Raises Withheld where its quantities were left out."""
    if is_withheld(recipe):
        raise Withheld(
            f"The quantities of '{recipe.name}' are held by the studio and not shown to you.",
            "Its tiles, colours and safety notes are. Ask the head of the studio, who can open it to you.",
        )
    return recipe
