"""What can be written in each section of a treatment, how it is called, and what would fill a section that is empty."""

from __future__ import annotations

# What else is written in a section: (name, what it is called, kind of part, fields that are known then).
ALSO: dict[str, tuple[tuple[str, str, str, dict[str, str]], ...]] = {
    "proposal": (
        ("signed", "signature under a version of the proposal", "signature", {"of": "proposal"}),
        ("consent", "consent to a version of the proposal", "authority", {"what": "consent"}),
    ),
    "log": (("consent", "consent to a deviation", "authority", {"what": "consent"}),),
    "report": (("signed", "signature under the report", "signature", {"of": "report"}),),
}
# How a kind of part is called where one is chosen.
CALLED = {
    "statement": "observation or interpretation",
    "person": "somebody who works on it or decides about it",
    "authority": "authority, permit or consent",
    "signature": "signature under the proposal or the report",
    "map": "condition map on a photograph",
    "zone": "zone by its figures (m draws one)",
    "proposal": "version of the proposal",
    "patch": "test patch",
    "action": "action: what was done, when, by whom",
    "material": "material added or removed",
    "sample": "sample that was taken",
    "bath": "extraction: an object or part in baths",
    "bath-reading": "reading of a bath",
    "layer": "layer of wax, lacquer or inhibitor",
    "image": "image: a photograph's place in the record",
    "care": "point of the care schedule",
    "care-visit": "visit: what was found and done",
    "care-end": "end of a point of the care schedule",
    "copy": "copy given to somebody",
}


# What would fill a section, for whoever meets it empty.
EMPTY = {
    "identification": "Nobody is named yet who works on it or decides about it (n); e says more of the object itself.",
    "authority and consent": "Before work: the owner's letter or signature. Later: consent to the proposal, and to "
    "each deviation from it.",
    "examination": "What is seen, with its method and circumstances, apart from what is concluded from it.",
    "condition": "A map is a photograph with zones drawn on it: term, severity, activity. Two maps of one view show "
    "what changed.",
    "proposal": "Aim, steps, what else was considered and why not, risks, hours, cost. Versions are numbered; a "
    "version is signed and never altered.",
    "tests": "One agent, strength and dwell for each patch, with its effect and harm; the lowest that is enough is "
    "worked out.",
    "log": "Each action with its day and name; materials put on and taken off; samples.",
    "salts": "An extraction with the readings of its baths; the curve says when it is at its end.",
    "protection": "Each layer with product, lot, coats, weight over area, and the air and metal it went on in.",
    "images": "Photographs before, during and after, from the same place in the same light.",
    "care": "What is to be looked at, how often, and what sets off work; then each visit.",
    "report": "Copies that were given to somebody, and the signature under the report.",
}
HEADINGS = {
    "care": "Schedule",
    "care-visit": "Visits",
    "care-end": "Ended",
    "bath": "Extractions",
    "bath-reading": "Readings of baths",
}

# Kinds of part that are still written after the record was signed off.
STILL_WRITTEN = ("signature", "care-visit", "care-end", "copy")
