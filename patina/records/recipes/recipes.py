"""Recipes and their frozen revisions."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from sqlalchemy import Select, Text, func, or_, select, type_coerce
from sqlalchemy.orm import Session

from patina.colour.values import Lab
from patina.errors import Changed, NotFound, Refused
from patina.records.finding.listing import Same, in_parts
from patina.records.tables.base import searchable
from patina.records.tables.first import ReadingTable, RecipeTable, RevisionSubstance, RevisionTable, TileTable
from patina.records.tables.ids import number_of
from patina.sheets import RecipeRow, RecipeSheet, RevisionRow

if TYPE_CHECKING:
    from patina.recipe import Recipe


def find_recipe(session: Session, which: str) -> RecipeTable:
    """The recipe of that id or name (case does not matter). Raises NotFound naming what comes close."""
    number = number_of(which, "R")
    if number is not None and (row := session.get(RecipeTable, number)) is not None:
        return row
    row = named(session, which)
    if row is not None:
        return row
    raise NotFound(f"There is no recipe '{which}'.", _near(session, which), field="recipe")


def named(session: Session, name: str) -> RecipeTable | None:
    """The recipe of that name (case does not matter), None where there is none."""
    if "\0" in name:  # a server cannot even be asked for it
        return None
    return session.scalars(select(RecipeTable).where(RecipeTable.name_folded == fold_name(name))).one_or_none()


def fold_name(name: str) -> str:
    """A name with case and runs of spaces levelled: two recipes may not differ in these alone."""
    return " ".join(name.split()).casefold()


def _near(session: Session, which: str) -> str:
    from difflib import get_close_matches

    from patina.records.finding.searching import COMMON, LONGEST_PAGE, mended, page_of

    query = select(RecipeTable.name)
    if (
        which.strip() and "\0" not in which and recipe_count(session) > COMMON
    ):  # comparing with every name would take seconds
        alike = mended(session, RecipeTable, which)
        some = page_of(session, RecipeTable, alike, RecipeTable.name_folded, limit=LONGEST_PAGE)
        query = query.where(RecipeTable.id.in_(some))
    names = session.scalars(query).all()
    close = get_close_matches(fold_name(which), [fold_name(n) for n in names], n=3, cutoff=0.5)
    shown = [n for n in names if fold_name(n) in close]
    if shown:
        return f"Did you mean {' or '.join(repr(n) for n in shown[:3])}?"
    return "Give its name or id (patina list recipes), or import its file first."


def find_revision(session: Session, recipe: RecipeTable, number: int | None) -> RevisionTable:
    """That revision of a recipe, or the latest. Raises NotFound."""
    wanted = recipe.revision if number is None else number
    row = None
    if 1 <= wanted <= recipe.revision:  # a number beyond an integer column is not even asked for
        row = session.scalars(
            select(RevisionTable).where(RevisionTable.recipe_id == recipe.id, RevisionTable.number == wanted)
        ).one_or_none()
    if row is None:
        raise NotFound(
            f"'{recipe.name}' has no revision {wanted}.",
            f"Its revisions go from 1 to {recipe.revision}.",
            field="revision",
        )
    return row


def add_recipe(session: Session, recipe: Recipe, *, by: str, reason: str, words: Sequence[str] = ()) -> RecipeTable:
    """A new recipe with its first revision. words: further names a search should find it by.

    Raises Refused where the name is taken.
    """
    taken = named(session, recipe.name)
    if taken is not None:
        raise Refused(
            f"There is already a recipe '{taken.name}' ({taken.public_id}).",
            "Give it another name, or revise that one.",
            field="name",
        )
    row = RecipeTable(
        name=recipe.name, name_folded=fold_name(recipe.name), revision=1, search_text=_search_text(recipe, words)
    )
    session.add(row)
    session.flush()
    _add_revision(session, row, recipe, 1, by=by, reason=reason)
    return row


def revise_recipe(
    session: Session,
    row: RecipeTable,
    recipe: Recipe,
    *,
    by: str,
    reason: str,
    version: int | None,
    words: Sequence[str] = (),
) -> RevisionTable:
    """The next revision of a recipe; the ones before stay what they were.

    version: what the person saw; None skips the check. Raises Changed, and Refused where nothing
    changed or the new name is taken.
    """
    if version is not None and version != row.version:
        raise Changed(
            f"'{row.name}' was revised in the meantime and is at revision {row.revision} now.",
            "Look at the new revision, then make your change to that one.",
        )
    from patina.records.tables.recipe_json import recipe_from

    latest = find_revision(session, row, None)
    if recipe_from(latest.document) == recipe:
        raise Refused(f"Nothing in '{row.name}' was changed.", "Change something, or leave it as it is.")
    folded = fold_name(recipe.name)
    if folded != row.name_folded:
        taken = session.scalars(select(RecipeTable.id).where(RecipeTable.name_folded == folded)).one_or_none()
        if taken is not None:
            raise Refused(
                f"There is already a recipe '{recipe.name}' (R{taken}).", "Give it another name.", field="name"
            )
    row.name, row.name_folded = recipe.name, folded
    row.revision += 1
    row.search_text = _search_text(recipe, words)
    return _add_revision(session, row, recipe, row.revision, by=by, reason=reason)


def _add_revision(
    session: Session, row: RecipeTable, recipe: Recipe, number: int, *, by: str, reason: str
) -> RevisionTable:
    from patina.records.tables.recipe_json import content_sha256, recipe_document

    document = recipe_document(recipe)
    revision = RevisionTable(
        recipe_id=row.id,
        number=number,
        reason=reason,
        by=by,
        finish=recipe.finish,
        provenance=recipe.provenance,
        alloys=list(recipe.alloys),
        methods=list(recipe.methods),
        document=document,
        content_sha256=content_sha256(document),
    )
    session.add(revision)
    session.flush()
    used = dict.fromkeys(i.substance for s in recipe.solutions for i in s.ingredients)
    session.add_all(RevisionSubstance(revision_id=revision.id, substance=key) for key in used)
    session.flush()
    return revision


def _search_text(recipe: Recipe, words: Sequence[str]) -> str:
    keys = [i.substance.replace("_", " ") for s in recipe.solutions for i in s.ingredients]
    solutions = [s.name for s in recipe.solutions]
    return searchable(
        recipe.name, recipe.finish, recipe.provenance, *recipe.alloys, *recipe.methods, *solutions, *keys, *words
    )


def recipe_rows(
    session: Session, search: str = "", *, limit: int | None = None, offset: int = 0
) -> tuple[RecipeRow, ...]:
    """Recipes in order of name, of those found the ones called so first; with the latest colour of each of their
    tiles, in three queries."""
    chosen = _chosen(session, search, limit, offset)
    whole = not search.strip() and limit is None
    rows: Iterable[Any] = in_parts(session, chosen) if whole else session.execute(chosen).all()
    if search.strip():
        from patina.records.finding.ranking import by_name

        rows = by_name(rows, search, lambda r: r.name, lambda r: f"R{r.id}")
    only = None if whole else {row.id for row in rows}
    if only is not None and not only:
        return ()
    same = Same()
    colours, tiles = _colours(session, only, same), _tile_counts(session, only)
    return tuple(
        RecipeRow(
            id=f"R{id}",
            name=name,
            finish=same.word(finish),
            alloys=same.words(alloys),
            methods=same.words(methods),
            provenance=same.word(provenance),
            revision=revision,
            colours=tuple(colours.get(id, ())),
            tiles=tiles.get(id, 0),
        )
        for id, name, revision, finish, alloys, methods, provenance in rows
    )


def _chosen(session: Session, search: str, limit: int | None, offset: int) -> Select[*tuple[Any, ...]]:
    query = (
        select(
            RecipeTable.id,
            RecipeTable.name,
            RecipeTable.revision,
            RevisionTable.finish,
            type_coerce(RevisionTable.alloys, Text),
            type_coerce(RevisionTable.methods, Text),
            RevisionTable.provenance,
        )
        .join(
            RevisionTable, (RevisionTable.recipe_id == RecipeTable.id) & (RevisionTable.number == RecipeTable.revision)
        )
        .order_by(RecipeTable.name_folded)
    )
    if search.strip():  # a start without a search pays nothing for searching
        from patina.records.finding.ranking import ranked_page
        from patina.records.finding.searching import LONGEST_PAGE, found_by

        if limit is not None and limit + offset <= LONGEST_PAGE:
            page = ranked_page(session, RecipeTable, search, RecipeTable.name_folded, limit=limit, offset=offset)
            return query.where(RecipeTable.id.in_(page))
        number = number_of(search, "R")
        words = found_by(session, RecipeTable, search)
        query = query.where(words if number is None else or_(words, RecipeTable.id == number))
    if limit is not None:
        query = query.limit(limit).offset(offset)
    return query


_FEW = 500  # so many ids may stand in one question to any of the databases


def _colours(session: Session, only: set[int] | None, same: Same) -> dict[int, list[Lab]]:
    found: dict[int, list[Lab]] = defaultdict(list)
    query = (
        select(
            RevisionTable.recipe_id,
            ReadingTable.lab_l,
            ReadingTable.lab_a,
            ReadingTable.lab_b,
            ReadingTable.illuminant,
            ReadingTable.observer,
        )
        .select_from(ReadingTable)
        .join(TileTable, TileTable.id == ReadingTable.tile_id)
        .join(RevisionTable, RevisionTable.id == TileTable.revision_id)
        .where(ReadingTable.latest.is_(True))
        .order_by(ReadingTable.read_at.desc(), ReadingTable.id.desc())
    )
    if only is not None and len(only) <= _FEW:
        query = query.where(RevisionTable.recipe_id.in_(only))
    for recipe_id, L, a, b, illuminant, observer in in_parts(session, query):
        found[recipe_id].append(Lab(L, a, b, same.word(illuminant), same.word(observer)))
    return found


def _tile_counts(session: Session, only: set[int] | None) -> dict[int, int]:
    query = (
        select(RevisionTable.recipe_id, func.count())
        .select_from(TileTable)
        .join(RevisionTable, RevisionTable.id == TileTable.revision_id)
        .group_by(RevisionTable.recipe_id)
    )
    if only is not None and len(only) <= _FEW:
        query = query.where(RevisionTable.recipe_id.in_(only))
    return {row[0]: row[1] for row in session.execute(query)}


def recipe_count(session: Session) -> int:
    """How many recipes the studio holds."""
    return session.scalar(select(func.count()).select_from(RecipeTable)) or 0


def recipe_sheet(session: Session, row: RecipeTable, number: int | None = None) -> RecipeSheet:
    """A recipe as it stands, or as an old revision stood, with its history and tiles."""
    from patina.records.access.rows import shown_text
    from patina.records.access.safety import is_withheld
    from patina.records.readings.tiles import tile_rows
    from patina.records.tables.recipe_json import recipe_from

    shown = find_revision(session, row, number)
    history = session.execute(
        select(RevisionTable.number, RevisionTable.reason, RevisionTable.by, RevisionTable.made_at)
        .where(RevisionTable.recipe_id == row.id)
        .order_by(RevisionTable.number)
    )
    recipe = recipe_from(shown.document)
    return RecipeSheet(
        id=row.public_id,
        recipe=recipe,
        revision=shown.number,
        reason=shown.reason,
        by=shown.by,
        made_at=shown.made_at,
        revisions=tuple(
            RevisionRow(entry.number, shown_text(session, row.id, entry.number, entry.reason), entry.by, entry.made_at)
            for entry in history
        ),
        tiles=tile_rows(session, RevisionTable.recipe_id == row.id),
        version=row.version,
        withheld=is_withheld(recipe),
    )
