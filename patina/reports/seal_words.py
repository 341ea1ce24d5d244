"""How a printed record says that it was signed off, and what was added to it since."""

from __future__ import annotations

from patina.reports import figures
from patina.reports.document import Block, Caution, Cell, Column, Facts, Group, Heading, Paragraph, Table
from patina.sheets.history import AmendmentRow, SealSheet


def seal_blocks(seal: SealSheet | None) -> tuple[Block, ...]:
    """Who signed, when, under which words, the hash of what was signed, and every amendment with its reason.

    Nothing where nobody signed and nothing was added. A record whose content no longer has the hash that was
    signed says so before all else.
    """
    if seal is None or not (seal.sealed or seal.amendments):
        return ()
    head: tuple[Block, ...] = ()
    if seal.sealed:
        signed = "" if seal.at is None else figures.moment(seal.at)
        facts = Facts((("by", seal.by), ("on", signed), ("rows that it covers", str(seal.covers))))
        words = Paragraph(seal.statement, lead="Statement.")
        proof = Paragraph(seal.sha256, lead="SHA-256 of what was signed.", size="small")
        head = (Group((Heading("Signed off"), *_broken(seal), facts, words, proof)),)
    return (*head, *_amendments(seal.amendments))


def _broken(seal: SealSheet) -> tuple[Block, ...]:
    if seal.sound is None:
        return (Paragraph("What was signed is held by the studio, so it is not proved here."),)
    if seal.sound:
        return ()
    return (
        Caution(
            "The record no longer has the hash that was signed.",
            lead="Not what was signed.",
            do="Ask the studio to prove its records, and keep to an older copy until it has.",
            level="caution",
        ),
    )


def _amendments(amendments: tuple[AmendmentRow, ...]) -> tuple[Block, ...]:
    columns = (Column("", "8mm", name="number"), Column("added", "1fr"), Column("why", "45mm"), Column("by", "34mm"))
    rows = tuple(
        (Cell(strong=str(a.number)), Cell(a.words), Cell(a.why), Cell(a.by, small=(figures.moment(a.at),)))
        for a in amendments
    )
    return (Heading("Amendments"), Table(columns, rows)) if rows else ()
