"""What stands together in the studio and must not meet: open pots, lots on one shelf, waste drums."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from patina.errors import NotFound
from patina.safety.values import CAUTION, Danger

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.recipe import Solution

NOWHERE = "place not said"


@dataclass(frozen=True, slots=True)
class TogetherSheet:
    """Dangers of what stands together now. bench: between open pots; shelf: between lots of one place (a lot whose
    place is not said counts as standing anywhere); waste: inside a drum and between drums. unknown: what is not told
    apart because nobody has said what it is."""

    bench: tuple[Danger, ...] = ()
    shelf: tuple[Danger, ...] = ()
    waste: tuple[Danger, ...] = ()
    unknown: tuple[str, ...] = field(default=())
    caution: str = CAUTION

    @property
    def worst(self) -> str | None:
        """The gravest level among them, None where there is no danger."""
        levels = {d.level for d in (*self.bench, *self.shelf, *self.waste)}
        return next((level for level in ("critical", "serious", "caution") if level in levels), None)

    def as_json(self) -> dict[str, Any]:
        """The document that ``patina dangers --json`` prints."""
        return {
            "bench": [d.as_json() for d in self.bench],
            "shelf": [d.as_json() for d in self.shelf],
            "waste": [d.as_json() for d in self.waste],
            "unknown": list(self.unknown),
            "caution": self.caution,
        }


def bench_together(studio: Studio) -> TogetherSheet:
    """Which of the pots that stand open must never meet; pots of one solution are named together."""
    from patina.safety.storage import bench_dangers

    pots, unknown = _open_pots(studio)
    return TogetherSheet(bench=bench_dangers(pots, studio.catalogue()), unknown=unknown)


def pot_together(studio: Studio, pot: str) -> TogetherSheet:
    """What one open pot must not meet of the others. Raises NotFound."""
    from patina.bench.access import recipe_for_dangers
    from patina.bench.pots.batches import batch_sheet
    from patina.safety.reactions import dangers_between
    from patina.safety.storage import batch_group

    known = studio.catalogue()
    row = batch_sheet(studio, pot)
    own = recipe_for_dangers(studio, row.recipe_id, row.revision).solution(row.solution)
    pots, unknown = _open_pots(studio)
    if row.left_ml <= 0 or own not in pots.values():
        return TogetherSheet(unknown=unknown)
    one = batch_group(f"{row.id} {row.solution}", own, known)
    others = [batch_group(name, solution, known) for name, solution in pots.items() if solution != own]
    found = [d for other in others for d in dangers_between([one, other], "bench")]
    return TogetherSheet(bench=_worst_first(found), unknown=unknown)


def recipe_together(studio: Studio, recipe: str, revision: int | None = None) -> TogetherSheet:
    """What the pots of a recipe about to be mixed must not meet of those that stand open already. Raises NotFound."""
    from patina.bench.access import recipe_for_dangers
    from patina.safety.reactions import dangers_between
    from patina.safety.storage import batch_group

    known = studio.catalogue()
    mine = recipe_for_dangers(studio, recipe, revision).solutions
    pots, unknown = _open_pots(studio)
    others = [batch_group(name, solution, known) for name, solution in pots.items() if solution not in mine]
    new = [batch_group(f"{solution.name}, to be mixed", solution, known) for solution in mine]
    found = [d for one in new for other in others for d in dangers_between([one, other], "bench")]
    return TogetherSheet(bench=_worst_first(found), unknown=unknown)


def shelf_together(studio: Studio) -> TogetherSheet:
    """Which lots stand in one place and must not; lots of one substance are named together."""
    from patina.safety.storage import shelf_dangers

    lots, unknown = _lots(studio)
    anywhere = lots.pop(NOWHERE, {})
    known = studio.catalogue()
    found: list[Danger] = []
    for here in [*lots.values(), {}]:
        keys = dict.fromkeys([*here, *anywhere])
        inside = {_joined([*here.get(k, ()), *anywhere.get(k, ())]): known.get(k) for k in keys}
        found += shelf_dangers(inside)
    return TogetherSheet(shelf=_worst_first(found), unknown=unknown)


def lot_together(studio: Studio, lot: str) -> TogetherSheet:
    """What one lot must not stand beside, of what stands in its place. Raises NotFound."""
    from patina.bench.shelves.shelf import lot_row
    from patina.safety.reactions import dangers_between, group_of

    row = lot_row(studio, lot)
    lots, unknown = _lots(studio)
    place = _place(row.place)
    near = lots if place == NOWHERE else {key: lots.get(key, {}) for key in (NOWHERE, place)}
    known = studio.catalogue()
    try:
        mine = group_of(f"{row.id} {row.substance}", [known.get(row.substance_key)])
    except NotFound:
        return TogetherSheet(unknown=unknown)
    found: list[Danger] = []
    for substances in near.values():
        for key, names in substances.items():
            others = [name for name in names if name.split()[0] != row.id]
            if others and key != row.substance_key:
                found += dangers_between([mine, group_of(_joined(others), [known.get(key)])], "shelf")
    return TogetherSheet(shelf=_worst_first(found), unknown=unknown)


def _worst_first(found: Iterable[Danger]) -> tuple[Danger, ...]:
    from patina.safety.reactions import LEVELS

    once = {(d.rule, frozenset(d.between)): d for d in found}
    return tuple(sorted(once.values(), key=lambda d: (LEVELS.index(d.level), d.rule, d.between)))


def waste_together(studio: Studio) -> TogetherSheet:
    """What must not be in one drum, and which drums must not meet."""
    from patina.bench.pots.waste import list_drums
    from patina.safety.storage import waste_dangers

    known = studio.catalogue()
    drums = {row.drum: [known.find(name) for name in row.substances] for row in list_drums(studio)}
    return TogetherSheet(waste=waste_dangers({name: parts for name, parts in drums.items() if parts}))


def dangers_now(studio: Studio) -> TogetherSheet:
    """All three."""
    bench, shelf, waste = bench_together(studio), shelf_together(studio), waste_together(studio)
    unknown = tuple(dict.fromkeys((*bench.unknown, *shelf.unknown)))
    return TogetherSheet(bench.bench, shelf.shelf, waste.waste, unknown)


def _open_pots(studio: Studio) -> tuple[dict[str, Solution], tuple[str, ...]]:
    """Solutions of the open pots, by the names of the pots that hold them; and the substances of them, and pots,
    that nobody can say anything of."""
    from patina.bench.access import is_withheld, recipe_for_dangers
    from patina.bench.pots.batches import list_batches
    from patina.bench.recipes.releases import unknown_substances

    known = studio.catalogue()
    alike: dict[tuple[str, int, str], list[str]] = {}
    for pot in list_batches(studio):
        alike.setdefault((pot.recipe_id, pot.revision, pot.solution), []).append(pot.id)
    pots: dict[str, Solution] = {}
    unknown: dict[str, None] = {}
    for (recipe_id, revision, name), ids in alike.items():
        recipe = recipe_for_dangers(studio, recipe_id, revision)
        solution = recipe.solution(name)
        title = _joined([f"{id} {name}" for id in reversed(ids)])
        if not is_withheld(recipe) and all(part.substance in known.substances for part in solution.ingredients):
            pots[title] = solution
            unknown |= dict.fromkeys(unknown_substances((solution,), known))
        else:
            unknown[title] = None
    return pots, tuple(unknown)


def _lots(studio: Studio) -> tuple[dict[str, dict[str, list[str]]], tuple[str, ...]]:
    """Names of the lots that are not spent, by place and key of the substance; and those nobody can say anything of."""
    from patina.bench.shelves.shelf import list_lots

    known = studio.catalogue()
    places: dict[str, dict[str, list[str]]] = {}
    unknown: list[str] = []
    for lot in list_lots(studio):
        if lot.state == "spent":
            continue
        name = f"{lot.id} {lot.substance}"
        substance = known.substances.get(lot.substance_key)
        if substance is None or (substance.hazard_basis == "unknown" and not substance.tags):
            unknown.append(name)
        if substance is not None:
            places.setdefault(_place(lot.place), {}).setdefault(substance.key, []).append(name)
    return places, tuple(unknown)


def _place(written: str) -> str:
    return " ".join(written.split()).casefold() or NOWHERE


def _joined(names: Sequence[str]) -> str:
    """ "L1, L4 nitric acid": names that differ in their ids alone.

    >>> _joined(["L1 nitric acid", "L4 nitric acid"])
    'L1, L4 nitric acid'
    """
    ids = ", ".join(name.split(" ", 1)[0] for name in names[:6]) + (" …" if len(names) > 6 else "")
    return f"{ids} {names[0].split(' ', 1)[1]}"
