"""What came out when an archive of photographs was read again."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from statistics import median
from typing import Any

from patina.colour.values import Lab


@dataclass(frozen=True, slots=True)
class RereadRow:
    """One area of one photograph. reading: id of the old reading, empty for a first one. before, after:
    colour then and now, None where not known; doubt_before, doubt_after: expanded (95 %), CIEDE2000.
    de00: CIEDE2000 from before to after. outcome: "same", "other", "first reading", "cannot be read",
    "cannot be kept" or "nothing to read". words: how it differs, or why. kept: id of the new reading,
    empty where none was put on record."""

    photograph: str
    target: str
    area: str
    reading: str
    before: Lab | None
    after: Lab | None
    doubt_before: float | None
    doubt_after: float | None
    de00: float | None
    outcome: str
    words: str
    kept: str = ""

    def as_json(self) -> dict[str, Any]:
        """The fields by name; colours as lists of L*, a*, b*."""
        colours = {name: None if lab is None else lab.as_list() for name, lab in self._colours()}
        return {**asdict(self), **colours}

    def _colours(self) -> tuple[tuple[str, Lab | None], ...]:
        return (("before", self.before), ("after", self.after))

    @property
    def beyond_doubt(self) -> bool:
        """Whether the two differ by more than both are in doubt together (root of the sum of squares)."""
        if self.de00 is None or self.doubt_before is None or self.doubt_after is None:
            return False
        return self.de00 > float((self.doubt_before**2 + self.doubt_after**2) ** 0.5)


@dataclass(frozen=True, slots=True)
class RereadSheet:
    """A reading again of an archive. photographs: ways of reading there were; done: how many are; before: how
    many of these were done by an earlier run; left: still to be done; stopped: whether the run was
    stopped. kept: whether readings were put on record. reader: mark of the reading function."""

    rows: tuple[RereadRow, ...]
    photographs: int
    done: int
    before: int
    left: int
    stopped: bool
    kept: bool
    reader: str

    def of(self, outcome: str) -> tuple[RereadRow, ...]:
        """The rows of one outcome."""
        return tuple(row for row in self.rows if row.outcome == outcome)

    @property
    def median_de00(self) -> float | None:
        """Median CIEDE2000 of the readings that could be compared."""
        found = [row.de00 for row in self.rows if row.de00 is not None]
        return median(found) if found else None

    @property
    def largest_de00(self) -> float | None:
        """The largest of them."""
        return max((row.de00 for row in self.rows if row.de00 is not None), default=None)

    def as_json(self) -> dict[str, Any]:
        """The document that ``patina reread --json`` prints."""
        return {
            "photographs": self.photographs,
            "done": self.done,
            "done_before": self.before,
            "left": self.left,
            "stopped": self.stopped,
            "kept": self.kept,
            "reader": self.reader,
            "median_de00": self.median_de00,
            "largest_de00": self.largest_de00,
            "beyond_doubt": sum(row.beyond_doubt for row in self.rows),
            "rows": [row.as_json() for row in self.rows],
        }
