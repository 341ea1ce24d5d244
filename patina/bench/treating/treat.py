"""The conservator's treatment: begun, written part by part, corrected and taken back, and read whole."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from patina.bench.studio import Studio
from patina.bench.treating.treat_gather import gather
from patina.conservation.consent import proposal_sha256, report_sha256
from patina.conservation.kinds import KINDS, Kind, kind_named
from patina.conservation.reading_words import read_part, show_part
from patina.conservation.saying import Saying, sayings
from patina.conservation.values import Head, Signature
from patina.errors import Incomplete, NotFound, Refused
from patina.records.pieces import casts
from patina.records.studio.unit import unit
from patina.records.tables.ids import fetch
from patina.records.tables.pieces import CastTable
from patina.records.treating import treatments as treatment_store
from patina.sheets.treatment import TreatmentHeadRow, WrittenPart

if TYPE_CHECKING:
    from patina.sheets.treatment import TreatmentSheet

# Versions are counted and signed; what was wrong in one is said in the next.
NEVER_CORRECTED = ("proposal", "signature")


def fields_of_head() -> Mapping[str, Saying]:
    """The fields of a treatment's head, by name, as they are asked for."""
    return sayings(Head)


def fields_of(kind: str) -> Mapping[str, Saying]:
    """The fields of a kind of part that a person fills in. Raises NotFound."""
    return {name: said for name, said in sayings(kind_named(kind).type).items() if said.how != "derived"}


def kinds() -> tuple[Kind, ...]:
    """The kinds of part, in the order of the work."""
    return KINDS


def list_treatments(studio: Studio, search: str = "", cast: str | None = None) -> tuple[TreatmentHeadRow, ...]:
    """Treatments, newest first. search: every word must stand in name, piece, owner, purpose or number."""
    wanted = search.casefold().split()
    with studio.store.view() as session:
        only = None if cast is None else fetch(session, CastTable, cast, field="cast").id
        rows = treatment_store.all_treatments(session, only)
        of_casts = {row.id: row for row in casts.cast_rows(session, CastTable.id.in_({r.cast_id for r in rows}))}
        found = []
        for row in rows:
            of = of_casts[f"C{row.cast_id}"]
            shown = TreatmentHeadRow(
                id=row.public_id,
                name=row.name,
                cast=of.id,
                title=of.piece,
                number=of.number,
                owner=row.owner or of.owner,
                started_on=row.started_on,
                finished_on=row.finished_on,
                documenter=row.documenter,
            )
            text = " ".join(
                (row.name, of.piece, of.number, shown.owner, row.purpose, row.accession, shown.id)
            ).casefold()
            if all(word in text for word in wanted):
                found.append(shown)
    return tuple(found)


def treatment_sheet(studio: Studio, which: str, today: date | None = None) -> TreatmentSheet:
    """A treatment in full, by its id. today: what care is counted to. Raises NotFound."""
    with studio.store.view() as session:
        return gather(studio, session, treatment_store.find_treatment(session, which), today or date.today())


def begin_treatment(studio: Studio, fields: Mapping[str, str], *, by: str = "") -> TreatmentSheet:
    """Begin a treatment record from its head as typed; cast and name are needed. Raises Incomplete, NotFound."""
    who = studio.who(by)
    head = read_part(Head, {"documenter": who, **{k: v for k, v in fields.items() if v.strip()}})
    with unit(studio.store, "begin treatment", by=who) as work:
        row = treatment_store.add_head(work.session, head)
        sheet = gather(studio, work.session, row, date.today())
        work.commit()
    return sheet


def head_as_typed(sheet: TreatmentSheet) -> dict[str, str]:
    """The head of a treatment as it would be typed."""
    return show_part(sheet.record.head)


def part_as_typed(sheet: TreatmentSheet, part: str) -> dict[str, str]:
    """A part that stands, as it would be typed. Raises NotFound."""
    for _, kept in sheet.record.all_parts():
        if kept.id == part.strip().upper():
            return show_part(kept.value)
    raise NotFound(f"{sheet.id} has no part '{part}'.", "Give the id of a part that stands in it.")


def change_head(
    studio: Studio, which: str, fields: Mapping[str, str], version: int | None = None, *, by: str = ""
) -> TreatmentSheet:
    """Change some fields of a treatment's head; the log keeps what they were. version: of the sheet that was
    looked at. Raises Changed, Incomplete, NotFound."""
    who = studio.who(by)
    with unit(studio.store, "change treatment", by=who) as work:
        row = treatment_store.find_treatment(work.session, which)
        head = read_part(Head, fields, before=treatment_store.head_of(row))
        treatment_store.change_head(work.session, row, head, version)
        sheet = gather(studio, work.session, row, date.today())
        work.commit()
    return sheet


