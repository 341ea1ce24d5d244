"""The treatment report: all that a conservator wrote down of one treatment, in the order it is read."""

from __future__ import annotations

from patina.reports import figures
from patina.reports import treatment_examination as first
from patina.reports import treatment_work as second
from patina.reports.colour_words import ColourOf
from patina.reports.document import Block, Caution, Cell, Column, Document, Group, Heading, Paragraph, Signatures, Table
from patina.reports.seal_words import seal_blocks
from patina.reports.treatment_words import NOT_SAID, Shown, joined, lines, section, when_who
from patina.sheets.treatment import Completeness, TreatmentSheet

PURPOSES = {"proposal": "as a proposal", "log": "as a log of treatment", "report": "as a report"}
CAUTION = (
    "Areas on the condition map are as drawn on a photograph, of what this view shows. Colours from photographs carry "
    "the doubt beside them. No standard is claimed for what it does not cover: EN 15886 is for porous inorganic "
    "material, not for a waxed bronze."
)


def treatment_document(sheet: TreatmentSheet, shown: Shown, *, colour_of: ColourOf) -> Document:
    """The report of a treatment, with what is still missing from it and which code or standard asks for it."""
    record = sheet.record
    head, thing = record.head, record.object
    report = next((c for c in sheet.completeness if c.purpose == "report"), None)
    blocks: list[Block] = []
    if report is not None and report.missing:
        words = f"{len(report.missing)} of {report.asked} things that are asked of a report are not on record."
        blocks.append(Caution(words, lead="Not complete.", do="They stand on the last page.", level="caution"))
    blocks += [
        Caution(CAUTION, level="note"),
        *first.identification(sheet),
        *first.leave(sheet),
        *first.examination(sheet),
        *first.condition(sheet, shown),
        *first.proposal(sheet),
        *first.tests(sheet),
        *second.log(sheet),
        *second.materials(sheet),
        *second.salts(sheet, shown),
        *second.protection(sheet),
        *second.images(sheet, shown),
        *second.after(sheet, colour_of),
        *second.care(sheet),
        *_corrections(sheet),
        *_copies(sheet),
        *_signed(sheet),
        *seal_blocks(shown.seal),
        *_missing(sheet),
        Group((Heading("Signatures"), _signatures(sheet))),
    ]
    return Document(
        kind="Treatment report",
        title=thing.title,
        subtitle=joined((head.name, thing.maker, thing.number), " · "),
        record=record.id,
        made_on=sheet.today,
        facts=(
            ("accession number", head.accession or NOT_SAID),
            ("treated", joined((figures.day(head.started_on), figures.day(head.finished_on)), " to ") or NOT_SAID),
            ("documented by", head.documenter or NOT_SAID),
            ("printed", f"{figures.day(sheet.today)}, version {record.version}"),
        ),
        blocks=tuple(blocks),
        qr=(f"treatment {record.id}", thing.title, head.accession, figures.day(sheet.today)),
        footer=joined((shown.studio, thing.title, figures.day(sheet.today))),
    )


def _corrections(sheet: TreatmentSheet) -> list[Block]:
    columns = (Column("part", "20mm"), Column("became", "1fr"), Column("why", "1fr"), Column("first written", "50mm"))
    newer = {part.replaces: part.reason for _, part in sheet.record.all_parts() if part.replaces}
    rows = tuple(
        (
            Cell(strong=part.id),
            Cell(became),
            Cell(newer.get(part.id, "")),
            Cell(small=lines(when_who(part.at.date(), part.by))),
        )
        for part, became in sheet.record.earlier
    )
    return section("Corrected or taken back", columns, rows)


def _copies(sheet: TreatmentSheet) -> list[Block]:
    columns = (Column("given to", "44mm"), Column("what", "1fr"), Column("when", "28mm"), Column("receipt", "1fr"))
    rows = tuple(
        (
            Cell(strong=c.value.to),
            Cell(c.value.what, small=lines(c.value.form)),
            Cell(figures.day(c.value.on) or NOT_SAID),
            Cell(c.value.receipt or "none on record"),
        )
        for c in sheet.record.copies
    )
    return section("Copies of this record", columns, rows)


def _missing(sheet: TreatmentSheet) -> list[Block]:
    blocks: list[Block] = [Heading("What the record lacks, and who asks for it")]
    blocks += [Paragraph(_whole(c)) for c in sheet.completeness if not c.missing]
    columns = (Column("missing", "1fr"), Column("asked for by", "60mm"), Column("what to do", "1fr"))
    for c in sheet.completeness:
        rows = tuple(
            (Cell(m.ask.wanted, small=lines(m.detail)), Cell(small=tuple(m.ask.clause.split("; "))), Cell(m.ask.do))
            for m in c.missing
        )
        if rows:
            name = PURPOSES.get(c.purpose, c.purpose)
            blocks += [Heading(f"{name[0].upper()}{name[1:]}: {len(rows)} of {c.asked}", 3), Table(columns, rows)]
    return blocks


def _whole(c: Completeness) -> str:
    name = PURPOSES.get(c.purpose, c.purpose)
    return f"{name[0].upper()}{name[1:]} it holds all {c.asked} things that are asked."


def _signed(sheet: TreatmentSheet) -> list[Block]:
    """Each thing that can be signed with the names under it, also where nobody signed."""
    columns = (
        Column("what", "44mm"),
        Column("signed by", "48mm"),
        Column("signed on", "28mm"),
        Column("how", "1fr"),
    )
    rows = tuple(
        (
            Cell(strong=s.what),
            Cell(s.who or "nobody"),
            Cell(figures.day(s.on)),
            Cell(joined((s.words, "altered since it was signed" if s.altered else ""), "; ")),
        )
        for s in sheet.signed
    )
    return section("What was signed, and what was not", columns, rows)


def _signatures(sheet: TreatmentSheet) -> Block:
    """Lines for names on paper; names that are on record stand on theirs."""
    signed = [
        (
            joined((f"report signed as {s.value.capacity}" if s.value.capacity else "report signed", s.value.how)),
            s.value.who + (" (since altered)" if s.id in sheet.unsigned else ""),
            figures.day(s.value.dated),
        )
        for s in sheet.record.signatures
        if s.value.of == "report"
    ]
    off = sheet.record.signed_off
    if off is not None:
        signed.append(("record signed off as a whole", off.by, figures.day(off.at.date())))
    if not signed:
        signed = [(joined(("conservator", sheet.record.head.documenter), ": "), "", "")]
    return Signatures((*signed, ("owner, copy received", "", "")))
