"""What an entry must be before it is kept: every trouble is collected and named with its field."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from patina.colour.difference import FORMULAS
from patina.entries import (
    ILLUMINANTS,
    READING_SOURCES,
    WARMTH,
    WAX_STATES,
    NewBatch,
    NewCast,
    NewLot,
    NewMaster,
    NewPiece,
    NewReading,
    NewTile,
    NewTreatment,
)
from patina.errors import BadQuantity, Incomplete, NotFound, PatinaError, Refused

LONGEST_NOTE = 20_000
FIRST_YEAR, LAST_YEAR = 1800, 9000
_CLOCK_SLACK = timedelta(hours=26)  # clocks of cameras and instruments know no time zone


class Rules:
    """Collects troubles; `done` refuses with all of them at once."""

    def __init__(self) -> None:
        self.troubles: list[PatinaError] = []

    def need(self, text: str, field: str, what: str) -> None:
        """The text must not be empty."""
        if not text.strip():
            self.troubles.append(Refused(f"{what} is missing.", "Fill it in.", field=field))

    def short(self, text: str, field: str, longest: int) -> None:
        """The text must fit."""
        if len(text) > longest:
            self.troubles.append(Refused(f"The text is longer than {longest} characters.", "Shorten it.", field=field))

    def among(self, word: str, field: str, allowed: Sequence[str]) -> None:
        """The word must be one of the allowed."""
        if word not in allowed:
            self.troubles.append(
                Refused(f"'{word}' is not known here.", f"Use one of: {', '.join(allowed)}.", field=field)
            )

    def within(self, value: float | None, field: str, low: float, high: float, unit: str = "") -> None:
        """The number must be finite and within the range; None means not said."""
        if value is None:
            return
        if not math.isfinite(value) or not low <= value <= high:
            tail = f" {unit}" if unit else ""
            self.troubles.append(
                BadQuantity(f"{value:g}{tail} cannot be.", f"Give {low:g} to {high:g}{tail}.", field=field)
            )

    def above_zero(self, value: float | None, field: str, high: float, unit: str) -> None:
        """The number must be above zero and not above ``high``; None means not said."""
        if value is not None and not (math.isfinite(value) and 0.0 < value <= high):
            self.troubles.append(
                BadQuantity(
                    f"{value:g} {unit} cannot be.", f"Give more than 0 and at most {high:g} {unit}.", field=field
                )
            )

    def done(self) -> None:
        """Raise Incomplete with all that was found, or nothing."""
        if self.troubles:
            raise Incomplete(self.troubles)


def alloy_key(name: str) -> str:
    """The key of a known alloy; any other name stays as written, for no list of alloys is whole."""
    from patina.surface.alloys import find_alloy

    try:
        return find_alloy(name).key
    except NotFound:
        return name.strip()


def tile_in_order(entry: NewTile) -> NewTile:
    """The entry with its words tidied. Raises Incomplete."""
    rules = Rules()
    rules.need(entry.engraved, "engraved", "What is stamped on the tile")
    rules.need(entry.alloy, "alloy", "The alloy")
    rules.short(entry.engraved, "engraved", 200)
    rules.short(entry.alloy, "alloy", 200)
    rules.short(entry.size, "size", 200)
    rules.short(entry.note, "note", LONGEST_NOTE)
    rules.short(entry.preparation, "preparation", LONGEST_NOTE)
    rules.short(" ".join(entry.as_done), "as_done", LONGEST_NOTE)
    rules.above_zero(entry.wall_mm, "wall_mm", 1000.0, "mm")
    rules.among(entry.wax_state, "wax_state", WAX_STATES)
    if entry.revision is not None and entry.recipe is None:
        rules.troubles.append(Refused("A revision was given without its recipe.", "Name the recipe.", field="recipe"))
    rules.done()
    return replace(
        entry,
        engraved=entry.engraved.strip(),
        alloy=alloy_key(entry.alloy),
        recipe=entry.recipe or None,
        batch=entry.batch or None,
        as_done=tuple(line.strip() for line in entry.as_done if line.strip()),
    )


def reading_in_order(entry: NewReading) -> NewReading:
    """The entry with its moment in UTC. Raises Incomplete."""
    rules = Rules()
    rules.within(entry.L, "L", 0.0, 100.0)
    rules.within(entry.a, "a", -200.0, 200.0)
    rules.within(entry.b, "b", -200.0, 200.0)
    rules.among(entry.source, "source", READING_SOURCES)
    rules.among(entry.wax_state, "wax_state", WAX_STATES)
    rules.among(entry.warmth, "warmth", WARMTH)
    rules.among(entry.observer, "observer", ("2", "10"))
    rules.among(entry.illuminant, "illuminant", ILLUMINANTS)
    rules.short(entry.geometry, "geometry", 40)
    rules.short(entry.note, "note", LONGEST_NOTE)
    rules.within(entry.n, "n", 1, 100_000)
    rules.within(entry.uncertainty_de00, "uncertainty_de00", 0.0, 100.0, "ΔE00")
    for value in entry.doubt_de00 or ():
        rules.within(value, "doubt_de00", 0.0, 100.0, "ΔE00")
    for value in entry.sd or ():
        rules.within(value, "sd", 0.0, 200.0)
    rules.above_zero(entry.grain_px, "grain_px", 100_000.0, "pixels")
    rules.above_zero(entry.grain_mm, "grain_mm", 10_000.0, "mm")
    rules.short(entry.scale_from, "scale_from", 200)
    for part in entry.parts:
        rules.within(part[3], "parts", 0.0, 1.0)
    moment = _in_utc(entry.read_at)
    if moment is not None and moment > datetime.now(UTC) + _CLOCK_SLACK:
        rules.troubles.append(
            Refused(
                "The reading lies in the future.", "Correct its date; check the clock of the camera.", field="read_at"
            )
        )
    rules.done()
    return replace(entry, read_at=moment, photograph=entry.photograph or None)


def _in_utc(moment: datetime | None) -> datetime | None:
    """UTC; a moment without a time zone is taken in this computer's own. Raises Refused for a year that is a slip."""
    if moment is None:
        return None
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise Refused(f"The year {moment.year} cannot be meant.", "Correct the date, such as 2026-03-14.", field="date")
    return moment.astimezone(UTC)


