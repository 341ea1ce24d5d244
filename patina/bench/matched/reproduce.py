"""From an old finish to a plan, and from a miss to its likely causes: one list of circumstances serves both."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from patina.bench.matched.agreed import spot_of
from patina.bench.matched.making import fact_key
from patina.bench.readings.tiles import target_of
from patina.colour.difference import compare
from patina.colour.values import Lab
from patina.errors import NotFound, Refused
from patina.matching.circumstances import (
    Effect,
    Making,
    compare_makings,
    effect_of,
    find_causes,
    known_circumstances,
)
from patina.matching.pooled import pool
from patina.records.finding.naming import name_of
from patina.records.matched import makings
from patina.records.matched.makings import Made
from patina.records.pieces.casts import cast_sheet
from patina.records.readings.readings import of_target, readings_of
from patina.records.recipes.recipes import find_recipe
from patina.records.tables.first import RevisionTable
from patina.records.tables.pieces import CastTable
from patina.sheets.reproducing import CauseSheet, EffectRow, FactRow, PlanSheet

if TYPE_CHECKING:
    from patina.bench.studio import Studio

_YOUNG_DAYS = 60


def reproduce(
    studio: Studio,
    target: str,
    *,
    area: str | None = None,
    onto: str | None = None,
    now: Mapping[str, str] | None = None,
) -> PlanSheet:
    """How the finish of a tile or cast is got again.

    target: the old tile or cast. area: of what is to be finished, with its unit; gives the quantities.
    onto: the new cast or tile, whose alloy, wall and notes are taken as they are now. now: what else
    is so now, by circumstance ("blast": "glass bead, new"). The lots on the shelf, the newest revision
    and the hand that works here are taken as they stand. Effects are those seen in this house's own
    tiles and casts of the recipe. Raises NotFound, Refused where no recipe is on record, BadQuantity.
    """
    said = {fact_key(word): value for word, value in (now or {}).items()}
    with studio.store.view() as session:
        made, lab = made_of(session, target)
        called = name_of(session, target_of(session, target))
        if made.recipe_id is None or made.revision_id is None:
            raise Refused(
                f"{made.id} names no recipe, so there is nothing to repeat.",
                "Say by which recipe it was made, or go by its card: patina reconstruct.",
                field="target",
            )
        revision = session.get_one(RevisionTable, made.revision_id).number
        newest = find_recipe(session, f"R{made.recipe_id}").revision
        history = history_of(session, made.recipe_id)
        new = {} if onto is None else dict(made_of(session, onto)[0].facts)
    cautions: list[str] = []
    facts = {**_as_it_stands(studio, made, cautions), **_of_new(new), **said}
    if studio.who():
        facts.setdefault("hand", studio.who())
    if newest != revision:
        cautions.append(f"Made by revision {revision}; the newest is {newest}. Revision {revision} is taken here.")
    old, present = Making(made.name, made.facts, lab), Making("now", facts)
    compared = compare_makings(old, present)
    others = [m for m in history if m.name != made.id]
    effects = tuple(_row(effect_of(change, others)) for change in compared.different)
    mix = None
    if area is not None:
        from patina.bench.pots.mixing import mix as mix_deed

        mix = mix_deed(studio, f"R{made.recipe_id}", area=area, revision=revision)
    return PlanSheet(
        target=made.id,
        name=called,
        recipe=made.recipe,
        revision=revision,
        lab=lab,
        as_done=made.as_done,
        facts=tuple(FactRow(words_of(key), value) for key, value in _in_order(made.facts)),
        same=tuple(words_of(k) for k in compared.same),
        effects=effects,
        blank=tuple(words_of(k) for k in compared.blank if not old.fact(k)),
        tiles=_tiles(made, compared.tiles, effects),
        mix=mix,
        history=len(others),
        cautions=tuple(cautions),
        unsaid=tuple(words_of(k) for k in compared.blank if old.fact(k)),
    )


def causes(studio: Studio, piece: str, reference: str) -> CauseSheet:
    """What may have made a piece come out otherwise than a reference (an earlier cast, or its tile).

    Each difference is ranked by how much of the miss it would explain, from what it did before in this
    house's tiles and casts of the recipe. Raises NotFound, BadQuantity where one was not read.
    """
    with studio.store.view() as session:
        first, first_lab = made_of(session, reference)
        second, second_lab = made_of(session, piece)
        recipe = second.recipe_id or first.recipe_id
        history = [] if recipe is None else history_of(session, recipe)
        called = [name_of(session, target_of(session, made.id)) for made in (second, first)]
    one, two = Making(first.id, first.facts, first_lab), Making(second.id, second.facts, second_lab)
    found = find_causes(one, two, history)
    assert first_lab is not None and second_lab is not None
    others = [m for m in history if m.name not in (first.id, second.id)]
    return CauseSheet(
        piece=second.id,
        reference=first.id,
        miss=found.miss,
        delta_e=compare(first_lab, second_lab).delta_e,
        causes=tuple(_row(c.effect, c.explains) for c in found.causes),
        blank=tuple(words_of(k) for k in found.blank),
        history=len(others),
        words=found.words,
        piece_name=called[0],
        reference_name=called[1],
    )


def made_of(session: Any, which: str) -> tuple[Made, Lab | None]:
    """A tile or cast as it was made, with its colour as made."""
    row = target_of(session, which)
    if isinstance(row, CastTable):
        made = makings.made_cast(session, row, row.number or row.public_id)
    else:
        made = makings.made_tile(session, row)
    return made, _colour(session, row)


def _colour(session: Any, row: Any) -> Lab | None:
    """Its colour as made: readings in the state of the newest, from the first of them on for so many days, since
    after that a piece has aged. Of a cast those before its last treatment are left out."""
    rows = readings_of(session, of_target(row))
    if isinstance(row, CastTable):
        done = [t.done_on for t in cast_sheet(session, row).treatments if t.done_on is not None]
        since = [r for r in rows if not done or r.read_at.date() >= max(done)]
        rows = tuple(since) or rows
    if not rows:
        return None
    newest = rows[0]
    same = [
        r
        for r in rows
        if (r.wax_state, r.warmth, r.lab.illuminant, r.lab.observer)
        == (newest.wax_state, newest.warmth, newest.lab.illuminant, newest.lab.observer)
    ]
    young = [r for r in same if (r.read_at - same[-1].read_at).days <= _YOUNG_DAYS]
    return pool([spot_of(r) for r in young]).mean


def history_of(session: Any, recipe_id: int) -> list[Making]:
    """Every tile and cast of a recipe that was read, under its id."""
    found = []
    for made, row in makings.made_like(session, recipe_id):
        lab = _colour(session, row)
        if lab is not None and lab.illuminant == "D50":
            found.append(Making(made.id, made.facts, lab))
    return found


def _of_new(facts: Mapping[str, str]) -> dict[str, str]:
    """What of a new piece is known before it is worked: its metal and what was noted of it."""
    kept = ("alloy", "wall_mm", "weld_rod", "blast", "preparation", "torch")
    return {key: value for key, value in facts.items() if key in kept}


def _as_it_stands(studio: Studio, made: Made, cautions: list[str]) -> dict[str, str]:
    """Lots, hydrates and assays that the shelf would give now, in the order of the old pot."""
    from patina.bench.shelves.shelf import lots_of
    from patina.records.tables.ids import fetch
    from patina.records.tables.shelf import BatchTable
    from patina.records.torch.work_queries import materials_of

    if made.batch is None:
        return {"recipe_revision": made.facts.get("recipe_revision", "")}
    with studio.store.view() as session:
        batch = fetch(session, BatchTable, made.batch)
        keys = [weighed.substance for weighed, _ in materials_of(session, batch.id)]
    lots, kinds, assays = [], [], []
    for key in keys:
        try:
            rows = lots_of(studio, studio.catalogue().get(key).name)
        except NotFound:
            rows = ()
        if not rows:
            cautions.append(f"No {key.replace('_', ' ')} is on the shelf.")
            continue
        lots.append(rows[0].lot_number or rows[0].id)
        kinds.append(rows[0].substance)
        assays += [f"{rows[0].assay_pct:g} %"] if rows[0].assay_pct is not None else []
    return {
        "recipe_revision": made.facts.get("recipe_revision", ""),
        "chemical_lot": ", ".join(lots),
        "hydrate": ", ".join(kinds),
        "assay": ", ".join(assays),
    }


def _in_order(facts: Mapping[str, str]) -> list[tuple[str, str]]:
    table = list(known_circumstances())
    return sorted(facts.items(), key=lambda item: table.index(item[0]) if item[0] in table else len(table))


def words_of(key: str) -> str:
    """A circumstance in words."""
    known = known_circumstances().get(key)
    return known.words if known is not None else key.replace("_", " ")


def _row(effect: Effect, explains: float | None = None) -> EffectRow:
    c = effect.change
    return EffectRow(
        c.words,
        c.before,
        c.now,
        effect.vector,
        effect.half_width,
        effect.comparisons,
        effect.with_others,
        effect.words,
        explains,
    )


def _tiles(made: Made, changed: Sequence[Any], effects: Sequence[EffectRow]) -> tuple[str, ...]:
    """Tiles to be made before the torch: one as it was, one for each change that asks for it."""
    said = ["One tile exactly as it was then: if it does not come, something that nobody wrote down has changed."]
    known = {e.what: e for e in effects}
    for change in changed:
        effect = known.get(change.words)
        tail = "no data on it" if effect is None or effect.vector is None else "this house has data on it"
        said.append(f"One tile with {change.words} as it is now ({change.now}); {tail}.")
    if len(changed) > 1:
        said.append("One tile with everything as it is now.")
    return tuple(said)


def parse_facts(words: Sequence[str]) -> dict[str, str]:
    """Circumstances as typed, "blast=glass bead, new". Raises Refused for another shape."""
    found: dict[str, str] = {}
    for word in words:
        key, sign, value = word.partition("=")
        if not sign or not key.strip() or not value.strip():
            raise Refused(f"'{word}' names no circumstance.", "Write it as blast=glass bead, new.", field="fact")
        found[fact_key(key)] = value.strip()
    return found
