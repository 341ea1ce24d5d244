"""What a person enters: frozen values that the deeds check and the records keep.

Amounts are floats in the unit of their suffix. ``None`` means "not said", never zero.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

WAX_STATES = ("unwaxed", "waxed", "lacquered", "wet", "not stated")
ILLUMINANTS = ("A", "B", "C", "D50", "D55", "D65", "D75", "E", "F2", "F7", "F11")
WARMTH = ("cold", "warm", "not stated")
READING_SOURCES = ("photograph", "instrument", "typed")


@dataclass(frozen=True, slots=True)
class NewTile:
    """A test tile. engraved: what is stamped on its back. revision: None where it was made outside
    the studio's recipes. as_done: how each step was really done, in words, in order."""

    engraved: str
    alloy: str
    preparation: str = ""
    wall_mm: float | None = None
    size: str = ""
    recipe: str | None = None
    revision: int | None = None
    as_done: tuple[str, ...] = ()
    made_on: date | None = None
    made_by: str = ""
    wax_state: str = "not stated"
    note: str = ""
    batch: str | None = None


@dataclass(frozen=True, slots=True)
class HowRead:
    """How a reading was taken from its photograph, so that it can be taken again.

    taken_by: "areas" or "placard". chart: "auto", "none", "white-card", "step-card", the name of one of
    the studio's charts, or "file". corners: four points, or None. area: its name, rect, polygon and
    whole_tile, in pixels of the upright picture; None where a placard gave it. card: the card's
    reflectance in words, or "file". flat: whether a photograph of plain card was used.
    chart_photograph: SHA-256 of the photograph that shows the chart, if it is another. again_of: id of
    the reading that this one repeats.
    """

    taken_by: str
    chart: str = "auto"
    edition: str = "unknown"
    corners: str | None = None
    area: Mapping[str, Any] | None = None
    card: str = ""
    flat: bool = False
    chart_photograph: str | None = None
    again_of: str | None = None


@dataclass(frozen=True, slots=True)
class NewReading:
    """A colour reading in CIELAB. n: how many single readings it is the mean of. uncertainty_de00:
    expanded (95 %), None where nobody has said. geometry: 45:0, d:8 SCI, d:8 SCE or unknown. doubt_de00:
    the parts of that uncertainty that come from the surface's unevenness and from camera, light and chart.
    grain_px, grain_mm: size of the mottle in pixels of the photograph and in mm, above 0, None where not
    known. scale_from: what gave the scale. how: how it was taken from its photograph, None where it was not."""

    L: float
    a: float
    b: float
    source: str = "typed"
    area: str = ""
    illuminant: str = "D50"
    observer: str = "2"
    geometry: str = "unknown"
    instrument: str = ""
    sd: tuple[float, float, float] | None = None
    n: int = 1
    uncertainty_de00: float | None = None
    wax_state: str = "not stated"
    warmth: str = "not stated"
    read_at: datetime | None = None
    read_by: str = ""
    photograph: str | None = None
    note: str = ""
    parts: tuple[tuple[float, float, float, float], ...] = ()
    doubt_de00: tuple[float, float] | None = None
    grain_px: float | None = None
    grain_mm: float | None = None
    scale_from: str = ""
    how: HowRead | None = None


@dataclass(frozen=True, slots=True)
class NewMaster:
    """An agreed finish: the colour to be met and how near.

    colour: L*, a*, b* (D50/2°). limit_de: on the named formula; limit_dL, limit_dC, limit_dH: None
    where not agreed apart. agreed_by, agreed_on, light, geometry, wax_state: how it was agreed.
    """

    name: str
    colour: tuple[float, float, float]
    limit_de: float
    formula: str = "de2000"
    limit_dL: float | None = None
    limit_dC: float | None = None
    limit_dH: float | None = None
    uncertainty_de00: float | None = None
    zone: str = "whole"
    tile: str | None = None
    recipe: str | None = None
    light: str = "not stated"
    geometry: str = "unknown"
    wax_state: str = "not stated"
    warmth: str = "not stated"
    agreed_by: str = ""
    agreed_on: date | None = None
    holders: str = ""
    next_check: date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class NewPiece:
    """A work, of which one or more casts exist. edition: how many were or will be cast, None for a
    single piece or where unknown."""

    title: str
    maker: str = ""
    edition: int | None = None
    height_mm: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class NewCast:
    """One cast of a piece. number: "3/9", "AP 1" or empty."""

    piece: str
    number: str = ""
    alloy: str = ""
    mass_g: float | None = None
    wall_mm: float | None = None
    area_m2: float | None = None
    owner: str = ""
    place: str = ""
    master: str | None = None
    cast_on: date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class NewTreatment:
    """One dated action on a cast: patination, cleaning, waxing, repair. recipe and revision: None
    where no recipe of the studio was used."""

    cast: str
    did: str
    zone: str = "whole"
    recipe: str | None = None
    revision: int | None = None
    batch: str | None = None
    as_done: tuple[str, ...] = ()
    area_m2: float | None = None
    done_on: date | None = None
    done_by: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class NewLot:
    """A bottle, tub or bag on the shelf. amount in unit "g" or "mL"; assay_pct w/w as the label
    says, None where it does not say."""

    substance: str
    amount: float
    unit: str = "g"
    supplier: str = ""
    grade: str = ""
    lot_number: str = ""
    assay_pct: float | None = None
    opened_on: date | None = None
    use_by: date | None = None
    place: str = ""
    price: Decimal | None = None
    currency: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Weighed:
    """What really went into a batch: amount in "g" or "mL" from a lot (None: not from the shelf)."""

    substance: str
    asked: float
    amount: float
    unit: str
    lot: str | None = None


