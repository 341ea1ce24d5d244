"""What the pot has given per m² and pass, whether it will last, and what past works teach."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patina.bench.studio import Studio
from patina.records.recipes.recipes import find_recipe
from patina.records.torch import work_queries
from patina.sheets import LearntLine, UseLine, WorkEvent, WorkSheet, WorkStep

if TYPE_CHECKING:
    from patina.surface.volume import Forecast, Learnt, Stretch, ToDo


@dataclass
class _Run:
    """Passes since the last figure of a pot. planned_ml: what the recipe would have taken for them."""

    work_m2: float = 0.0
    planned_ml: float = 0.0
    planned: bool = True
    known: bool = True
    zones: tuple[str, ...] = ()

    def add(self, area_m2: float | None, step: WorkStep, zone: str) -> None:
        """One pass more."""
        self.zones = tuple(dict.fromkeys([*self.zones, zone]))
        if area_m2 is None:
            self.known = False
            return
        self.work_m2 += area_m2
        if step.planned_ml_m2 is None:
            self.planned = False
        else:
            self.planned_ml += area_m2 * step.planned_ml_m2


@dataclass(frozen=True)
class Measured:
    """Passes between two figures of one solution's pots. work_m2: area times passes; used_ml: gone from
    the pot; planned_ml: what the recipe would have taken, None where it does not say."""

    solution: str
    work_m2: float
    used_ml: float
    planned_ml: float | None
    zones: tuple[str, ...]


def measured(sheet: WorkSheet) -> tuple[Measured, ...]:
    """The stretches of a work between figures of its pots, oldest first; only passes over zones of known area."""
    areas = {z.name: z.area_m2 for z in sheet.zones}
    running: dict[str, _Run] = {}
    found = []
    for event in _standing(sheet):
        step = sheet.steps[event.step - 1]
        solution = step.solution
        if solution is None:
            continue
        run = running.setdefault(solution, _Run())
        if event.kind == "pass":
            run.add(areas[event.zone], step, event.zone)
        elif event.kind == "pot":
            running[solution] = _Run()  # what the pot before gave since its last figure was not measured
        if event.kind in ("pass", "level") and event.used_ml is not None:
            if run.known and run.work_m2 > 0 and event.used_ml > 0:
                planned = run.planned_ml if run.planned else None
                found.append(Measured(solution, run.work_m2, event.used_ml, planned, run.zones))
                running[solution] = _Run()
            elif not run.known:
                running[solution] = _Run()
    return tuple(found)


def _standing(sheet: WorkSheet) -> Iterable[WorkEvent]:
    return (e for e in sheet.events if not e.cancelled)


def forecast(studio: Studio, sheet: WorkSheet, rates: Sequence[float] | None = None) -> Forecast | None:
    """Whether the pot of the step lasts for what is still to do with it, and at which seam to stop.

    rates: what ``taught`` gave, so that it need not be looked up at every pass; None looks it up.
    None where the step has no pot or nothing is to do with it. Areas that are not known are said.
    """
    if sheet.pot is None or sheet.here.solution is None:
        return None
    ahead, unknown = _ahead(sheet, sheet.here.solution)
    if unknown:
        from patina.surface.volume import Forecast

        words = f"Cannot be told: the area of {', '.join(unknown)} is not known."
        return Forecast("cannot be told", None, None, None, sheet.pot.left_ml, None, None, words)
    if not ahead:
        return None
    from patina.surface.constants import constant
    from patina.surface.volume import run_out

    done = _stretches(m for m in measured(sheet) if m.solution == sheet.pot.solution)
    return run_out(
        done,
        ahead,
        sheet.pot.left_ml,
        dead_ml=min(sheet.dead_ml, sheet.pot.left_ml),
        before=_before(sheet, taught(studio, sheet) if rates is None else rates),
        area_spread_pct=constant("zone_area_spread_pct"),
    )


def _stretches(found: Iterable[Measured]) -> list[Stretch]:
    from patina.surface.volume import Stretch

    return [Stretch(m.work_m2, 1, m.used_ml, ", ".join(m.zones)) for m in found]


def _ahead(sheet: WorkSheet, solution: str) -> tuple[list[ToDo], list[str]]:
    """What is to do with the solution in the order of working: this step from this zone on, then what
    was left out before it, then the later steps. Later steps count by what they plan to take."""
    from patina.surface.volume import ToDo

    here = sheet.here.planned_ml_m2
    ahead, unknown = [], []
    for step in sheet.steps[sheet.step - 1 :]:
        if step.solution != solution:
            continue
        weight = step.planned_ml_m2 / here if step.planned_ml_m2 and here else 1.0
        order = list(zip(sheet.zones, step.done, strict=True))
        if step.number == sheet.step:
            order = order[sheet.zone_at :] + order[: sheet.zone_at]
        for zone, done in order:
            left = step.passes - done
            if left <= 0:
                continue
            if zone.area_m2 is None:
                unknown.append(zone.name)
                continue
            name = zone.name if step.number == sheet.step else f"{zone.name}, step {step.number}"
            ahead.append(ToDo(name, zone.area_m2, left * weight))
    return ahead, list(dict.fromkeys(unknown))


def taught(studio: Studio, sheet: WorkSheet) -> tuple[float, ...]:
    """mL per m² and pass in each earlier work by the recipe, for the solution of this step."""
    with studio.store.view() as session:
        number = work_queries.recipe_number(session, sheet.row.id)
        others = [s for s in work_queries.all_sheets(session, number) if s.row.id != sheet.row.id]
    return tuple(
        line.used_ml_m2
        for other in others
        for line in use_lines(other)
        if line.solution == sheet.here.solution and line.used_ml_m2 is not None
    )


def _before(sheet: WorkSheet, rates: Sequence[float]) -> Learnt | None:
    """What earlier works taught; without any, what the recipe plans."""
    from patina.surface.volume import Learnt, learn

    if rates:
        return learn(rates)
    planned = sheet.here.planned_ml_m2
    return None if planned is None else Learnt(planned, None, None, None, 1, "as the recipe plans")


# -- planned against used ----------------------------------------------------------------------------


def use_lines(sheet: WorkSheet) -> tuple[UseLine, ...]:
    """Planned against used of a work, one line for each solution whose pot was read."""
    by_solution: dict[str, list[Measured]] = {}
    for one in measured(sheet):
        by_solution.setdefault(one.solution, []).append(one)
    return tuple(_line(sheet, solution, found) for solution, found in by_solution.items())


def _line(sheet: WorkSheet, solution: str, found: Sequence[Measured]) -> UseLine:
    work_m2, used = sum(m.work_m2 for m in found), sum(m.used_ml for m in found)
    plans = [m.planned_ml for m in found]
    planned = None if None in plans else sum(p for p in plans if p is not None)
    rate = used / work_m2
    words = f"{used:.0f} mL went on {work_m2:.2f} m² of passes: {rate:.0f} mL per m² and pass"
    texture = None
    if planned:
        texture = sheet.texture * used / planned
        words += f"; planned were {planned:.0f} mL, so {100 * (used / planned - 1):+.0f} % (a texture of {texture:.2f})"
    tool = sheet.tool or next((s.tool for s in sheet.steps if s.solution == solution and s.tool), "")
    return UseLine(
        sheet.row.id,
        sheet.row.recipe,
        sheet.row.revision,
        solution,
        tool,
        sheet.row.by,
        work_m2,
        planned,
        used,
        rate,
        texture,
        words + ".",
    )


def learnt(studio: Studio, recipe: str, *, tool: str = "", by: str = "") -> tuple[LearntLine, ...]:
    """What past works teach of a recipe's solutions: mL per m² and pass with its spread, and the texture
    that makes plan and use agree. tool, by: only works with that tool, by that hand. Raises NotFound."""
    from patina.surface.volume import learn

    with studio.store.view() as session:
        row = find_recipe(session, recipe)
        name, sheets = row.name, work_queries.all_sheets(session, row.id)
    lines = [
        line
        for sheet in sheets
        for line in use_lines(sheet)
        if (not tool or line.tool.casefold() == tool.casefold()) and (not by or line.by.casefold() == by.casefold())
    ]
    found = []
    for solution in dict.fromkeys(line.solution for line in lines):
        mine = [line for line in lines if line.solution == solution]
        rate = learn([line.used_ml_m2 for line in mine if line.used_ml_m2 is not None])
        factor = learn([line.texture for line in mine if line.texture is not None], "texture", "")
        found.append(
            LearntLine(
                name,
                solution,
                tool,
                by,
                rate.mean,
                rate.low,
                rate.high,
                rate.spread_pct,
                factor.mean,
                tuple(line.work for line in mine),
                rate.words,
            )
        )
    return tuple(found)
