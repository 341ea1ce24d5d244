"""Forms: what a person typed into text fields, made into an entry, with all that is wrong said at once.

Each form takes a mapping from field name to text; a field that is missing or empty means "not
said". Lengths, weights, areas and amounts are written with their unit, dates as 2026-03-14 or
"today". Every form raises Incomplete, whose troubles carry the name of their field.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields as fields_of
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any, TypeVar

from patina.bench import entry_rules
from patina.entries import NewBatch, NewCast, NewLot, NewPiece, NewReading, NewTile, NewTreatment, Weighed
from patina.errors import BadQuantity, Incomplete, PatinaError
from patina.units import signed_number

if TYPE_CHECKING:
    pass

E = TypeVar("E")
V = TypeVar("V")

# What a field is called in the form where the entry's own name carries a unit.
_FORM_NAMES = {
    "wall_mm": "wall",
    "mass_g": "mass",
    "area_m2": "area",
    "height_mm": "height",
    "assay_pct": "assay",
    "limit_de": "limit",
    "volume_ml": "volume",
    "temperature_c": "temperature",
    "uncertainty_de00": "uncertainty",
}

TILE_FIELDS = (
    *("engraved", "alloy", "preparation", "wall", "size", "recipe", "revision"),
    *("as_done", "made_on", "made_by", "wax_state", "note", "batch"),
)
READING_FIELDS = (
    *("L", "a", "b", "area", "illuminant", "observer", "geometry", "instrument", "n"),
    *("uncertainty", "wax_state", "warmth", "read_at", "read_by", "note"),
)
PIECE_FIELDS = ("title", "maker", "edition", "height", "note")
CAST_FIELDS = (*("piece", "number", "alloy", "mass", "wall", "area", "owner", "place", "master", "cast_on", "note"),)
TREATMENT_FIELDS = (
    *("cast", "did", "zone", "recipe", "revision", "batch", "as_done", "area", "done_on", "done_by", "note"),
)
LOT_FIELDS = (
    *("substance", "amount", "supplier", "grade", "lot_number", "assay", "opened_on", "use_by", "place"),
    *("price", "currency", "note"),
)
BATCH_FIELDS = ("recipe", "revision", "solution", "volume", "water", "ph", "temperature", "made_by", "note", "purpose")


class _Form:
    """The fields of one form while they are read; troubles are collected."""

    def __init__(self, fields: Mapping[str, str], known: tuple[str, ...]):
        unknown = set(fields) - set(known)
        assert not unknown, f"no such field: {', '.join(sorted(unknown))}"
        self.fields = fields
        self.troubles: list[PatinaError] = []

    def text(self, field: str, fallback: str = "") -> str:
        """The words of a field, or the fallback where it is empty."""
        return self.fields.get(field, "").strip() or fallback

    def lines(self, field: str) -> tuple[str, ...]:
        """The lines of a field, empty ones left out."""
        return tuple(line.strip() for line in self.fields.get(field, "").splitlines() if line.strip())

    def value(self, field: str, parse: Callable[[str, str], V]) -> V | None:
        """What a field says, read by ``parse(text, field)``; None where it is empty or wrong."""
        text = self.text(field)
        if not text:
            return None
        try:
            return parse(text, field)
        except PatinaError as trouble:
            self.troubles.append(trouble)
            return None

    def needed(self, field: str, parse: Callable[[str, str], V], what: str) -> V | None:
        """The same for a field that must not be empty."""
        if not self.text(field):
            self.troubles.append(BadQuantity(f"{what} is missing.", "Fill it in.", field=field))
        return self.value(field, parse)

    def entry(self, kind: type[E], in_order: Callable[[E], E], values: dict[str, Any], stands_in: dict[str, Any]) -> E:
        """The entry, checked. stands_in: values for fields that were wrong, so that the rest is checked too."""
        known = {f.name for f in fields_of(kind)}  # type: ignore[arg-type]
        given = {name: value for name, value in values.items() if value is not None and name in known}
        said = {trouble.field for trouble in self.troubles}
        try:
            entry = in_order(kind(**{**stands_in, **given}))
        except Incomplete as found:
            for trouble in found.troubles:
                trouble.field = _FORM_NAMES.get(trouble.field or "", trouble.field)
                if trouble.field not in said:
                    self.troubles.append(trouble)
        if self.troubles:
            raise Incomplete(self.troubles)
        return entry


def _number(text: str, field: str) -> float:
    """A plain number, negative or not, with a full stop or one decimal comma."""
    value = signed_number(text)
    if value is None or not abs(value) < 1e12:
        raise BadQuantity(f"'{text}' is no number.", "Write a number without a unit.", field=field)
    return value


def _whole(text: str, field: str) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > 9:
        raise BadQuantity(f"'{text}' is no whole number.", "Write a whole number.", field=field)
    return int(text)


def _day(text: str, field: str) -> date:
    if text.casefold() == "today":
        return date.today()
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadQuantity(
            f"'{text}' is no date that can be read in one way only.", "Write it as 2026-03-14.", field=field
        ) from None


def _moment(text: str, field: str) -> datetime:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        raise BadQuantity(f"'{text}' is no date and time.", "Write it as 2026-03-14 09:30.", field=field) from None


def _price(text: str, field: str) -> Decimal:
    plain = text.replace(",", ".") if "." not in text and text.count(",") == 1 else text
    try:
        price = Decimal(plain)
    except InvalidOperation:
        price = Decimal("NaN")
    if not price.is_finite() or not 0 <= price < 10**9:
        raise BadQuantity(f"'{text}' is no price.", "Write the figures alone, such as 12.50.", field=field)
    return price


def _percent(text: str, field: str) -> float:
    from patina.units import share

    return share(text, field) * 100.0


def _length(text: str, field: str) -> float:
    from patina.units import length_mm

    return length_mm(text, field)


def _mass(text: str, field: str) -> float:
    from patina.units import mass_g

    return mass_g(text, field)


def _area(text: str, field: str) -> float:
    from patina.units import area_m2

    return area_m2(text, field)


def _volume(text: str, field: str) -> float:
    from patina.units import volume_ml

    return volume_ml(text, field)


def _temperature(text: str, field: str) -> float:
    from patina.units import temperature_c

    return temperature_c(text, field)


def amount_and_unit(text: str, field: str = "amount") -> tuple[float, str]:
    """An amount of a chemical as it is kept: in g for a weight, in mL for a volume. Raises BadQuantity."""
    from patina.units import find_unit, mass_g, split_quantity, volume_ml

    word = split_quantity(text, field)[1]
    if not word:
        raise BadQuantity(f"'{text}' has no unit.", "Write the amount with its unit: '500 g' or '1 L'.", field=field)
    if find_unit(word, field, whole=text).kind == "volume":
        return volume_ml(text, field), "mL"
    return mass_g(text, field), "g"


def tile_form(fields: Mapping[str, str]) -> NewTile:
    """A tile from TILE_FIELDS. as_done: one line for each step as it was really done."""
    form = _Form(fields, TILE_FIELDS)
    words = {f: form.text(f) for f in ("engraved", "alloy", "preparation", "size", "made_by", "note")}
    values = {
        "wall_mm": form.value("wall", _length),
        "recipe": form.text("recipe") or None,
        "revision": form.value("revision", _whole),
        "as_done": form.lines("as_done"),
        "made_on": form.value("made_on", _day),
        "wax_state": form.text("wax_state", "not stated"),
        "batch": form.text("batch") or None,
    }
    return form.entry(NewTile, entry_rules.tile_in_order, {**words, **values}, {"engraved": "", "alloy": ""})


def reading_form(fields: Mapping[str, str]) -> NewReading:
    """A reading typed in, from READING_FIELDS."""
    form = _Form(fields, READING_FIELDS)
    words = {f: form.text(f) for f in ("area", "instrument", "read_by", "note")}
    values = {
        **{axis: form.needed(axis, _number, f"{axis}*") for axis in ("L", "a", "b")},
        "illuminant": form.text("illuminant", "D50"),
        "observer": form.text("observer", "2"),
        "geometry": form.text("geometry", "unknown"),
        "n": form.value("n", _whole),
        "uncertainty_de00": form.value("uncertainty", _number),
        "wax_state": form.text("wax_state", "not stated"),
        "warmth": form.text("warmth", "not stated"),
        "read_at": form.value("read_at", _moment),
    }
    return form.entry(NewReading, entry_rules.reading_in_order, {**words, **values}, {"L": 0.0, "a": 0.0, "b": 0.0})


def piece_form(fields: Mapping[str, str]) -> NewPiece:
    """A work from PIECE_FIELDS."""
    form = _Form(fields, PIECE_FIELDS)
    values = {
        **{f: form.text(f) for f in ("title", "maker", "note")},
        "edition": form.value("edition", _whole),
        "height_mm": form.value("height", _length),
    }
    return form.entry(NewPiece, entry_rules.piece_in_order, values, {"title": ""})


def cast_form(fields: Mapping[str, str]) -> NewCast:
    """A cast from CAST_FIELDS. mass, wall and area with their units."""
    form = _Form(fields, CAST_FIELDS)
    values = {
        **{f: form.text(f) for f in ("piece", "number", "alloy", "owner", "place", "note")},
        "mass_g": form.value("mass", _mass),
        "wall_mm": form.value("wall", _length),
        "area_m2": form.value("area", _area),
        "master": form.text("master") or None,
        "cast_on": form.value("cast_on", _day),
    }
    return form.entry(NewCast, entry_rules.cast_in_order, values, {"piece": ""})


def treatment_form(fields: Mapping[str, str]) -> NewTreatment:
    """An action on a cast from TREATMENT_FIELDS."""
    form = _Form(fields, TREATMENT_FIELDS)
    values = {
        **{f: form.text(f) for f in ("cast", "did", "done_by", "note")},
        "zone": form.text("zone", "whole"),
        "recipe": form.text("recipe") or None,
        "revision": form.value("revision", _whole),
        "batch": form.text("batch") or None,
        "as_done": form.lines("as_done"),
        "area_m2": form.value("area", _area),
        "done_on": form.value("done_on", _day),
    }
    return form.entry(NewTreatment, entry_rules.treatment_in_order, values, {"cast": "", "did": ""})


def lot_form(fields: Mapping[str, str]) -> NewLot:
    """A lot from LOT_FIELDS. amount: "500 g" or "1 L"; assay: "98 %"."""
    form = _Form(fields, LOT_FIELDS)
    words = ("substance", "supplier", "grade", "lot_number", "place", "currency", "note")
    amount = form.needed("amount", amount_and_unit, "The amount")
    values = {
        **{f: form.text(f) for f in words},
        "amount": None if amount is None else amount[0],
        "unit": "g" if amount is None else amount[1],
        "assay_pct": form.value("assay", _percent),
        "opened_on": form.value("opened_on", _day),
        "use_by": form.value("use_by", _day),
        "price": form.value("price", _price),
    }
    return form.entry(NewLot, entry_rules.lot_in_order, values, {"substance": "", "amount": 1.0})


def batch_form(fields: Mapping[str, str], weighed: tuple[Weighed, ...] = ()) -> NewBatch:
    """A batch from BATCH_FIELDS and what was weighed for it."""
    form = _Form(fields, BATCH_FIELDS)
    values = {
        **{f: form.text(f) for f in ("recipe", "solution", "water", "made_by", "note", "purpose")},
        "revision": form.needed("revision", _whole, "The revision"),
        "volume_ml": form.needed("volume", _volume, "The volume"),
        "weighed": weighed,
        "ph": form.value("ph", _number),
        "temperature_c": form.value("temperature", _temperature),
    }
    stands_in = {"recipe": "", "revision": 1, "solution": "", "volume_ml": 1.0}
    return form.entry(NewBatch, entry_rules.batch_in_order, values, stands_in)
