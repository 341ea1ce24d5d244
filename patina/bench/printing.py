"""What goes on paper: batch sheet, bottle label, wall sheet, first-aid card, tile and finish record."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from patina.errors import NotFound
from patina.safety.values import SolutionSafety
from patina.sheets import Lab, LotRow, MixSheet

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.reports.colour_words import Picture

Written = tuple[Path, ...]
PICTURE_PX = 1200


def batch_sheet(sheet: MixSheet, path: Path) -> Written:
    """The batch sheet of a mix; the path's ending picks PDF, SVG or PNG."""
    from patina.reports.batch_sheet import write_batch_sheet

    return write_batch_sheet(sheet, path, made_on=date.today())


def mix_label(
    sheet: MixSheet, solution: str, path: Path, *, studio: str = "", container_ml: float | None = None
) -> Written:
    """The bottle label of one solution of a mix. Raises NotFound for a solution it does not have."""
    from patina.reports.label import write_label

    return write_label(sheet, solution, path, made_on=date.today(), studio=studio, container_ml=container_ml)


def batch_label(studio: Studio, batch: str, path: Path, *, container: str | None = None) -> Written:
    """The bottle label of a batch on the bench; container: capacity of the bottle with its unit.

    Raises NotFound, BadQuantity.
    """
    from patina.bench.batches import batch_sheet as batch_of
    from patina.bench.mixing import mix
    from patina.bench.what_if import strength_of
    from patina.reports.label import write_label
    from patina.units import volume_ml

    container_ml = None if container is None else volume_ml(container, field="container")
    made = batch_of(studio, batch)
    volume = f"{made.solution}={made.volume_ml} mL"
    every = [f"{name}=1 L" for name in _solutions(studio, made.recipe_id, made.revision) if name != made.solution]
    strength = f"{100 * strength_of(studio, made):.6g} %"
    sheet = mix(studio, made.recipe_id, revision=made.revision, volumes=[volume, *every], strength=strength)
    return write_label(
        sheet,
        made.solution,
        path,
        made_on=made.made_at.date(),
        batch=made,
        studio=studio.setting("studio_name"),
        container_ml=container_ml,
    )


def _solutions(studio: Studio, recipe: str, revision: int) -> list[str]:
    from patina.bench.finishes import recipe_sheet

    return [s.name for s in recipe_sheet(studio, recipe, revision).recipe.solutions]


def shelf_safety(studio: Studio, lots: Sequence[LotRow]) -> dict[str, SolutionSafety]:
    """The safety of each substance on the shelf, as sold, by its key; at the strongest lot's assay."""
    from patina.safety.as_sold import as_sold

    known = studio.catalogue()
    assays: dict[str, float | None] = {}
    for lot in lots:
        before = assays.get(lot.substance_key)
        assays[lot.substance_key] = max((a for a in (before, lot.assay_pct) if a is not None), default=None)
    return {key: as_sold(known.get(key), known, assay) for key, assay in assays.items()}


def wall_sheet(studio: Studio, path: Path) -> Written:
    """What stands on the shelf and what must be kept apart, for the wall."""
    from patina.bench.shelf import list_lots
    from patina.reports.shelf_cards import write_wall_sheet
    from patina.safety.reactions import dangers_between, group_of

    lots = list_lots(studio)
    known = studio.catalogue()
    keys = dict.fromkeys(lot.substance_key for lot in lots if lot.state != "spent")
    groups = [group_of(known.get(key).name, [known.get(key)]) for key in keys]
    return write_wall_sheet(
        lots,
        shelf_safety(studio, lots),
        path,
        made_on=date.today(),
        studio=studio.setting("studio_name"),
        dangers=dangers_between(groups, "shelf"),
    )


def first_aid_card(studio: Studio, path: Path, *, emergency: str = "", poison_centre: str = "") -> Written:
    """What to do, by route, for what stands on the shelf."""
    from patina.bench.shelf import list_lots
    from patina.reports.shelf_cards import write_first_aid_card

    lots = list_lots(studio)
    return write_first_aid_card(
        lots,
        shelf_safety(studio, lots),
        path,
        made_on=date.today(),
        studio=studio.setting("studio_name"),
        emergency=emergency,
        poison_centre=poison_centre,
    )


def tile_record(studio: Studio, tile: str, path: Path) -> Written:
    """How a tile was made and what colour came of it."""
    from patina.bench.tiles import tile_sheet
    from patina.reports.finish_record import write_tile_sheet

    sheet = tile_sheet(studio, tile)
    pictures = _pictures(studio, [(p.sha256, p.name) for p in sheet.photographs])
    name = studio.setting("studio_name")
    return write_tile_sheet(sheet, path, made_on=date.today(), colour_of=_hex, pictures=pictures, studio=name)


def finish_record(studio: Studio, cast: str, path: Path, *, care: str = "", show_recipes: bool = True) -> Written:
    """A cast's finish: agreed colour beside the measured one, treatments, readings, photographs."""
    from patina.bench.casts import cast_sheet, master_sheet
    from patina.bench.matching import judge
    from patina.reports.finish_record import write_finish_record

    sheet = cast_sheet(studio, cast)
    agreed = master_sheet(studio, sheet.row.master) if sheet.row.master else None
    verdict = judge(studio, agreed.id, sheet.row.id) if agreed is not None and sheet.readings else None
    return write_finish_record(
        sheet,
        path,
        made_on=date.today(),
        colour_of=_hex,
        master=agreed,
        verdict=verdict,
        pictures=_pictures(studio, [(p.sha256, p.name) for p in sheet.photographs]),
        care=care,
        studio=studio.setting("studio_name"),
        show_recipes=show_recipes,
    )


def _hex(lab: Lab) -> str:
    from patina.colour.lab import srgb_hex

    return srgb_hex(lab)


def _pictures(studio: Studio, photographs: Sequence[tuple[str, str]]) -> list[Picture]:
    from patina.bench.tiles import photograph_path
    from patina.colour.small import small_jpeg
    from patina.reports.colour_words import Picture

    made = []
    for sha256, name in photographs:
        try:
            made.append(Picture(small_jpeg(photograph_path(studio, sha256), PICTURE_PX), ".jpg", name))
        except NotFound:
            continue
    return made
