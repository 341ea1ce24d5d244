"""Comparing two colours, wherever they come from."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from patina.colour.values import Caution, Lab
from patina.errors import BadQuantity, NotFound
from patina.sheets import ComparisonSheet

if TYPE_CHECKING:
    from patina.bench.studio import Studio

LARGEST_FILE_BYTES = 50_000_000
_LAB_BOUNDS = "L* goes from 0 to 100, a* and b* stay within ±200."
PAIR_COLUMNS = ("L1", "a1", "b1", "L2", "a2", "b2")


@dataclass(frozen=True, slots=True)
class NamedColour:
    """A colour with what it is called and how far it can be trusted (expanded, 95 %; None: unknown).

    photograph: SHA-256 of the one it was read in. instrument: how it was read, in words. doubt_de00: the
    uncertainty's parts, of the surface's unevenness and of camera, light and chart, where they are known.
    """

    name: str
    lab: Lab
    uncertainty_de00: float | None = None
    wax_state: str = "not stated"
    warmth: str = "not stated"
    photograph: str | None = None
    tile: str | None = None
    instrument: str = ""
    doubt_de00: tuple[float, float] | None = None


def is_triple(text: str) -> bool:
    """Whether the words look like L,a,b rather than the id of a record."""
    return "," in text or ";" in text


def colour_of(studio: Studio | None, text: str) -> NamedColour:
    """The colour that the words name: "L,a,b" (D50/2°), or the id of a reading, tile, cast or agreed finish."""
    if is_triple(text):
        return NamedColour(text.strip(), parse_triple(text))
    if studio is None:
        raise NotFound(f"'{text}' is no L,a,b triple.", "Write three numbers such as 50,2.5,-8, or open a studio.")
    from patina.bench.readings.tiles import colour_record

    return colour_record(studio, text)


def parse_triple(text: str) -> Lab:
    """L*, a*, b* from "50,2.5,-8" or "50;2,5;-8". L* 0 to 100, a* and b* within ±200. Raises BadQuantity."""
    parts = [p.strip().replace(",", ".") for p in text.split(";")] if ";" in text else text.split(",")
    values = [_figure(p) for p in parts]
    if len(values) != 3 or not all(math.isfinite(v) for v in values):
        raise BadQuantity(f"'{text}' is not a colour.", "Write L*, a*, b* as three numbers: 50,2.5,-8.", field="colour")
    L, a, b = values
    if not _on_a_surface(L, a, b):
        raise BadQuantity(f"'{text}' lies outside CIELAB as surfaces have it.", _LAB_BOUNDS, field="colour")
    return Lab(L, a, b)


def _figure(text: str) -> float:
    """The number in a cell, or not-a-number where it is none; Python's own "1_000" is none."""
    try:
        return float(text.replace("\N{MINUS SIGN}", "-")) if "_" not in text else math.nan
    except ValueError:
        return math.nan


def _on_a_surface(L: float, a: float, b: float) -> bool:
    return 0.0 <= L <= 100.0 and abs(a) <= 200.0 and abs(b) <= 200.0


def compare(studio: Studio | None, reference: str, sample: str, formula: str = "de2000") -> ComparisonSheet:
    """How far the sample is from the reference. Raises BadQuantity, NotFound, NotComparable."""
    return compare_colours(colour_of(studio, reference), colour_of(studio, sample), formula)


def compare_colours(reference: NamedColour, sample: NamedColour, formula: str = "de2000") -> ComparisonSheet:
    """The comparison of two named colours, with what makes it doubtful.

    Two readings of one photograph, made the same way, share the errors of camera, light and chart: their
    difference is known better than either colour.
    """
    from patina.colour.difference import compare as difference_of

    doubts = _doubts(reference, sample)
    uncertainty = _joined(reference.uncertainty_de00, sample.uncertainty_de00)
    shared = _within_one_photograph(reference, sample)
    if shared is not None and uncertainty is not None and shared < uncertainty:
        uncertainty = shared
        doubts.append(_one_photograph(reference, sample, shared))
    return ComparisonSheet(
        reference=reference.name,
        sample=sample.name,
        reference_lab=reference.lab,
        sample_lab=sample.lab,
        difference=difference_of(reference.lab, sample.lab, formula),
        uncertainty_de00=uncertainty,
        warnings=tuple(doubts),
    )


