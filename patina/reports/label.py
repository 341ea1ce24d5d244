"""The bottle label: what is in it, since when, until when, and the label elements of the CLP rules.

Sizes follow CLP Annex I, 1.2.1.4, table 1.3, by the container. The label is for a solution mixed in
the studio for its own use; it is not a supplier's label for goods that are sold.
Source: [CLP_ART_17] [CLP_TABLE_1_3] [CLP_2024_2865]
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta, tzinfo
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any

from patina.datafile import number, read_table, text
from patina.errors import NotFound, Refused
from patina.language import shown
from patina.reports import figures
from patina.reports.in_language import data_in_readers_language
from patina.reports.precautions import foremost, precaution
from patina.reports.safety_words import hazards
from patina.reports.typeset import pages_of, qr_svg, typeset
from patina.sheets import BatchSheet, MixedSolution, MixSheet

# Height of a lowercase x over the font size, of the face the sheets are set in. Source: [SOURCE_SANS]
X_HEIGHT_OF_FONT = 0.486
MM_PER_POINT = 25.4 / 72.0
# Not more than six precautionary statements, unless more are needed. Source: [CLP_ART_17]
MOST_PRECAUTIONS = 6
# Where a label has room its letters grow; where its words need more, its paper does.
LETTERS = (1.8, 1.6, 1.4, 1.2, 1.0)
GROWN_MM = ((120.0, 85.0), (148.0, 105.0), (210.0, 148.0), (210.0, 297.0))
# Below three days the hour of mixing counts, so a day alone would mislead.
SHORT_LIVED_H = 72.0
UNDECIDED_NOTE = "Not everything is decided; see the batch sheet."


@dataclass(frozen=True, slots=True)
class LabelSize:
    """What is printed for containers up to a capacity, all in mm. Source: [CLP_TABLE_1_3] [CLP_2024_2865]"""

    up_to_ml: float
    least_width_mm: float
    least_height_mm: float
    width_mm: float
    height_mm: float
    pictogram_mm: float
    x_height_mm: float
    source: str
    x_height_source: str

    @property
    def font_pt(self) -> float:
        """Least font size in points that gives the least height of a lowercase x."""
        return self.x_height_mm / X_HEIGHT_OF_FONT / MM_PER_POINT


@cache
def label_sizes() -> tuple[LabelSize, ...]:
    """All sizes, smallest container first, from ``data/label_sizes.csv``."""
    columns: dict[str, Any] = dict.fromkeys(LabelSize.__dataclass_fields__, number)
    rows = read_table("label_sizes.csv", columns | {"source": text, "x_height_source": text})
    return tuple(sorted((LabelSize(**row) for row in rows), key=lambda size: size.up_to_ml))


def label_size(container_ml: float) -> LabelSize:
    """The size for a container of that capacity in mL. Raises Refused outside 0 to 500 L."""
    for size in label_sizes():
        if 0.0 < container_ml <= size.up_to_ml:
            return size
    raise Refused(
        f"No label is known for a container of {container_ml:g} mL.", "Give the bottle's capacity, up to 500 L."
    )


def write_label(
    sheet: MixSheet,
    solution: str,
    path: Path,
    *,
    made_on: date,
    batch: BatchSheet | None = None,
    studio: str = "",
    container_ml: float | None = None,
    zone: tzinfo | None = None,
) -> tuple[Path, ...]:
    """Print the label of one solution of a mix; the path's ending picks PDF, SVG or PNG.

    solution: its name in the sheet. made_on: the day it is mixed. batch: the batch it belongs to,
    where there is one. studio: name, address and telephone of who mixed it. container_ml: capacity
    of the bottle; without it, the smallest usual container that holds the volume is assumed.
    zone: whose clock the times are told by, None the machine's.
    Where the statements need more room than the size has, the label grows and the pictograms keep
    their size. Returns the files written. Raises NotFound, Refused, StudioTrouble.
    """
    data = label_data(
        sheet, solution, made_on=made_on, batch=batch, studio=studio, container_ml=container_ml, zone=zone
    )
    return typeset("label.typ", _fitted(data_in_readers_language(data), made_on), path, made_on=made_on)


def label_data(
    sheet: MixSheet,
    solution: str,
    *,
    made_on: date,
    batch: BatchSheet | None = None,
    studio: str = "",
    container_ml: float | None = None,
    zone: tzinfo | None = None,
) -> dict[str, Any]:
    """All that the label shows, as texts, and its sizes in mm."""
    mixed = _named(sheet, solution)
    safety = next((hazards(s) for s in sheet.safety.solutions if s.name == solution), None)
    if safety is None:
        raise NotFound(
            f"The safety notes of '{solution}' are missing, so no label is printed.", "Mix the recipe again."
        )
    made = figures.moment(batch.made_at, zone) if batch else figures.day(made_on)
    size = label_size(mixed.volume_ml if container_ml is None else container_ml)
    return {
        "title": f"Label: {solution}",
        "width": size.width_mm,
        "height": size.height_mm,
        "picto": size.pictogram_mm,
        "font": size.font_pt,
        "name": solution,
        "recipe": _recipe(sheet, batch),
        "record": batch.id if batch else sheet.recipe_id or "",
        "contains": _contains(mixed),
        "volume": figures.volume(batch.volume_ml if batch else mixed.volume_ml),
        "made": made,
        "made_by": batch.made_by if batch else "",
        "until": _gone_by(sheet, solution, batch, zone) or _until(mixed, batch, made_on, zone),
        "signal": safety["signal"],
        "pictograms": safety["pictograms"],
        "statements": safety["statements"],
        "precautions": [precaution(code).text for code in foremost(safety["precautions"], MOST_PRECAUTIONS)],
        "more": "More precautions: see the batch sheet." if len(safety["precautions"]) > MOST_PRECAUTIONS else "",
        "undecided": UNDECIDED_NOTE if safety["undecided"] else "",
        "studio": studio,
        "qr": qr_svg(*_qr_lines(sheet, solution, batch, made)),
    }


def _fitted(data: Mapping[str, Any], made_on: date) -> dict[str, Any]:
    """The same label with the largest letters that fit its paper, or on the next larger paper."""
    wanted = (data["width"], data["height"])
    papers = [wanted, *(paper for paper in GROWN_MM if paper > wanted)]
    for (width, height), scale in product(papers, LETTERS):
        trial = {**data, "width": width, "height": height, "font": data["font"] * scale}
        if len(pages_of("label.typ", trial, kind=".svg", made_on=made_on)) == 1:
            return trial
    raise Refused(
        f"The label of '{data['name']}' does not fit on a sheet of A4.", "Shorten the names or the studio's address."
    )


def _named(sheet: MixSheet, solution: str) -> MixedSolution:
    for mixed in sheet.solutions:
        if mixed.name == solution:
            return mixed
    known = ", ".join(s.name for s in sheet.solutions) or "none"
    raise NotFound(f"'{sheet.recipe}' has no mixed solution '{solution}'.", f"Its mixed solutions: {known}.")


def _contains(mixed: MixedSolution) -> list[str]:
    got = [(shown(line.substance), figures.plain(line.achieved_g_per_l, 2)) for line in mixed.weigh]
    return [*(f"{name} {g_per_l}{figures.THIN}g/L" for name, g_per_l in got), f"in {mixed.solvent}"]


def _recipe(sheet: MixSheet, batch: BatchSheet | None) -> str:
    name = f"{sheet.recipe}, revision {sheet.revision}" if sheet.revision else sheet.recipe
    return f"{name}, FOR TEST TILES ONLY" if batch is not None and batch.tiles_only else name


def _gone_by(sheet: MixSheet, solution: str, batch: BatchSheet | None, zone: tzinfo | None) -> list[str] | None:
    """When a pot that grows dangerous on standing must be thrown away; None where no such clock runs."""
    if batch is not None:
        return None if batch.discard_by is None else ["THROW AWAY BY", figures.moment(batch.discard_by, zone)]
    here = f"in one pot: {solution}"
    clocks = [d.discard_within_h for d in sheet.safety.dangers if here in d.where.split("; ")]
    hours = min((h for h in clocks if h is not None), default=None)
    return None if hours is None else ["THROW AWAY", f"the same day, within {figures.hours(hours)} of mixing"]


def _until(mixed: MixedSolution, batch: BatchSheet | None, made_on: date, zone: tzinfo | None) -> list[str]:
    """The words before a time and the time; without a time, a line is left to write it on."""
    if batch is not None and batch.use_until is not None:
        return ["use until", figures.moment(batch.use_until, zone)]
    if mixed.use_within_h is None:
        return ["use until", ""]
    if batch is not None:
        return ["use until", figures.moment(batch.made_at + timedelta(hours=mixed.use_within_h), zone)]
    if mixed.use_within_h < SHORT_LIVED_H:
        return ["use within", f"{figures.hours(mixed.use_within_h)} of mixing"]
    return ["use until", figures.day(made_on + timedelta(days=mixed.use_within_h // 24))]


def _qr_lines(sheet: MixSheet, solution: str, batch: BatchSheet | None, made: str) -> list[str]:
    which = f"batch {batch.id}" if batch else f"recipe {sheet.recipe_id or '(file)'}"
    revision = f"revision {sheet.revision}" if sheet.revision else ""
    return [which, sheet.recipe, revision, solution, made]
