"""The batch sheet: what to weigh, in which order, and what to fear, to be read with wet gloves."""

from __future__ import annotations

from datetime import date, timedelta, tzinfo
from pathlib import Path

from patina.language import shown
from patina.reports import figures
from patina.reports.document import (
    Band,
    Blanks,
    Block,
    Caution,
    Cell,
    Chart,
    Column,
    Document,
    Group,
    Heading,
    Items,
    Marks,
    Paragraph,
    Table,
)
from patina.reports.publish import Progress, publish, quiet
from patina.reports.safety_sheet import critical_blocks, safety_blocks
from patina.reports.safety_words import hazards
from patina.sheets import BatchSheet, MixedSolution, MixSheet, WeighLine

_WEIGH = (
    Column("", "10mm", "centre", name="done"),
    Column("weigh out", "auto", "right"),
    Column("substance and lot", "1fr"),
    Column("really weighed", "32mm", "right"),
)


def write_batch_sheet(
    sheet: MixSheet,
    path: Path,
    *,
    batch: BatchSheet | None = None,
    made_on: date,
    zone: tzinfo | None = None,
    charts: tuple[Chart, ...] = (),
    progress: Progress = quiet,
) -> tuple[Path, ...]:
    """Print a mix. The path's ending picks PDF (PDF/A-2b), HTML, SVG or PNG; pictures are one per page.

    batch: the batch that was mixed after it, where there is one; its id goes into the QR code and
    its figures onto the sheet. made_on: the date the sheet carries. zone: whose clock the times are
    told by, None the machine's. charts: of the batch's strength.
    Returns the files written. Raises Refused for another ending, StudioTrouble where the file
    cannot be written.
    """
    document = batch_document(sheet, batch=batch, made_on=made_on, zone=zone, charts=charts)
    return publish(document, path, progress=progress)


def batch_document(
    sheet: MixSheet,
    *,
    batch: BatchSheet | None = None,
    made_on: date,
    zone: tzinfo | None = None,
    charts: tuple[Chart, ...] = (),
) -> Document:
    """All that the sheet shows."""
    marks = {s.name: hazards(s) for s in sheet.safety.solutions}
    blocks: list[Block] = [*critical_blocks(sheet.safety)]
    blocks += [Caution(w.text, lead="Mind:", do=w.do or "") for w in sheet.warnings]
    for solution in sheet.solutions:
        blocks += _pot(solution, batch, marks.get(solution.name), zone)
    if batch is not None and batch.used:
        blocks += _used(batch, zone)
    if charts:
        blocks += [Heading("How strong it still is"), *charts]
    blocks += [Heading("Before you open anything"), *safety_blocks(sheet.safety)]
    return Document(
        kind="Batch sheet",
        title=sheet.recipe,
        subtitle=sheet.finish,
        record=_record(sheet, batch),
        made_on=made_on,
        facts=_facts(sheet, batch, made_on),
        blocks=tuple(blocks),
        qr=tuple(qr_lines(sheet, batch, made_on, zone)),
        footer=f"{sheet.recipe}, {figures.day(made_on)}",
        large_facts=True,
    )


def _record(sheet: MixSheet, batch: BatchSheet | None) -> str:
    if batch is not None:
        return batch.id
    return f"{sheet.recipe_id}, revision {sheet.revision}" if sheet.recipe_id else "recipe file"


def qr_lines(sheet: MixSheet, batch: BatchSheet | None, made_on: date, zone: tzinfo | None) -> list[str]:
    """What the QR code says: short, and of use to somebody without the program."""
    revision = f"revision {sheet.revision}" if sheet.revision else ""
    if batch is None:
        return [f"recipe {sheet.recipe_id or '(file)'}", sheet.recipe, revision, figures.day(made_on)]
    return [f"batch {batch.id}", sheet.recipe, revision, batch.solution, figures.moment(batch.made_at, zone)]


