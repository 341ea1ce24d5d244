"""Reads the catalogue's data files, and refuses one that contradicts itself or another."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from patina.chemistry.substances import (
    FORMS,
    HAZARD_BASES,
    AcuteToxicityEstimate,
    Catalogue,
    EmittedGas,
    Grade,
    HazardClass,
    SpecificLimit,
    Substance,
    cas_is_sound,
    plain,
)
from patina.datafile import any_text, number, one_of, optional_number, read_table, text, words, yes_or_no
from patina.errors import BadData

TRIGGERS = ("standing", "heat", "acid", "base", "metal", "spray", "burning", "hydrochloric acid")
ROUTES = ("oral", "dermal", "gas_ppmV", "vapour_mg_L", "dust_mist_mg_L")
FILES = (
    "substances.csv",
    "substance_names.csv",
    "substance_hazards.csv",
    "substance_limits.csv",
    "substance_ates.csv",
    "substance_euh.csv",
    "substance_gases.csv",
    "substance_grades.csv",
    "substance_tags.csv",
)


def _cas(cell: str) -> str | None:
    if cell and not cas_is_sound(cell):
        raise ValueError(f"'{cell}' is not a CAS number with a right check digit")
    return cell or None


def _positive(cell: str) -> float | None:
    value = optional_number(cell)
    if value is not None and value <= 0:
        raise ValueError(f"{cell} is not above zero")
    return value


def _not_negative(cell: str) -> float | None:
    value = optional_number(cell)
    if value is not None and value < 0:
        raise ValueError(f"{cell} is negative")
    return value


def _pct(cell: str) -> float | None:
    value = _positive(cell)
    if value is not None and value > 100:
        raise ValueError(f"{cell} is above 100 %")
    return value


def _statement(letters: str) -> Callable[[str], str]:
    def parse(cell: str) -> str:
        if not (cell.startswith(letters) and cell[len(letters) : len(letters) + 3].isdigit()):
            raise ValueError(
                f"'{cell}' is not a code such as {letters}031"
                if letters == "EUH"
                else f"'{cell}' is not a code such as H302"
            )
        return cell

    return parse


_MAIN: dict[str, Callable[[str], Any]] = {
    "key": text,
    "name": text,
    "cas": _cas,
    "cas_source": any_text,
    "formula": text,
    "molar_mass_g_mol": _positive,
    "base": text,
    "waters": number,
    "base_units": number,
    "form": one_of(*FORMS),
    "mixture": yes_or_no,
    "active": text,
    "active_molar_mass_g_mol": _positive,
    "assay_pct": _pct,
    "density_g_ml": _positive,
    "density_source": any_text,
    "solubility_g_per_l": _not_negative,
    "solubility_note": any_text,
    "solubility_source": any_text,
    "hazard_basis": one_of(*HAZARD_BASES),
    "index_no": any_text,
    "hazard_note": any_text,
    "limit_ion": any_text,
    "limit_factor": number,
    "m_acute": _positive,
    "m_chronic": _positive,
    "m_source": any_text,
    "source": text,
    "notes": any_text,
}
_SIDE: dict[str, dict[str, Callable[[str], Any]]] = {
    "substance_names.csv": {"key": text, "name": text, "age": one_of("current", "old"), "source": text},
    "substance_hazards.csv": {
        "key": text,
        "code": text,
        "route": one_of("", "oral", "dermal", "inhalation"),
        "h": _statement("H"),
        "minimum": yes_or_no,
        "source": text,
        "note": any_text,
    },
    "substance_limits.csv": {
        "key": text,
        "class_code": text,
        "h": any_text,
        "low_pct": number,
        "high_pct": optional_number,
        "source": text,
    },
    "substance_ates.csv": {"key": text, "route": one_of(*ROUTES), "value": number, "source": text},
    "substance_euh.csv": {"key": text, "euh": _statement("EUH"), "source": text},
    "substance_gases.csv": {
        "key": text,
        "gas": text,
        "trigger": one_of(*TRIGGERS),
        "when": text,
        "above_c": optional_number,
        "source": text,
    },
    "substance_grades.csv": {"key": text, "assay_pct": number, "density_g_ml": number, "source": text},
    "substance_tags.csv": {"key": text, "tags": words, "source": text},
}


def read_catalogue(folder: Path | None = None) -> Catalogue:
    """The catalogue from its nine files, those of the package or of another folder.

    Raises BadData naming file, row and column for a malformed cell, and naming file and key where a
    row belongs to no substance, a key or name stands twice, or a CAS number's check digit is wrong.
    """

    def table(name: str, columns: dict[str, Callable[[str], Any]]) -> list[dict[str, Any]]:
        return read_table(folder / name if folder else name, columns)

    mains = table("substances.csv", _MAIN)
    keys = [row["key"] for row in mains]
    _refuse_twice("substances.csv", "key", keys)
    side: dict[str, dict[str, list[dict[str, Any]]]] = {}
    for name, columns in _SIDE.items():
        grouped: dict[str, list[dict[str, Any]]] = {key: [] for key in keys}
        for row in table(name, columns):
            if row["key"] not in grouped:
                raise BadData(
                    f"{name}: key '{row['key']}' is not in substances.csv.", "Correct the key, or add the substance."
                )
            grouped[row.pop("key")].append(row)
        side[name] = grouped
    substances = [_substance(row, {name: grouped[row["key"]] for name, grouped in side.items()}) for row in mains]
    _refuse_twice(
        "substance_names.csv",
        "name",
        [name for s in substances for name in {plain(n) for n in (s.name, *s.other_names)}],
    )
    return Catalogue(substances)


def _refuse_twice(file: str, column: str, values: list[str]) -> None:
    seen: set[str] = set()
    for value in values:
        if value in seen:
            raise BadData(f"{file}, column '{column}': '{value}' stands twice.", "Take one of the two out.")
        seen.add(value)


def _substance(row: dict[str, Any], side: dict[str, list[dict[str, Any]]]) -> Substance:
    fields = dict(row)
    density_source = fields.pop("density_source")
    grades = tuple(Grade(**r) for r in side["substance_grades.csv"])
    if fields["density_g_ml"] is not None and fields["assay_pct"] is not None:
        own = Grade(fields["assay_pct"], fields["density_g_ml"], density_source)
        grades = (own, *(g for g in grades if g.assay_pct != own.assay_pct))
    tags = frozenset(tag for r in side["substance_tags.csv"] for tag in r["tags"])
    return Substance(
        other_names=tuple(r["name"] for r in side["substance_names.csv"]),
        hazards=tuple(HazardClass(**r) for r in side["substance_hazards.csv"]),
        limits=tuple(SpecificLimit(**r) for r in side["substance_limits.csv"]),
        ates=tuple(AcuteToxicityEstimate(**r) for r in side["substance_ates.csv"]),
        euh=tuple(r["euh"] for r in side["substance_euh.csv"]),
        gases=tuple(EmittedGas(**r) for r in side["substance_gases.csv"]),
        grades=tuple(sorted(grades, key=lambda g: g.assay_pct)),
        tags=tags,
        **fields,
    )


@cache
def packaged() -> Catalogue:
    """The catalogue that comes with the program, read once."""
    return read_catalogue()
