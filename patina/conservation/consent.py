"""Authority and consent: whether what was done was agreed to, in writing, before it was done."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import date
from typing import Any

from patina.conservation.record import Kept, Record, plain
from patina.conservation.saying import sayings
from patina.conservation.values import Action, Authority, Proposal, Signature


@dataclass(frozen=True, slots=True)
class Flag:
    """Something about consent that another person would ask about. part: the id it is about. do: what to do."""

    part: str
    words: str
    do: str


def consent_flags(record: Record) -> tuple[Flag, ...]:
    """All that is open about authority, consent, deviations and signatures; empty where nothing is."""
    flags = [*_authority(record), *_versions(record)]
    for action in record.actions:
        flags += _deviation(record, action)
    flags += [
        Flag(
            s.id,
            f"The {s.value.of} is no longer what {s.value.who} signed.",
            "Have the present one signed, or say in the record what was added since.",
        )
        for s in record.signatures
        if not still_signed(record, s)
    ]
    return tuple(flags)


def _authority(record: Record) -> list[Flag]:
    flags = [
        Flag(a.id, f"The {a.value.what} of {a.value.who} is not in writing.", "Ask for a letter or a signed proposal.")
        for a in record.authorities
        if not a.value.in_writing
    ]
    flags += [
        Flag(a.id, f"The {a.value.what} of {a.value.who} has no date.", "Write down its date.")
        for a in record.authorities
        if a.value.dated is None
    ]
    begun = [a.value.on for a in record.actions if a.value.on is not None]
    if not begun:
        return flags
    first = min(begun)
    if not any(_general(a.value) and a.value.dated is not None and a.value.dated <= first for a in record.authorities):
        flags.append(
            Flag(
                record.id,
                f"Work began on {first.isoformat()} and no authority on record is as early.",
                "Put the owner's authority on record, or say that there was none.",
            )
        )
    return flags


def _general(authority: Authority) -> bool:
    return authority.deviation is None and authority.what in ("authority", "consent")


def _versions(record: Record) -> list[Flag]:
    """Versions of the proposal that were worked by and never agreed to, or only later."""
    flags = []
    known = {p.number for p in record.proposals}
    for version in sorted({a.value.proposal for a in record.actions if a.value.proposal is not None}):
        days = [a.value.on for a in record.actions if a.value.proposal == version and a.value.on is not None]
        if version not in known:
            flags.append(Flag(record.id, f"There is no version {version} of the proposal.", "Correct the actions."))
            continue
        agreed = [day for day in _agreed_on(record, version) if day is not None]
        if not agreed:
            flags.append(
                Flag(
                    record.id,
                    f"Work was done by version {version} of the proposal, which nobody consented to.",
                    "Put the consent on record, or have the version signed.",
                )
            )
        elif days and min(agreed) > min(days):
            flags.append(
                Flag(
                    record.id,
                    f"Version {version} was agreed to on {min(agreed).isoformat()}, after work by it began.",
                    "Say in the record why.",
                )
            )
    return flags


def _agreed_on(record: Record, version: int) -> list[date | None]:
    consents = [a.value.dated for a in record.authorities if a.value.proposal == version and _general(a.value)]
    signed = [
        s.value.dated
        for s in record.signatures
        if s.value.of == "proposal" and s.value.version == version and still_signed(record, s)
    ]
    return [*consents, *(day for day in signed)]


def _deviation(record: Record, action: Kept[Action]) -> list[Flag]:
    said = action.value
    if not said.deviation:
        return []
    if not said.consent:
        return [
            Flag(
                action.id,
                f"{action.id} departs from the plan, and it is not said whether that needs new consent.",
                "Say needed or not needed.",
            )
        ]
    if said.consent == "not needed":
        return []
    consents = [a for a in record.authorities if a.value.deviation == action.id]
    if not consents:
        return [
            Flag(
                action.id,
                f"{action.id} departs from the plan and needs new consent; none is on record.",
                f"Ask for it, and put it on record with the deviation {action.id}.",
            )
        ]
    dated = [a.value.dated for a in consents if a.value.dated is not None]
    if dated and said.on is not None and min(dated) > said.on:
        return [Flag(action.id, f"Consent to {action.id} came after it was done.", "Say in the record why.")]
    return []


def content_sha256(document: Any) -> str:
    """SHA-256 of a value of the record as JSON, the same for the same content."""
    text = json.dumps(plain(document), sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


def proposal_sha256(proposal: Kept[Proposal]) -> str:
    """The hash that a signature under a proposal is made over: its version and all it says."""
    return content_sha256({"version": proposal.number, "proposal": proposal.value})


_LATER = ("signature", "copy", "care-visit", "care-end")


def report_sha256(record: Record) -> str:
    """The hash that a signature under the report is made over: everything but signatures, copies that were given
    away, visits of later care and its end. Ids are left out, which are another studio's own; uids stand for them."""
    parts = [
        {
            "kind": kind.name,
            "uid": part.uid,
            "refs": part.refs,
            "at": part.at,
            "by": part.by,
            "number": part.number,
            "value": _without_ids(part.value),
        }
        for kind, part in record.all_parts()
        if kind.name not in _LATER
    ]
    parts.sort(key=lambda part: (str(part["kind"]), str(part["uid"])))
    object_facts = {**plain(record.object), "cast": record.cast_uid}
    head = _without_ids(record.head)
    return content_sha256({"uid": record.uid, "head": head, "object": object_facts, "parts": parts})


def _without_ids(value: Any) -> dict[str, Any]:
    """A part's fields, but for those that refer to other records by an id (a photograph is named by its hash)."""
    return {
        name: plain(getattr(value, name))
        for name, said in sayings(type(value)).items()
        if name != "rests_on" and (said.how != "id" or said.to == "photograph")
    }


def signed_content(record: Record, signature: Signature) -> str | None:
    """The hash of what a signature is put under now; None where the version it names is not there."""
    if signature.of == "report":
        return report_sha256(record)
    for proposal in record.proposals:
        if proposal.number == signature.version:
            return proposal_sha256(proposal)
    return None


def still_signed(record: Record, signature: Kept[Signature]) -> bool:
    """Whether what was signed still stands as it was."""
    return signed_content(record, signature.value) == signature.sha256
