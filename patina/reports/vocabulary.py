"""What the controlled words of a conservator's record mean, for whoever reads it without this program."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from patina.reports import figures
from patina.reports.document import Block, Cell, Column, Document, Heading, Paragraph, Table

if TYPE_CHECKING:
    from patina.conservation.completeness import Ask
    from patina.conservation.vocabulary import Step, Term, Trigger
    from patina.sources import Source

INTRODUCTION = (
    "Words that records of conservators' treatments choose from, as the program that wrote them explained them. The "
    "word in brackets is the key that stands in the tables."
)


def vocabulary_document(
    terms: Sequence[Term],
    scales: Sequence[Step],
    triggers: Sequence[Trigger],
    asks: Sequence[Ask],
    sources: Sequence[Source],
    *,
    made_on: date,
    studio: str = "",
) -> Document:
    """Terms of condition, scales, triggers of care, what is asked of a record and by whom, and the sources in full.

    sources: of every key that the others name."""
    blocks: list[Block] = [
        Paragraph(INTRODUCTION),
        Heading("Terms of the condition map"),
        Table(
            (
                Column("term", "48mm"),
                Column("meaning", "1fr"),
                Column("formula, numbers", "38mm"),
                Column("source", "36mm"),
            ),
            tuple(_term(t) for t in terms),
        ),
        Heading("Scales of the condition map"),
        Table(
            (Column("scale", "30mm"), Column("step", "30mm"), Column("meaning", "1fr"), Column("source", "36mm")),
            tuple((Cell(strong=s.scale), Cell(s.value), Cell(s.meaning), Cell(small=(s.source,))) for s in scales),
        ),
        Heading("What sets off care"),
        Table(
            (
                Column("trigger", "48mm"),
                Column("meaning", "1fr"),
                Column("limit, how often", "38mm"),
                Column("source", "36mm"),
            ),
            tuple(_trigger(t) for t in triggers),
        ),
        Heading("What is asked of a record"),
        Table(
            (Column("asked for", "1fr"), Column("for", "40mm"), Column("by", "70mm")),
            tuple(
                (Cell(a.wanted), Cell(small=(", ".join(a.purposes),)), Cell(small=tuple(a.clause.split("; "))))
                for a in asks
            ),
        ),
        Heading("Sources"),
        Table(
            (Column("key", "42mm"), Column("what to look up", "1fr"), Column("how it was seen", "46mm")),
            tuple((Cell(strong=s.key), Cell(small=(s.citation,)), Cell(small=(s.checked,))) for s in sources),
        ),
    ]
    return Document(
        kind="Words and sources",
        title="What the words mean",
        subtitle="Condition terms, scales, triggers of care, codes and standards",
        record="words",
        made_on=made_on,
        facts=(),
        blocks=tuple(blocks),
        footer=", ".join(w for w in (studio, figures.day(made_on)) if w),
    )


def _term(t: Term) -> tuple[Cell, ...]:
    numbers = (t.formula, f"CAS {t.cas}" if t.cas else "", f"AAT {t.aat}" if t.aat else "")
    return (
        Cell(strong=t.name, small=(f"{t.group} ({t.key})",)),
        Cell(t.note),
        Cell(small=tuple(n for n in numbers if n)),
        Cell(small=tuple(dict.fromkeys(s for s in (t.source, t.id_source) if s))),
    )


def _trigger(t: Trigger) -> tuple[Cell, ...]:
    limit = "" if t.limit is None else f"limit {figures.plain(t.limit, 2)} {t.unit}".rstrip()
    unit = f"in {t.unit}" if t.unit and t.limit is None else ""
    often = f"every {figures.plain(t.months, 1)} months"
    return (
        Cell(strong=t.name, small=(f"({t.key})",)),
        Cell(t.note),
        Cell(small=tuple(w for w in (limit, unit, often) if w)),
        Cell(small=(t.source,)),
    )
