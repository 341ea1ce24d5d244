"""What goes on paper or on a page: batch sheet, bottle label, safety sheet, wall sheet, first-aid card, tile and
finish record. Series and treatment stand in ``print_reports``."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.paper.print_pictures import Progress, ToPrint, pictures, quiet
from patina.safety.values import SolutionSafety
from patina.sheets import BatchSheet, LotRow, MixSheet, PhotographRow, ReadingRow

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.reports.colour_words import Picture

Written = tuple[Path, ...]


def batch_sheet(sheet: MixSheet, path: Path, progress: Progress = quiet) -> Written:
    """The batch sheet of a mix; the path's ending picks PDF, HTML, SVG or PNG."""
    from patina.reports.batch_sheet import write_batch_sheet

    return write_batch_sheet(sheet, path, made_on=date.today(), progress=progress)


def batch_record(studio: Studio, batch: str, path: Path, progress: Progress = quiet) -> Written:
    """The batch sheet of a pot on the bench: as it was mixed, what was taken from it, how strong it still is.

    Raises NotFound.
    """
    from patina.bench.pots.batches import batch_sheet as batch_of
    from patina.bench.pots.waste import strip_sheet
    from patina.reports.batch_sheet import write_batch_sheet
    from patina.reports.figures_time import potency_chart

    made = batch_of(studio, batch)
    chart = potency_chart(strip_sheet(studio, made.id))
    return write_batch_sheet(
        _mix_of(studio, made),
        path,
        batch=made,
        made_on=date.today(),
        charts=() if chart is None else (chart,),
        progress=progress,
    )


def safety_sheet(
    studio: Studio, recipe: str, path: Path, *, revision: int | None = None, progress: Progress = quiet
) -> Written:
    """The safety sheet of a recipe at the strength it is mixed, with where its release stands. Raises NotFound."""
    from patina.bench.recipes.finishes import recipe_sheet
    from patina.bench.recipes.releases import release_state
    from patina.bench.safe.safety import safety
    from patina.reports.publish import publish
    from patina.reports.safety_sheet import safety_document

    state = release_state(studio, recipe, revision)
    notes = safety(studio, state.recipe_id, revision=state.revision)
    document = safety_document(
        notes,
        recipe=recipe_sheet(studio, state.recipe_id, state.revision).recipe.name,
        record=f"{state.recipe_id}, revision {state.revision}",
        made_on=date.today(),
        studio=studio.setting("studio_name"),
        release=state,
    )
    return publish(document, path, progress=progress)


def batch_label(studio: Studio, batch: str, path: Path, *, container: str | None = None) -> Written:
    """The bottle label of a batch on the bench; container: capacity of the bottle with its unit.

    Raises NotFound, BadQuantity.
    """
    from patina.bench.pots.batches import batch_sheet as batch_of
    from patina.reports.label import write_label
    from patina.units import volume_ml

    container_ml = None if container is None else volume_ml(container, field="container")
    made = batch_of(studio, batch)
    return write_label(
        _mix_of(studio, made),
        made.solution,
        path,
        made_on=made.made_at.date(),
        batch=made,
        studio=studio.setting("studio_name"),
        container_ml=container_ml,
    )


def _mix_of(studio: Studio, made: BatchSheet) -> MixSheet:
    """The mix that a batch came from, at its volume and strength; other solutions of the recipe at a litre each."""
    from patina.bench.pots.mixing import mix
    from patina.bench.pots.what_if import strength_of

    volume = f"{made.solution}={made.volume_ml} mL"
    every = [f"{name}=1 L" for name in _solutions(studio, made.recipe_id, made.revision) if name != made.solution]
    strength = f"{100 * strength_of(studio, made):.6g} %"
    return mix(studio, made.recipe_id, revision=made.revision, volumes=[volume, *every], strength=strength)


def _solutions(studio: Studio, recipe: str, revision: int) -> list[str]:
    from patina.bench.recipes.finishes import recipe_sheet

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
    from patina.bench.shelves.shelf import list_lots
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
    from patina.bench.shelves.shelf import list_lots
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


def tile_record(studio: Studio, tile: str, path: Path, progress: Progress = quiet) -> Written:
    """How a tile was made and what colour came of it."""
    from patina.bench.paper.print_reports import torch_charts
    from patina.bench.readings.showing import near_only, screen_colour
    from patina.bench.readings.tiles import tile_sheet
    from patina.reports.finish_record import write_tile_sheet

    sheet = tile_sheet(studio, tile)
    return write_tile_sheet(
        sheet,
        path,
        made_on=date.today(),
        colour_of=screen_colour,
        near_only=near_only,
        pictures=pictures(studio, photographs_to_print(sheet.photographs, sheet.readings), progress),
        charts=torch_charts(studio, [sheet.row.id]),
        studio=studio.setting("studio_name"),
        progress=progress,
    )


def finish_record(
    studio: Studio,
    cast: str,
    path: Path,
    *,
    care: str = "",
    show_recipes: bool = True,
    progress: Progress = quiet,
) -> Written:
    """A cast's finish: agreed colour beside the measured one, treatments, temperatures at the torch, readings,
    photographs, who signed it off and what was added since. Raises NotFound."""
    from patina.bench.matched.matching import judge
    from patina.bench.paper.owner import seal_without_amounts, without_amounts
    from patina.bench.paper.print_reports import torch_charts
    from patina.bench.pieces.casts import cast_sheet, master_sheet
    from patina.bench.readings.showing import near_only, screen_colour
    from patina.bench.sealing import seal_of
    from patina.reports.finish_record import write_finish_record

    sheet = cast_sheet(studio, cast)
    seal = seal_of(studio, sheet.row.id)
    if not show_recipes:
        sheet, seal = without_amounts(sheet), seal_without_amounts(seal)
    agreed = master_sheet(studio, sheet.row.master) if sheet.row.master else None
    verdict = judge(studio, agreed.id, sheet.row.id) if agreed is not None and sheet.readings else None
    return write_finish_record(
        sheet,
        path,
        made_on=date.today(),
        colour_of=screen_colour,
        near_only=near_only,
        master=agreed,
        verdict=verdict,
        pictures=pictures(studio, photographs_to_print(sheet.photographs, sheet.readings), progress),
        charts=torch_charts(studio, [sheet.row.id]),
        care=care,
        studio=studio.setting("studio_name"),
        show_recipes=show_recipes,
        seal=seal,
        progress=progress,
    )


def photographs_to_print(rows: Sequence[PhotographRow], readings: Sequence[ReadingRow] = ()) -> list[ToPrint]:
    """Photographs of a record with what the camera said and which readings were taken from each."""
    return [ToPrint(p.sha256, p.note or p.name, photograph_notes(p, readings)) for p in rows]


def photograph_notes(row: PhotographRow, readings: Sequence[ReadingRow] = ()) -> tuple[str, ...]:
    """State, day, camera and readings of a photograph; a reading from a photograph rests on a chart in it."""
    read = [r.id for r in readings if r.photograph == row.sha256]
    chart = f"chart in the picture, read as {', '.join(read)}" if read else ""
    taken = f"taken {row.taken_at[:10]}" if row.taken_at else "day not known"
    return tuple(word for word in (row.state, taken, row.camera, chart) if word)


def _pictures(studio: Studio, photographs: Sequence[tuple[str, str]]) -> list[Picture]:
    return list(pictures(studio, [ToPrint(sha256, name) for sha256, name in photographs]))
