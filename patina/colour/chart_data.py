"""The published or own values of a 24-patch colour rendition chart.

Patches are numbered row by row from dark skin (1) to black (24); six columns, four rows.
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from patina.colour.values import EDITIONS
from patina.datafile import Parser, number, read_table, text
from patina.errors import BadChart, BadQuantity

Array = np.ndarray[Any, np.dtype[np.float64]]

PATCHES = 24
COLUMNS, ROWS = 6, 4
GREYS = tuple(range(18, 24))  # places of patches 19 (white) to 24 (black)
MAX_FILE_BYTES = 1_000_000
_COLUMNS: dict[str, Parser] = {"patch": int, "name": text, "L": number, "a": number, "b": number, "source": text}


@dataclass(frozen=True, eq=False)
class ChartValues:
    """Colours of the 24 patches for D50 and the 2 degree observer.

    lab: shape (24, 3). names: of the patches. edition: one of EDITIONS or "own values".
    spread_de00: how far the true values may lie from these where the edition is not known.
    """

    lab: Array
    names: tuple[str, ...]
    edition: str
    spread_de00: float = 0.0


@lru_cache(maxsize=4)
def published(edition: str = "unknown") -> ChartValues:
    """The maker's values for an edition; for an unknown one the middle of the two.

    The editions differ by 0.85 CIEDE2000 on average, so the middle is off by about half of that.
    Raises BadQuantity for another word. Source: [CHART24_2016]
    """
    if edition not in EDITIONS:
        raise BadQuantity(f"'{edition}' is not an edition of the chart.", f"Use one of {', '.join(EDITIONS)}.")
    before, after = (_packaged(f"chart_24_{which}_2014.csv") for which in ("before", "after"))
    if edition == "unknown":
        return ChartValues((before.lab + after.lab) / 2.0, before.names, edition, 0.45)
    return before if edition == "before-2014" else after


def _packaged(name: str) -> ChartValues:
    rows = sorted(read_table(name, _COLUMNS), key=lambda row: row["patch"])
    lab = np.array([[row["L"], row["a"], row["b"]] for row in rows])
    return ChartValues(lab, tuple(row["name"] for row in rows), name.removeprefix("chart_24_")[:-9] + "-2014")


def own_values(path: Path) -> ChartValues:
    """Values measured on a person's own chart: a CSV file with columns L, a, b (and patch), or a
    CGATS.17 text file with LAB_L, LAB_A, LAB_B, 24 rows either way.

    Values must be CIELAB for D50 and 2 degrees (a file that states others is refused).
    Raises BadChart naming what is missing or impossible.
    """
    try:
        with path.open("rb") as file:  # a device does not say how large it is
            raw = file.read(MAX_FILE_BYTES + 1)
        if len(raw) > MAX_FILE_BYTES:
            raise _bad(path, "is too large to be a table of 24 patches")
        content = raw.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except (OSError, UnicodeDecodeError) as trouble:
        raise _bad(path, f"cannot be read ({trouble})") from trouble
    rows = _cgats(path, content) if "BEGIN_DATA" in content else _csv(path, content)
    ordered = _in_order(path, rows)
    lab = np.array([row[1] for row in ordered])
    if not np.isfinite(lab).all() or lab[:, 0].min() < 0 or lab[:, 0].max() > 110 or np.abs(lab[:, 1:]).max() > 130:
        raise _bad(path, "holds a value that no patch can have")
    if lab[18, 0] < lab[23, 0] + 40:
        raise _bad(path, "does not hold white in place 19 and black in place 24")
    return ChartValues(lab, published("after-2014").names, "own values")


def _bad(path: Path, why: str) -> BadChart:
    return BadChart(
        f"The chart's values in '{path.name}' cannot be used: the file {why}.",
        "Give 24 rows with patch, L, a, b (D50, 2°), numbered row by row from dark skin (1) to black (24).",
    )


def _csv(path: Path, content: str) -> list[tuple[str, list[float]]]:
    lines = [line for line in content.splitlines() if line.strip() and not line.startswith("#")]
    if not lines:
        raise _bad(path, "is empty")
    delimiter = max(",;\t", key=lines[0].count)
    reader = csv.DictReader(lines, delimiter=delimiter)
    columns = {re.sub(r"[^a-z]", "", (name or "").lower()): name for name in reader.fieldnames or ()}
    wanted = [columns.get(key) or columns.get("lab" + key) for key in ("l", "a", "b")]
    if None in wanted:
        raise _bad(path, "has no columns L, a and b")
    label = columns.get("patch") or columns.get("sampleid") or columns.get("number")
    rows = []
    for line, row in enumerate(reader, 2):
        try:
            values = [float((row[name] or "").replace(",", ".")) for name in wanted if name is not None]
        except ValueError as trouble:
            raise _bad(path, f"has no number in row {line}") from trouble
        rows.append(((row[label] or "") if label else "", values))
    return rows


def _cgats(path: Path, content: str) -> list[tuple[str, list[float]]]:
    """Rows of a CGATS.17 text file. Source: [CGATS17]"""
    form = re.search(r"BEGIN_DATA_FORMAT\s+(.*?)\s+END_DATA_FORMAT", content, re.S)
    data = re.search(r"BEGIN_DATA\s+(.*?)\s+END_DATA\b", content, re.S)
    if not form or not data:
        raise _bad(path, "has no BEGIN_DATA_FORMAT and BEGIN_DATA parts")
    stated = re.search(r'^\s*(?:KEYWORD\s+)?"?(?:ILLUMINANT|ILLUMINATION_NAME)"?\s+"?(\w+)', content, re.M)
    if stated and stated.group(1).upper() != "D50":
        raise _bad(path, f"states illuminant {stated.group(1)}, not D50")
    fields = [name.upper() for name in form.group(1).split()]
    try:
        places = [fields.index(name) for name in ("LAB_L", "LAB_A", "LAB_B")]
    except ValueError as trouble:
        raise _bad(path, "has no LAB_L, LAB_A, LAB_B") from trouble
    label = next((fields.index(name) for name in ("SAMPLE_ID", "SAMPLE_NAME") if name in fields), None)
    rows = []
    for line in data.group(1).splitlines():
        cells = re.findall(r'"[^"]*"|\S+', line)
        if not cells:
            continue
        try:
            values = [float(cells[place]) for place in places]
        except (ValueError, IndexError) as trouble:
            raise _bad(path, f"has a row that cannot be read: '{line.strip()[:60]}'") from trouble
        rows.append((cells[label].strip('"') if label is not None else "", values))
    return rows


def _in_order(path: Path, rows: list[tuple[str, list[float]]]) -> list[tuple[int, list[float]]]:
    if len(rows) != PATCHES:
        raise _bad(path, f"holds {len(rows)} rows instead of 24")
    numbered = [(int(name), values) for name, values in rows if re.fullmatch(r"\d{1,2}", name.strip())]
    if len(numbered) < PATCHES:
        if numbered:
            raise _bad(path, "numbers only some of its patches")
        return list(enumerate((values for _, values in rows), 1))
    numbered.sort(key=lambda row: row[0])
    if [number for number, _ in numbered] != list(range(1, PATCHES + 1)):
        raise _bad(path, "does not number its patches 1 to 24")
    return numbered