def write_part(studio: Studio, which: str, kind: str, fields: Mapping[str, str], *, by: str = "") -> WrittenPart:
    """Write a part of a treatment from its fields as typed. It is never altered: see ``correct_part``.

    Names and days that were left open are not guessed; who wrote it is kept beside it. Raises Incomplete,
    NotFound, Refused.
    """
    from patina.bench.treating.treat_rules import in_order

    chosen = kind_named(kind)
    who = studio.who(by)
    value = read_part(chosen.type, fields)
    with unit(studio.store, f"write {kind}", by=who) as work:
        row = treatment_store.find_treatment(work.session, which)
        value = in_order(studio, work.session, row, chosen, value)
        extra: dict[str, Any] = {}
        if kind == "proposal":
            extra["number"] = treatment_store.next_proposal(work.session, row)
        if kind == "signature":
            extra["sha256"] = _what_is_signed(studio, work.session, row, value)
        part = treatment_store.add_part(work.session, row, chosen, value, by=who, **extra)
        sheet = gather(studio, work.session, row, date.today())
        work.commit()
    return WrittenPart(part.public_id, sheet)


def _what_is_signed(studio: Studio, session: Any, row: Any, value: Signature) -> str:
    record = gather(studio, session, row, date.today()).record
    if value.of == "report":
        return report_sha256(record)
    if value.version is None:
        raise Refused("It is not said which version was signed.", "Give the number of the version.", field="version")
    for proposal in record.proposals:
        if proposal.number == value.version:
            return proposal_sha256(proposal)
    raise NotFound(
        f"{record.id} has no version {value.version} of the proposal.",
        f"It has {len(record.proposals)}; give one of them.",
        field="version",
    )


def correct_part(studio: Studio, part: str, fields: Mapping[str, str], reason: str, *, by: str = "") -> WrittenPart:
    """Write a part anew in place of one that was wrong; the first stays on record. fields: only those that change.

    Raises Changed where it was corrected already, Incomplete, NotFound, Refused."""
    from patina.bench.treating.treat_rules import in_order

    _say_why(reason)
    who = studio.who(by)
    with unit(studio.store, "correct part of treatment", by=who, why=reason.strip()[:400]) as work:
        old = treatment_store.find_part(work.session, part)
        kind = treatment_store.kind_of(old)
        if kind.name in NEVER_CORRECTED:
            raise Refused(f"A {kind.name} is never corrected.", f"Write another {kind.name}.")
        row = treatment_store.find_treatment(work.session, f"CT{old.conservation_id}")
        treatment_store.standing(work.session, old)
        before = _value_of(work.session, row, kind, old.public_id)
        value = in_order(studio, work.session, row, kind, read_part(kind.type, fields, before=before))
        new = treatment_store.add_part(work.session, row, kind, value, by=who, replaces=old, reason=reason.strip())
        sheet = gather(studio, work.session, row, date.today())
        work.commit()
    return WrittenPart(new.public_id, sheet)


def withdraw_part(studio: Studio, part: str, reason: str, *, by: str = "") -> TreatmentSheet:
    """Take a part back; it stays on record as taken back. Raises Changed, NotFound, Refused where others need it."""
    _say_why(reason)
    who = studio.who(by)
    with unit(studio.store, "take back part of treatment", by=who, why=reason.strip()[:400]) as work:
        old = treatment_store.find_part(work.session, part)
        kind = treatment_store.kind_of(old)
        if kind.name == "proposal":
            raise Refused("A version of the proposal is never taken back.", "Write another version that says so.")
        leaning = treatment_store.refers_to(work.session, old)
        if leaning:
            raise Refused(
                f"{old.public_id} is referred to by {', '.join(leaning[:6])}.", "Take those back or correct them first."
            )
        row = treatment_store.find_treatment(work.session, f"CT{old.conservation_id}")
        treatment_store.standing(work.session, old)
        value = _value_of(work.session, row, kind, old.public_id)
        extra = {"sha256": old.sha256} if kind.name == "signature" else {}  # type: ignore[attr-defined]
        treatment_store.add_part(
            work.session, row, kind, value, by=who, replaces=old, withdrawn=True, reason=reason.strip(), **extra
        )
        sheet = gather(studio, work.session, row, date.today())
        work.commit()
    return sheet


def _value_of(session: Any, row: Any, kind: Kind, part: str) -> Any:
    found, _ = treatment_store.kept_parts(session, row)
    return next(kept.value for kept in found[kind.many] if kept.id == part)


def _say_why(reason: str) -> None:
    if not reason.strip():
        raise Incomplete([Refused("The reason is missing.", "Say in a few words why.", field="reason")])
