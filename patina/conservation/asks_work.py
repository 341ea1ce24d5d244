"""Tests of completeness: log, materials, images, protection, care, copies. Each says what is missing, or "" ."""

from __future__ import annotations

from collections.abc import Callable

from patina.conservation.asks_examination import listed
from patina.conservation.care import add_months, months_of
from patina.conservation.consent import consent_flags, still_signed
from patina.conservation.record import Record
from patina.conservation.salts import judge_extraction


def _dates(record: Record) -> str:
    begun = record.head.started_on or min((a.value.on for a in record.actions if a.value.on), default=None)
    if begun is None:
        return "Neither a day of beginning nor a dated action is on record."
    ended = record.head.finished_on
    return "" if ended is None or ended >= begun else "The end lies before the beginning."


def _tests(record: Record) -> str:
    bare = [p.id for p in record.patches if not p.value.effect or not p.value.harm]
    return f"Patches without effect or harm: {listed(bare)}." if bare else ""


def _log(record: Record) -> str:
    return "" if record.actions else "No action is on record."


def _names(record: Record) -> str:
    known = {" ".join(p.value.name.casefold().split()) for p in record.people}
    hands = [*(a.value.by for a in record.actions), *(p.value.by for p in record.patches)]
    hands += [*(layer.value.by for layer in record.layers), *(s.value.by for s in record.samples)]
    named = dict.fromkeys(name for name in hands if name)
    unknown = [name for name in named if " ".join(name.casefold().split()) not in known]
    if not record.people:
        return "Nobody is named among the people."
    return f"Named in the log and not among the people: {listed(unknown)}." if unknown else ""


def _materials(record: Record) -> str:
    if not record.actions:
        return ""
    ways = {m.value.way for m in record.materials}
    if record.layers:
        ways.add("added")
    lacks = [way for way in ("added", "removed") if way not in ways]
    return f"No material is written down as {' and none as '.join(lacks)}." if lacks else ""


def _composition(record: Record) -> str:
    bare = [
        m.id
        for m in record.materials
        if m.value.way == "added" and not (m.value.composition or m.value.substance or m.value.cas or m.value.lot)
    ]
    bare += [layer.id for layer in record.layers if not (layer.value.composition or layer.value.lot)]
    return f"Known by name alone: {listed(bare)}." if bare else ""


def _lots(record: Record) -> str:
    bare = [m.id for m in record.materials if m.value.way == "added" and not (m.value.lot or m.value.batch_number)]
    bare += [layer.id for layer in record.layers if not (layer.value.lot or layer.value.batch_number)]
    return f"Without a lot: {listed(bare)}." if bare else ""


def _left(record: Record) -> str:
    bare = [
        m.id for m in record.materials if m.value.way == "added" and m.value.left_g is None and not m.value.left_words
    ]
    return f"Not said what is left on the object of: {listed(bare)}." if bare else ""


def _deviations(record: Record) -> str:
    bare = [a.id for a in record.actions if a.value.deviation and not a.value.deviation_why]
    return f"Deviations without a reason: {listed(bare)}." if bare else ""


def _consent(record: Record) -> str:
    flags = consent_flags(record)
    return " ".join(flag.words for flag in flags[:3]) + (f" And {len(flags) - 3} more." if len(flags) > 3 else "")


def _images(role: str) -> Callable[[Record], str]:
    def test(record: Record) -> str:
        return "" if any(i.value.role == role for i in record.images) else f"No image has the role '{role}'."

    return test


def _images_after(record: Record) -> str:
    views = {role: {i.value.view.casefold() for i in record.images if i.value.role == role} for role in _ROLES}
    if not views["after"]:
        return "No image has the role 'after'."
    unpaired = sorted(views["before"] - views["after"])
    return f"Views taken before and not after: {listed(unpaired)}." if unpaired else ""


_ROLES = ("before", "after")


def _image_target(record: Record) -> str:
    bare = [i.id for i in record.images if not {"id", "scale", "chart"} <= set(i.value.in_frame)]
    if not record.images:
        return "There is no image."
    return f"Not said to show id, scale and chart: {listed(bare)}." if bare else ""


def _protection(record: Record) -> str:
    said = []
    for layer in record.layers:
        value = layer.value
        amount = value.thickness_um is not None or (value.used_g is not None and value.area_m2 is not None)
        conditions = None not in (value.air_c, value.humidity_pct, value.metal_c)
        lacks = [
            word
            for word, known in (
                ("coats", value.coats is not None),
                ("g/m² or µm", amount),
                ("conditions", conditions),
                ("lot", bool(value.lot or value.batch_number)),
            )
            if not known
        ]
        if lacks:
            said.append(f"{layer.id} lacks {listed(lacks)}")
    return f"{'; '.join(said)}." if said else ""


def _salts(record: Record) -> str:
    open_ends = [
        f"{bath.value.name}: {found.verdict}"
        for bath in record.baths
        if (found := judge_extraction(bath, record.bath_readings)).verdict != "reached"
    ]
    return f"The end of the extraction is not shown: {listed(open_ends)}." if open_ends else ""


def _care(record: Record) -> str:
    if not record.care:
        return "There is no care schedule."
    ended = record.head.finished_on
    if ended is not None and all(
        add_months(item.value.from_day or item.at.date(), months_of(item.value)) < ended for item in record.care
    ):
        return "No point of the schedule lies after the end of the treatment."
    return ""


def _samples(record: Record) -> str:
    bare = [s.id for s in record.samples if not s.value.kept]
    return f"Not said where it is kept: {listed(bare)}." if bare else ""


def _report_signed(record: Record) -> str:
    if record.signed_off is not None:  # a name, a moment and a statement under all that the report says
        return ""
    signed = [s for s in record.signatures if s.value.of == "report"]
    if not signed:
        return "Nobody signed the report, and the record is not signed off."
    return "" if any(still_signed(record, s) for s in signed) else "The record is no longer what was signed."


def _copies(record: Record) -> str:
    return "" if len(record.copies) >= 2 else f"{len(record.copies)} of two copies are on record."


WORK: dict[str, Callable[[Record], str]] = {
    "dates": _dates,
    "tests": _tests,
    "log": _log,
    "names": _names,
    "materials": _materials,
    "composition": _composition,
    "lots": _lots,
    "left": _left,
    "deviations": _deviations,
    "consent": _consent,
    "images_before": _images("before"),
    "images_during": _images("during"),
    "images_after": _images_after,
    "image_target": _image_target,
    "state_after": lambda r: "" if r.head.state_after else "The state after treatment is not described.",
    "result": lambda r: "" if r.head.result and r.head.limits else "Result or known limits are not described.",
    "protection": _protection,
    "salts": _salts,
    "recommendations": lambda r: "" if r.head.recommendations else "There are no recommendations.",
    "care": _care,
    "samples": _samples,
    "report_signed": _report_signed,
    "copies": _copies,
}
