"""Two finishes as distributions of tones, side by side."""

from __future__ import annotations

from dataclasses import dataclass

from patina.colour.values import Part


@dataclass(frozen=True, slots=True)
class MottleSheet:
    """How two finishes differ in tones and shares.

    reference_parts, sample_parts: tones and shares, 0 to 1; one tone where the tones were not read.
    distance: earth mover's, in CIEDE2000. mean_difference: of their means. words: what differs.
    uneven: whether either is really in parts. cautions: whose tones were not read, whose grain is not known.
    states: where wax or warmth differ, in words. spread_ratio, grain_ratio: sample over reference, None where not
    compared. reference_grain_mm, sample_grain_mm: size of the mottle, None where not known or where there is none.
    """

    reference: str
    sample: str
    reference_parts: tuple[Part, ...]
    sample_parts: tuple[Part, ...]
    distance: float
    mean_difference: float
    words: str
    uneven: bool
    cautions: tuple[str, ...] = ()
    states: tuple[str, ...] = ()
    spread_ratio: float | None = None
    grain_ratio: float | None = None
    reference_grain_mm: float | None = None
    sample_grain_mm: float | None = None

    def as_json(self) -> dict[str, object]:
        """Words, distance and parts, as the command line gives them."""
        return {
            "words": self.words,
            "distance": self.distance,
            "mean_difference": self.mean_difference,
            "reference_parts": [p.as_json() for p in self.reference_parts],
            "sample_parts": [p.as_json() for p in self.sample_parts],
            "spread_ratio": self.spread_ratio,
            "grain_ratio": self.grain_ratio,
            "reference_grain_mm": self.reference_grain_mm,
            "sample_grain_mm": self.sample_grain_mm,
            "cautions": [*self.states, *self.cautions],
        }
