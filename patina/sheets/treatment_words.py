"""Parts of a treatment in one line of words each, for lists on screen and on the command line."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from patina.conservation.condition import MapChange, Share, ZoneChange
from patina.conservation.record import Kept
from patina.conservation.salts import Extraction
from patina.conservation.vocabulary import terms, triggers
from patina.sheets.treatment import LayerFacts, TreatmentSheet


def part_line(kind: str, part: Kept[Any]) -> str:
    """What a part says, in one line."""
    return " · ".join(word for word in _LINES[kind](part) if word)


def _day(value: Any) -> str:
    return "" if value is None else str(value.isoformat())


def larger(value: float | None, unit: str) -> tuple[float | None, str]:
    """An amount in the unit that people would write it in.

    >>> larger(40000.0, "mL"), larger(900.0, "g"), larger(None, "g")
    ((40.0, 'L'), (900.0, 'g'), (None, 'g'))
    """
    units = {"mL": "L", "g": "kg"}
    return (value / 1000.0, units[unit]) if value is not None and value >= 1000.0 and unit in units else (value, unit)


def _with(value: float | None, unit: str) -> str:
    return "" if value is None else f"{value:g} {unit}"


def _action(part: Kept[Any]) -> list[str]:
    v = part.value
    conditions = ", ".join(
        w for w in (_with(v.air_c, "°C air"), _with(v.humidity_pct, "% RH"), _with(v.metal_c, "°C metal")) if w
    )
    deviation = f"DEVIATION: {v.deviation} (new consent {v.consent or 'not said'})" if v.deviation else ""
    return [_day(v.on), v.by, v.did, v.zone, v.agent, _with(v.dwell_min, "min"), conditions, v.result, deviation]


def _patch(part: Kept[Any]) -> list[str]:
    v = part.value
    return [
        v.place,
        v.agent,
        _with(v.strength, v.strength_unit),
        _with(v.dwell_min, "min"),
        f"effect {v.effect or 'not said'}",
        f"harm {v.harm or 'not said'}",
        v.result,
    ]


def _zone(part: Kept[Any]) -> list[str]:
    v = part.value
    term = term_name(v.term)
    severity = "" if v.severity is None else f"severity {v.severity}"
    return [
        f"on {v.map}",
        v.name,
        term,
        severity,
        v.activity,
        v.adhesion,
        f"water beads: {v.bead}" if v.bead else "",
        v.note,
    ]


def _material(part: Kept[Any]) -> list[str]:
    v = part.value
    left = _with(v.left_g, "g") or v.left_words
    return [
        v.way,
        v.name,
        v.substance,
        v.cas,
        "; ".join(v.composition),
        _lot(v),
        _with(*larger(v.quantity, v.quantity_unit)),
        f"left on it: {left}" if left else "",
        f"kept: {v.kept}" if v.kept else "",
    ]


def _layer(part: Kept[Any]) -> list[str]:
    v = part.value
    coats = "" if v.coats is None else "1 coat" if v.coats == 1 else f"{v.coats} coats"
    return [_day(v.on), v.sort, v.product, coats, v.application, _lot(v), v.by]


def _lot(value: Any) -> str:
    return f"lot {value.lot or value.batch_number}" if value.lot or value.batch_number else ""


def _care(part: Kept[Any]) -> list[str]:
    v = part.value
    name = triggers()[v.trigger].name if v.trigger in triggers() else v.trigger
    every = "" if v.every_months is None else f"every {v.every_months:g} months"
    unit = triggers()[v.trigger].unit if v.trigger in triggers() else ""
    limit = "" if v.limit is None else f"limit {_with(v.limit, unit)}".rstrip()
    return [name, v.task, every, limit, v.responsible]


def _of_whom(value: Any) -> str:
    return f"{value.who} ({value.capacity})" if value.capacity else str(value.who)


_LINES: dict[str, Callable[[Kept[Any]], list[str]]] = {
    "person": lambda p: [p.value.name, p.value.role, p.value.affiliation],
    "authority": lambda p: [
        p.value.what,
        _of_whom(p.value),
        f"in writing: {p.value.in_writing}" if p.value.in_writing else "by word only",
        _day(p.value.dated),
        "" if p.value.proposal is None else f"to proposal {p.value.proposal}",
        f"to deviation {p.value.deviation}" if p.value.deviation else "",
        f"covers: {p.value.scope}" if p.value.scope else "",
    ],
    "statement": lambda p: [
        p.value.topic,
        p.value.place,
        p.value.text,
        f"by {p.value.method}" if p.value.method else "",
        p.value.circumstances,
        f"rests on {', '.join(p.value.rests_on)}" if p.value.rests_on else "",
    ],
    "map": lambda p: [
        p.value.visit,
        p.value.view,
        _day(p.value.seen_on),
        p.value.seen_by,
        "outlined" if p.value.outline else "no outline",
    ],
    "zone": _zone,
    "proposal": lambda p: [f"version {p.number}", p.value.aim, "; ".join(p.value.steps)],
    "patch": _patch,
    "action": _action,
    "material": _material,
    "sample": lambda p: [p.value.label, p.value.what, p.value.place, p.value.purpose, p.value.kept, p.value.result],
    "bath": lambda p: [p.value.name, p.value.measured, p.value.scheme, p.value.solution],
    "bath-reading": lambda p: [
        p.value.bath,
        f"bath {p.value.number}",
        _with(p.value.hours, "h"),
        _with(p.value.value, ""),
        _with(p.value.volume_ml, "mL"),
    ],
    "layer": _layer,
    "image": lambda p: [p.value.role, p.value.view, p.value.light, p.value.position, ", ".join(p.value.in_frame)],
    "care": _care,
    "care-visit": lambda p: [
        p.value.item,
        _day(p.value.on),
        p.value.by,
        p.value.finding,
        _with(p.value.value, ""),
        p.value.done,
    ],
    "care-end": lambda p: [p.value.item, _day(p.value.on), p.value.by, p.value.why],
    "signature": lambda p: [
        p.value.of if p.value.version is None else f"{p.value.of} {p.value.version}",
        f"signed by {_of_whom(p.value)}",
        p.value.how,
        _day(p.value.dated),
    ],
    "copy": lambda p: [
        f"to {p.value.to}",
        p.value.what,
        p.value.form,
        _day(p.value.on),
        f"receipt: {p.value.receipt}" if p.value.receipt else "no receipt",
    ],
}


def term_name(key: str) -> str:
    """A condition term as it is read."""
    return terms()[key].name if key in terms() else key


def share_words(share: Share, of: str) -> str:
    """A share of area, with what the drawing leaves open."""
    if share.pct is None:
        return f"not drawn{f', said to be {share.extent} % of its zone' if share.extent else ''}"
    return f"{share.pct:.1f} ± {share.u_pct:.1f} % of the {of}"


def change_words(change: ZoneChange) -> str:
    """The change of one zone or term."""
    name = term_name(change.term)
    what = f"{change.what}, {name}" if change.what else name
    if change.before_pct is None and change.after_pct is None:
        return f"{what}: {change.verdict}"
    sides = ["-" if pct is None else f"{pct:.1f} %" for pct in (change.before_pct, change.after_pct)]
    return f"{what}: {sides[0]} → {sides[1]} (± {change.u_pct:.1f}): {change.verdict}"


def map_name(one: Kept[Any]) -> str:
    """A map as people call it: its id, visit, view and day."""
    day = f", {_day(one.value.seen_on)}" if one.value.seen_on else ""
    return f"{one.id} {one.value.visit}, {one.value.view}{day}"


def map_change_lines(change: MapChange, names: Mapping[str, str] | None = None) -> list[str]:
    """A change between two maps, terms first. names: of the maps, by their ids."""
    names = names or {}
    before, after = (names.get(id, id) for id in (change.before, change.after))
    lines = [f"{before} → {after}: {change.doubt}"]
    return lines + [f"  {change_words(c)}" for c in (*change.terms, *change.zones)]


def patch_matrix(sheet: TreatmentSheet) -> list[str]:
    """Test patches as a table: agent and strength over a row, dwell across; what each did, and ! where it did harm.

    The lowest effective one is marked with < >. A row is as wide as its dwells, so that it stands on a narrow screen.
    """
    dwells = sorted({p.value.dwell_min for p in sheet.record.patches if p.value.dwell_min is not None})
    rows: dict[str, dict[float, str]] = {}
    for patch in sorted(sheet.record.patches, key=lambda p: (p.value.mildness or 1000, p.value.strength or 0.0)):
        value = patch.value
        if value.dwell_min is None:
            continue
        word = (value.effect or "?") + ("" if value.harm in ("none", "") else "!")
        word = f"<{word}>" if patch.id == sheet.patches.choice else word
        rows.setdefault(f"{value.agent} {_with(value.strength, value.strength_unit)}".strip(), {})[value.dwell_min] = (
            word
        )
    if not rows:
        return []
    lines = ["".join(f"{f'{d:g} min':<12}" for d in dwells)]
    for name, did in rows.items():
        lines += [name, "".join(f"{did.get(d, '·'):<12}" for d in dwells)]
    return [line.rstrip() for line in lines]


def extraction_table(found: Extraction) -> list[str]:
    """Each reading against the root of time: bath, hours of extraction, root, reading above the supply, all out."""
    lines = [
        f"{'bath':>4} {'hours':>6} {'√h':>6} {'above supply':>13} {'all out':>9}",
        f"{'':>4} {'h':>6} {'':>6} {found.read_in:>13} {found.unit:>9}",
    ]
    for p in found.points:
        lines.append(f"{p.number:>4} {p.at_h:>6.0f} {p.root_h:>6.1f} {p.gained:>13.3g} {p.total:>9.4g}")
    return lines


def extraction_lines(found: Extraction) -> list[str]:
    """What an extraction's curve says."""
    lines = [f"{found.bath}: {found.verdict}. {found.why}"]
    if found.model:
        beside = f" (as good nearly: {', '.join(found.beside)})" if found.beside else ""
        lines.append(f"  law of release that fits best: {found.model}{beside}")
    if found.all_out is not None:
        lines.append(f"  all that will come out: about {found.all_out:.3g} {found.unit}")
    return lines + [f"  {caution}" for caution in found.cautions]


