"""What a plain card or a row of neutral steps reflects, as its owner states it."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from patina.colour.encode import WHITE_D50, lab_of, xyz_of
from patina.errors import BadChart

Array = np.ndarray[Any, np.dtype[np.float64]]

MAX_FILE_BYTES = 100_000
STEPS = (3, 40)
MOST_PCT = 102.0  # the whitest surfaces, as instruments state them
LEAST_CARD_PCT = 5.0  # a darker card tells too little of the light's colour
NEUTRAL = 6.0  # a*, b* that a neutral surface stays within
LEAST_STEP = 0.97  # each step reflects less than this share of the lighter one beside it


@dataclass(frozen=True, eq=False)
class CardValues:
    """Reflectances of a card. kind: one of CARDS. xyz: for D50 and the 2 degree observer, white Y = 1,
    shape (n, 3); n is 1 for a plain card; steps in order from one end to the other.
    """

    kind: str
    xyz: Array

    @property
    def count(self) -> int:
        """How many steps; 1 for a plain card."""
        return len(self.xyz)


def card_values(kind: str, given: str | Path | None) -> CardValues:
    """The card's values from words or a file.

    kind: one of CARDS. given: "18 %" for a plain card; else a CSV file with a row for each step from
    one end to the other and a column reflectance_pct, or density (reflection density: its minus tenth
    logarithm), or L, a, b (D50, 2 degrees). Raises BadChart for what is missing, impossible, not
    neutral, or not in order.

    >>> card_values("white-card", "90 %").xyz.round(3).tolist()
    [[0.868, 0.9, 0.743]]
    """
    if given is None or not str(given).strip():
        raise BadChart(
            "It is not said how much of the light the card reflects.",
            "Give its reflectance, such as '90 %', or a CSV file with its steps' reflectances.",
        )
    words = str(given).strip()
    alone = re.fullmatch(r"(\d{1,3}(?:[.,]\d+)?)\s*(%?)", words)
    if alone and not alone.group(2):
        raise BadChart(f"'{words}' has no unit.", f"Write '{words} %' if that share of the light is meant.")
    xyz = _from_file(Path(given)) if not alone else _grey(np.array([float(alone[1].replace(",", ".")) / 100.0]))
    _check(kind, xyz, words)
    return CardValues(kind, xyz)


def _grey(share: Array) -> Array:
    return share[:, None] * WHITE_D50


def _bad(name: str, why: str) -> BadChart:
    return BadChart(
        f"The card's values '{name}' cannot be used: {why}.",
        "Give one reflectance such as '90 %' for a plain card, or a CSV file with a row for each step in order and a "
        "column reflectance_pct, density, or L, a, b.",
    )


def _from_file(path: Path) -> Array:
    try:
        with path.open("rb") as file:  # a device does not say how large it is
            content = file.read(MAX_FILE_BYTES + 1)
        if len(content) > MAX_FILE_BYTES:
            raise _bad(path.name, "the file is too large to be a table of steps")
        lines = content.decode("utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError, ValueError) as trouble:
        raise _bad(path.name, "there is no such text file") from trouble
    lines = [line for line in lines if line.strip() and not line.startswith("#")]
    if not lines:
        raise _bad(path.name, "the file is empty")
    reader = csv.DictReader(lines, delimiter=max(",;\t", key=lines[0].count))
    columns = {(name or "").strip().lower(): name for name in reader.fieldnames or ()}
    rows = list(reader)
    if "reflectance_pct" in columns:
        return _grey(_column(path.name, rows, columns["reflectance_pct"]) / 100.0)
    if "density" in columns:
        return _grey(10.0 ** -_column(path.name, rows, columns["density"]))
    if {"l", "a", "b"} <= columns.keys():
        return xyz_of(np.stack([_column(path.name, rows, columns[key]) for key in "lab"], axis=-1))
    raise _bad(path.name, "no column reflectance_pct, density, or L, a and b")


def _column(file: str, rows: list[dict[str, str]], name: str) -> Array:
    values = []
    for number, row in enumerate(rows, 1):
        try:
            values.append(float((row[name] or "").strip().replace(",", ".")))
        except ValueError as trouble:
            raise _bad(file, f"no number in row {number}, column {name}") from trouble
    found = np.array(values)
    if not np.isfinite(found).all() or np.abs(found).max(initial=0.0) > 200.0:
        raise _bad(file, f"a value in column {name} that no surface has")
    return found


def _check(kind: str, xyz: Array, name: str) -> None:
    share = xyz[:, 1] if len(xyz) else np.empty(0)
    if share.size and (share.min() <= 0.0005 or share.max() > MOST_PCT / 100.0):
        raise _bad(name, f"a reflectance outside 0.05 to {MOST_PCT:.0f} %")
    if share.size and np.abs(lab_of(xyz)[:, 1:]).max() > NEUTRAL:
        raise _bad(name, f"a step that is not neutral (a* or b* beyond {NEUTRAL:.0f})")
    if kind == "white-card":
        if len(xyz) != 1:
            raise _bad(name, f"{len(xyz)} rows where a plain card has one")
        if share[0] < LEAST_CARD_PCT / 100.0:
            raise _bad(name, f"a card that reflects less than {LEAST_CARD_PCT:.0f} % is too dark to balance by")
        return
    if not STEPS[0] <= len(xyz) <= STEPS[1]:
        raise _bad(name, f"{len(xyz)} steps; {STEPS[0]} to {STEPS[1]} are wanted")
    down = share if share[0] > share[-1] else share[::-1]
    if np.any(down[1:] > LEAST_STEP * down[:-1]):
        raise _bad(name, "the steps do not run from light to dark, or two are alike")
