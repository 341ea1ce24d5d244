"""A treatment section by section, in words."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from patina.bench.treating import treat
from patina.sheets.care_words import care_row_words, care_words, earlier_care_words, stems_from
from patina.sheets.missing_words import fill_of
from patina.sheets.treatment_words import (
    extraction_lines,
    extraction_table,
    hours_words,
    layer_words,
    map_change_lines,
    map_name,
    part_facts,
    part_line,
    patch_matrix,
    share_words,
    studio_work_lines,
    term_name,
)
from tui import format as show
from tui.screens.treatment_choices import EMPTY, HEADINGS
from tui.widgets.prose import LABEL, Prose

if TYPE_CHECKING:
    from patina.sheets.treatment import CareRow, ImageComparison, MapChange, TreatmentSheet

SECTIONS = tuple(dict.fromkeys(kind.within for kind in treat.kinds()))


def kinds_of(section: str) -> tuple[str, ...]:
    """Names of the kinds of part that a section holds."""
    return tuple(kind.name for kind in treat.kinds() if kind.within == section)


def count_of(sheet: TreatmentSheet, section: str) -> int:
    """How many parts stand in a section."""
    return sum(len(sheet.record.parts(kind)) for kind in treat.kinds() if kind.within == section)


def pressing(sheet: TreatmentSheet, section: str) -> bool:
    """Whether something in the section asks to be done."""
    if section == "authority and consent":
        return bool(sheet.flags)
    if section == "care":
        return any(status.due for status in sheet.care) or bool(sheet.earlier_care and sheet.record.head.finished_on)
    return section == "salts" and any(found.verdict != "reached" for found in sheet.extractions)


def section_words(sheet: TreatmentSheet, section: str) -> Prose:
    """One section: what was written down, and what was worked out from it."""
    record = sheet.record
    of = record.object
    prose = (
        Prose().title(f"{sheet.id} {record.head.name}", f"{of.title} {of.number}".strip()).heading(section.capitalize())
    )
    _FINDINGS.get(section, _nothing)(sheet, prose)
    for kind in treat.kinds():
        if kind.within != section:
            continue
        parts = record.parts(kind)
        if kind.name == "statement":
            _statements(sheet, prose)
        elif kind.name == "proposal":
            _proposals(sheet, prose)
        elif parts:
            prose.heading(HEADINGS.get(kind.name, kind.many.replace("_", " ").capitalize()))
            prose.bullets(f"{part.id}  {part_line(kind.name, part)}" for part in parts)
    if not count_of(sheet, section):
        prose.gap()
        if section != "identification":  # the head stands there already
            prose.text("Nothing is written down here yet. Press n to write the first part.", "$text-muted")
        prose.text(EMPTY[section], "$text-muted")
    return prose


def _proposals(sheet: TreatmentSheet, prose: Prose) -> None:
    """The newest version in full, earlier ones in a line, and who signed what."""
    versions = sheet.record.proposals
    if not versions:
        return
    newest = max(versions, key=lambda p: p.number)
    prose.heading(f"Version {newest.number}, {newest.id}").extend(part_words(sheet, newest.id))
    older = [p for p in versions if p is not newest]
    if older:
        prose.heading("Earlier versions").bullets(f"{p.id}  {part_line('proposal', p)}" for p in older)
    prose.heading("Signed").bullets(s.line for s in sheet.signed if s.what.startswith("proposal"))


def part_words(sheet: TreatmentSheet, part: str) -> Prose:
    """A part in full: each field by its label, also those that the list leaves out."""
    kind, kept = next((kind, kept) for kind, kept in sheet.record.all_parts() if kept.id == part)
    prose = Prose()
    for label, value in part_facts(sheet, treat.fields_of(kind.name), treat.part_as_typed(sheet, part)):
        _labelled(prose, label, value)
    return prose.fact("written", f"{show.moment(kept.at)}, {kept.by}")


def _nothing(sheet: TreatmentSheet, prose: Prose) -> None:
    """Sections without findings of their own."""


def _statements(sheet: TreatmentSheet, prose: Prose) -> None:
    """Observation and interpretation under headings of their own."""
    for heading, parts in (
        ("Observed", sheet.record.observations),
        ("Concluded (interpretation)", sheet.record.interpretations),
    ):
        if parts:
            prose.heading(heading).bullets(f"{part.id}  {part_line('statement', part)}" for part in parts)


def _identification(sheet: TreatmentSheet, prose: Prose) -> None:
    of = sheet.record.object
    prose.fact("object", f"{of.title} {of.number}".strip()).fact("maker", of.maker or "not known")
    prose.fact("alloy", of.alloy).fact("owner", sheet.record.owner or "not said").fact("place", of.place)
    shown = treat.head_as_typed(sheet)
    for name, said in treat.fields_of_head().items():
        if name not in ("cast", "name", "owner"):
            _labelled(prose, said.label, shown[name])


def _labelled(prose: Prose, label: str, value: str) -> None:
    """A fact; one with a long label stands beneath it."""
    if len(label) <= LABEL:
        prose.fact(label, value)
    elif value:
        prose.text(label, "$text-muted").text(value, indent=LABEL + 1)


def _consent(sheet: TreatmentSheet, prose: Prose) -> None:
    for flag in sheet.flags:
        prose.caution(f"{flag.part}: {flag.words}", flag.do)
    if not sheet.flags and count_of(sheet, "authority and consent"):
        prose.text("✓ Nothing is open about authority and consent.", "$text-success")


def _condition(sheet: TreatmentSheet, prose: Prose) -> None:
    names = {one.id: map_name(one) for one in sheet.record.maps}
    for shares in sheet.maps:
        prose.heading(names[shares.map])
        if not shares.terms:
            prose.text("No zone is drawn on it yet (m).", "$text-muted")
        prose.bullets(f"{term_name(term)}: {share_words(share, shares.of)}" for term, share in shares.terms.items())
        if shares.overlap_pct > 0.05:
            prose.fact("", f"{show.percent(shares.overlap_pct, 1)} is drawn more than once; it counts once")
        if shares.outside_pct > 0.05:
            prose.fact("", f"{show.percent(shares.outside_pct, 1)} lies beyond the outline; it does not count")
    if sheet.changes:
        prose.heading("Change").extend(change_lines(sheet.changes, sheet))
        prose.text("o lays the photographs over each other first.", "$text-muted")
    if not sheet.record.maps:
        prose.text("m draws zones on a photograph of the cast.", "$text-muted")


def _tests(sheet: TreatmentSheet, prose: Prose) -> None:
    if sheet.record.patches:
        prose.fact("lowest", f"{sheet.patches.choice or 'no single one'}. {sheet.patches.words}", "bold")
    for words in sheet.patches.contradictions:
        prose.caution(words)
    for line in patch_matrix(sheet):
        prose.text(line)
    for change in sheet.patch_changes:
        size = "" if change.difference is None else f"{show.number(change.difference.delta_e, 1)} ΔE00, "
        prose.fact(change.patch, f"{size}{change.words}")


def _log(sheet: TreatmentSheet, prose: Prose) -> None:
    prose.fact("hours", hours_words(sheet))
    for line in studio_work_lines(sheet):
        prose.fact("on the cast", line)


def _salts(sheet: TreatmentSheet, prose: Prose) -> None:
    for found in sheet.extractions:
        first, *others = extraction_lines(found)
        prose.text(first, "$text-success" if found.verdict == "reached" else "bold")
        if not found.points:
            prose.text("n writes down what a bath reads.", "$text-muted")
            continue
        for line in others:
            prose.text(line.strip(), "$text-muted", indent=3)
        for line in extraction_table(found):
            prose.text(line)
        prose.text("y plots what is out against the root of time.", "$text-muted")


def _protection(sheet: TreatmentSheet, prose: Prose) -> None:
    for layer in sheet.layers:
        if layer.dry is False:
            prose.caution(layer_words(layer))
        else:
            prose.text(layer_words(layer))


def _images(sheet: TreatmentSheet, prose: Prose) -> None:
    for pair in sheet.pairs:
        prose.fact(pair.view, f"{pair.before.id} before, {pair.after.id} after")
        for words in pair.cautions:
            prose.caution(words)
    if sheet.pairs:
        prose.text("f holds each pair against each other.", "$text-muted")


def _care(sheet: TreatmentSheet, prose: Prose) -> None:
    for status in sheet.care:
        if status.due:
            prose.caution(care_words(status), grave=status.state == "act")
        else:
            prose.text(care_words(status))
    if sheet.earlier_care:
        prose.heading("Care of earlier treatments that still reminds")
        prose.bullets(f"{care_words(row.status)} · {stems_from(row)}" for row in sheet.earlier_care)
        prose.text("n takes it over or ends it.", "$text-muted")


def _report(sheet: TreatmentSheet, prose: Prose) -> None:
    for found in sheet.completeness:
        done = found.asked - len(found.missing)
        style = "$text-success" if found.complete else ""
        prose.fact(f"as a {found.purpose}", f"{done} of {found.asked} things that are asked for", style)
    prose.text("c says what is missing and who asks for it.", "$text-muted")
    prose.heading("Signed").bullets(s.line for s in sheet.signed)


_FINDINGS: dict[str, Callable[[TreatmentSheet, Prose], None]] = {
    "identification": _identification,
    "authority and consent": _consent,
    "condition": _condition,
    "tests": _tests,
    "log": _log,
    "salts": _salts,
    "protection": _protection,
    "images": _images,
    "care": _care,
    "report": _report,
}


def missing_words(sheet: TreatmentSheet) -> Prose:
    """What is missing, by purpose, each with who asks for it, what to do, and the section and key for it."""
    prose = Prose()
    for one in sheet.completeness:
        if one.complete:
            prose.heading(f"As a {one.purpose}: complete, {one.asked} of {one.asked}.")
            continue
        prose.heading(f"As a {one.purpose}: {one.asked - len(one.missing)} of {one.asked}; missing:")
        for missing in one.missing:
            prose.bullets([missing.ask.wanted])
            prose.text(missing.detail, indent=3)
            fill = fill_of(sheet.id, missing)
            do = missing.ask.do if fill is None else f"{missing.ask.do} · {fill.on_screen}"
            prose.text(do, "bold", indent=3)
            prose.text(f"asked for by: {missing.ask.clause}", "$text-muted", indent=3)
    return prose


def change_lines(found: tuple[MapChange, ...], sheet: TreatmentSheet) -> Prose:
    """What changed between maps."""
    prose = Prose()
    names = {one.id: map_name(one) for one in sheet.record.maps}
    for change in found:
        first, *others = map_change_lines(change, names)
        prose.gap().text(first, "$text-muted").bullets(line.strip() for line in others)
    return prose


def image_words(found: tuple[ImageComparison, ...]) -> Prose:
    """Each pair of images and what speaks against comparing them."""
    prose = Prose()
    for one in found:
        prose.heading(f"{one.view}: {one.before} and {one.after}")
        prose.text("✓ They may be compared." if one.comparable else "Compare with care.", "bold").text(one.words)
        for caution in one.cautions:
            prose.caution(caution.text, caution.do)
    return prose if found else prose.text("No view has an image before and one after treatment.")


def history_words(sheet: TreatmentSheet) -> Prose:
    """Parts that stand no longer."""
    prose = Prose()
    for part, became in sheet.record.earlier:
        kind = next(k for k in treat.kinds() if k.type is type(part.value))
        prose.text(f"{part.id}  {part_line(kind.name, part)}").text(became, "$text-muted", indent=4)
    return prose if sheet.record.earlier else prose.text("No part was corrected or taken back.")


def care_due_words(rows: tuple[CareRow, ...]) -> Prose:
    """Care that is due, by owner."""
    prose = Prose()
    last = None
    for row in rows:
        if row.owner != last:
            prose.heading(row.owner or "owner not said")
            last = row.owner
        words = care_row_words(row)
        if row.status.due:
            prose.caution(words, grave=row.status.state == "act")
        else:
            prose.bullets([words])
    return prose if rows else prose.text("No care is due or soon due.")


def treatment_overview(sheet: TreatmentSheet) -> Prose:
    """A treatment in the list's sheet: where each section stands, what is open, what is due."""
    of = sheet.record.object
    prose = Prose().title(f"{sheet.id} {sheet.record.head.name}", f"{of.title} {of.number}".strip())
    prose.fact("owner", sheet.record.owner or "not said").fact("documented", sheet.record.head.documenter)
    prose.fact("purpose", sheet.record.head.purpose).gap()
    for flag in sheet.flags:
        prose.caution(f"{flag.part}: {flag.words}", flag.do)
    for status in sheet.care:
        if status.due:
            prose.caution(care_words(status), grave=status.state == "act")
    prose.heading("Completeness")
    for found in sheet.completeness:
        prose.fact(f"as a {found.purpose}", f"{found.asked - len(found.missing)} of {found.asked}")
    prose.heading("Written down")
    prose.bullets(f"{section}: {count_of(sheet, section) or 'nothing yet'}" for section in SECTIONS)
    return prose.gap().text("w, or Enter again, opens it to work on it.", "$text-muted")


def open_words(sheet: TreatmentSheet) -> str:
    """What is open before a treatment is signed off, in a sentence or two; empty where nothing is."""
    report = sheet.complete_for("report")
    said = []
    if lacks := [m for m in report.missing if m.ask.key not in ("report_signed", "copies")]:
        named = "; ".join(m.ask.wanted for m in lacks[:3])
        said.append(f"▲ {len(lacks)} of {report.asked} things that are asked of a report are missing: {named}.")
    if sheet.flags:
        said.append(f"▲ Open about consent: {len(sheet.flags)}. {sheet.flags[0].words}")
    if words := earlier_care_words(sheet):
        said.append(f"▲ {words} It is taken over before signing, in the section Care.")
    return " ".join(said)
