"""A mix and an open pot in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patina.sheets.named import named
from tui import format as show
from tui.screens.release_words import pot_cautions
from tui.screens.safety_words import safety_full, safety_strip
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.sheets import BatchSheet, MixedSolution, MixSheet, WeighLine


def shelf_words(sheet: MixSheet) -> Prose:
    """From which lots is weighed and what it costs; nothing where the recipe's own forms are meant."""
    prose = Prose()
    if not sheet.from_shelf:
        return prose
    taken: dict[str, list[str]] = {}
    for line in (line for pot in sheet.solutions for line in pot.weigh if line.lot is not None):
        taken.setdefault(f"{line.lot} {line.substance}", []).append(show.amount(line.rounded, line.unit))
    words = [f"{lot}: {' + '.join(amounts)}" for lot, amounts in taken.items()]
    prose.fact("from the shelf", "; ".join(words) or "nothing of it stands there")
    short = [f"{show.amount(s.missing, s.unit)} of {s.substance}" for s in sheet.short]
    prose.fact("missing", "; ".join(short), "bold $text-error")
    prose.fact("cost", " + ".join(f"{amount} {currency}".rstrip() for currency, amount in sheet.cost))
    return prose.fact("cost unknown", ", ".join(sheet.unpriced))


def mix_words(sheet: MixSheet) -> Prose:
    """What to weigh, in which order, and what to fear."""
    prose = Prose().title(sheet.recipe, f"revision {sheet.revision}")
    prose.text(f"area {show.area(sheet.area_m2)}, texture {show.plain(sheet.texture)}", "$text-muted")
    if sheet.deviations:
        prose.caution(f"Not as the recipe says: {'; '.join(sheet.deviations)}.")
    prose.extend(shelf_words(sheet))
    for warning in sheet.warnings:
        prose.caution(warning.text, warning.do, grave=warning.code == "short-stock")
    prose.extend(safety_strip(sheet.safety, short=True))
    for solution in sheet.solutions:
        _solution(prose, solution)
    return prose.heading("What to fear, and why").extend(safety_full(sheet.safety, strip=False))


def _solution(prose: Prose, solution: MixedSolution) -> None:
    prose.heading(f"{solution.name}: {show.volume(solution.volume_ml)}")
    prose.text(f"in {solution.solvent}, {solution.volume_is} the volume", "$text-muted")
    if solution.use_within_h is not None:
        prose.text(f"use within {show.hours(solution.use_within_h)}", "$text-muted")
    bottles = " and ".join(show.volume(ml) for ml in solution.bottles_ml)
    sealed = f"; {show.volume(solution.witness_ml)} of it sealed as a witness" if solution.witness_ml else ""
    prose.text(f"bottle {bottles}{sealed}" if bottles else "", "$text-muted")
    for line in solution.weigh:
        lot = ", MISSING on the shelf" if line.missing else _lot(line) if line.lot else ""
        rounding = f"rounding {show.rounding_error(line.error_pct)}"
        pot = f"pot then {show.grams_per_litre(line.achieved_g_per_l)}"
        beneath = f"asked {line.asked}{lot}; {rounding}; {pot}"
        prose.weighed(show.amount(line.rounded, line.unit), line.substance, beneath)
    prose.gap().numbered(solution.order)
    prose.gap().text(solution.working, "$text-muted")
    for line in solution.weigh:
        prose.text(line.working, "$text-muted")


def _lot(line: WeighLine) -> str:
    return f", lot {line.lot}" + (f" ({line.lot_words})" if line.lot_words else "")


def _from(sheet: BatchSheet, lot: str) -> str:
    return f"lot {named(lot, sheet.lot_name(lot))}"


def batch_words(sheet: BatchSheet) -> Prose:
    """A pot that stands open."""
    prose = Prose().title(sheet.solution, f"{sheet.id}  {sheet.recipe} ({sheet.recipe_id}, revision {sheet.revision})")
    prose.fact("left", f"{show.volume(sheet.left_ml)} of {show.volume(sheet.volume_ml)}", "bold")
    prose.extend(pot_cautions(sheet))
    left = show.time_left(sheet.use_until)
    prose.fact("time", left, "bold $text-error" if left.startswith("PAST") else "bold")
    prose.fact("mixed", f"{show.moment(sheet.made_at)}{' by ' + sheet.made_by if sheet.made_by else ''}")
    prose.fact("pH", "" if sheet.ph is None else show.plain(sheet.ph))
    prose.fact("at", "" if sheet.temperature_c is None else f"{show.plain(sheet.temperature_c)} °C")
    prose.fact("water", sheet.water).fact("note", sheet.note)
    prose.heading("What went in")
    for substance, asked, weighed, unit, lot in sheet.weighed:
        beneath = f"asked {show.amount(asked, unit)}, {_from(sheet, lot) if lot else 'not from a lot on the shelf'}"
        prose.weighed(show.amount(weighed, unit), substance, beneath)
    return prose
