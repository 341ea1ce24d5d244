"""The safety notes of a withheld revision: without its strengths, kept for those who may not read the recipe."""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.errors import Damaged
from patina.recipe import Recipe
from patina.records.access.withheld import BASIS, without_amounts
from patina.records.tables.first import RevisionTable
from patina.records.tables.people import OpenSafetyTable
from patina.records.tables.recipe_json import recipe_from
from patina.safety.values import (
    ClassNote,
    Danger,
    Emission,
    Limit,
    SafetySheet,
    SolutionSafety,
    Undecided,
)

HELD = "follows from what is in it and how strong it is, which the studio holds"


def true_recipe(session: Session, revision: RevisionTable) -> Recipe | None:
    """The recipe with its quantities, to work out its dangers; None where the database itself withholds it."""
    query = select(RevisionTable.document).where(RevisionTable.id == revision.id)
    document = session.execute(query.execution_options(of_the_door=True)).scalar_one()
    recipe = recipe_from(document)
    return None if is_withheld(recipe) else recipe


def is_withheld(recipe: Recipe) -> bool:
    """Whether a recipe's quantities were left out of it."""
    return any(i.strength.basis == BASIS for s in recipe.solutions for i in s.ingredients)


def open_safety(sheet: SafetySheet) -> SafetySheet:
    """Safety notes with every class, statement, danger, gas and piece of advice, and no figure of how strong it is."""
    return replace(
        sheet,
        solutions=tuple(_open_solution(s) for s in sheet.solutions),
        emits=tuple(replace(e, when=without_amounts(e.when)) for e in sheet.emits),
        waste=tuple(without_amounts(line) for line in sheet.waste),
    )


def _open_solution(pot: SolutionSafety) -> SolutionSafety:
    return replace(
        pot,
        classes=tuple(replace(c, why=HELD) for c in pot.classes),
        supplemental=tuple(replace(c, why=HELD) for c in pot.supplemental),
        undecided=tuple(replace(u, needs=without_amounts(u.needs)) for u in pot.undecided),
        notes=tuple(without_amounts(n) for n in pot.notes),
        density_g_ml=None,
        density_note="held by the studio" if pot.density_note else "",
        shares=(),
    )


def keep_open_safety(session: Session, revision: RevisionTable, sheets: list[SafetySheet]) -> None:
    """Keep the open safety notes of a withheld revision, one for each regime."""
    for sheet in sheets:
        row = OpenSafetyTable(revision_id=revision.id, regime=sheet.regime, document=asdict(open_safety(sheet)))
        session.add(row)
    session.flush()


def kept_safety(session: Session, revision: RevisionTable, regime: str) -> SafetySheet | None:
    """The open safety notes that were kept of a revision, None where nobody has kept any."""
    query = (
        select(OpenSafetyTable)
        .where(OpenSafetyTable.revision_id == revision.id, OpenSafetyTable.regime == regime)
        .order_by(OpenSafetyTable.id.desc())
        .limit(1)
    )
    row = session.scalars(query).first()
    return None if row is None else safety_from(row.document)


def safety_from(document: dict[str, Any]) -> SafetySheet:
    """The safety notes of a document. Raises Damaged."""
    try:
        values = dict(document)
        return SafetySheet(
            solutions=tuple(_solution_from(s) for s in values.pop("solutions")),
            dangers=tuple(Danger(**{**d, "between": tuple(d["between"])}) for d in values.pop("dangers")),
            emits=tuple(_emission_from(e) for e in values.pop("emits")),
            **_tuples(values),
        )
    except (KeyError, TypeError) as trouble:
        raise Damaged(
            f"Stored safety notes cannot be read: {trouble}.", "Run patina check and restore the last good backup."
        ) from trouble


def _solution_from(document: dict[str, Any]) -> SolutionSafety:
    values = dict(document)
    return SolutionSafety(
        classes=tuple(ClassNote(**c) for c in values.pop("classes")),
        supplemental=tuple(ClassNote(**c) for c in values.pop("supplemental")),
        undecided=tuple(Undecided(**u) for u in values.pop("undecided")),
        shares=tuple((name, pct) for name, pct in values.pop("shares")),
        **_tuples(values),
    )


def _tuples(values: dict[str, Any]) -> dict[str, Any]:
    return {name: tuple(v) if isinstance(v, list) else v for name, v in values.items()}


def _emission_from(document: dict[str, Any]) -> Emission:
    values = dict(document)
    return Emission(limits=tuple(Limit(**x) for x in values.pop("limits")), **values)
