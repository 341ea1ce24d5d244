"""The parts of a treatment record, as frozen values. ``None`` and an empty text mean "not said", never zero.

What is asked for follows the field list that the codes and standards named in ``documentation_asks.csv``
come down to. Observation and interpretation are two kinds of statement and never share a field.
"""

# ruff: noqa: RUF009 -- said() makes a dataclass field; the rule takes a dated one for a mutable default
from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from patina.conservation.saying import said

Polygons = tuple[tuple[tuple[float, float], ...], ...]
Spot = tuple[float, float]

STATEMENTS = ("observation", "interpretation")
TOPICS = (
    *("structure", "surface", "corrosion", "coating", "colour and gloss", "salts", "alloy", "drainage"),
    *("earlier treatment", "associated parts", "environment", "other"),
)
AUTHORITIES = ("authority", "permit", "consent")
ACTIVITIES = ("stable", "suspect", "active")
ADHESIONS = ("tight", "powdering", "flaking")
BEADS = ("yes", "patchy", "none")
EXTENTS = ("0", "under 5", "5 to 25", "25 to 50", "over 50")
EFFECTS = ("none", "too little", "enough", "too much")
HARMS = ("none", "slight", "unacceptable")
CONSENTS = ("needed", "not needed")
WAYS = ("added", "removed")
MEASURED = ("chloride mg/L", "conductivity µS/cm")
SCHEMES = ("one bath followed", "baths changed")
LAYERS = ("hot wax", "cold wax", "lacquer", "inhibitor", "other")
ROLES = ("before", "during", "after")
LIGHTS = ("diffuse", "raking", "specular", "cross-polarised", "daylight", "other")
IN_FRAME = ("id", "scale", "chart", "grey scale", "light direction", "date")
SIGNED = ("proposal", "report")


@dataclass(frozen=True, slots=True)
class Head:
    """What the record as a whole says. The cast it belongs to says maker, title, edition, alloy, owner and place."""

    cast: str = said("Cast", "C1", "id", to="cast", needed=True)
    name: str = said("Treatment", "cleaning and rewaxing 2026", needed=True)
    accession: str = said("Accession number", "HM 1974.12")
    measurements: str = said("Measurements", "H 620, W 310, D 280 mm")
    marks: str = said("Marks", "signed and numbered on the base, left")
    made_when: str = said("Date of the work", "cast 1968")
    site: str = said("Site and exposure", "forecourt, facing the sea, 400 m")
    owner: str = said("Owner", "where it is another than the cast says")
    legal_status: str = said("Legal status", "listed; public collection")
    purpose: str = said("Purpose", "stop active corrosion, renew the coating", "words")
    reference_appearance: str = said("Reference look", "agreed look and the evidence for it", "words")
    alloy_known_by: str = said("Alloy known by", "XRF 2024, three spots; melt certificate")
    documenter: str = said("Documented by", "name of who writes the record")
    started_on: date | None = said("Begun on", "2026-03-14 or today", "day")
    finished_on: date | None = said("Finished on", "2026-03-14", "day")
    state_after: str = said("State after", "what the surface is like now", "words")
    result: str = said("Aim and result", "how far the aim was met", "words")
    limits: str = said("Known limits", "what was not reached; what can be undone", "words")
    recommendations: str = said("Recommendations", "handling, display, cleaning by the owner", "words")
    health_and_waste: str = said("Health and waste", "protection worn; where rinse water went", "words")
    note: str = said("Note", "", "words")


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who worked on it or decided about it."""

    name: str = said("Name", needed=True)
    role: str = said("Role", "conservator, assistant, owner's curator")
    affiliation: str = said("Of", "studio or institution")


@dataclass(frozen=True, slots=True)
class Authority:
    """Leave to treat: the owner's authority, a permit of an authority, a consent to a proposal or to a deviation."""

    what: str = said("What", "consent", "choice", choices=AUTHORITIES, needed=True)
    who: str = said("Given by", "name", needed=True)
    capacity: str = said("As", "owner, agent, heritage office")
    in_writing: str = said("In writing", "letter of 3 March; empty: by word only")
    dated: date | None = said("Dated", "2026-03-14", "day")
    proposal: int | None = said("Proposal version", "1", "whole", low=1, high=9999)
    deviation: str | None = said("Deviation", "id of the action that departed from the plan", "id", to="action")
    scope: str = said("Covers", "cleaning and wax; no repatination", "words")


