"""The batch sheet: what to weigh, in which order, and what to fear, to be read with wet gloves."""

from __future__ import annotations

import re
from datetime import date, timedelta, tzinfo
from pathlib import Path
from typing import Any

from patina.reports import figures
from patina.reports.precautions import precaution
from patina.reports.safety_words import danger_words, emission_words, hazards
from patina.reports.typeset import qr_svg, typeset
from patina.sheets import BatchSheet, MixedSolution, MixSheet, WeighLine

# First aid and spills: the statements of the response group, which begin with P3.
RESPONSE = re.compile(r"P3\d\d")
LEVELS = ("critical", "serious", "caution")


def write_batch_sheet(
    sheet: MixSheet, path: Path, *, batch: BatchSheet | None = None, made_on: date, zone: tzinfo | None = None
) -> tuple[Path, ...]:
    """Print a mix. The path's ending picks PDF (PDF/A-2b), SVG or PNG; pictures are one per page.

    batch: the batch that was mixed after it, where there is one; its id goes into the QR code and
    its figures onto the sheet. made_on: the date the sheet carries. zone: whose clock the times are
    told by, None the machine's.
    Returns the files written. Raises Refused for another ending, StudioTrouble where the file
    cannot be written.
    """
    data = batch_sheet_data(sheet, batch=batch, made_on=made_on, zone=zone)
    return typeset("batch_sheet.typ", data, path, made_on=made_on)


def batch_sheet_data(
    sheet: MixSheet, *, batch: BatchSheet | None = None, made_on: date, zone: tzinfo | None = None
) -> dict[str, Any]:
    """All that the sheet shows, as texts."""
    by_name = {s.name: hazards(s) for s in sheet.safety.solutions}
    dangers = sorted(sheet.safety.dangers, key=_gravity)
    record = (
        batch.id if batch else f"{sheet.recipe_id}, revision {sheet.revision}" if sheet.recipe_id else "recipe file"
    )
    aid = [words for words in sheet.safety.place if RESPONSE.match(words)]
    return {
        "title": f"Batch sheet: {sheet.recipe}",
        "recipe": sheet.recipe,
        "finish": sheet.finish,
        "record": record,
        "qr": qr_svg(*qr_lines(sheet, batch, made_on, zone)),
        "facts": _facts(sheet, batch, made_on),
        "warnings": [{"text": w.text, "do": w.do or ""} for w in sheet.warnings],
        "solutions": [_solution(s, batch, by_name.get(s.name), zone) for s in sheet.solutions],
        "safety": [_with_precautions(h) for h in by_name.values()],
        "critical": [danger_words(d) for d in dangers if d.level == LEVELS[0]],
        "dangers": [danger_words(d) for d in dangers if d.level != LEVELS[0]],
        "emits": [emission_words(e) for e in sheet.safety.emits],
        "ppe": list(sheet.safety.ppe),
        "place": [words for words in sheet.safety.place if words not in aid],
        "aid": aid,
        "waste": list(sheet.safety.waste),
        "caution": sheet.safety.caution,
        "footer": f"{sheet.recipe}, {figures.day(made_on)}",
    }


def _with_precautions(hazard: dict[str, Any]) -> dict[str, Any]:
    return {**hazard, "precautions": " ".join(precaution(code).text for code in hazard["precautions"])}


def qr_lines(sheet: MixSheet, batch: BatchSheet | None, made_on: date, zone: tzinfo | None) -> list[str]:
    """What the QR code says: short, and of use to somebody without the program."""
    revision = f"revision {sheet.revision}" if sheet.revision else ""
    if batch is None:
        return [f"recipe {sheet.recipe_id or '(file)'}", sheet.recipe, revision, figures.day(made_on)]
    return [f"batch {batch.id}", sheet.recipe, revision, batch.solution, figures.moment(batch.made_at, zone)]


def _gravity(danger: Any) -> int:
    return LEVELS.index(danger.level) if danger.level in LEVELS else len(LEVELS)


def _facts(sheet: MixSheet, batch: BatchSheet | None, made_on: date) -> list[dict[str, str]]:
    facts = [
        {"name": "surface", "value": figures.area(sheet.area_m2) if sheet.area_m2 is not None else "by volume"},
        {"name": "texture", "value": f"× {figures.plain(sheet.texture, 2)}"},
        {"name": "revision", "value": str(sheet.revision) if sheet.revision else "file"},
        {"name": "printed", "value": figures.day(made_on)},
    ]
    if sheet.strength != 1:
        facts.append({"name": "strength", "value": f"{figures.plain(100 * sheet.strength, 1)} % of the recipe"})
    if batch is not None:
        facts.append({"name": "batch", "value": batch.id})
    return facts


def _solution(
    solution: MixedSolution, batch: BatchSheet | None, hazard: dict[str, Any] | None, zone: tzinfo | None
) -> dict[str, Any]:
    mine = batch is not None and batch.solution == solution.name
    whole = figures.volume(solution.volume_ml)
    if solution.volume_is == "made up to":
        made_with = f"Make up with {solution.solvent} to {whole} of solution."
    else:
        made_with = f"Put into {whole} of {solution.solvent}; the solution is a little more."
    return {
        "name": solution.name,
        "volume": whole,
        "made_with": " ".join([made_with, *_kept(solution)]),
        "use_within": _use_within(solution, batch if mine else None, zone),
        "weigh": [_weigh(line) for line in solution.weigh],
        "order": list(solution.order),
        "hazard": {"signal": "", "pictograms": []} if hazard is None else hazard,
        "workings": _workings(solution),
    }


def _kept(solution: MixedSolution) -> list[str]:
    """What it is kept in, and how much of it as a witness."""
    words = []
    if solution.bottles_ml:
        words.append(f"Bottle: {' and '.join(figures.volume(ml) for ml in solution.bottles_ml)}.")
    if solution.witness_ml:
        words.append(f"Keep {figures.volume(solution.witness_ml)} of it sealed as a witness.")
    return words


def _workings(solution: MixedSolution) -> list[str]:
    volume = [f"Volume: {solution.working}"] if solution.working else []
    return volume + [f"{line.substance}: {line.working}" for line in solution.weigh if line.working]


def _use_within(solution: MixedSolution, batch: BatchSheet | None, zone: tzinfo | None) -> str:
    if batch is not None and batch.use_until is not None:
        return f"Use until {figures.moment(batch.use_until, zone)}."
    if batch is not None and solution.use_within_h is not None:
        return f"Use until {figures.moment(batch.made_at + timedelta(hours=solution.use_within_h), zone)}."
    if solution.use_within_h is None:
        return ""
    return f"Use within {figures.hours(solution.use_within_h)} of mixing."


def _weigh(line: WeighLine) -> dict[str, str]:
    asked = f"{line.asked} asked, {figures.plain(line.achieved_g_per_l, 2)} g/L got"
    return {
        "amount": figures.amount(line.rounded, line.unit),
        "substance": line.substance,
        "cas": line.cas or "",
        "asked": asked,
        "error": figures.rounding(line.error_pct),
        "lot": "not on the shelf yet" if line.missing else ", ".join(filter(None, (line.lot, line.lot_words))),
    }