def _within_one_photograph(reference: NamedColour, sample: NamedColour) -> float | None:
    """Expanded uncertainty of the difference of two areas of one photograph; None where they are not."""
    from patina.colour.pairs import uncertainty_between

    same = reference.photograph == sample.photograph and reference.instrument == sample.instrument
    if reference.photograph is None or not same or reference.doubt_de00 is None or sample.doubt_de00 is None:
        return None
    return uncertainty_between(reference.lab, reference.doubt_de00, sample.lab, sample.doubt_de00)


def _one_photograph(reference: NamedColour, sample: NamedColour, shared: float) -> Caution:
    return Caution(
        "one-photograph",
        f"Both were read in one photograph and share the errors of its camera, light and chart: their difference "
        f"is known to ± {shared:.1f}, the colours to ± {reference.uncertainty_de00 or 0:.1f} and "
        f"± {sample.uncertainty_de00 or 0:.1f}.",
        shared,
        "Compare tiles in one photograph where you can.",
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

    Cells parted by semicolons may have decimal commas.

    Raises NotFound for a file that cannot be read, BadQuantity naming row and column.
    """
    import numpy as np

    from patina.colour.difference import delta_e_many

    rows = np.asarray(_pairs(path), dtype=float).reshape(-1, 6)
    return [float(d) for d in delta_e_many(rows[:, :3], rows[:, 3:], formula)]


def _pairs(path: Path) -> list[list[float]]:
    try:
        with path.open("rb") as file:  # a device or pipe does not say how large it is
            content = file.read(LARGEST_FILE_BYTES + 1)
        if len(content) > LARGEST_FILE_BYTES:
            raise BadQuantity(f"{path.name} is larger than 50 MB.", "Give the pairs in smaller files.")
        text = content.decode("utf-8-sig")
        semicolons = ";" in text.split("\n", 1)[0]  # as spreadsheets write where the comma is decimal
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=";" if semicolons else ",", strict=True)
        rows = [(reader.line_num, [c.strip() for c in cells]) for cells in reader if any(c.strip() for c in cells)]
    except (OSError, UnicodeDecodeError, csv.Error) as trouble:
        reason = getattr(trouble, "strerror", None) or "it is not a CSV text file"
        raise NotFound(f"{path.name} cannot be read: {reason}.", "Give a CSV file saved as UTF-8 text.") from None
    header = rows[0][1] if rows else []
    wrong = [c for c in PAIR_COLUMNS if header.count(c) != 1]
    if wrong:
        raise BadQuantity(
            f"{path.name} does not have one column each of {', '.join(wrong)}.",
            f"Its first row must name {','.join(PAIR_COLUMNS)}, parted by commas or semicolons.",
        )
    if len(rows) < 2:
        raise BadQuantity(f"{path.name} holds no pair.", "Give at least one row under the header.")
    if semicolons:
        rows = [(line, [c.replace(",", ".") for c in cells]) for line, cells in rows]
    return [_pair(path.name, line, header, cells) for line, cells in rows[1:]]


def _pair(name: str, line: int, header: list[str], cells: list[str]) -> list[float]:
    if len(cells) != len(header):
        raise BadQuantity(
            f"{name}, row {line}: {len(cells)} cells where the header has {len(header)}.",
            "Numbers are written with a full stop, cells parted by commas.",
        )
    row = dict(zip(header, cells, strict=True))
    values = [_figure(row[column]) for column in PAIR_COLUMNS]
    for column, value in zip(PAIR_COLUMNS, values, strict=True):
        if not math.isfinite(value):
            raise BadQuantity(
                f"{name}, row {line}, column {column}: '{row[column]}' is no number.", "Correct that cell."
            )
    for L, a, b in (values[:3], values[3:]):
        if not _on_a_surface(L, a, b):
            raise BadQuantity(f"{name}, row {line}: {L:g}, {a:g}, {b:g} lies outside CIELAB.", _LAB_BOUNDS)
    return values