@dataclass(frozen=True, slots=True)
class Statement:
    """One thing seen, or one thing concluded. An interpretation names what it rests on."""

    sort: str = said("What it is", "observation", "choice", choices=STATEMENTS, needed=True)
    topic: str = said("About", "corrosion", "choice", choices=TOPICS, needed=True)
    text: str = said("Statement", "pale green powder in the folds, 2 to 4 mm spots", "words", needed=True)
    place: str = said("Where", "drapery, left")
    method: str = said("Method", "loupe 10x; wooden pick; XRF spot 3")
    circumstances: str = said("Circumstances", "dry, 18 °C, 55 % RH, raking torch light")
    rests_on: tuple[str, ...] = said("Rests on", "observations: CO1; CO4", "lines", to="statement")
    by: str = said("By", "name")
    on: date | None = said("On", "2026-03-14 or today", "day")


@dataclass(frozen=True, slots=True)
class ConditionMap:
    """A photograph that zones are drawn on, at one visit from one view. outline: of the object in the picture."""

    visit: str = said("Visit", "before, after, inspection 2027", needed=True)
    view: str = said("View", "front", needed=True)
    photograph: str = said(
        "Photograph", "a file, or 8 figures or more of its SHA-256", "id", to="photograph", needed=True
    )
    outline: Polygons = said("Object's outline", "0.1,0.1 0.9,0.1 0.9,0.9", "polygons")
    seen_on: date | None = said("Seen on", "2026-03-14 or today", "day")
    seen_by: str = said("Seen by", "name")
    circumstances: str = said("Light, weather", "diffuse daylight, dry")


@dataclass(frozen=True, slots=True)
class Zone:
    """A zone of the condition map: a term, how bad, how active; and its polygons in fractions of the photograph."""

    map: str = said("Map", "CM1", "id", to="map", needed=True)
    name: str = said("Zone", "left shoulder", needed=True)
    term: str = said("Term", "atacamite", "term", needed=True, default="")
    polygons: Polygons = said("Polygons", "x,y x,y x,y; the next after a semicolon", "polygons")
    extent: str = said("Extent, % of it", "5 to 25", "choice", choices=EXTENTS)
    severity: int | None = said("Severity", "0 to 4", "whole", low=0, high=4)
    activity: str = said("Activity", "stable", "choice", choices=ACTIVITIES)
    adhesion: str = said("Adhesion", "tight", "choice", choices=ADHESIONS)
    bead: str = said("Water beads", "patchy", "choice", choices=BEADS)
    note: str = said("Note", "", "words")


@dataclass(frozen=True, slots=True)
class Proposal:
    """What is proposed. Versions are numbered as they are written; a version is never altered."""

    aim: str = said("Aim", "", "words", needed=True)
    steps: tuple[str, ...] = said("Steps", "wash; degrease; remove lacquer; wax", "lines")
    alternatives: tuple[str, ...] = said("Alternatives", "leave and inspect yearly: why not; strip: why not", "lines")
    retreatability: str = said("Retreatability", "wax comes off with white spirit", "words")
    risks: str = said("Risks", "colour may change where lacquer is removed", "words")
    reference_appearance: str = said("Reference look", "photograph of 1971, base coat under the plinth", "words")
    hours_low: float | None = said("Hours, at least", "24", "number", high=1e5, unit="h")
    hours_high: float | None = said("Hours, at most", "36", "number", high=1e5, unit="h")
    visits: int | None = said("Visits", "3", "whole", high=9999)
    cost: str = said("Cost", "EUR 2 400 without scaffold")
    drafted_by: str = said("Drafted by", "name")
    drafted_on: date | None = said("Drafted on", "2026-03-14 or today", "day")
    why: str = said("Why another version", "empty for the first", "words")


@dataclass(frozen=True, slots=True)
class Patch:
    """A test patch: one agent, one strength, one dwell, and what it did. strength: in strength_unit."""

    place: str = said("Where", "back of the base", needed=True)
    agent: str = said("Agent", "white spirit", needed=True)
    strength: float | None = said("Strength", "5", "number", high=1e6)
    strength_unit: str = said("Strength in", "% v/v")
    dwell_min: float | None = said("Dwell, min", "2", "number", high=1e6, unit="min")
    tool: str = said("Tool", "cotton swab, rolled once")
    area_cm2: float | None = said("Area, cm²", "4", "number", high=1e6, unit="cm²")
    effect: str = said("Effect", "enough", "choice", choices=EFFECTS)
    harm: str = said("Harm", "none", "choice", choices=HARMS)
    result: str = said("Result", "lacquer softened and lifted, patina untouched", "words")
    mildness: int | None = said("Order tried", "1 is the mildest agent", "whole", low=1, high=999)
    map: str | None = said("On map", "CM1", "id", to="map")
    spot: Spot | None = said("Place on the map", "0.42,0.71", "spot")
    reading_before: str | None = said("Reading before", "D4", "id", to="reading")
    reading_after: str | None = said("Reading after", "D5", "id", to="reading")
    by: str = said("By", "name")
    on: date | None = said("On", "2026-03-14 or today", "day")


