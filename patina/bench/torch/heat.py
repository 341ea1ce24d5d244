"""Heat at the torch: readings of the metal made true, emissivity learnt, the budget of a pass."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from patina.bench.studio import Studio
from patina.bench.torch.work import record
from patina.entries import NewTemperature
from patina.errors import BadQuantity, NotFound, PatinaError, Refused
from patina.records.tables.ids import fetch
from patina.records.tables.work import WorkTable
from patina.records.torch import work_queries
from patina.records.torch.work import Stamp, work_sheet
from patina.records.torch.work_state import State
from patina.sheets import WorkSheet
from patina.surface.alloys import find_alloy
from patina.surface.constants import constant, emissivities

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.surface.heat import CastSettings, PassHeat
    from patina.surface.infrared import Emissivity


@dataclass(frozen=True, slots=True)
class TrueReading:
    """A reading made true. true_c in °C; error_k: expanded (95 %), K; words: how. said: what is kept."""

    true_c: float
    error_k: float
    words: str
    said: Mapping[str, Any]


def states() -> tuple[tuple[str, str], ...]:
    """Key and name of each state of the surface that has an emissivity."""
    return tuple((band.key, band.name) for band in emissivities().values())


def read_temperature(
    studio: Studio,
    which: str,
    entry: NewTemperature,
    *,
    seen: int | None = None,
    by: str = "",
    stamp: Stamp | None = None,
) -> WorkSheet:
    """Write down a reading of the metal; an infrared one is corrected for the state of the surface.

    Raises BadQuantity for a figure outside what the instrument reads, Changed, NotFound, Refused where
    the state of the surface is not said or the reading says nothing of the metal.
    """

    def fill(session: Session, row: WorkTable, _state: State, _who: str) -> dict[str, Any]:
        found = _made_true(session, row, entry)
        return {"true_c": found.true_c, "note": found.words, "said": found.said}

    return record(studio, which, "temperature", fill, seen=seen, by=by, stamp=stamp)


def _made_true(session: Session, row: WorkTable, entry: NewTemperature) -> TrueReading:
    from patina.surface.infrared import corrected

    if entry.contact_c is None and entry.infrared_c is None:
        raise BadQuantity("No temperature is written there.", "Give what the instrument shows.", field="temperature")
    own = row.thermometer
    for value, kind in ((entry.contact_c, "contact"), (entry.infrared_c, "infrared")):
        if value is not None:
            _in_reach(value, kind, own)
    setting = float(own["setting"]) if own["kind"] == "infrared" else 0.95
    said: dict[str, Any] = {
        "contact_c": entry.contact_c,
        "infrared_c": entry.infrared_c,
        "state": entry.state,
        "setting": setting,
        "surroundings_c": entry.surroundings_c,
    }
    if entry.contact_c is not None:
        error = constant("contact_spread_c")
        words = f"{entry.contact_c:g} ± {error:g} °C by contact probe"
        if entry.infrared_c is not None:
            words += f"; infrared showed {entry.infrared_c:g} °C ({_state_name(entry.state)})"
        return TrueReading(entry.contact_c, error, words + ".", {**said, "error_k": error})
    assert entry.infrared_c is not None
    recipe = work_queries.recipe_number(session, row.public_id)
    found = _emissivity(session, recipe, entry.state)
    room_sd = constant("room_taken_spread_k" if row.air_c is None else "room_read_spread_k")
    best = corrected(
        entry.infrared_c,
        found.value,
        found.sd,
        setting=setting,
        surroundings_c=entry.surroundings_c,
        surroundings_sd_k=room_sd,
    )
    said |= {"emissivity": found.value, "emissivity_sd": found.sd, "error_k": best.uncertainty_k}
    return TrueReading(best.true_c, best.uncertainty_k, f"{best.words} {found.words}", said)


def _in_reach(value: float, kind: str, own: Mapping[str, Any]) -> None:
    if kind != own["kind"]:
        return
    low, high = float(own["low_c"]), float(own["high_c"])
    if not math.isfinite(value) or not low <= value <= high:
        raise BadQuantity(
            f"{value:g} °C is outside what this {kind} instrument reads ({low:g} to {high:g} °C).",
            "Read again; such a figure is often an open probe, a flame in the way, or °F taken for °C.",
            field="temperature",
        )


def _state_name(state: str) -> str:
    band = emissivities().get(state)
    return state if band is None else band.name


def _emissivity(session: Session, recipe_id: int, state: str) -> Emissivity:
    from patina.surface.infrared import Emissivity, Pair, solve_emissivity

    bands = emissivities()
    if state not in bands:
        raise Refused(
            "The state of the surface is not said, and bare metal reads far lower than oxide.",
            f"Say one of: {', '.join(bands)}.",
            field="state",
        )
    said = work_queries.readings_said(session)
    for only, whose in ((recipe_id, "of this recipe"), (None, "of the studio")):
        pairs = [
            Pair(s["contact_c"], s["infrared_c"], s["setting"], s["surroundings_c"], state)
            for recipe, s in said
            if s.get("contact_c") is not None
            and s.get("infrared_c") is not None
            and s["state"] == state
            and only in (recipe, None)
        ]
        try:
            found = solve_emissivity(pairs)
        except Refused:
            continue  # no pair that serves: the next best source
        return Emissivity(found.value, found.sd, found.pairs, f"{found.words} Pairs {whose}.")
    band = bands[state]
    # a band that holds nearly all surfaces of the kind is taken as two standard deviations to either side
    sd = (band.high - band.low) / 4
    words = f"Emissivity {band.start:.2f} from the table for {band.name} ({band.low:g} to {band.high:g}): no pair yet."
    return Emissivity(band.start, sd, 0, words)


@dataclass(frozen=True, slots=True)
class LogLine:
    """A line of the temperature log. stored_c: as corrected then; today_c: with what is known of
    emissivity today, None where it cannot be told; error_k: of today's figure."""

    at: str
    step: int
    zone: str
    shown: str
    stored_c: float
    today_c: float | None
    error_k: float | None
    words: str


