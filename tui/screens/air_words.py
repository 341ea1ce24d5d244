"""The air of a job in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tui import format as show
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.safety.air_sheet import AirLine
    from patina.sheets.air import AirSheet


def air_words(sheet: AirSheet) -> Prose:
    """Step by step: gas at most, against each body's limit, and the flow it takes."""
    prose = Prose().title(sheet.recipe, f"revision {sheet.revision}")
    prose.fact("room", f"{show.plain(sheet.room_m3)} m³, {show.plain(sheet.temperature_c)} °C")
    prose.fact("fresh air", f"{show.plain(sheet.flow_m3_h)} m³/h: {sheet.flow_words}")
    prose.fact("mixing", f"K = {show.plain(sheet.k)} (1 ideal, 10 poor)")
    for step in sheet.steps:
        used = "" if step.volume_ml is None else f", {show.volume(step.volume_ml)}"
        prose.heading(f"Step {step.number}: {step.do} {step.solution or ''}{used}, {show.plain(step.minutes)} min")
        prose.text(step.words, "$text-muted")
        for line in step.lines:
            _line(prose, line)
        if not step.lines and step.volume_ml is not None:
            prose.text("No gas is known of this step.")
    prose.heading("All pots together")
    for line in sheet.whole:
        _line(prose, line)
    prose.gap().bullets(sheet.notes)
    return prose.text(sheet.caution, "$text-muted")


def _line(prose: Prose, line: AirLine) -> None:
    if line.grams_at_most is None:
        prose.caution(f"{line.gas} from {line.from_}: {line.working}", line.note)
        return
    once = "" if line.ppm_at_once is None else f", {_figures(line.ppm_at_once)} ppm if all at once"
    words = f"{line.gas} from {line.from_}: {_figures(line.grams_at_most)} g at most{once}"
    if line.over:
        prose.caution(f"OVER A LIMIT: {words}", grave=True)
    else:
        prose.text(words, "bold")
    prose.text(line.working, "$text-muted", indent=3)
    for a in line.against:
        reached = "never reached" if a.hours_to_limit is None else f"reached after {_time(a.hours_to_limit)}"
        times = f"mean {_figures(a.times)} × the limit, {reached}"
        prose.bullets([f"{a.who} {a.limit_words}: {times}; needs {_figures(a.flow_needed_m3_h)} m³/h [{a.source}]"])
    if line.note:
        prose.text(show.sentence(line.note), indent=3)


def _figures(value: float) -> str:
    """Three figures, whatever the size, without powers of ten.

    >>> _figures(33709.2), _figures(17.83), _figures(0.01581), _figures(0.0001)
    ('33700', '17.8', '0.0158', 'below 0.001')
    """
    if value >= 1000:
        return str(int(float(f"{value:.3g}")))
    return f"{value:.3g}" if value >= 0.001 or value == 0 else "below 0.001"


def _time(hours: float) -> str:
    """How long, also where it is seconds.

    >>> _time(0.004), _time(0.25)
    ('14 s', '15 min')
    """
    return f"{hours * 3600:.0f} s" if hours < 1 / 60 else show.hours(hours)
