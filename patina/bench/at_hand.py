"""What stands on the shelf for what a recipe asks for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from patina.bench.studio import Studio


@dataclass(frozen=True, slots=True)
class AtHand:
    """A lot that serves. asked: the substance the recipe names. have: as `mixing.mix` takes it."""

    asked: str
    lot: str
    substance: str
    assay_pct: float | None
    have: str


def at_hand(studio: Studio, recipe: str, revision: int | None = None) -> tuple[AtHand, ...]:
    """For each substance of a recipe the lot to take: the very form before another hydrate of it, an
    opened lot before a closed one; expired and spent lots are left out. What the shelf lacks is
    left out too. Raises NotFound.
    """
    from patina.bench.finishes import recipe_sheet
    from patina.bench.shelf import lots_of

    known = studio.catalogue()
    asked = recipe_sheet(studio, recipe, revision).recipe
    found: list[AtHand] = []
    for key in dict.fromkeys(i.substance for s in asked.solutions for i in s.ingredients):
        lots = [lot for lot in lots_of(studio, key) if lot.state not in ("expired", "spent")]
        if not lots:
            continue
        lot = min(lots, key=lambda x: (x.substance_key != key, x.state != "opened"))
        assay = "" if lot.assay_pct is None else f",assay={lot.assay_pct!r}%"
        found.append(AtHand(known.get(key).name, lot.id, lot.substance, lot.assay_pct, f"{lot.substance}{assay}"))
    return tuple(found)