def master_in_order(entry: NewMaster) -> NewMaster:
    """The entry, checked. Raises Incomplete."""
    rules = Rules()
    rules.need(entry.name, "name", "The name")
    rules.short(entry.name, "name", 400)
    L, a, b = entry.colour
    rules.within(L, "colour", 0.0, 100.0)
    rules.within(a, "colour", -200.0, 200.0)
    rules.within(b, "colour", -200.0, 200.0)
    rules.among(entry.formula, "formula", FORMULAS)
    for field in ("limit_de", "limit_dL", "limit_dC", "limit_dH"):
        rules.above_zero(getattr(entry, field), field, 100.0, "ΔE")
    rules.within(entry.uncertainty_de00, "uncertainty_de00", 0.0, 100.0, "ΔE00")
    rules.among(entry.wax_state, "wax_state", WAX_STATES)
    rules.among(entry.warmth, "warmth", WARMTH)
    rules.short(entry.note, "note", LONGEST_NOTE)
    if entry.agreed_on is not None and entry.next_check is not None and entry.next_check < entry.agreed_on:
        rules.troubles.append(
            Refused("The next check lies before the agreement.", "Correct one of the two dates.", field="next_check")
        )
    rules.done()
    return replace(entry, name=entry.name.strip(), tile=entry.tile or None, recipe=entry.recipe or None)


def piece_in_order(entry: NewPiece) -> NewPiece:
    """The entry, checked. Raises Incomplete."""
    rules = Rules()
    rules.need(entry.title, "title", "The title")
    rules.short(entry.title, "title", 400)
    rules.within(entry.edition, "edition", 1, 10_000)
    rules.above_zero(entry.height_mm, "height_mm", 100_000.0, "mm")
    rules.short(entry.note, "note", LONGEST_NOTE)
    rules.done()
    return replace(entry, title=entry.title.strip(), maker=entry.maker.strip())