@dataclass(frozen=True, slots=True)
class NewBatch:
    """A pot as it was mixed. volume_ml: of the whole solution. purpose: "work" (on pieces, for which the
    recipe must be released), "test tiles", or empty where nobody has said."""

    recipe: str
    revision: int
    solution: str
    volume_ml: float
    weighed: tuple[Weighed, ...] = ()
    water: str = ""
    ph: float | None = None
    temperature_c: float | None = None
    made_at: datetime | None = None
    made_by: str = ""
    note: str = ""
    purpose: str = ""


@dataclass(frozen=True, slots=True)
class Thermometer:
    """What the metal is read with. kind: "contact" or "infrared". setting: emissivity set on an
    infrared one. unit: "°C" or "°F", as its display shows. low_c, high_c: what it can read, in °C."""

    kind: str = "contact"
    setting: float = 0.95
    unit: str = "°C"
    low_c: float = -50.0
    high_c: float = 650.0


@dataclass(frozen=True, slots=True)
class NewWork:
    """The beginning of the work on a tile or a cast. zones: name and plain area in m² (None where not
    measured), in the order of working; empty for the whole piece. batch: the pot to begin with.
    though_old: why a pot past its time is used. texture: None takes the recipe's."""

    target: str
    recipe: str
    revision: int | None = None
    zones: tuple[tuple[str, float | None], ...] = ()
    batch: str | None = None
    tool: str = ""
    done_by: str = ""
    place: str = ""
    air_c: float | None = None
    air_rh_pct: float | None = None
    thermometer: Thermometer = Thermometer()
    texture: float | None = None
    though_old: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class NewTemperature:
    """A reading of the metal's surface, in °C as shown. Both figures of one place at one moment make a
    pair, from which emissivity is learnt. state: key of the emissivity table ("bare_blasted",
    "base_coat", "patinated", ...). surroundings_c: what the metal mirrors."""

    contact_c: float | None = None
    infrared_c: float | None = None
    state: str = ""
    surroundings_c: float = 20.0


@dataclass(frozen=True, slots=True)
class NewCoat:
    """A coat of wax or lacquer. kind: "wax" or "lacquer". mass_g: used, None where not weighed.
    product, lot: as on the tin. how: "hot", "warm" or "cold". overruled: why it goes on although
    release was not given."""

    kind: str
    product: str
    zone: str = ""
    mass_g: float | None = None
    lot: str = ""
    how: str = ""
    overruled: str = ""


@dataclass(frozen=True, slots=True)
class NewExposure:
    """What a person worked with in one shift. minutes: of work with it. on: None for today. used is said by at least
    one of recipe, batch and substances (names). flow_m3_h: extraction, None where not measured. corrects: id of a
    row that this one replaces."""

    person: str
    minutes: float
    on: date | None = None
    shift: str = ""
    recipe: str | None = None
    revision: int | None = None
    batch: str | None = None
    substances: tuple[str, ...] = ()
    task: str = ""
    extraction: str = ""
    flow_m3_h: float | None = None
    respirator: str = ""
    note: str = ""
    corrects: str | None = None


@dataclass(frozen=True, slots=True)
class NewZone:
    """The agreed colour of one zone of an agreed finish. readings: ids of readings or tiles, or "L,a,b", one or
    more. light, dark: the limit tiles, likewise one each or None. fixed_u: expanded uncertainty in ΔE that more
    readings do not lessen, None takes that of the readings."""

    master: str
    zone: str
    readings: tuple[str, ...]
    light: str | None = None
    dark: str | None = None
    fixed_u: float | None = None


HOLDING_ROLES = ("master", "light limit", "dark limit", "sealed", "twin")
KEPT = ("", "dark", "shelf", "outdoors")


@dataclass(frozen=True, slots=True)
class NewHolding:
    """Who holds a tile. kept: "dark", "shelf", "outdoors" or "". next_check: when it is to be read again."""

    tile: str
    holder: str
    role: str = "master"
    master: str | None = None
    kept: str = ""
    place: str = ""
    since: date | None = None
    next_check: date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class NewConcession:
    """A piece taken although it was outside. piece: id of a cast or tile."""

    master: str
    piece: str
    reason: str
    agreed_by: str
    agreed_on: date | None = None
    zone: str = ""


APPROVAL_ROLES = ("client", "artist", "owner", "studio", "foundry")
APPROVAL_ANSWERS = ("approved", "approved with remarks", "not approved", "show again")


@dataclass(frozen=True, slots=True)
class NewApproval:
    """A viewing, at which somebody looked at a piece. state: as WAX_STATES. seen: "in hand" or "picture"."""

    piece: str
    who: str
    answer: str
    role: str = "client"
    light: str = "not stated"
    place: str = ""
    state: str = "not stated"
    seen: str = "in hand"
    remarks: str = ""
    master: str | None = None
    held_on: date | None = None
