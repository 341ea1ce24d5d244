"""Whether a piece meets an agreed finish: every zone, from all its readings in the agreed state."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time
from typing import TYPE_CHECKING, Any

from patina.bench.matched.agreed import in_state, sheet_of, spot_of
from patina.bench.matched.judging_mottle import judged_mottle
from patina.bench.matched.surfaces import Seen, seen_of
from patina.bench.readings.comparing import NamedColour, compare_colours, is_triple, parse_triple
from patina.bench.readings.tiles import target_of
from patina.colour.values import Lab
from patina.errors import NotFound
from patina.matching.master import Tolerance, ZoneTarget
from patina.matching.pooled import Pooled, Spot, pool
from patina.matching.verdict import ZoneVerdict, judge_zone
from patina.records.finding.naming import name_of
from patina.records.matched import masters
from patina.records.matched.masters_more import corrections
from patina.records.pieces.casts import cast_sheet
from patina.records.readings.readings import of_target, readings_of
from patina.records.tables.first import ReadingTable
from patina.records.tables.ids import fetch, letter_of
from patina.records.tables.pieces import CastTable
from patina.sheets import ReadingRow, VerdictSheet
from patina.sheets.matching import AgreedSheet, ZoneRow
from patina.sheets.verdicts import FindingRow, MottleRow

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.bench.studio import Studio

# After these the colour of a piece is the same as before.
_CHANGES_NOTHING = ("inspected", "photographed", "measured", "moved")


@dataclass(frozen=True)
class _Zone:
    """A zone with what was read of it and what was found."""

    target: ZoneRow
    pooled: Pooled
    found: ZoneVerdict
    outcome: str
    mottle: MottleRow | None
    remedy: str


def judge(studio: Studio, master: str, sample: str) -> VerdictSheet:
    """Whether a tile, cast, reading or colour meets an agreed finish, with its doubt.

    Of a cast the readings since it was last treated count, of a tile all; only those in the agreed
    state (wax, warm or cold). A zone passes only where the difference plus its expanded uncertainty
    stays inside every agreed limit, fails only where the difference less that uncertainty lies
    outside one; else it cannot be told. Tones, shares, spread and grain are compared where they were read; a zone
    not read keeps a piece from passing. Source: [JCGM106], [ISO14253]. Raises NotFound, NotComparable.
    """
    with studio.store.view() as session:
        agreed = sheet_of(session, masters.find_master(session, master))
        rows, cautions = _readings(session, sample)
        fixed = {} if isinstance(rows, Lab) else corrections(session, rows)
        plain = isinstance(rows, Lab) or letter_of(sample) == "D"
        name = "" if plain else name_of(session, target_of(session, sample))
    return replace(_of_rows(agreed, sample, rows, cautions, fixed), sample_name=name)


def _of_rows(
    agreed: AgreedSheet,
    sample: str,
    rows: Lab | tuple[ReadingRow, ...],
    cautions: list[str],
    fixed: Mapping[str, Any],
) -> VerdictSheet:
    if isinstance(rows, Lab):
        spots = {agreed.zones[0].zone: [Spot(rows)]}
        return _verdict(agreed, sample, _judged(agreed, spots, {}), cautions, (), sample)
    fitting = _in_state(rows, agreed, sample, cautions)
    if not fitting:
        return _no_reading(agreed, sample, rows)
    by_zone = _by_zone(fitting, agreed, cautions)
    cautions += _geometry(fitting, agreed)
    surfaces = {zone: seen_of(found) for zone, found in by_zone.items()}
    spots = {zone: [spot_of(r, fixed.get(r.id)) for r in found] for zone, found in by_zone.items()}
    used = tuple(r.id for found in by_zone.values() for r in found)
    return _verdict(agreed, sample, _judged(agreed, spots, surfaces), cautions, used, sample)


def _readings(session: Session, sample: str) -> tuple[Lab | tuple[ReadingRow, ...], list[str]]:
    """What there is to judge, and what makes it doubtful: a bare colour, or readings, newest first."""
    if is_triple(sample):
        return parse_triple(sample), []
    if letter_of(sample) == "D":
        return readings_of(session, ReadingTable.id == fetch(session, ReadingTable, sample).id), []
    target = target_of(session, sample)
    rows = readings_of(session, of_target(target))
    if not rows:
        raise NotFound(f"{target.public_id} has no reading yet.", "Add a reading to it first.")
    if not isinstance(target, CastTable):
        return rows, []
    changed = [t.done_on for t in cast_sheet(session, target).treatments if _changes(t.did) and t.done_on]
    if not changed:
        return rows, []
    last = max(changed)
    since = tuple(r for r in rows if r.read_at >= datetime.combine(last, time(), UTC))
    if since:
        return since, []
    return rows, [f"{target.public_id} was not read since it was last treated ({last:%Y-%m-%d})."]


def _changes(did: str) -> bool:
    return did.strip().casefold() not in _CHANGES_NOTHING


def _in_state(
    rows: tuple[ReadingRow, ...], agreed: AgreedSheet, sample: str, cautions: list[str]
) -> tuple[ReadingRow, ...]:
    """The readings in the agreed state; those that do not say it only where no other is."""
    master = agreed.master
    fitting = tuple(r for r in rows if in_state(r, master))
    said = tuple(
        r
        for r in fitting
        if not (r.wax_state == "not stated" != master.wax_state or r.warmth == "not stated" != master.warmth)
    )
    if fitting and not said:
        cautions.append(f"Whether {sample} was {master.wax_state} and {master.warmth} when read is not written down.")
    if "not stated" in (master.wax_state, master.warmth):
        cautions.append("The agreed finish does not say whether it is waxed, or warm or cold; either shifts a colour.")
    left = len(rows) - len(said or fitting)
    if left and fitting:
        cautions.append(f"{left} of {len(rows)} readings are in another state and were left out.")
    return said or fitting


def _no_reading(agreed: AgreedSheet, sample: str, rows: tuple[ReadingRow, ...]) -> VerdictSheet:
    master, newest = agreed.master, rows[0]
    states = ", ".join(dict.fromkeys(f"{r.wax_state} and {r.warmth}" for r in rows))
    why = (
        f"{sample} was read {states}; agreed is {master.wax_state} and {master.warmth}. Wax and warmth alone shift a "
        "colour, so it cannot be judged."
    )
    return VerdictSheet(
        master.id,
        sample,
        "cannot be told",
        why,
        compare_colours(_agreed_colour(agreed, agreed.zones[0]), _named(newest), master.formula),
        master.limit_de,
        remedy="Read it in the agreed state, or see what it is likely to become: patina predict.",
        missing=tuple(z.zone for z in agreed.zones),
    )


def _named(row: ReadingRow) -> NamedColour:
    name = " ".join(w for w in (row.id, row.area, f"of {row.tile or row.cast}") if w)
    return NamedColour(name, row.lab, row.uncertainty_de00, row.wax_state, row.warmth)


def _agreed_colour(agreed: AgreedSheet, zone: ZoneRow) -> NamedColour:
    m = agreed.master
    return NamedColour(f"{m.id} {m.name}, {zone.zone}", zone.lab, zone.fixed_u, m.wax_state, m.warmth)


def _by_zone(rows: Sequence[ReadingRow], agreed: AgreedSheet, cautions: list[str]) -> dict[str, list[ReadingRow]]:
    """Readings by agreed zone: by the name of the area read, or all of them where one zone is agreed."""
    found: dict[str, list[ReadingRow]] = {}
    strays: list[ReadingRow] = []
    for row in rows:
        zone = next((z.zone for z in agreed.zones if z.zone.casefold() == row.area.strip().casefold()), None)
        if zone is None:
            strays.append(row)
        else:
            found.setdefault(zone, []).append(row)
    if strays and len(agreed.zones) == 1 and not found:
        return {agreed.zones[0].zone: strays}
    if strays:
        areas = ", ".join(dict.fromkeys(r.area or "no area named" for r in strays))
        cautions.append(f"{len(strays)} readings belong to no agreed zone and were left out ({areas}).")
    return found


def _geometry(rows: Sequence[ReadingRow], agreed: AgreedSheet) -> list[str]:
    wanted = agreed.master.geometry
    other = sorted({r.geometry for r in rows if r.geometry != wanted})
    if not other or wanted == "unknown":
        return []
    return [
        f"Read with geometry {', '.join(other)}, agreed is {wanted}: on gloss that alone can be more than the limit."
    ]


def _judged(agreed: AgreedSheet, spots: dict[str, list[Spot]], surfaces: dict[str, Seen | None]) -> list[_Zone]:
    """Every zone that was read, in the agreed order."""
    return [
        _judge_zone(agreed, zone, pool(spots[zone.zone]), surfaces.get(zone.zone))
        for zone in agreed.zones
        if spots.get(zone.zone)
    ]


def _judge_zone(agreed: AgreedSheet, zone: ZoneRow, pooled: Pooled, seen: Seen | None) -> _Zone:
    m = agreed.master
    tolerance = Tolerance(m.limit_de, m.limit_dL, m.limit_dC, m.limit_dH, m.formula, agreed.limit_mottle)
    target = ZoneTarget(
        zone.zone,
        zone.lab,
        zone.sd or (0.0, 0.0, 0.0),
        zone.n,
        zone.light_limit,
        zone.dark_limit,
        zone.parts,
        zone.fixed_u or 0.0,
    )
    found = judge_zone(
        target,
        pooled.singles,
        tolerance,
        fixed_u=pooled.fixed_u or 0.0,
        usual_sd=pooled.known_sd,
        usual_df=pooled.df,
    )
    outcome, remedy = str(found.outcome), found.remedy
    if pooled.fixed_u is None and outcome != "cannot be told":
        outcome = "cannot be told"
        remedy = (
            "Say with the readings how sure the instrument is (± ΔE00, 95 %): their scatter alone is not all doubt."
        )
    mottle = judged_mottle(zone, target, pooled, seen, tolerance, found)
    if mottle is not None and mottle.outcome != "pass":
        outcome = "fail" if "fail" in (outcome, mottle.outcome) else "cannot be told"
        remedy = remedy or mottle.words
    return _Zone(zone, pooled, found, outcome, mottle, remedy if outcome == "cannot be told" else "")


def _verdict(
    agreed: AgreedSheet,
    sample: str,
    zones: Sequence[_Zone],
    cautions: Sequence[str],
    used: tuple[str, ...],
    named: str,
) -> VerdictSheet:
    m = agreed.master
    read = {z.target.zone for z in zones}
    missing = tuple(z.zone for z in agreed.zones if z.zone not in read)
    outcomes = {z.outcome for z in zones}
    verdict = "fail" if "fail" in outcomes else "cannot be told" if "cannot be told" in outcomes or missing else "pass"
    first = next((z for z in zones if z.outcome == verdict), zones[0] if zones else None)
    if first is None:
        why = f"No agreed zone was read: {', '.join(missing)}."
        nothing = NamedColour(sample, agreed.zones[0].lab)
        comparison = compare_colours(_agreed_colour(agreed, agreed.zones[0]), nothing, m.formula)
        return VerdictSheet(
            m.id,
            sample,
            "cannot be told",
            why,
            comparison,
            m.limit_de,
            missing=missing,
            cautions=tuple(cautions),
            remedy="Read each zone under the name it was agreed by.",
        )
    expanded = first.found.findings[0].expanded
    seen = NamedColour(
        f"{named}, {first.target.zone}" if len(agreed.zones) > 1 else named,
        first.pooled.mean,
        first.pooled.fixed_u,
        m.wax_state,
        m.warmth,
    )
    comparison = compare_colours(_agreed_colour(agreed, first.target), seen, m.formula)
    if math.isfinite(expanded):
        comparison = replace(comparison, uncertainty_de00=expanded, warnings=())
    why = " ".join([*(_words(z) for z in zones), *(f"Not read: {zone}." for zone in missing)])
    known = math.isfinite(first.found.sampling)
    return VerdictSheet(
        m.id,
        sample,
        verdict,
        why,
        comparison,
        m.limit_de,
        findings=tuple(f for z in zones for f in _findings(z)),
        mottle=tuple(z.mottle for z in zones if z.mottle is not None),
        chance=first.found.chance if math.isfinite(expanded) and first.pooled.fixed_u is not None else None,
        sampling_de=first.found.sampling if known else None,
        more=_more(first.found),
        remedy=_remedy(zones, missing),
        cautions=(*cautions, *_one_spot(zones)),
        missing=missing,
        readings=used,
    )


def _more(found: ZoneVerdict) -> int | None:
    """Readings in all that would decide everything that is open; None where no number would."""
    open_ones = [f.more for f in found.findings if f.outcome == "cannot be told"]
    return None if not open_ones or None in open_ones else max(m for m in open_ones if m is not None)


def _words(zone: _Zone) -> str:
    listed = "; ".join(
        f"{f.of} {f.value:+.2f} ± {f.expanded:.2f}, limit {f.limit:g}: {f.outcome}"
        if math.isfinite(f.expanded)
        else f"{f.of} {f.value:+.2f}, its doubt is not known"
        for f in zone.found.findings
    )
    readings = "1 reading" if zone.pooled.n == 1 else f"{zone.pooled.n} readings"
    tones = f"; tones {zone.mottle.distance:.1f}: {zone.mottle.outcome}" if zone.mottle else ""
    return f"{zone.target.zone}: {zone.outcome} ({readings}; {listed}{tones})."


def _findings(zone: _Zone) -> list[FindingRow]:
    return [
        FindingRow(
            zone.target.zone,
            f.of,
            f.value,
            f.expanded if math.isfinite(f.expanded) else None,
            f.limit,
            f.outcome,
            f.more,
        )
        for f in zone.found.findings
    ]


def _remedy(zones: Sequence[_Zone], missing: Sequence[str]) -> str:
    said = [z.remedy for z in zones if z.remedy]
    if missing:
        said.append(f"Read {', '.join(missing)} as well.")
    return " ".join(dict.fromkeys(said))


def _one_spot(zones: Sequence[_Zone]) -> list[str]:
    return [
        f"{z.target.zone} was read on one spot: how uneven it is, is not in its doubt."
        for z in zones
        if z.pooled.n == 1 and z.pooled.fixed_u is not None
    ]