def cast_in_order(entry: NewCast) -> NewCast:
    """The entry, checked. Raises Incomplete."""
    rules = Rules()
    rules.need(entry.piece, "piece", "The piece")
    rules.short(entry.number, "number", 80)
    rules.above_zero(entry.mass_g, "mass_g", 1e8, "g")
    rules.above_zero(entry.wall_mm, "wall_mm", 1000.0, "mm")
    rules.above_zero(entry.area_m2, "area_m2", 10_000.0, "m²")
    rules.short(entry.note, "note", LONGEST_NOTE)
    rules.done()
    alloy = alloy_key(entry.alloy) if entry.alloy.strip() else ""
    return replace(entry, number=entry.number.strip(), alloy=alloy, master=entry.master or None)


def treatment_in_order(entry: NewTreatment) -> NewTreatment:
    """The entry, checked. Raises Incomplete."""
    rules = Rules()
    rules.need(entry.cast, "cast", "The cast")
    rules.need(entry.did, "did", "What was done")
    rules.above_zero(entry.area_m2, "area_m2", 10_000.0, "m²")
    rules.short(entry.did, "did", LONGEST_NOTE)
    rules.short(entry.note, "note", LONGEST_NOTE)
    if entry.revision is not None and entry.recipe is None:
        rules.troubles.append(Refused("A revision was given without its recipe.", "Name the recipe.", field="recipe"))
    rules.done()
    as_done = tuple(line.strip() for line in entry.as_done if line.strip())
    return replace(
        entry, did=entry.did.strip(), recipe=entry.recipe or None, batch=entry.batch or None, as_done=as_done
    )


def lot_in_order(entry: NewLot) -> NewLot:
    """The entry, checked. Raises Incomplete."""
    rules = Rules()
    rules.need(entry.substance, "substance", "The substance")
    rules.among(entry.unit, "unit", ("g", "mL"))
    rules.above_zero(entry.amount, "amount", 1e9, entry.unit)
    rules.above_zero(entry.assay_pct, "assay_pct", 100.0, "%")
    if entry.price is not None and not (entry.price.is_finite() and entry.price >= 0):
        rules.troubles.append(BadQuantity(f"A price of {entry.price} cannot be.", "Give zero or more.", field="price"))
    if entry.price is not None and not entry.currency.strip():
        rules.troubles.append(Refused("The price has no currency.", "Name it: EUR, GBP, USD …", field="currency"))
    rules.short(entry.currency, "currency", 8)
    rules.short(entry.note, "note", LONGEST_NOTE)
    if entry.opened_on is not None and entry.opened_on > datetime.now().date() + timedelta(days=1):
        rules.troubles.append(Refused("The lot is opened in the future.", "Correct the date.", field="opened_on"))
    rules.done()
    return entry


def batch_in_order(entry: NewBatch) -> NewBatch:
    """The entry with its moment in UTC. Raises Incomplete."""
    rules = Rules()
    rules.need(entry.recipe, "recipe", "The recipe")
    rules.need(entry.solution, "solution", "The solution")
    rules.above_zero(entry.volume_ml, "volume_ml", 1e6, "mL")
    rules.within(entry.ph, "ph", -2.0, 16.0)
    rules.within(entry.temperature_c, "temperature_c", -20.0, 110.0, "°C")
    rules.among(entry.purpose, "purpose", ("", "test tiles", "work"))
    for line in entry.weighed:
        rules.among(line.unit, "weighed", ("g", "mL"))
        rules.within(line.amount, "weighed", 0.0, 1e9, line.unit)
        rules.within(line.asked, "weighed", 0.0, 1e9, line.unit)
    moment = _in_utc(entry.made_at)
    if moment is not None and moment > datetime.now(UTC) + timedelta(minutes=5):
        rules.troubles.append(Refused("The batch is mixed in the future.", "Correct its time.", field="made_at"))
    rules.short(entry.note, "note", LONGEST_NOTE)
    rules.done()
    return replace(entry, made_at=moment)
