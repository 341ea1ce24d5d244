"""What hangs on the wall: the sheet of what stands on the shelf, and the first-aid card for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.language import shown
from patina.reports import figures
from patina.reports.in_language import data_in_readers_language
from patina.reports.precautions import precaution
from patina.reports.safety_words import danger_words, hazards
from patina.reports.typeset import typeset
from patina.sheets import LotRow

if TYPE_CHECKING:
    from patina.safety.values import Danger, SolutionSafety

NOT_KNOWN = "Hazards not known here. Treat it as dangerous and read its safety data sheet."
NO_CLASS = "No hazard class is known for it. That is not the same as harmless."
CAUTION = (
    "Computed from the catalogue to help a person's judgement. The supplier's safety data sheet, local rules and a "
    "doctor or poison centre decide. In doubt, call for help first and read afterwards."
)
# Route of harm, as the card heads it: beginnings of the statement codes that belong under it.
ROUTES = (
    ("In the eyes", ("P305", "P337")),
    ("On the skin or in the hair", ("P303", "P302", "P333")),
    ("Breathed in", ("P304", "P342")),
    ("Swallowed", ("P301", "P331", "P330")),
    ("On clothing", ("P306", "P363")),
    ("Get medical help", ("P308", "P310", "P311", "P312", "P313", "P314", "P315")),
    ("Spilled", ("P390", "P391")),
)


@dataclass(frozen=True, slots=True)
class _Item:
    """One substance on the shelf with all its lots."""

    name: str
    cas: str
    lots: tuple[LotRow, ...]
    safety: SolutionSafety | None


def write_wall_sheet(
    lots: Sequence[LotRow],
    safety: Mapping[str, SolutionSafety],
    path: Path,
    *,
    made_on: date,
    studio: str = "",
    dangers: Sequence[Danger] = (),
) -> tuple[Path, ...]:
    """Print what stands on the shelf: where, how much, pictograms, statements, what to keep apart.

    lots: spent ones are left out. safety: by substance key, the substance as sold; one that is not
    in it is printed as not known. dangers: between things on this shelf. The path's ending picks
    PDF, SVG or PNG. Returns the files written. Raises Refused, StudioTrouble.
    """
    data = {
        "title": "What stands on the shelf",
        "studio": studio,
        "date": figures.day(made_on),
        "items": [_wall_item(item) for item in _items(lots, safety)],
        "dangers": _together([danger_words(danger) for danger in dangers]),
        "caution": CAUTION,
    }
    return typeset("wall_sheet.typ", data_in_readers_language(data), path, made_on=made_on)


def write_first_aid_card(
    lots: Sequence[LotRow],
    safety: Mapping[str, SolutionSafety],
    path: Path,
    *,
    made_on: date,
    studio: str = "",
    emergency: str = "",
    poison_centre: str = "",
) -> tuple[Path, ...]:
    """Print what to do, by route, for what stands on the shelf, with whom to call.

    lots, safety: as for the wall sheet. emergency, poison_centre: telephone numbers; a line to fill
    in by hand where they are empty. Returns the files written. Raises Refused, StudioTrouble.
    """
    items = _items(lots, safety)
    data = {
        "title": "First aid",
        "studio": studio,
        "date": figures.day(made_on),
        "emergency": emergency,
        "poison_centre": poison_centre,
        "routes": [route for heading, codes in ROUTES if (route := _route(heading, codes, items))["advice"]],
        "unknown": [item.name for item in items if item.safety is None or _undecided_wholly(item.safety)],
        "caution": CAUTION,
    }
    return typeset("first_aid_card.typ", data_in_readers_language(data), path, made_on=made_on)


def _items(lots: Sequence[LotRow], safety: Mapping[str, SolutionSafety]) -> list[_Item]:
    by_key: dict[str, list[LotRow]] = {}
    for lot in lots:
        if lot.state != "spent":
            by_key.setdefault(lot.substance_key, []).append(lot)
    items = [
        _Item(found[0].substance, found[0].cas or "", tuple(found), safety.get(key)) for key, found in by_key.items()
    ]
    return sorted(items, key=lambda item: item.name.lower())


def _undecided_wholly(safety: SolutionSafety) -> bool:
    return any(undecided.class_code == "all classes" for undecided in safety.undecided)


def _together(dangers: Sequence[dict[str, str]]) -> list[dict[str, str]]:
    """Pairs that do the same and ask for the same stand in one paragraph, so that the wall can be read."""
    found: dict[tuple[str, ...], list[str]] = {}
    for d in dangers:
        found.setdefault((d["level"], d["where"], d["consequence"], d["instead"]), []).append(d["pair"])
    return [
        {"level": level, "between": "; ".join(pairs) + where, "consequence": consequence, "instead": instead}
        for (level, where, consequence, instead), pairs in found.items()
    ]


def _wall_item(item: _Item) -> dict[str, Any]:
    notes = {"signal": "", "pictograms": [], "statements": [], "undecided": []}
    words = notes if item.safety is None else hazards(item.safety)
    none = NOT_KNOWN if item.safety is None or _undecided_wholly(item.safety) else ""
    if not none and not words["statements"] and not words["undecided"]:
        none = NO_CLASS
    return {
        "name": item.name,
        "cas": item.cas,
        "signal": words["signal"],
        "pictograms": words["pictograms"],
        "statements": words["statements"],
        "undecided": words["undecided"],
        "none": none,
        "lots": [_lot(lot) for lot in item.lots],
    }


def _lot(lot: LotRow) -> dict[str, str]:
    state = f" ({lot.state})" if lot.state else ""
    until = f", use by {figures.day(lot.use_by)}" if lot.use_by else ""
    return {
        "where": lot.place or "place not written down",
        "what": f"{lot.id}: {figures.amount(lot.left, lot.unit)}{until}{state}",
    }


def _route(heading: str, codes: Sequence[str], items: Sequence[_Item]) -> dict[str, Any]:
    """What to do under one heading, and for which substances."""
    advice: dict[str, list[str]] = {}
    for item in items:
        for code in () if item.safety is None else item.safety.p_statements:
            if code.startswith(tuple(codes)):
                advice.setdefault(code, []).append(item.name)
    rows = [{"text": _without_lead(shown(precaution(code).text)), "names": names} for code, names in advice.items()]
    return {"heading": heading, "advice": sorted(rows, key=lambda row: -len(row["names"]))}


def _without_lead(text: str) -> str:
    """The advice without its "IF IN EYES:", which stands in the heading; in German it begins with BEI."""
    lead, colon, rest = text.partition(":")
    return rest.strip() if colon and lead.startswith(("IF ", "BEI ", "Bei ")) else text
