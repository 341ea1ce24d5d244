"""What of a treatment record was signed, by whom, and what nobody signed: each version of the proposal, the report,
and the record as a whole."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from patina.conservation.consent import still_signed
from patina.conservation.record import Kept, Record
from patina.conservation.values import Signature


@dataclass(frozen=True, slots=True)
class Signed:
    """One thing that can be signed, and one name under it. who: empty where nobody signed. words: how, as what, and
    what stands in place of a signature. altered: whether it is no longer what was signed."""

    what: str
    who: str = ""
    on: date | None = None
    words: str = ""
    altered: bool = False

    @property
    def line(self) -> str:
        """In one line.

        >>> Signed("proposal, version 1").line
        'proposal, version 1: signed by nobody'
        """
        day = "" if self.on is None else f" on {self.on.isoformat()}"
        said = f"signed by {self.who}{day}" if self.who else "signed by nobody"
        words = f"; {self.words}" if self.words else ""
        return f"{self.what}: {said}{words}{'; it was altered since' if self.altered else ''}"


def signed_facts(record: Record) -> tuple[Signed, ...]:
    """Every version of the proposal, the report, and the record as a whole, each with the names under it."""
    found: list[Signed] = []
    newest = max((p.number for p in record.proposals), default=0)
    for proposal in record.proposals:
        what = f"proposal, version {proposal.number}"
        names = _names(record, what, of_version(record, proposal.number))
        words = consent_words(record, proposal.number)
        if proposal.number < newest:
            words = "; ".join(filter(None, (words, f"version {newest} stands in its place")))
        found += names or [Signed(what, words=words)]
    off = record.signed_off
    covered = "" if off is None else "the name under the record as a whole covers it"
    names = _names(record, "report", [s for s in record.signatures if s.value.of == "report"])
    found += names or [Signed("report", words=covered)]
    if off is None:
        found.append(Signed("record as a whole", words="it is not signed off and may still be written in"))
    else:
        found.append(Signed("record as a whole", off.by, off.at.date(), "signed off, and never edited since"))
    return tuple(found)


def of_version(record: Record, version: int) -> list[Kept[Signature]]:
    """The signatures under a version of the proposal."""
    return [s for s in record.signatures if s.value.of == "proposal" and s.value.version == version]


def _names(record: Record, what: str, signatures: Iterable[Kept[Signature]]) -> list[Signed]:
    return [
        Signed(
            what,
            s.value.who,
            s.value.dated,
            ", ".join(filter(None, (s.value.capacity, s.value.how))),
            altered=not still_signed(record, s),
        )
        for s in signatures
    ]


def consent_words(record: Record, version: int) -> str:
    """Who consented to a version of the proposal in another way than by a signature under it; empty: nobody."""
    found = [
        f"{a.value.who} consented {f'in writing ({a.value.in_writing})' if a.value.in_writing else 'by word only'}"
        for a in record.authorities
        if a.value.proposal == version and a.value.deviation is None
    ]
    return "; ".join(found)
