"""The first half of a treatment report: whose object, by whose leave, what was seen, what is concluded, what is
proposed, and what was tried."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from patina.language import shown
from patina.reports import figures
from patina.reports.colour_words import photo
from patina.reports.document import (
    Beside,
    Block,
    Caution,
    Cell,
    Column,
    Facts,
    Heading,
    Items,
    Outline,
    Paragraph,
    Photo,
    Photographs,
    Table,
)
from patina.reports.treatment_words import NOT_SAID, Shown, amount, joined, lines, said, section, when_who
from patina.sheets.treatment import Kept, MapChange, MapShares, PatchChange, TreatmentSheet

if TYPE_CHECKING:
    from patina.conservation.condition import Share, ZoneChange
    from patina.conservation.values import ConditionMap, Patch, Proposal, Statement, Zone

# Hues that people with any common colour vision tell apart; the letter and the kind of line say the same.
HUES = ("#d55e00", "#0072b2", "#009e73", "#cc79a7", "#e69f00", "#56b4e9", "#000000")
DASHES: dict[str, tuple[float, ...]] = {"active": (), "suspect": (0.016, 0.010), "stable": (0.004, 0.008)}
SPOT = 0.007  # half the side of a test patch's square, in shares of the picture
LETTERS = "abcdefghijklmnopqrstuvwxyz"
LINES_MEAN = (
    "Whole lines: active; broken lines: suspect; dotted lines: stable or not said. Numbers stand in the table below; "
    "letters in that of the test patches. The drawing is a person's, laid over the photograph, which is not altered."
)


def identification(sheet: TreatmentSheet) -> list[Block]:
    """What identifies the object, and why it was treated."""
    head, thing = sheet.record.head, sheet.record.object
    facts = (
        ("accession number", head.accession or NOT_SAID),
        ("maker", thing.maker or NOT_SAID),
        ("number of edition", joined((thing.number, f"of {thing.edition}" if thing.edition else "")) or NOT_SAID),
        ("date of the work", head.made_when or NOT_SAID),
        ("measurements", head.measurements or NOT_SAID),
        ("marks", head.marks or NOT_SAID),
        ("alloy", joined((thing.alloy, said("known by", head.alloy_known_by))) or NOT_SAID),
        ("surface", "" if thing.area_m2 is None else figures.area(thing.area_m2)),
        ("owner", sheet.record.owner or NOT_SAID),
        ("place", head.site or thing.place or NOT_SAID),
        ("legal status", head.legal_status or NOT_SAID),
        ("documented by", head.documenter or NOT_SAID),
    )
    blocks: list[Block] = [Heading("The object"), Facts(tuple((n, v or NOT_SAID) for n, v in facts), 3)]
    blocks += [Paragraph(head.purpose or NOT_SAID, lead="Purpose.")]
    if head.reference_appearance:
        blocks.append(Paragraph(head.reference_appearance, lead="Agreed appearance, and on what evidence."))
    return blocks


def leave(sheet: TreatmentSheet) -> list[Block]:
    """Who worked on it, who gave leave, and what is open about it."""
    columns = (Column("name", "50mm"), Column("role", "1fr"), Column("affiliation", "1fr"))
    people = tuple(
        (Cell(strong=p.value.name), Cell(p.value.role or NOT_SAID), Cell(p.value.affiliation))
        for p in sheet.record.people
    )
    blocks = section("People who worked on it or decided", columns, people)
    asked = (
        Column("what", "31mm"),
        Column("given by", "46mm"),
        Column("in writing", "1fr"),
        Column("what it covers", "1fr"),
    )
    rows = tuple(
        (
            Cell(strong=a.value.what, small=lines(figures.day(a.value.dated) or "no date")),
            Cell(a.value.who, small=lines(a.value.capacity)),
            Cell(a.value.in_writing or "by word only"),
            Cell(joined((f"proposal version {a.value.proposal}" if a.value.proposal else "", a.value.scope), "; ")),
        )
        for a in sheet.record.authorities
    )
    blocks += section("Authority and consent", asked, rows)
    return [*blocks, *(Caution(f.words, lead=f"{f.part}:", do=f.do) for f in sheet.flags)]


def examination(sheet: TreatmentSheet) -> list[Block]:
    """What was seen, and apart from it what is concluded."""
    columns = (Column("about", "30mm"), Column("observation", "1fr"), Column("how, by whom", "52mm"))
    seen = tuple(_statement(s) for s in sheet.record.observations)
    blocks = section("Examination: what was seen", columns, seen)
    columns = (Column("about", "30mm"), Column("interpretation", "1fr"), Column("rests on, by whom", "52mm"))
    concluded = tuple(_statement(s) for s in sheet.record.interpretations)
    return [*blocks, *section("Interpretation: what is concluded from it", columns, concluded)]


def _statement(part: Kept[Statement]) -> tuple[Cell, ...]:
    s = part.value
    how = lines(s.method, s.circumstances, said("rests on", ", ".join(s.rests_on)), when_who(s.on, s.by))
    return Cell(strong=s.topic, small=lines(s.place, part.id)), Cell(s.text), Cell(small=how)


def condition(sheet: TreatmentSheet, shown: Shown) -> list[Block]:
    """Every condition map beside its photograph, with its legend, and what changed between visits."""
    if not sheet.record.maps:
        return []
    blocks: list[Block] = [Heading("Condition")]
    for number, part in enumerate(sheet.record.maps):
        shares = next((m for m in sheet.maps if m.map == part.id), None)
        blocks += _map(sheet, part, shares, shown, legend=number == 0)
    for change in sheet.changes:
        blocks += _change(sheet, change, shown)
    return blocks


def _map(
    sheet: TreatmentSheet, part: Kept[ConditionMap], shares: MapShares | None, shown: Shown, *, legend: bool
) -> list[Block]:
    m = part.value
    zones = [z for z in sheet.record.zones if z.value.map == part.id]
    named = joined((m.view, m.visit, when_who(m.seen_on, m.seen_by), m.circumstances))
    blocks: list[Block] = [Heading(f"{m.view}, {m.visit}", 3)]
    picture = shown.picture(m.photograph)
    if picture is None:
        blocks.append(
            Caution(f"The photograph of {part.id} is not in the store, so the map is told in the table alone.")
        )
    else:
        plain = photo(picture, alt=f"photograph: {named}")
        drawn = _outlined(plain, part, zones, sheet)
        blocks.append(Beside(((Photographs((plain,), 1),), (Photographs((drawn,), 1),))))
        if legend:
            blocks.append(Paragraph(LINES_MEAN, size="small"))
    return [*blocks, *_legend(zones, shares, shown)]


def _outlined(plain: Photo, part: Kept[ConditionMap], zones: list[Kept[Zone]], sheet: TreatmentSheet) -> Photo:
    outlines = [Outline(polygon, "", "#000000", (0.002, 0.006)) for polygon in part.value.outline]
    for n, zone in enumerate(zones):
        hue, dash = HUES[n % len(HUES)], DASHES.get(zone.value.activity, DASHES["stable"])
        outlines += [Outline(polygon, str(n + 1), hue, dash) for polygon in zone.value.polygons]
    letters = patch_marks(sheet, part.id)
    for patch in sheet.record.patches:
        if patch.id in letters and patch.value.spot is not None:
            (x, y), s = patch.value.spot, SPOT
            square = ((x - s, y - s), (x + s, y - s), (x + s, y + s), (x - s, y + s))
            outlines.append(Outline(square, letters[patch.id], small=True))
    marks = ", ".join(f"{n} {z.value.name}" for n, z in enumerate(zones, 1))
    return Photo(
        plain.content,
        plain.suffix,
        f"{plain.caption}: condition map {part.id}",
        f"the same photograph with zones drawn on it: {marks or 'none'}",
        plain.width_px,
        plain.height_px,
        plain.mm_across,
        ("drawn by hand on the photograph",),
        tuple(outlines),
    )


def patch_marks(sheet: TreatmentSheet, on: str | None) -> dict[str, str]:
    """The letters of the test patches on a map, by their ids, as the map on the screen has them: a to z, then a2."""
    here = [p.id for p in sheet.record.patches if p.value.map == on and on is not None and p.value.spot is not None]
    return {id: LETTERS[n % 26] + (str(n // 26 + 1) if n > 25 else "") for n, id in enumerate(here)}


def _legend(zones: list[Kept[Zone]], shares: MapShares | None, shown: Shown) -> list[Block]:
    columns = (
        Column("", "8mm", name="number"),
        Column("zone and term", "1fr"),
        Column("area", "36mm"),
        Column("severity", "17mm"),
        Column("activity", "22mm"),
        Column("more", "44mm"),
    )
    rows = tuple(
        (
            Cell(strong=str(n)),
            Cell(shown.term(z.value.term), z.value.name),
            Cell(
                _area(None if shares is None else shares.zones.get(z.id)),
                small=lines(said("extent said", _pct(z.value.extent))),
            ),
            Cell(NOT_SAID if z.value.severity is None else f"{z.value.severity} of 4"),
            Cell(z.value.activity or NOT_SAID),
            Cell(small=lines(z.value.adhesion, said("water beads", z.value.bead), z.value.note)),
        )
        for n, z in enumerate(zones, 1)
    )
    if not rows:
        return [Paragraph("No zone is drawn on it.")]
    blocks: list[Block] = [Table(columns, rows)]
    if shares is not None:
        over = amount(shares.overlap_pct, "% drawn more than once") if shares.overlap_pct > 0.05 else ""
        out = amount(shares.outside_pct, "% drawn beyond the object") if shares.outside_pct > 0.05 else ""
        none = shares.active.pct is None
        active = "no active zone is drawn" if none else f"active in all: {_area(shares.active)}"
        of = "outlined object" if shares.of == "object" else "picture"
        words = f"Areas are shares of the {of} in this view, as drawn; {active}."
        blocks.append(Paragraph(joined((words, over, out), " "), size="small"))
    return blocks


def _area(share: Share | None) -> str:
    if share is None or share.pct is None:
        return "not drawn"
    return f"{figures.fixed(share.pct)} ± {figures.fixed(share.u_pct)} %"


def _pct(extent: str) -> str:
    return f"{extent} %" if extent else ""


def _change(sheet: TreatmentSheet, change: MapChange, shown: Shown) -> list[Block]:
    visits = {m.id: joined((m.value.visit, figures.day(m.value.seen_on))) for m in sheet.record.maps}
    columns = (
        Column("zone or term", "1fr"),
        Column("before", "24mm", "right"),
        Column("after", "24mm", "right"),
        Column("±", "18mm", "right"),
        Column("verdict", "40mm"),
    )
    rows = tuple(_zone_change(z, shown) for z in change.zones + change.terms)
    before, after = visits.get(change.before, change.before), visits.get(change.after, change.after)
    if not rows:
        return []
    return [
        Heading(f"What changed: {before} to {after}", 3),
        Table(columns, rows),
        Paragraph(change.doubt, size="small"),
    ]


def _zone_change(z: ZoneChange, shown: Shown) -> tuple[Cell, ...]:
    name = z.what if z.what != z.term else "all of it"
    return (
        Cell(shown.term(z.term), name),
        Cell("none" if z.before_pct is None else f"{figures.fixed(z.before_pct)} %"),
        Cell("none" if z.after_pct is None else f"{figures.fixed(z.after_pct)} %"),
        Cell(f"{figures.fixed(z.u_pct)} %"),
        Cell(z.verdict),
    )


def proposal(sheet: TreatmentSheet) -> list[Block]:
    """The newest proposal with its alternatives, earlier versions, and who signed which."""
    if not sheet.record.proposals:
        return []
    newest = max(sheet.record.proposals, key=lambda p: p.number)
    blocks: list[Block] = [Heading("Proposal"), *_version(newest)]
    for s in sheet.signed:
        if s.what.startswith("proposal"):
            valid = "what is on record is no longer what was signed" if s.altered else ""
            words = joined((s.who or shown("nobody"), shown(s.words), figures.day(s.on), shown(valid)), "; ")
            number = s.what.removeprefix("proposal, version ")
            blocks.append(Paragraph(f"{words}.", lead=f"Version {number} signed by:"))
    older = tuple(
        (
            Cell(strong=str(p.number)),
            Cell(p.value.aim),
            Cell(small=lines(p.value.why, when_who(p.value.drafted_on, p.value.drafted_by))),
        )
        for p in sheet.record.proposals
        if p.number != newest.number
    )
    columns = (Column("version", "18mm"), Column("aim", "1fr"), Column("drafted", "60mm"))
    return [*blocks, Table(columns, older, "Earlier versions")] if older else blocks


def _version(part: Kept[Proposal]) -> list[Block]:
    p = part.value
    hours = joined((amount(p.hours_low, "h"), amount(p.hours_high, "h")), " to ")
    facts = (
        ("version", str(part.number)),
        ("drafted", when_who(p.drafted_on, p.drafted_by)),
        ("time", joined((hours, f"{p.visits} visits" if p.visits else "")) or NOT_SAID),
        ("cost", p.cost or NOT_SAID),
    )
    blocks: list[Block] = [Facts(facts, 4), Paragraph(p.aim, lead="Aim.")]
    for heading, items in (("Steps", p.steps), ("Alternatives", p.alternatives)):
        if items:
            blocks += [Heading(heading, 3), Items(items)]
    if not p.alternatives:
        blocks.append(Paragraph("No alternative is written down.", lead="Alternatives."))
    told = (
        ("Risks.", p.risks),
        ("Retreatability.", p.retreatability),
        ("Reference appearance.", p.reference_appearance),
    )
    blocks += [Paragraph(words, lead=lead) for lead, words in told if words]
    return blocks + ([Paragraph(p.why, lead="Why this version.")] if p.why else [])


def tests(sheet: TreatmentSheet) -> list[Block]:
    """Test patches with their result, and the lowest that was enough."""
    columns = (
        Column("patch", "23mm"),
        Column("agent, strength, dwell", "1fr"),
        Column("where, area", "38mm"),
        Column("effect, harm", "28mm"),
        Column("result", "1fr"),
    )
    changes = {c.patch: c for c in sheet.patch_changes}
    chosen = sheet.patches.choice
    marks = {p.id: patch_marks(sheet, p.value.map).get(p.id, "") for p in sheet.record.patches}
    rows = tuple(_patch(p, chosen == p.id, changes, marks[p.id]) for p in sheet.record.patches)
    blocks = section("Test patches", columns, rows)
    if not blocks:
        return []
    blocks.append(Paragraph(sheet.patches.words, lead="Lowest that was enough."))
    return blocks + [Caution(words) for words in sheet.patches.contradictions]


def _patch(part: Kept[Patch], chosen: bool, changes: Mapping[str, PatchChange], mark: str) -> tuple[Cell, ...]:
    p, change = part.value, changes.get(part.id)
    difference = None if change is None else change.difference
    colour = f"ΔE00 {figures.plain(difference.delta_e, 1)}" if difference is not None else ""
    return (
        Cell(
            strong=part.id,
            small=lines(f"{mark} on {p.map}" if mark else ""),
            foot="chosen" if chosen else "",
        ),
        Cell(
            p.agent,
            small=lines(
                amount(p.strength, p.strength_unit or "(unit not said)", 3), amount(p.dwell_min, "min"), p.tool
            ),
        ),
        Cell(p.place, small=lines(amount(p.area_cm2, "cm²"), when_who(p.on, p.by))),
        Cell(p.effect or NOT_SAID, small=(f"harm: {p.harm or NOT_SAID}",)),
        Cell(p.result, small=lines(joined((colour, "" if change is None else change.words), ": "))),
    )
