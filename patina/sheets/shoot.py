"""What a folder of photographs gave."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from patina.colour.values import Caution
from patina.sheets.tiles import ReadingRow


@dataclass(frozen=True, slots=True)
class FiledPhotograph:
    """A photograph that was filed to a tile or cast by its placard, with what was read. name: of the tile or cast."""

    file: str
    target: str
    readings: tuple[ReadingRow, ...]
    warnings: tuple[Caution, ...]
    name: str = ""


@dataclass(frozen=True, slots=True)
class UnfiledPhotograph:
    """A file that was not filed, and why. code: "trouble", "no-placard", "known" or "twice"."""

    file: str
    code: str
    title: str
    what: str
    remedy: str


@dataclass(frozen=True, slots=True)
class ShootSheet:
    """A whole folder: what was filed, and what was not."""

    filed: tuple[FiledPhotograph, ...]
    unfiled: tuple[UnfiledPhotograph, ...]

    def as_json(self) -> dict[str, Any]:
        """The document that ``patina read FOLDER --json`` prints."""
        return {
            "filed": [
                {
                    "file": one.file,
                    "target": one.target,
                    "name": one.name,
                    "readings": [
                        {"id": r.id, "lab": r.lab.as_list(), "uncertainty_de00": r.uncertainty_de00}
                        for r in one.readings
                    ],
                    "warnings": [w.as_json() for w in one.warnings],
                }
                for one in self.filed
            ],
            "unfiled": [
                {"file": u.file, "code": u.code, "title": u.title, "what": u.what, "remedy": u.remedy}
                for u in self.unfiled
            ],
        }
