"""Two finishes as distributions of tones, side by side."""

from __future__ import annotations

from dataclasses import dataclass

from patina.colour.values import Part


@dataclass(frozen=True, slots=True)
class MottleSheet:
    """How two finishes differ in tones and shares.

    reference_parts, sample_parts: tones and shares, 0 to 1; one tone where the tones were not read.
    distance: earth mover's, in CIEDE2000. mean_difference: of their means. words: what differs.
    uneven: whether either is really in parts. cautions: whose tones were not read. states: where wax or
    warmth differ, in words.
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

    def as_json(self) -> dict[str, object]:
        """Words, distance and parts, as the command line gives them."""
        return {
            "words": self.words,
            "distance": self.distance,
            "mean_difference": self.mean_difference,
            "reference_parts": [p.as_json() for p in self.reference_parts],
            "sample_parts": [p.as_json() for p in self.sample_parts],
            "cautions": [*self.states, *self.cautions],
        }
