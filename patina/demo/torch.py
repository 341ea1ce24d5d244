"""One finished work at the torch on a test tile, with the temperatures of the metal, so that a log can be printed.

It was tallied on the machine at the turntable and brought in afterwards, so every event has its own time.
"""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta

from patina.bench.pots import waste
from patina.bench.readings import tiles
from patina.bench.recipes.finishes import recipe_sheet
from patina.bench.studio import Studio
from patina.bench.torch import heat, work
from patina.bench.torch.work import Stamp
from patina.entries import NewTemperature, NewWork

# minutes before the end, zone, what: °C by contact probe, or a pass
_TALLY: tuple[tuple[float, str, float | None], ...] = (
    (52.0, "polished half", 84.0),
    (50.0, "polished half", None),
    (46.0, "textured half", 90.5),
    (44.0, "textured half", None),
    (37.0, "polished half", 93.0),
    (35.0, "polished half", None),
    (30.0, "textured half", 101.0),
    (27.0, "textured half", None),
    (21.0, "polished half", 88.5),
    (19.0, "polished half", None),
    (13.0, "textured half", 86.0),
    (11.0, "textured half", None),
)
_ZONES = (("polished half", 0.005), ("textured half", 0.005))


def add_torch_log(studio: Studio, tile: str, recipe: str, by: str) -> None:
    """The work on a tile: engraved, as its recipe's apply step asks, with one reading too hot."""
    steps = recipe_sheet(studio, recipe).recipe.steps
    apply = next(n for n, step in enumerate(steps, 1) if step.do == "apply")
    target = tiles.tile_sheet(studio, tile).row.id
    begun = work.start_work(
        studio,
        NewWork(target, recipe, zones=_ZONES, tool="bristle brush 25 mm", done_by=by, place="turntable under the hood"),
    )
    ended = datetime.now(UTC)
    for before, zone, true_c in _TALLY:
        stamp = Stamp(uuid.uuid4().hex, ended - timedelta(minutes=before), apply, zone)
        if true_c is None:
            work.pass_done(studio, begun.row.id, by=by, stamp=stamp)
        else:
            heat.read_temperature(studio, begun.row.id, NewTemperature(contact_c=true_c), by=by, stamp=stamp)
    waste.log_waste(
        studio, "sulphide waste", "rinse of the brush", 400.0, work=begun.row.id, substances=["liver of sulphur"], by=by
    )
    work.end_work(studio, begun.row.id, by=by)
