"""What the record of a work says of its exposure, to be put right and logged by the person."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from patina.bench.studio import Studio

LONGEST_MIN = 24 * 60


def exposure_of_work(studio: Studio, work: str) -> dict[str, str]:
    """The fields of an exposure form as far as a work knows them: who, when, how long, with which pot or recipe.

    The minutes are those of the work, from its events; time away from the piece counts in, so they are to be put
    right. Extraction and respirator are asked. Raises NotFound.
    """
    from patina.bench.torch.work import work_sheet

    sheet = work_sheet(studio, work)
    row = sheet.row
    minutes = min(max(round(sheet.elapsed_s / 60), 1), LONGEST_MIN)
    pot = sheet.pot.batch if sheet.pot is not None else ""
    fields = {
        "person": row.by or studio.who(),
        "on": row.started_at.astimezone().date().isoformat(),
        "minutes": str(minutes),
        "task": f"work {row.id} on {row.target} {row.target_name}: {row.passes} passes",
    }
    return fields | ({"batch": pot} if pot else {"recipe": row.recipe_id, "revision": str(row.revision)})
