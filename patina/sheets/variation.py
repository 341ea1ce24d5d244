"""Where the variation of a piece's readings comes from."""

from __future__ import annotations

from dataclasses import dataclass

from patina.matching.three_sources import ThreeSources
from patina.sheets.casts import PieceRow


@dataclass(frozen=True, slots=True)
class VariationSheet:
    """Variation of L*, a*, b* within casts, between casts and of the gauge.

    zone: the areas looked at, None for all. state: wax and warmth of the readings. casts: how many were read so;
    spots: on them together. repeat_sets, repeats: spots read again for the gauge, and the readings of them.
    instruments: that read the repeats. components: L*, a*, b* in this order. words: the whole in sentences.
    """

    piece: PieceRow
    zone: str | None
    state: str
    casts: int
    spots: int
    repeat_sets: int
    repeats: int
    instruments: tuple[str, ...]
    components: tuple[ThreeSources, ThreeSources, ThreeSources]
    words: tuple[str, ...]
