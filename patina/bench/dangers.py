"""What stands together in the studio and must not meet: open pots, lots on one shelf, waste drums."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from patina.errors import NotFound
from patina.safety.values import CAUTION, Danger

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.chemistry.substances import Substance
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
    """Which of the pots that stand open must never meet."""
    from patina.safety.storage import bench_dangers

    pots, unknown = _open_pots(studio)
    return TogetherSheet(bench=bench_dangers(pots, studio.catalogue()), unknown=unknown)


def shelf_together(studio: Studio) -> TogetherSheet:
    """Which lots stand in one place and must not."""
    from patina.safety.reactions import LEVELS
    from patina.safety.storage import shelf_dangers

    lots, unknown = _lots(studio)
    anywhere = lots.pop(NOWHERE, {})
    found: dict[tuple[str, frozenset[str]], Danger] = {}
    for inside in [*({**here, **anywhere} for here in lots.values()), anywhere]:
        for danger in shelf_dangers(inside):
            found.setdefault((danger.rule, frozenset(danger.between)), danger)
    ordered = sorted(found.values(), key=lambda d: (LEVELS.index(d.level), d.rule, d.between))
    return TogetherSheet(shelf=tuple(ordered), unknown=unknown)


def waste_together(studio: Studio) -> TogetherSheet:
    """What must not be in one drum, and which drums must not meet."""
    from patina.bench.waste import list_drums
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
    """Solutions of the open pots, by the pot; and the substances of them that nobody has said anything of."""
    from patina.bench.batches import list_batches
    from patina.bench.finishes import recipe_sheet
    from patina.bench.releases import unknown_substances

    known = studio.catalogue()
    pots: dict[str, Solution] = {}
    unknown: dict[str, None] = {}
    for pot in list_batches(studio):
        recipe = recipe_sheet(studio, pot.recipe_id, pot.revision).recipe
        solution = recipe.solution(pot.solution)
        try:
            for part in solution.ingredients:
                known.get(part.substance)
        except NotFound:
            unknown |= dict.fromkeys([f"{pot.id} {pot.solution}"])
            continue
        unknown |= dict.fromkeys(n for n in unknown_substances(recipe, known) if _holds(solution, n, studio))
        pots[f"{pot.id} {pot.solution}"] = solution
    return pots, tuple(unknown)


def _holds(solution: Solution, name: str, studio: Studio) -> bool:
    known = studio.catalogue()
    return any(known.get(i.substance).name == name for i in solution.ingredients)


def _lots(studio: Studio) -> tuple[dict[str, dict[str, Substance]], tuple[str, ...]]:
    """Lots that are not spent, by place and name; and those nobody can say anything of."""
    from patina.bench.shelf import list_lots

    known = studio.catalogue()
    places: dict[str, dict[str, Substance]] = {}
    unknown: list[str] = []
    for lot in list_lots(studio):
        if lot.state == "spent":
            continue
        name = f"{lot.id} {lot.substance}"
        try:
            substance = known.get(lot.substance_key)
        except NotFound:
            unknown.append(name)
            continue
        if substance.hazard_basis == "unknown" and not substance.tags:
            unknown.append(name)
        place = " ".join(lot.place.split()).casefold() or NOWHERE
        places.setdefault(place, {})[name] = substance
    return places, tuple(unknown)
