"""What a verdict rests on: each component of each zone, and tones with their shares."""

from __future__ import annotations

from dataclasses import dataclass

from patina.colour.values import Part


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One component of a zone judged. value: signed for ΔL*, ΔC*, ΔH*; for a limit tile how far beyond it in L*,
    negative inside. expanded: 95 %, None where not known. more: readings in all that would decide, None: no number
    would, or it is decided."""

    zone: str
    of: str
    value: float
    expanded: float | None
    limit: float
    outcome: str
    more: int | None = None


@dataclass(frozen=True, slots=True)
class MottleRow:
    """Tones and shares of a zone against the agreed ones. distance: earth mover's, in CIEDE2000. spread_ratio,
    grain_ratio: of the sample over the agreed, None where not compared. agreed_grain_mm, sample_grain_mm: size of
    the mottle, None where not known or where there is none."""

    zone: str
    distance: float
    outcome: str
    words: str
    agreed: tuple[Part, ...]
    sample: tuple[Part, ...]
    spread_ratio: float | None = None
    grain_ratio: float | None = None
    agreed_grain_mm: float | None = None
    sample_grain_mm: float | None = None
