"""Dangers of what stands together in the studio: open batches on the bench, lots on the shelf, waste containers.

Source: the rules of ``data/reactions.csv``
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from patina.chemistry.substances import Catalogue, Substance
from patina.recipe import Solution
from patina.safety.composition import compose
from patina.safety.reactions import Group, dangers_between, dangers_within, group, group_of, member
from patina.safety.values import Danger


def batch_group(name: str, solution: Solution, catalogue: Catalogue) -> Group:
    """An open batch as a group: the ingredients of its solution, solvent included, with their shares."""
    made = compose(solution, catalogue)
    return group(name, (member(c.substance, c.pct_ww) for c in made.components))


def bench_dangers(open_batches: Mapping[str, Solution], catalogue: Catalogue) -> tuple[Danger, ...]:
    """Which of today's pots must never meet. open_batches: solution by the batch's name."""
    return dangers_between([batch_group(name, s, catalogue) for name, s in open_batches.items()], "bench")


def shelf_dangers(lots: Mapping[str, Substance]) -> tuple[Danger, ...]:
    """Which bottles must stand apart. lots: substance by the lot's name, all of one shelf or cupboard."""
    return dangers_between([group_of(name, [s]) for name, s in lots.items()], "shelf")


def waste_dangers(containers: Mapping[str, Sequence[Substance]]) -> tuple[Danger, ...]:
    """What must not go into one waste container, inside each and between any two. containers: by their label."""
    groups = [group_of(name, parts) for name, parts in containers.items()]
    inside = [d for one in groups for d in dangers_within(one, "waste")]
    return (*inside, *dangers_between(groups, "waste"))
