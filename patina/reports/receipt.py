"""The receipt of an archive bundle: one page, two copies, to be signed by who gives and who receives."""

from __future__ import annotations

from collections.abc import Sequence

from patina.language import shown
from patina.reports import figures
from patina.reports.document import Block, Document, Facts, Group, Heading, Paragraph, Signatures
from patina.sheets.access import HandoverRow
from patina.sheets.archive import BundleSheet

COPIES = ("Copy of the owner", "Copy of the conservator or studio")
PROOF = (
    "Whoever holds the file proves it by its SHA-256 (sha256sum FILE, or patina archive verify FILE). The file is a "
    "BagIt bag (RFC 8493): it opens as a ZIP file and needs no program; its README explains every file."
)


def receipt_document(sheet: BundleSheet, given: HandoverRow, *, studio: str = "") -> Document:
    """The receipt of a bundle that was handed over."""
    return Document(
        kind="Receipt of an archive bundle",
        title=sheet.called,
        subtitle=given.file_name,
        record=given.id,
        made_on=given.given_on,
        facts=(),
        blocks=tuple(block for name in COPIES for block in _copy(name, sheet, given, studio)),
        footer=", ".join(w for w in (studio, given.id, figures.day(given.given_on)) if w),
    )


def _copy(name: str, sheet: BundleSheet, given: HandoverRow, studio: str) -> tuple[Block, ...]:
    holds = f"{_n(sheet.records, 'record')}, {_n(sheet.photographs, 'photograph')}"
    left = f"{_n(len(sheet.left_out), 'cell')}, {_n(len(sheet.withheld), 'recipe')}"
    facts = [
        ("file", given.file_name),
        ("size", f"{sheet.size_bytes} bytes"),
        ("holds", holds),
        ("made for", sheet.made_for),
        ("left out", left if sheet.left_out or sheet.withheld else "nothing"),
        ("from", ", ".join(w for w in (studio, given.by) if w)),
        ("to", f"{given.to} ({given.as_what})" if given.as_what else given.to),
        ("handed over", figures.day(given.given_on)),
        ("terms", given.terms),
    ]
    blocks: tuple[Block, ...] = (
        Heading(name),
        Paragraph(sheet.sha256, lead="SHA-256", size="small"),
        Facts(tuple((k, v) for k, v in facts if v), columns=3),
        Paragraph(_contents(sheet.tables), lead="In it:", size="small"),
        Paragraph(PROOF, size="small"),
        Signatures(
            (
                (f"given by {given.by}, date and signature", "", ""),
                (f"received by {given.to}, date and signature", "", ""),
            )
        ),
    )
    return (Group(blocks),)


# Tables whose rows are things that a person would count; parts of treatments and all else are counted together.
_COUNTED = {
    "piece": "piece",
    "cast_piece": "cast",
    "master": "agreed finish",
    "recipe": "recipe",
    "tile": "tile",
    "batch": "pot",
    "lot": "lot",
    "photograph": "photograph",
    "reading": "reading",
    "conservation": "treatment record",
}


def _contents(tables: Sequence[tuple[str, int]]) -> str:
    """What is in a bundle, as people count it."""
    rows = dict(tables)
    said = [f"{rows[name]} × {shown(thing)}" for name, thing in _COUNTED.items() if rows.get(name)]
    parts = sum(n for name, n in tables if name.startswith("conservation_"))
    others = sum(n for name, n in tables if name not in _COUNTED and not name.startswith("conservation_"))
    said += [shown(f"entries in treatment records: {parts}")] if parts else []
    said += [shown(f"rows that belong to them: {others}")] if others else []
    return ", ".join(said)


def _n(n: int, thing: str) -> str:
    return f"{n} {thing}" if n == 1 else f"{n} {thing}s"
