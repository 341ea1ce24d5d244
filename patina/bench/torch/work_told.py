"""A work told in lines, as it goes on record of the piece when it ends: steps, waters, release, coats, notes."""

from __future__ import annotations

from collections.abc import Sequence

from patina.sheets import WorkEvent, WorkSheet

AS_WRITTEN = ": as written"  # after a step that a form took over from the recipe


def as_done(sheet: WorkSheet) -> tuple[str, ...]:
    """Each step as it was really done, in words, with the temperatures read during it; then what came after the
    passes, and every note. What was taken back is left out."""
    return (*_steps(sheet), *_after(sheet), *(f"note: {e.note}" for e in _standing(sheet, "note")))


def without_planned(said: Sequence[str], sheet: WorkSheet) -> list[str]:
    """What was on record of a tile before, without the lines that only said "as written" of steps that are told now
    as they were really done."""
    worked = {step.solution or step.do for step in sheet.steps if any(step.done)}
    worked |= {str(event.said["kind"]) for event in _standing(sheet, "coat")}
    return [line for line in said if not (line.endswith(AS_WRITTEN) and any(line.startswith(name) for name in worked))]


def _steps(sheet: WorkSheet) -> list[str]:
    lines = []
    for step in sheet.steps:
        if not any(step.done):
            continue
        parts = [
            f"{z.name} {n} {'pass' if n == 1 else 'passes'}" for z, n in zip(sheet.zones, step.done, strict=True) if n
        ]
        read = [e.true_c for e in _standing(sheet, "temperature") if e.step == step.number and e.true_c is not None]
        what = " ".join(w for w in (step.do, step.solution) if w)
        lines.append(f"{step.number}. {what}: {'; '.join(parts)} of {step.passes} asked{_metal(read)}")
    return lines


def _metal(read: Sequence[float]) -> str:
    if not read:
        return ""
    low, high = f"{min(read):.0f}", f"{max(read):.0f}"
    return f", metal {low} °C" if low == high else f", metal {low} to {high} °C"


def _after(sheet: WorkSheet) -> list[str]:
    """The last rinse water beside the supply water, the release, and each coat with its product and lot."""
    lines = []
    waters = _standing(sheet, "rinse")
    supply = next((e for e in reversed(waters) if e.said["supply"]), None)
    rinse = next((e for e in reversed(waters) if not e.said["supply"]), None)
    if rinse is not None:
        beside = "" if supply is None else f"; supply {_water(supply)}"
        times = len(waters) - sum(1 for e in waters if e.said["supply"])
        lines.append(f"rinsed {times} {'time' if times == 1 else 'times'}, last water {_water(rinse)}{beside}")
    decided = _standing(sheet, "release")
    if decided:
        lines.append("released for wax" if decided[-1].said["given"] else "not released for wax")
    return lines + [_coat(event) for event in _standing(sheet, "coat")]


def _water(event: WorkEvent) -> str:
    said = event.said
    figures = (
        (said["conductivity_us_cm"], "{:g} µS/cm"),
        (said["ph"], "pH {:g}"),
        (said["chloride_mg_l"], "chloride {:g} mg/L"),
    )
    return ", ".join(words.format(value) for value, words in figures if value is not None) or "not read"


def _coat(event: WorkEvent) -> str:
    said = event.said
    words = [said["product"], said["how"]]
    words += ["" if said["mass_g"] is None else f"{said['mass_g']:g} g", f"lot {said['lot']}" if said["lot"] else ""]
    line = f"{said['kind']}, coat {said['coat']} on {event.zone}: {', '.join(w for w in words if w)}"
    return f"{line}; without release: {said['overruled']}" if said["overruled"] else line


def _standing(sheet: WorkSheet, kind: str) -> list[WorkEvent]:
    return [e for e in sheet.events if e.kind == kind and not e.cancelled]
