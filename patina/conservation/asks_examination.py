"""Tests of completeness: identification, authority, examination and proposal. Each says what is missing, or "" ."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from patina.conservation.consent import still_signed
from patina.conservation.record import Kept, Record
from patina.conservation.signed import consent_words, of_version
from patina.conservation.values import Proposal
from patina.conservation.vocabulary import not_covered


def listed(words: Iterable[str], most: int = 6) -> str:
    """A few things in a row, the rest counted.

    >>> listed(["CA1", "CA2", "CA3"], 2)
    'CA1, CA2 and 1 more'
    """
    found = list(words)
    more = len(found) - most
    return ", ".join(found[:most]) + (f" and {more} more" if more > 0 else "")


def _needs(text: str, what: str) -> str:
    return "" if text.strip() else f"{what} is not given."


def _maker_title(record: Record) -> str:
    lacks = [word for word, said in (("maker", record.object.maker), ("title", record.object.title)) if not said]
    return f"Not on record: {listed(lacks)}." if lacks else ""


def _measurements(record: Record) -> str:
    known = record.head.measurements or record.object.height_mm is not None
    return "" if known else "No measurement is given."


def _site(record: Record) -> str:
    return _needs(record.head.site or record.object.place, "Site or place")


def _authority(record: Record) -> str:
    written = [a for a in record.authorities if a.value.in_writing and a.value.dated is not None]
    general = [a for a in written if a.value.deviation is None and a.value.what != "permit"]
    if not general:
        return "No authority or consent of the owner, in writing and dated, is on record."
    first = min((a.value.on for a in record.actions if a.value.on is not None), default=None)
    earliest = min(a.value.dated for a in general if a.value.dated is not None)
    if first is not None and earliest > first:
        return f"The earliest, of {earliest.isoformat()}, is later than the first action, of {first.isoformat()}."
    return ""


def _examination(record: Record) -> str:
    return "" if record.observations else "No observation is on record."


def _apart(record: Record) -> str:
    if record.observations and not record.interpretations:
        return "Nothing is written down as an interpretation: was nothing concluded, or do they stand mixed?"
    known = {s.id for s in record.observations}
    bare = [s.id for s in record.interpretations if not set(s.value.rests_on) & known]
    return f"These name no observation that they rest on: {listed(bare)}." if bare else ""


def _methods(record: Record) -> str:
    bare = [s.id for s in record.observations if not s.value.method]
    return f"Observations without a method: {listed(bare)}." if bare else _examination(record)


def _circumstances(record: Record) -> str:
    bare = [s.id for s in record.observations if not s.value.circumstances]
    return f"Observations without circumstances: {listed(bare)}." if bare else _examination(record)


def _condition(record: Record) -> str:
    if record.zones:
        bare = [z.id for z in record.zones if z.value.severity is None or not z.value.activity]
        return f"Zones without severity or activity: {listed(bare)}." if bare else ""
    words = any(s.value.topic in ("surface", "corrosion", "coating", "structure") for s in record.observations)
    return "" if words else "There is no condition map, and no observation describes surface or structure."


def _topic(topic: str, what: str) -> Callable[[Record], str]:
    def test(record: Record) -> str:
        return "" if any(s.value.topic == topic for s in record.statements) else f"Nothing is said of {what}."

    return test


def _last(record: Record) -> Kept[Proposal] | None:
    return max(record.proposals, key=lambda p: p.number, default=None)


def _proposal(record: Record) -> str:
    last = _last(record)
    if last is None:
        return "There is no proposal."
    return "" if last.value.steps else f"Version {last.number} names no steps."


def _of_proposal(*fields: str) -> Callable[[Record], str]:
    def test(record: Record) -> str:
        last = _last(record)
        if last is None:
            return "There is no proposal."
        lacks = [field.replace("_", " ") for field in fields if getattr(last.value, field) in ("", (), None)]
        return f"Version {last.number} says nothing of: {listed(lacks)}." if lacks else ""

    return test


def _reference(record: Record) -> str:
    last = _last(record)
    said = record.head.reference_appearance or (last is not None and last.value.reference_appearance)
    return "" if said else "No reference appearance is agreed."


def _signed(record: Record) -> str:
    last = _last(record)
    if last is None:
        return "There is no proposal to sign."
    signed = of_version(record, last.number)
    if not signed:
        off = record.signed_off
        beside = "" if off is None else f"{off.by} signed the record off as a whole, which is no consent to a proposal"
        said = "; ".join(filter(None, (consent_words(record, last.number), beside)))
        return f"Nobody signed version {last.number} of the proposal{f' ({said})' if said else ''}."
    return "" if any(still_signed(record, s) for s in signed) else f"Version {last.number} is not what was signed."


def _scope(record: Record) -> str:
    """Standards that are named somewhere although they do not cover a patinated copper alloy."""
    said = [(part.id, repr(part.value)) for _, part in record.all_parts()]
    said.append((record.id, repr(record.head)))
    wrong = [(id, scope) for id, words in said for scope in not_covered(words)]
    if not wrong:
        return ""
    covers = dict.fromkeys(f"{scope.mark} covers {scope.covers}" for _, scope in wrong)
    return f"Named in {listed(dict.fromkeys(id for id, _ in wrong))}: {'; '.join(covers)}."


EXAMINATION: dict[str, Callable[[Record], str]] = {
    "object_id": lambda r: _needs(r.head.accession, "An accession or inventory number"),
    "maker_title": _maker_title,
    "measurements": _measurements,
    "marks": lambda r: _needs(r.head.marks, "What is marked on the object"),
    "site": _site,
    "owner": lambda r: _needs(r.owner, "The owner"),
    "purpose": lambda r: _needs(r.head.purpose, "The purpose"),
    "documenter": lambda r: _needs(r.head.documenter, "The documenter"),
    "authority": _authority,
    "examination": _examination,
    "apart": _apart,
    "methods": _methods,
    "circumstances": _circumstances,
    "condition": _condition,
    "earlier": _topic("earlier treatment", "earlier treatments"),
    "parts": _topic("associated parts", "associated parts"),
    "alternatives": _of_proposal("alternatives"),
    "proposal": _proposal,
    "retreatability": _of_proposal("retreatability", "risks"),
    "hours": _of_proposal("hours_low", "hours_high"),
    "reference": _reference,
    "signed": _signed,
    "scope": _scope,
}
