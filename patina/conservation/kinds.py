"""The kinds of part that a treatment record is made of: what each is called, and the letters of its id."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from patina.conservation import values
from patina.errors import NotFound


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of part. name: as commands and screens call it. letters: of its id. many: its name in the plural.
    type: the value. within: the place on the record it belongs to, in the order of the work."""

    name: str
    letters: str
    many: str
    type: type[Any]
    within: str


KINDS: tuple[Kind, ...] = (
    Kind("person", "CP", "people", values.Person, "identification"),
    Kind("authority", "CY", "authorities", values.Authority, "authority and consent"),
    Kind("statement", "CO", "statements", values.Statement, "examination"),
    Kind("map", "CM", "maps", values.ConditionMap, "condition"),
    Kind("zone", "CZ", "zones", values.Zone, "condition"),
    Kind("proposal", "CV", "proposals", values.Proposal, "proposal"),
    Kind("patch", "CX", "patches", values.Patch, "tests"),
    Kind("action", "CA", "actions", values.Action, "log"),
    Kind("material", "CW", "materials", values.Material, "log"),
    Kind("sample", "CS", "samples", values.Sample, "log"),
    Kind("bath", "CB", "baths", values.Bath, "salts"),
    Kind("bath-reading", "CR", "bath_readings", values.BathReading, "salts"),
    Kind("layer", "CL", "layers", values.Layer, "protection"),
    Kind("image", "CF", "images", values.Image, "images"),
    Kind("care", "CI", "care", values.CareItem, "care"),
    Kind("care-visit", "CK", "care_visits", values.CareVisit, "care"),
    Kind("care-end", "CN", "care_ends", values.CareEnd, "care"),
    Kind("signature", "CG", "signatures", values.Signature, "authority and consent"),
    Kind("copy", "CE", "copies", values.Copy, "report"),
)
BY_NAME = {kind.name: kind for kind in KINDS}
BY_LETTERS = {kind.letters: kind for kind in KINDS}
TREATMENT_LETTERS = "CT"


def kind_named(name: str) -> Kind:
    """The kind of that name. Raises NotFound."""
    try:
        return BY_NAME[name]
    except KeyError:
        raise NotFound(f"There is no part '{name}' of a treatment.", f"Use one of: {', '.join(BY_NAME)}.") from None