def layer_words(facts: LayerFacts) -> str:
    """What a layer comes to."""
    weight = "weight per area not known" if facts.g_per_m2 is None else f"{facts.g_per_m2:.1f} g/m² in all"
    each = "" if facts.per_coat_g_per_m2 is None else f", {facts.per_coat_g_per_m2:.1f} per coat"
    return f"{facts.id}: {weight}{each}. {facts.dew_words}"


def hours_words(sheet: TreatmentSheet) -> str:
    """Hours of the log against the estimate of the last proposal; empty where the log has none."""
    if sheet.hours is None:
        return ""
    last = max(sheet.record.proposals, key=lambda p: p.number, default=None)
    low, high = (None, None) if last is None else (last.value.hours_low, last.value.hours_high)
    if low is None or high is None:
        return f"{sheet.hours:g} h"
    beyond = " (beyond it)" if sheet.hours > high else ""
    return f"{sheet.hours:g} h; {low:g} to {high:g} h were estimated{beyond}"


def studio_work_lines(sheet: TreatmentSheet) -> list[str]:
    """What was put down on the cast itself while the treatment lasted."""
    return [
        " · ".join(
            w for w in (row.id, _day(row.done_on), row.did, row.zone, row.recipe, row.batch or "", row.done_by) if w
        )
        for row in sheet.studio_work
    ]


