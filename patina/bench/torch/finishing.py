"""Stop and release: the rinse series, metal against dew, release before wax, and the coats.

Only readings taken after the last pass count: whatever was put on later has to be rinsed off again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from patina.bench.entry_rules import Rules
from patina.bench.studio import Studio
from patina.bench.torch.work import record
from patina.entries import NewCoat
from patina.errors import Refused
from patina.records.tables.ids import fetch
from patina.records.tables.work import WorkTable
from patina.records.torch.work import recipe_of, work_sheet
from patina.records.torch.work_state import State
from patina.sheets import ReleaseSheet, WorkEvent, WorkSheet

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.surface.release import RinseReading

COATS = ("wax", "lacquer")


def add_rinse(
    studio: Studio,
    which: str,
    *,
    supply: bool,
    conductivity_us_cm: float | None = None,
    ph: float | None = None,
    chloride_mg_l: float | None = None,
    seen: int | None = None,
) -> WorkSheet:
    """A rinse water, or (supply) the water that is rinsed with. Figures in µS/cm, pH and mg/L; a strip
    at its blank is 0; None: not measured. Raises BadQuantity, Changed, NotFound, Refused."""
    from patina.surface.release import RinseReading, SurfaceState, release

    reading = RinseReading(conductivity_us_cm, ph, chloride_mg_l)
    if conductivity_us_cm is None and ph is None and chloride_mg_l is None:
        raise Refused("No reading of the water is given.", "Give conductivity, pH or chloride.", field="conductivity")
    release(RinseReading(), [reading], SurfaceState(), chloride_used=False)  # refuses what no instrument shows
    said = {
        "supply": supply,
        "conductivity_us_cm": conductivity_us_cm,
        "ph": ph,
        "chloride_mg_l": chloride_mg_l,
    }
    return record(studio, which, "rinse", lambda *_: {"said": said}, seen=seen, by="")


def add_air(
    studio: Studio,
    which: str,
    *,
    metal_c: float | None = None,
    air_c: float | None = None,
    air_rh_pct: float | None = None,
    seen: int | None = None,
) -> WorkSheet:
    """Metal and air at the piece before wax: °C, °C, % relative humidity; None: not measured.
    Raises Incomplete, Changed, NotFound, Refused."""
    rules = Rules()
    rules.within(metal_c, "metal", -45, 1000, "°C")
    rules.within(air_c, "air", -45, 60, "°C")
    rules.within(air_rh_pct, "humidity", 1, 100, "%")
    if metal_c is None and air_c is None and air_rh_pct is None:
        rules.troubles.append(Refused("No reading of metal or air is given.", "Give what was read.", field="metal"))
    rules.done()
    said = {"metal_c": metal_c, "air_c": air_c, "air_rh_pct": air_rh_pct}
    return record(studio, which, "air", lambda *_: {"said": said}, seen=seen, by="")


def release_sheet(studio: Studio, which: str) -> ReleaseSheet:
    """Whether wax may go on now, and which reading is missing. Nothing is written. Raises NotFound."""
    with studio.store.view() as session:
        return _release(studio, session, fetch(session, WorkTable, which, field="work"))


def decide_release(studio: Studio, which: str, *, seen: int | None = None, by: str = "") -> ReleaseSheet:
    """Give or withhold release by the readings on record, and keep that decision. Raises Changed, NotFound."""
    found: list[ReleaseSheet] = []

    def fill(session: Session, row: WorkTable, _state: State, _who: str) -> dict[str, Any]:
        sheet = _release(studio, session, row)
        found.append(sheet)
        said = {"given": sheet.given, "missing": list(sheet.missing), "against": list(sheet.against)}
        return {"note": sheet.words, "said": said}

    record(studio, which, "release", fill, seen=seen, by=by)
    return found[0]


def _release(studio: Studio, session: Session, row: WorkTable) -> ReleaseSheet:
    from patina.surface.release import RinseReading, SurfaceState, release

    sheet = work_sheet(session, row)
    after = _after_last_pass(sheet)
    waters = [e for e in sheet.events if e.kind == "rinse" and not e.cancelled]
    supply = next((_water(e) for e in reversed(waters) if e.said["supply"]), RinseReading())
    rinses = [_water(e) for e in after if e.kind == "rinse" and not e.said["supply"]]
    air = next((e.said for e in reversed(after) if e.kind == "air"), {})
    surface = SurfaceState(air.get("metal_c"), air.get("air_c"), air.get("air_rh_pct"))
    chloride = _with_chloride(studio, session, row)
    found = release(supply, rinses, surface, chloride_used=chloride)
    asked = [f"supply: {_words(supply)}", *(f"rinse {n}: {_words(r)}" for n, r in enumerate(rinses, 1))]
    if air:
        asked.append(
            f"metal {_figure(surface.metal_c, '°C')}, air {_figure(surface.air_c, '°C')}, "
            f"{_figure(surface.air_rh_pct, '% humidity')}"
        )
    return ReleaseSheet(found.given, found.missing, found.against, tuple(asked), chloride, _say(found))


def _say(found: Any) -> str:
    if found.given:
        return "Released: rinsed, dry and warm enough for wax."
    parts = []
    if found.missing:
        parts.append(f"missing: {', '.join(found.missing)}")
    if found.against:
        parts.append(f"against it: {'; '.join(found.against)}")
    return f"Not released; {'; '.join(parts)}."


def _after_last_pass(sheet: WorkSheet) -> list[WorkEvent]:
    """What stands and came after the last pass that put something on the metal."""
    wet = {s.number for s in sheet.steps if s.solution is not None}
    standing = [e for e in sheet.events if not e.cancelled]
    last = max((e.seq for e in standing if e.kind == "pass" and e.step in wet), default=0)
    return [e for e in standing if e.seq > last]


def _water(event: WorkEvent) -> RinseReading:
    from patina.surface.release import RinseReading

    return RinseReading(event.said["conductivity_us_cm"], event.said["ph"], event.said["chloride_mg_l"])


def _words(water: RinseReading) -> str:
    chloride = "" if water.chloride_mg_l is None else f", chloride {water.chloride_mg_l:g} mg/L"
    return f"{_figure(water.conductivity_us_cm, 'µS/cm')}, pH {_figure(water.ph, '')}{chloride}"


def _figure(value: float | None, unit: str) -> str:
    return "not read" if value is None else f"{value:g} {unit}".strip()


def _with_chloride(studio: Studio, session: Session, row: WorkTable) -> bool:
    known = studio.catalogue()
    recipe = recipe_of(session, row)[1]
    return any("chloride" in known.get(i.substance).tags for s in recipe.solutions for i in s.ingredients)


def add_coat(studio: Studio, which: str, coat: NewCoat, *, seen: int | None = None, by: str = "") -> WorkSheet:
    """A coat of wax or lacquer.

    Raises Incomplete, Changed, NotFound, and Refused before release is given, unless it is said why it
    goes on all the same.
    """
    rules = Rules()
    rules.among(coat.kind, "kind", COATS)
    rules.need(coat.product, "product", "What it is called on the tin")
    rules.above_zero(coat.mass_g, "mass", 1e6, "g")
    for text, field in ((coat.product, "product"), (coat.lot, "lot"), (coat.overruled, "overruled"), (coat.how, "how")):
        rules.short(text, field, 400)
    rules.done()

    def fill(session: Session, row: WorkTable, state: State, _who: str) -> dict[str, Any]:
        sheet = work_sheet(session, row)
        earlier = [e for e in sheet.events if e.kind == "coat" and not e.cancelled]
        first = not earlier
        if first and not coat.overruled.strip() and not _released(sheet):
            found = _release(studio, session, row)
            raise Refused(
                "Release before wax is not on record." if found.given else found.words,
                "Take the readings and give release, or write why it goes on all the same.",
                field="overruled",
                title="Not released",
            )
        zone = coat.zone.strip() or state.zone
        if zone not in {name for name, _ in row.zones}:
            raise Refused(f"There is no zone '{zone}'.", "Name a zone of this work.", field="zone")
        number = sum(1 for e in earlier if e.zone == zone and e.said["kind"] == coat.kind) + 1
        said = {
            "kind": coat.kind,
            "product": coat.product.strip(),
            "mass_g": coat.mass_g,
            "lot": coat.lot.strip(),
            "how": coat.how.strip(),
            "coat": number,
            "overruled": coat.overruled.strip(),
        }
        return {"zone": zone, "said": said}

    return record(studio, which, "coat", fill, seen=seen, by=by)


def _released(sheet: WorkSheet) -> bool:
    decided = [e for e in _after_last_pass(sheet) if e.kind == "release"]
    return bool(decided) and bool(decided[-1].said["given"])