@dataclass(frozen=True, slots=True)
class Action:
    """One entry of the log: what was done, by whom, when, with what, under which conditions, and what came of it."""

    on: date | None = said("On", "2026-03-14 or today", "day", needed=True)
    by: str = said("By", "name of who did it", needed=True)
    did: str = said("Done", "rinsed with deionised water", needed=True)
    zone: str = said("Zone", "whole")
    how: str = said("How", "soft brush, from below upward", "words")
    tool: str = said("Tool", "hog-hair brush 40 mm")
    agent: str = said("Agent and strength", "non-ionic detergent 0.5 % v/v in deionised water")
    temperature_c: float | None = said("Temperature", "60 °C", "temperature", low=-20, high=1200, unit="°C")
    temperature_by: str = said("Read with", "contact probe")
    passes: int | None = said("Passes", "2", "whole", high=9999)
    dwell_min: float | None = said("Dwell, min", "5", "number", high=1e6, unit="min")
    air_c: float | None = said("Air", "18 °C", "temperature", low=-40, high=60, unit="°C")
    humidity_pct: float | None = said("Humidity, % RH", "55", "number", low=1, high=100, unit="%")
    metal_c: float | None = said("Metal", "21 °C", "temperature", low=-40, high=1200, unit="°C")
    result: str = said("Result", "", "words")
    hours: float | None = said("Hours", "2.5", "number", high=1000, unit="h")
    proposal: int | None = said("By proposal version", "1", "whole", low=1, high=9999)
    deviation: str = said("Deviation", "what departed from the plan; empty: nothing", "words")
    deviation_why: str = said("Why", "", "words")
    consent: str = said("New consent", "needed", "choice", choices=CONSENTS)


@dataclass(frozen=True, slots=True)
class Material:
    """A material brought onto the object or taken off it. composition: what is behind a trade name."""

    way: str = said("Added, removed", "added", "choice", choices=WAYS, needed=True)
    name: str = said("Material", "as the label says", needed=True)
    action: str | None = said("In action", "CA3", "id", to="action")
    substance: str = said("Substance", "name or CAS in the catalogue", "substance", default="")
    cas: str = said("CAS", "95-14-7")
    lot: str | None = said("Lot on the shelf", "L4", "id", to="lot")
    composition: tuple[str, ...] = said("Composition", "microcrystalline wax 82 %; polyethylene wax 15 %", "lines")
    supplier: str = said("Supplier", "")
    batch_number: str = said("Lot number", "where it is not on the shelf")
    quantity: float | None = said("Quantity", "35 g", "amount")
    quantity_unit: str = said("Unit", "", "derived", default="")
    left_g: float | None = said("Left on the object", "12 g", "mass", unit="g")
    left_words: str = said("Left, in words", "traces in the folds")
    zone: str = said("Zone", "whole")
    kept: str = said("Kept where", "for what was removed and kept as a sample")


@dataclass(frozen=True, slots=True)
class Sample:
    """A sample that was taken."""

    what: str = said("Sample", "pale green powder, about 2 mg", needed=True)
    place: str = said("Taken from", "fold at the left knee", needed=True)
    purpose: str = said("Why", "X-ray diffraction")
    label: str = said("Label", "HM-S1")
    kept: str = said("Kept where", "")
    result: str = said("Result", "", "words")
    by: str = said("By", "name")
    on: date | None = said("On", "2026-03-14 or today", "day")


@dataclass(frozen=True, slots=True)
class Bath:
    """A salt extraction. supply: what the fresh bath itself reads, in the same unit."""

    name: str = said("Extraction", "arm fragment", needed=True)
    measured: str = said("Measured", "chloride mg/L", "choice", choices=MEASURED, needed=True)
    scheme: str = said("Scheme", "baths changed", "choice", choices=SCHEMES, needed=True)
    solution: str = said("Solution", "deionised water; sodium sesquicarbonate 5 % w/v")
    supply: float | None = said("Fresh bath reads", "0.4", "number", high=1e6)
    object_g: float | None = said("Object weighs", "1.2 kg", "mass", unit="g")
    target_share: float | None = said("Aim, % out", "95", "number", low=50, high=99.9, unit="%")
    note: str = said("Note", "", "words")


