"""What has changed between two photographs of one piece."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from patina.colour.difference import Difference
from patina.colour.values import Caution, Lab


@dataclass(frozen=True, slots=True)
class PatchRow:
    """One patch read in both photographs; uncertainty_de00: expanded (95 %), of the difference. polygon: its
    corners in pixels of the earlier photograph."""

    name: str
    before: Lab
    after: Lab
    difference: Difference
    uncertainty_de00: float
    polygon: tuple[tuple[float, float], ...] = ()

    @property
    def told(self) -> bool:
        """Whether the difference is larger than its uncertainty."""
        return self.difference.delta_e > self.uncertainty_de00


@dataclass(frozen=True, slots=True)
class ChangeSheet:
    """All patches, what speaks against the comparison, how the pictures lie on each other (misfit in
    pixels of the earlier, turn in degrees, size of the later over the earlier), and the picture."""

    patches: tuple[PatchRow, ...]
    skipped: tuple[tuple[str, str], ...]
    warnings: tuple[Caution, ...]
    misfit_px: float
    turned_deg: float
    scale: float
    picture_png: bytes

    def as_json(self) -> dict[str, Any]:
        """The document that ``patina change --json`` prints."""
        return {
            "patches": [
                {
                    "name": p.name,
                    "before": p.before.as_list(),
                    "after": p.after.as_list(),
                    **p.difference.as_json(),
                    "uncertainty_de00": p.uncertainty_de00,
                    "told": p.told,
                }
                for p in self.patches
            ],
            "skipped": [{"name": name, "why": why} for name, why in self.skipped],
            "warnings": [w.as_json() for w in self.warnings],
            "misfit_px": self.misfit_px,
            "turned_deg": self.turned_deg,
            "scale": self.scale,
        }