def temperature_log(studio: Studio, which: str) -> tuple[LogLine, ...]:
    """The readings of a work, oldest first, each corrected anew with the pairs known today. Raises NotFound."""
    with studio.store.view() as session:
        row = fetch(session, WorkTable, which, field="work")
        sheet = work_sheet(session, row)
        lines = []
        for event in sheet.events:
            if event.kind != "temperature" or event.cancelled or event.true_c is None:
                continue
            said = event.said
            entry = NewTemperature(said["contact_c"], said["infrared_c"], said["state"], said["surroundings_c"])
            try:
                today: TrueReading | None = _made_true(session, row, entry)
            except PatinaError:
                today = None
            shown = [
                f"{said[k]:g} °C {n}"
                for k, n in (("contact_c", "probe"), ("infrared_c", "infrared"))
                if said[k] is not None
            ]
            lines.append(
                LogLine(
                    event.at.isoformat(),
                    event.step,
                    event.zone,
                    ", ".join(shown),
                    event.true_c,
                    None if today is None else today.true_c,
                    None if today is None else today.error_k,
                    event.note if today is None else today.words,
                )
            )
        return tuple(lines)


# -- what a person types -----------------------------------------------------------------------------

_READING = re.compile(
    r"(?P<how>\b(?:contact|probe|infrared|ir)\b)?\s*(?P<figure>[-−]?\d[\d.,]*)\s*(?P<unit>°\s*[CFcf]\b|deg\s?[CFcf]\b|[CFcf]\b)?"
)


def temperature_typed(text: str, sheet: WorkSheet) -> NewTemperature:
    """What is typed at the torch: "85", "185 F", "62 bare_blasted", "probe 95 ir 62 base".

    A bare figure is of the work's own instrument, in the unit its display shows, as said when the work
    was begun. The state of the surface is the last one said in this work unless another is named.
    Raises BadQuantity, Refused.
    """
    values: dict[str, float] = {}
    for found in _READING.finditer(text):
        how = (found["how"] or sheet.thermometer["kind"]).lower()
        kind = "contact" if how in ("contact", "probe") else "infrared"
        if kind in values:
            raise BadQuantity(
                f"'{text}' holds two {kind} readings.", "Write them one after the other.", field="temperature"
            )
        values[kind] = _celsius(found["figure"], found["unit"], sheet)
    if not values:
        raise BadQuantity(
            f"'{text}' holds no temperature.", "Write the figure that is shown, such as 85.", field="temperature"
        )
    words = _READING.sub(" ", text).split()
    state = _state_typed(words) if words else _last_state(sheet)
    return NewTemperature(
        values.get("contact"),
        values.get("infrared"),
        state,
        constant("room_c") if sheet.air_c is None else sheet.air_c,
    )


def _celsius(figure: str, unit: str | None, sheet: WorkSheet) -> float:
    from patina.units import temperature_c

    letter = (unit or sheet.thermometer["unit"]).strip()[-1].upper()
    return temperature_c(f"{figure.replace('−', '-')} °{letter}", field="temperature")


