"""Comparing two colours, wherever they come from."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from patina.colour.values import Caution, Lab
from patina.errors import BadQuantity, NotFound
from patina.sheets import ComparisonSheet

if TYPE_CHECKING:
    from patina.bench.studio import Studio

PAIR_COLUMNS = ("L1", "a1", "b1", "L2", "a2", "b2")


@dataclass(frozen=True, slots=True)
class NamedColour:
    """A colour with what it is called and how far it can be trusted (expanded, 95 %; None: unknown)."""

    name: str
    lab: Lab
    uncertainty_de00: float | None = None
    wax_state: str = "not stated"
    warmth: str = "not stated"
    photograph: str | None = None
    tile: str | None = None


def is_triple(text: str) -> bool:
    """Whether the words look like L,a,b rather than the id of a record."""
    return "," in text or ";" in text


def colour_of(studio: Studio | None, text: str) -> NamedColour:
    """The colour that the words name: "L,a,b" (D50/2°), or the id of a reading, tile, cast or agreed finish."""
    if is_triple(text):
        return NamedColour(text.strip(), parse_triple(text))
    if studio is None:
        raise NotFound(f"'{text}' is no L,a,b triple.", "Write three numbers such as 50,2.5,-8, or open a studio.")
    from patina.bench.tiles import colour_record

    return colour_record(studio, text)


def parse_triple(text: str) -> Lab:
    """L*, a*, b* from "50,2.5,-8" or "50;2,5;-8". L* 0 to 100, a* and b* within ±200. Raises BadQuantity."""
    parts = [p.strip().replace(",", ".") for p in text.split(";")] if ";" in text else text.split(",")
    try:
        values = [float(p.replace("\N{MINUS SIGN}", "-")) for p in parts]
    except ValueError:
        values = []
    if len(values) != 3 or not all(math.isfinite(v) for v in values):
        raise BadQuantity(f"'{text}' is not a colour.", "Write L*, a*, b* as three numbers: 50,2.5,-8.", field="colour")
    L, a, b = values
    if not 0.0 <= L <= 100.0 or abs(a) > 200.0 or abs(b) > 200.0:
        raise BadQuantity(
            f"'{text}' lies outside CIELAB as surfaces have it.",
            "L* goes from 0 to 100, a* and b* stay within ±200.",
            field="colour",
        )
    return Lab(L, a, b)


def compare(studio: Studio | None, reference: str, sample: str, formula: str = "de2000") -> ComparisonSheet:
    """How far the sample is from the reference. Raises BadQuantity, NotFound, NotComparable."""
    return compare_colours(colour_of(studio, reference), colour_of(studio, sample), formula)


def compare_colours(reference: NamedColour, sample: NamedColour, formula: str = "de2000") -> ComparisonSheet:
    """The comparison of two named colours, with what makes it doubtful."""
    from patina.colour.difference import compare as difference_of

    return ComparisonSheet(
        reference=reference.name,
        sample=sample.name,
        reference_lab=reference.lab,
        sample_lab=sample.lab,
        difference=difference_of(reference.lab, sample.lab, formula),
        uncertainty_de00=_joined(reference.uncertainty_de00, sample.uncertainty_de00),
        warnings=tuple(_doubts(reference, sample)),
    )


def _joined(first: float | None, second: float | None) -> float | None:
    if first is None and second is None:
        return None
    return math.hypot(first or 0.0, second or 0.0)


def _doubts(reference: NamedColour, sample: NamedColour) -> list[Caution]:
    doubts: list[Caution] = []
    for state, what in (("wax_state", "wax"), ("warmth", "warmth")):
        one, other = getattr(reference, state), getattr(sample, state)
        if one != other:
            doubts.append(
                Caution(
                    f"{what}-differs",
                    f"The reference is {one}, the sample {other}.",
                    None,
                    "Read both in the same state.",
                )
            )
    half_known = (reference.uncertainty_de00 is None) != (sample.uncertainty_de00 is None)
    if half_known:
        doubts.append(
            Caution(
                "uncertainty-unknown",
                "The uncertainty of one of the two is not known.",
                None,
                "Take the ± as a lower bound.",
            )
        )
    return doubts


def compare_pairs(path: Path, formula: str = "de2000") -> list[float]:
    """Differences of the pairs in a CSV file with columns L1,a1,b1,L2,a2,b2, in its order.

    Raises NotFound for a file that cannot be read, BadQuantity naming row and column.
    """
    import numpy as np

    from patina.colour.difference import delta_e_many

    rows = np.asarray(_pairs(path), dtype=float).reshape(-1, 6)
    return [float(d) for d in delta_e_many(rows[:, :3], rows[:, 3:], formula)]


def _pairs(path: Path) -> list[list[float]]:
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.DictReader(file)
            header = reader.fieldnames or []
            missing = [c for c in PAIR_COLUMNS if c not in header]
            if missing:
                raise BadQuantity(
                    f"{path.name} has no column {', '.join(missing)}.",
                    f"Its header must name {','.join(PAIR_COLUMNS)}.",
                )
            return [_pair(path.name, reader.line_num, row) for row in reader]
    except (OSError, UnicodeDecodeError, csv.Error) as trouble:
        reason = getattr(trouble, "strerror", None) or "it is not a CSV text file"
        raise NotFound(f"{path.name} cannot be read: {reason}.", "Give a CSV file saved as UTF-8 text.") from None


def _pair(name: str, line: int, row: dict[str, str]) -> list[float]:
    values = []
    for column in PAIR_COLUMNS:
        try:
            value = float(row[column])
        except (TypeError, ValueError):
            value = math.nan
        if not math.isfinite(value):
            raise BadQuantity(
                f"{name}, row {line}, column {column}: '{row[column]}' is no number.", "Correct that cell."
            )
        values.append(value)
    return values