@dataclass(frozen=True, slots=True)
class BathReading:
    """One reading of one bath. hours: since this bath was begun."""

    bath: str = said("Extraction", "CB1", "id", to="bath", needed=True)
    number: int | None = said("Bath number", "1", "whole", low=1, high=999, needed=True)
    hours: float | None = said("Hours in bath", "24", "number", high=1e6, unit="h", needed=True)
    value: float | None = said("Reading", "38.5", "number", high=1e7, needed=True)
    volume_ml: float | None = said("Volume", "2 L", "volume", unit="mL")
    temperature_c: float | None = said("Temperature", "20 °C", "temperature", low=0, high=100, unit="°C")
    by: str = said("By", "name")
    on: date | None = said("On", "2026-03-14 or today", "day")


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of protection: product, lot, coats, weight over area, and the conditions it went on in."""

    product: str = said("Product", "as the label says", needed=True)
    sort: str = said("Kind", "cold wax", "choice", choices=LAYERS, needed=True)
    composition: tuple[str, ...] = said("Composition", "microcrystalline wax 82 %; …", "lines")
    lot: str | None = said("Lot on the shelf", "L4", "id", to="lot")
    batch_number: str = said("Lot number", "where it is not on the shelf")
    coats: int | None = said("Coats", "2", "whole", low=1, high=99)
    used_g: float | None = said("Weight used", "18 g", "mass", unit="g")
    area_m2: float | None = said("Area", "1.4 m2", "area", unit="m²")
    thickness_um: float | None = said("Thickness, µm", "30", "number", high=1e5, unit="µm")
    application: str = said("Application", "brush on warm metal, buffed after 12 h")
    cure_h: float | None = said("Cured, h", "12", "number", high=1e5, unit="h")
    air_c: float | None = said("Air", "18 °C", "temperature", low=-40, high=60, unit="°C")
    humidity_pct: float | None = said("Humidity, % RH", "55", "number", low=1, high=100, unit="%")
    metal_c: float | None = said("Metal", "32 °C", "temperature", low=-40, high=1200, unit="°C")
    zone: str = said("Zone", "whole")
    by: str = said("By", "name")
    on: date | None = said("On", "2026-03-14 or today", "day")


@dataclass(frozen=True, slots=True)
class Image:
    """A photograph's place in the record: before, during or after, from where and in which light."""

    photograph: str = said(
        "Photograph", "a file, or 8 figures or more of its SHA-256", "id", to="photograph", needed=True
    )
    role: str = said("Role", "before", "choice", choices=ROLES, needed=True)
    view: str = said("View", "front", needed=True)
    light: str = said("Light", "diffuse", "choice", choices=LIGHTS)
    position: str = said("Camera", "tripod 2.4 m, lens height 1.2 m, 85 mm")
    in_frame: tuple[str, ...] = said(
        "In the frame", "id; scale; chart; light direction; date", "lines", choices=IN_FRAME
    )
    by: str = said("Taken by", "name")
    on: date | None = said("Taken on", "2026-03-14", "day")
    note: str = said("Note", "", "words")


@dataclass(frozen=True, slots=True)
class CareItem:
    """One point of the care schedule: a trigger with its limit, how often to look, and what to do."""

    trigger: str = said("Trigger", "water bead", "trigger", needed=True, default="")
    task: str = said("Task", "wash and renew the wax", needed=True)
    limit: float | None = said("Limit", "as the trigger's unit", "number", high=1e9)
    every_months: float | None = said("Every, months", "12", "number", low=0.1, high=1200, unit="months")
    responsible: str = said("Responsible", "owner's technician")
    from_day: date | None = said("Counted from", "2026-03-14 or today", "day")


@dataclass(frozen=True, slots=True)
class CareVisit:
    """One look at one point of the care schedule. value: in the trigger's unit; finding: for a trigger in words."""

    item: str = said("Point", "CI1", "id", to="care", needed=True)
    on: date | None = said("On", "2026-03-14 or today", "day", needed=True)
    by: str = said("By", "name", needed=True)
    value: float | None = said("Reading", "in the trigger's unit", "number", low=-1e9)
    finding: str = said("Finding", "yes, patchy or none for water bead")
    done: str = said("Done", "what was done at once", "words")


@dataclass(frozen=True, slots=True)
class CareEnd:
    """A point of the care schedule that is looked at no more, and why. The point stays on record."""

    item: str = said("Point", "CI1", "id", to="care", needed=True)
    on: date | None = said("On", "2026-03-14 or today", "day", needed=True)
    by: str = said("By", "name", needed=True)
    why: str = said("Why", "a later treatment has a schedule of its own", "words", needed=True)


@dataclass(frozen=True, slots=True)
class Signature:
    """A name under a version of the proposal, or under the report as it stood."""

    of: str = said("Signed", "proposal", "choice", choices=SIGNED, needed=True)
    version: int | None = said("Proposal version", "1", "whole", low=1, high=9999)
    who: str = said("Signed by", "name", needed=True)
    capacity: str = said("As", "owner, conservator")
    how: str = said("How", "on paper, file in drawer 3")
    dated: date | None = said("Dated", "2026-03-14 or today", "day")


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy of the record that somebody was given."""

    to: str = said("Given to", "owner", needed=True)
    what: str = said("What", "report with photographs, printed")
    form: str = said("Form", "paper; archive file")
    on: date | None = said("On", "2026-03-14 or today", "day")
    receipt: str = said("Receipt", "signed, letter of")
