"""The air of a job: what each step can give off at most, against each body's limit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from patina.safety.air_sheet import AirLine
from patina.safety.values import CAUTION


@dataclass(frozen=True, slots=True)
class AirStep:
    """One step. volume_ml: of its solution that goes into the air's sum, None where nobody has said how much.
    minutes: over which it is used up. words: how the volume was got. lines: the worst first."""

    number: int
    do: str
    solution: str | None
    volume_ml: float | None
    minutes: float
    words: str
    lines: tuple[AirLine, ...]


@dataclass(frozen=True, slots=True)
class AirSheet:
    """What a recipe gives off in a place. flow_m3_h: fresh air taken into the sum, and flow_words how it was got.
    k: mixing factor. steps: one by one, each from clean air. whole: all pots together in one such time, if the
    steps follow each other without a pause. notes: what the sum leaves out."""

    recipe: str
    revision: int
    room_m3: float
    flow_m3_h: float
    flow_words: str
    k: float
    temperature_c: float
    steps: tuple[AirStep, ...]
    whole: tuple[AirLine, ...]
    notes: tuple[str, ...]
    caution: str = CAUTION

    def as_json(self) -> dict[str, Any]:
        """The document that ``patina air --json`` prints."""
        return {
            "recipe": self.recipe,
            "revision": self.revision,
            "room_m3": self.room_m3,
            "flow_m3_per_h": self.flow_m3_h,
            "flow_words": self.flow_words,
            "k": self.k,
            "temperature_C": self.temperature_c,
            "steps": [
                {
                    "step": s.number,
                    "do": s.do,
                    "solution": s.solution,
                    "volume_mL": s.volume_ml,
                    "minutes": s.minutes,
                    "working": s.words,
                    "gases": [line_json(x) for x in s.lines],
                }
                for s in self.steps
            ],
            "whole": [line_json(x) for x in self.whole],
            "notes": list(self.notes),
            "caution": self.caution,
        }


def line_json(line: AirLine) -> dict[str, Any]:
    """One gas of one substance."""
    return {
        "gas": line.gas,
        "from": line.from_,
        "when": line.when,
        "grams_at_most": line.grams_at_most,
        "working": line.working,
        "mg_per_m3_at_once": line.mg_m3_at_once,
        "ppm_at_once": line.ppm_at_once,
        "known": line.grams_at_most is not None,
        "over": line.over if line.grams_at_most is not None else None,
        "limits": [
            {
                "who": a.who,
                "kind": a.kind,
                "limit": a.limit_words,
                "limit_mg_per_m3": a.limit_mg_m3,
                "times": a.times,
                "flow_needed_m3_per_h": a.flow_needed_m3_h,
                "minutes_to_limit": None if a.hours_to_limit is None else a.hours_to_limit * 60,
                "source": a.source,
            }
            for a in line.against
        ],
        "note": line.note,
    }