def found_lines(sheet: TreatmentSheet) -> list[str]:
    """What was worked out from the record, part by part, without completeness and care."""
    lines = [f"  {flag.part}: {flag.words} {flag.do}" for flag in sheet.flags]
    lines = ["Open about consent:", *lines] if lines else []
    lines += ["What was signed:", *(f"  {signed.line}" for signed in sheet.signed)]
    lines += [f"Hours: {words}" for words in (hours_words(sheet),) if words]
    lines += [f"On the cast itself: {line}" for line in studio_work_lines(sheet)]
    for shares in sheet.maps:
        lines += [f"{shares.map}: {term_name(term)}: {share_words(s, shares.of)}" for term, s in shares.terms.items()]
    for change in sheet.changes:
        lines += map_change_lines(change)
    if sheet.record.patches:
        lines.append(f"Lowest effective: {sheet.patches.choice or 'no single one'}. {sheet.patches.words}")
        lines += [f"  {words}" for words in sheet.patches.contradictions]
        lines += [f"  {line}" for line in patch_matrix(sheet)]
    lines += [
        f"{p.patch}: {'' if p.difference is None else f'{p.difference.delta_e:.1f} ΔE00, '}{p.words}"
        for p in sheet.patch_changes
    ]
    for extraction in sheet.extractions:
        lines += extraction_lines(extraction)
        lines += [f"  {line}" for line in extraction_table(extraction)] if extraction.points else []
    lines += [layer_words(layer) for layer in sheet.layers]
    for pair in sheet.pairs:
        lines += [f"{pair.before.id} and {pair.after.id} ({pair.view}): {words}" for words in pair.cautions]
    return lines


def id_meanings(sheet: TreatmentSheet, to: str) -> dict[str, str]:
    """What the ids say that a field may name, in a line each. to: what the field refers to, as ``Saying.to`` has it;
    photographs are named by the beginning of their hash."""
    if to == "photograph":
        return {p.sha256[:12]: ", ".join(w for w in (p.name, p.state) if w) for p in sheet.photographs}
    if to == "reading":
        return {
            r.id: f"{r.area}, L* {r.lab.L:.1f} a* {r.lab.a:.1f} b* {r.lab.b:.1f}, {r.read_at.date().isoformat()}"
            for r in sheet.readings
        }
    if to == "lot":
        return {lot.id: " ".join(w for w in (lot.substance, lot.lot_number) if w) for lot in sheet.lots}
    return {part.id: part_line(kind.name, part) for kind, part in sheet.record.all_parts() if kind.name == to}


def part_facts(sheet: TreatmentSheet, fields: Mapping[str, Any], typed: Mapping[str, str]) -> list[tuple[str, str]]:
    """Every field of a part that says something, by its label, with its unit; what an id stands for is said beside it.

    fields: as they are asked for. typed: as they would be typed."""
    return [(said.label, _in_full(sheet, said, typed[name])) for name, said in fields.items() if typed.get(name)]


def _in_full(sheet: TreatmentSheet, said: Any, value: str) -> str:
    if said.how == "polygons":
        polygons = [p for p in value.split(";") if p.strip()]
        corners = sum(len(p.split()) for p in polygons)
        return f"{len(polygons)} drawn, {corners} corners in all"
    if said.how == "term":
        return term_name(value)
    if said.how == "id":
        key = value[:12] if said.to == "photograph" else value
        meaning = id_meanings(sheet, said.to).get(key, "")
        return f"{key}  {meaning}".rstrip()
    if said.how == "lines" and not said.to:
        return "\n".join(f"• {line}" for line in value.split("; "))
    if said.how == "number":
        return f"{float(value):g} {said.unit}".rstrip()
    return value