def _state_typed(words: Sequence[str]) -> str:
    wanted = " ".join(words).casefold().replace("_", " ").strip(" ,;")
    bands = emissivities()
    near = [b.key for b in bands.values() if wanted in b.key.replace("_", " ") or wanted in b.name.casefold()]
    if wanted.replace(" ", "_") in bands:
        return wanted.replace(" ", "_")
    if len(near) == 1:
        return near[0]
    if near:
        raise Refused(f"'{wanted}' may be {' or '.join(near)}.", "Write which one.", field="state")
    raise Refused(
        f"'{wanted}' is no state of the surface that is known here.",
        f"Write one of: {', '.join(bands)}.",
        field="state",
    )


def _last_state(sheet: WorkSheet) -> str:
    stated = (e.said["state"] for e in reversed(sheet.events) if e.kind == "temperature" and e.said.get("state"))
    return next(stated, "")


# -- the budget of a pass ----------------------------------------------------------------------------


def pass_budget(
    sheet: WorkSheet, *, wall: str = "", coverage: str = "", per_min: float = 1.0, alloy: str = ""
) -> PassHeat:
    """What one pass of the work's step does to the metal.

    wall ("5 mm"), coverage ("40 mL/m2"), alloy: as typed, taken from the piece and the step where
    empty. Raises BadQuantity, NotFound, Refused naming what is not known.
    """
    from patina.surface.heat import pass_heat
    from patina.units import coverage_ml_per_m2, length_mm

    step = sheet.here
    wall_mm = length_mm(wall, field="wall") if wall.strip() else sheet.wall_mm
    on_metal = coverage_ml_per_m2(coverage, field="coverage") if coverage.strip() else step.coverage_ml_m2
    known = _alloy(alloy.strip() or sheet.alloy)
    if wall_mm is None:
        raise Refused("The wall of this piece is not known.", "Write its thickness, such as 5 mm.", field="wall")
    if on_metal is None:
        raise Refused(
            "The recipe does not say how much a pass delivers.", "Write it, such as 40 mL/m2.", field="coverage"
        )
    return pass_heat(wall_mm, known, on_metal, step.window_c, per_min=per_min)


def flame_kw(budget: PassHeat, patch: str, share: str) -> float:
    """Power of flame that holds the metal, in kW. patch: what is worked at a time ("0.05 m2"); share: of
    the flame's heat that the metal takes ("20 %"), this house's own figure. Raises BadQuantity."""
    from patina.surface.heat import torch_power_kw
    from patina.units import area_m2
    from patina.units import share as share_of

    return torch_power_kw(
        budget.hold_kw_m2, area_m2(patch, field="patch"), share_of(share, field="flame_share", zero=False)
    )


def flame_share(sheet: WorkSheet, *, area: str, rise_k: str, time: str, flame: str) -> float:
    """Share of the flame's heat that this metal took in a dry heating, 0 to 1: area heated ("0.05 m2"), rise
    in K, time ("2 min"), power of the torch in kW. Raises BadQuantity, NotFound, Refused."""
    from patina.surface.heat import torch_share
    from patina.units import area_m2, duration_h, number

    if sheet.wall_mm is None:
        raise Refused("The wall of this piece is not known.", "Write it with the cast or tile.", field="wall")
    return torch_share(
        sheet.wall_mm,
        _alloy(sheet.alloy),
        area_m2(area, field="area"),
        number(rise_k, field="rise"),
        60 * duration_h(time, field="time"),
        number(flame, field="flame"),
    )


def tile_settings_on_cast(
    tile_wall: str, tile_alloy: str, cast_wall: str, cast_alloy: str, coverage: str
) -> CastSettings:
    """What settings found on a tile become on a cast ("3 mm", "C87300", "5 mm", ..., "40 mL/m2").
    Raises BadQuantity, NotFound."""
    from patina.surface.heat import tile_to_cast
    from patina.units import coverage_ml_per_m2, length_mm

    return tile_to_cast(
        length_mm(tile_wall, field="tile_wall"),
        _alloy(tile_alloy, "tile_alloy"),
        length_mm(cast_wall, field="cast_wall"),
        _alloy(cast_alloy, "cast_alloy"),
        coverage_ml_per_m2(coverage, field="coverage"),
    )


def _alloy(name: str, field: str = "alloy") -> Any:
    try:
        return find_alloy(name)
    except NotFound as trouble:
        raise NotFound(trouble.what, trouble.remedy, field=field) from None