def _facts(sheet: MixSheet, batch: BatchSheet | None, made_on: date) -> tuple[tuple[str, str], ...]:
    facts = [
        ("surface", figures.area(sheet.area_m2) if sheet.area_m2 is not None else "by volume"),
        ("texture", f"× {figures.plain(sheet.texture, 2)}"),
        ("revision", str(sheet.revision) if sheet.revision else "file"),
        ("printed", figures.day(made_on)),
    ]
    if sheet.strength != 1:
        facts.append(("strength", f"{figures.plain(100 * sheet.strength, 1)} % of the recipe"))
    if batch is not None:
        facts.append(("batch", batch.id))
    return tuple(facts)


def _pot(
    solution: MixedSolution, batch: BatchSheet | None, marks: dict[str, object] | None, zone: tzinfo | None
) -> list[Block]:
    mine = batch is not None and batch.solution == solution.name
    pictograms = () if marks is None else tuple(marks["pictograms"])  # type: ignore[arg-type]
    blocks: list[Block] = [
        Band(solution.name, figures.volume(solution.volume_ml)),
        Marks(
            pictograms,
            "" if marks is None else str(marks["signal"]),
            text=" ".join([_made_with(solution), *_kept(solution)]),
            strong=_use_within(solution, batch if mine else None, zone),
            side_mm=10.0,
        ),
        Table(_WEIGH, tuple(_weigh(line) for line in solution.weigh), large=True),
    ]
    order: list[Block] = []
    if solution.order:
        order = [Heading("In this order", 3), Items(solution.order, "numbered")]
    write_on = Blanks((("pH", 24), ("°C", 24), ("mixed at", 26), ("initials", 18)))
    workings = [Paragraph(w, size="small") for w in _workings(solution)]
    return [*blocks, Group((*order, write_on, *workings))]


def _made_with(solution: MixedSolution) -> str:
    whole = figures.volume(solution.volume_ml)
    if solution.volume_is == "made up to":
        return f"Make up with {solution.solvent} to {whole} of solution."
    return f"Put into {whole} of {solution.solvent}; the solution is a little more."


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
    return volume + [f"{shown(line.substance)}: {line.working}" for line in solution.weigh if line.working]


def _use_within(solution: MixedSolution, batch: BatchSheet | None, zone: tzinfo | None) -> str:
    if batch is not None and batch.use_until is not None:
        return f"Use until {figures.moment(batch.use_until, zone)}."
    if batch is not None and solution.use_within_h is not None:
        return f"Use until {figures.moment(batch.made_at + timedelta(hours=solution.use_within_h), zone)}."
    if solution.use_within_h is None:
        return ""
    return f"Use within {figures.hours(solution.use_within_h)} of mixing."


def _weigh(line: WeighLine) -> tuple[Cell, ...]:
    asked = f"{line.asked} asked, {figures.plain(line.achieved_g_per_l, 2)} g/L got; {figures.rounding(line.error_pct)}"
    lot = "not on the shelf yet" if line.missing else ", ".join(filter(None, (line.lot, line.lot_words)))
    return (
        Cell(tick=True),
        Cell(figure=figures.amount(line.rounded, line.unit)),
        Cell(f"CAS {line.cas}" if line.cas else "", line.substance, small=(asked,), foot=f"lot {lot}" if lot else ""),
        Cell(blank_mm=30),
    )


def _used(batch: BatchSheet, zone: tzinfo | None) -> list[Block]:
    columns = (Column("when"), Column("taken", align="right"), Column("for", "1fr"), Column("by"))
    rows = tuple(
        (Cell(figures.moment(at, zone)), Cell(figures.volume(ml)), Cell(why), Cell(by))
        for at, ml, why, by in batch.used
    )
    left = f"{figures.volume(batch.left_ml)} are left by the log."
    return [Heading("What was taken from it"), Table(columns, rows), Paragraph(left)]
