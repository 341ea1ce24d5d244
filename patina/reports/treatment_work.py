"""The second half of a treatment report: the log, materials, salts, protection, images, state after, and care."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patina.language import shown
from patina.reports import figures
from patina.reports.colour_words import COLOUR_NOTE, ColourOf, photo, readings_table
from patina.reports.document import Block, Caution, Cell, Column, Heading, Paragraph, Photo, Photographs, Table
from patina.reports.safety_words import sentence
from patina.reports.treatment_words import NOT_SAID, Shown, amount, joined, lines, said, section, when_who
from patina.sheets.treatment import CareStatus, Extraction, Kept, LayerFacts, MaterialFacts, TreatmentSheet
from patina.sheets.treatment_words import larger

if TYPE_CHECKING:
    from patina.conservation.values import Action, Image, Layer, Material
    from patina.sheets.tiles import ReadingRow

# Before, during, after: so many views stand beside each other.
ROLES = ("before", "during", "after")


def log(sheet: TreatmentSheet) -> list[Block]:
    """Every action, dated, by name."""
    columns = (Column("when, who", "32mm"), Column("what was done", "1fr"), Column("with what, how", "1fr"))
    return section("Log of the treatment", columns, tuple(_action(a) for a in sheet.record.actions))


def _action(part: Kept[Action]) -> tuple[Cell, ...]:
    a = part.value
    air = joined((amount(a.air_c, "°C"), amount(a.humidity_pct, "% RH")), " and ")
    how = lines(
        said("with", joined((a.agent, a.tool))),
        a.how,
        said("temperature", joined((amount(a.temperature_c, "°C"), a.temperature_by))),
        said("passes", "" if a.passes is None else str(a.passes)),
        said("dwell", amount(a.dwell_min, "min")),
        said("air", air),
        said("metal", amount(a.metal_c, "°C")),
        said("time", amount(a.hours, "h")),
    )
    plan = "" if a.proposal is None else f"by proposal version {a.proposal}"
    deviation = joined((a.deviation, said("because", a.deviation_why), said("new consent", a.consent)), "; ")
    return (
        Cell(strong=figures.day(a.on) or "undated", small=lines(a.by, part.id)),
        Cell(a.did, small=lines(a.zone, a.result, plan), foot=said("departs from the plan", deviation)),
        Cell(small=how),
    )


def materials(sheet: TreatmentSheet) -> list[Block]:
    """What came onto the object and what was taken off, by substance, and samples."""
    facts = {f.id: f for f in sheet.materials}
    columns = (
        Column("material", "46mm"),
        Column("substance, CAS, composition", "1fr"),
        Column("supplier, lot", "38mm"),
        Column("how much", "38mm"),
    )
    of_way = {way: [m for m in sheet.record.materials if m.value.way == way] for way in ("added", "removed")}
    blocks = section("Materials added", columns, tuple(_material(m, facts.get(m.id)) for m in of_way["added"]))
    columns = (
        Column("material", "46mm"),
        Column("composition", "1fr"),
        Column("how much", "38mm"),
        Column("kept where", "46mm"),
    )
    blocks += section("Materials removed", columns, tuple(_removed(m) for m in of_way["removed"]))
    columns = (
        Column("sample", "46mm"),
        Column("from, why", "1fr"),
        Column("kept where", "38mm"),
        Column("result", "1fr"),
    )
    samples = tuple(
        (
            Cell(strong=s.value.label or s.id, small=lines(s.value.what, when_who(s.value.on, s.value.by))),
            Cell(s.value.place, small=lines(s.value.purpose)),
            Cell(s.value.kept or NOT_SAID),
            Cell(s.value.result or "no result yet"),
        )
        for s in sheet.record.samples
    )
    return [*blocks, *section("Samples taken", columns, samples)]


def _material(part: Kept[Material], facts: MaterialFacts | None) -> tuple[Cell, ...]:
    m = part.value
    composition = facts.composition if facts is not None else m.composition
    cas = facts.cas if facts is not None else m.cas
    left = joined((amount(m.left_g, "g"), m.left_words)) or NOT_SAID
    return (
        Cell(strong=m.name, small=lines(said("in", m.action or ""), m.zone)),
        Cell(
            (facts.substance if facts is not None else m.substance) or "",
            small=lines(f"CAS {cas}" if cas else "CAS not known", *(composition or ("composition not known",))),
        ),
        _from(facts, m.supplier, m.lot or "", m.batch_number),
        Cell(
            amount(*larger(m.quantity, m.quantity_unit), 3) or NOT_SAID, small=lines(said("left on the object", left))
        ),
    )


def _removed(part: Kept[Material]) -> tuple[Cell, ...]:
    m = part.value
    return (
        Cell(strong=m.name, small=lines(said("in", m.action or ""), m.zone)),
        Cell(m.substance, small=m.composition or ("composition not known",)),
        Cell(amount(*larger(m.quantity, m.quantity_unit), 3) or NOT_SAID),
        Cell(m.kept or NOT_SAID),
    )


def _from(facts: MaterialFacts | None, supplier: str, lot: str, number: str) -> Cell:
    if facts is not None:
        return Cell(
            facts.supplier or NOT_SAID,
            small=lines(said("lot", joined(dict.fromkeys((facts.lot or lot, number)))), facts.grade),
        )
    return Cell(supplier or NOT_SAID, small=lines(said("lot", joined((lot, number)))))


def salts(sheet: TreatmentSheet, shown: Shown) -> list[Block]:
    """Extraction of salts: the curve with its end and interval, what it says, and every reading."""
    if not sheet.record.baths:
        return []
    blocks: list[Block] = [Heading("Salts drawn out")]
    found = {e.bath: e for e in sheet.extractions}
    for bath in sheet.record.baths:
        b, extraction = bath.value, found.get(bath.id)
        said_of = joined((b.solution, b.scheme, said("fresh bath reads", amount(b.supply, b.measured.split()[-1], 2))))
        blocks += [Heading(f"{b.name} ({bath.id})", 3), Paragraph(joined((said_of, b.note), ". "))]
        if bath.id in shown.salts:
            blocks.append(shown.salts[bath.id])
        if extraction is not None:
            blocks += _extraction(extraction)
        columns = (
            Column("bath"),
            Column("hours in it", align="right"),
            Column(b.measured, align="right"),
            Column("volume", align="right"),
            Column("when, who", "1fr"),
        )
        rows = tuple(
            (
                Cell(str(r.value.number)),
                Cell(amount(r.value.hours, "h")),
                Cell("" if r.value.value is None else figures.plain(r.value.value, 2)),
                Cell("" if r.value.volume_ml is None else figures.volume(r.value.volume_ml)),
                Cell(when_who(r.value.on, r.value.by)),
            )
            for r in sheet.record.bath_readings
            if r.value.bath == bath.id
        )
        if rows:
            blocks.append(Table(columns, rows))
    return blocks


def _extraction(e: Extraction) -> list[Block]:
    words = [Paragraph(e.why, lead=sentence(shown(e.verdict)))]
    if e.all_out is not None:
        beside = f"; nearly as good: {', '.join(e.beside)}" if e.beside else ""
        words.append(
            Paragraph(
                f"In all about {amount(e.all_out, e.unit)} will come out. Law of release: {e.model}{beside}.",
                size="small",
            )
        )
    return [*words, *(Caution(c) for c in e.cautions)]


def protection(sheet: TreatmentSheet) -> list[Block]:
    """Wax, lacquer and inhibitors, with how much lies on and whether the metal was above the dew point."""
    facts = {f.id: f for f in sheet.layers}
    stuff = {f.id: f for f in sheet.materials}
    columns = (
        Column("product", "38mm"),
        Column("composition", "1fr"),
        Column("supplier, lot", "28mm"),
        Column("coats, weight", "31mm"),
        Column("conditions", "40mm"),
    )
    rows = tuple(_layer(x, facts.get(x.id), stuff.get(x.id)) for x in sheet.record.layers)
    return section("Protection", columns, rows)


def _layer(part: Kept[Layer], facts: LayerFacts | None, stuff: MaterialFacts | None) -> tuple[Cell, ...]:
    x = part.value
    whole = amount(None if facts is None else facts.g_per_m2, "g/m² in all")
    each = amount(None if facts is None else facts.per_coat_g_per_m2, "g/m² a coat")
    composition = (stuff.composition if stuff is not None else x.composition) or ("composition not known",)
    return (
        Cell(strong=x.product, small=lines(x.sort, x.zone, when_who(x.on, x.by))),
        Cell(small=lines(said("CAS", stuff.cas if stuff is not None else ""), *composition, x.application)),
        _from(stuff, "", x.lot or "", x.batch_number),
        Cell(
            NOT_SAID if not x.coats else "1 coat" if x.coats == 1 else f"{x.coats} coats",
            small=lines(whole, each, amount(x.thickness_um, "µm")),
        ),
        Cell(
            small=lines(
                joined((said("air", amount(x.air_c, "°C")), amount(x.humidity_pct, "% RH"))),
                said("metal", amount(x.metal_c, "°C")),
                said("cured", amount(x.cure_h, "h")),
                "" if facts is None else facts.dew_words,
            )
        ),
    )


def images(sheet: TreatmentSheet, shown: Shown) -> list[Block]:
    """Images of each view side by side: before, during, after; with what speaks against comparing them."""
    if not sheet.record.images:
        return []
    blocks: list[Block] = [Heading("Images")]
    for view in dict.fromkeys(i.value.view.casefold() for i in sheet.record.images):
        mine = [i for i in sheet.record.images if i.value.view.casefold() == view]
        ordered = [i for role in ROLES for i in mine if i.value.role == role]
        photos = [p for i in ordered if (p := _image(i, shown)) is not None]
        blocks.append(Heading(mine[0].value.view, 3))
        if photos:
            blocks.append(Photographs(tuple(photos), 2 if len(photos) in (1, 2, 4) else 3))
        gone = [i.id for i in ordered if shown.picture(i.value.photograph) is None]
        if gone:
            blocks.append(Caution(f"Not in the store of photographs: {', '.join(gone)}."))
        blocks += [
            Caution(c, lead="Not to be compared without this:")
            for pair in sheet.pairs
            if pair.view.casefold() == view
            for c in pair.cautions
        ]
    return blocks


def _image(part: Kept[Image], shown: Shown) -> Photo | None:
    i, picture = part.value, shown.picture(part.value.photograph)
    if picture is None:
        return None
    base = photo(picture)
    frame = said("in the frame", ", ".join(i.in_frame)) or "nothing named in the frame"
    light = said("lighting", i.light) or "lighting not said"
    return Photo(
        base.content,
        base.suffix,
        joined((f"{i.role}: {i.view}", figures.day(i.on))),
        f"photograph {i.role} treatment, {i.view}, {light}",
        base.width_px,
        base.height_px,
        base.mm_across,
        lines(
            light,
            i.position,
            frame,
            i.by,
            i.note,
            *base.notes[-1:],
            f"SHA-256 {picture.sha256[:12]}…" if picture.sha256 else "",
        ),
        scaled="scale" in i.in_frame,
    )


def after(sheet: TreatmentSheet, colour_of: ColourOf) -> list[Block]:
    """State after treatment, result, limits, recommendations, waste; readings of the surface."""
    head = sheet.record.head
    told = (
        ("State after treatment", head.state_after),
        ("Result against the aim", head.result),
        ("Known limits and retreatability", head.limits),
        ("Recommendations", head.recommendations),
        ("Health and waste", head.health_and_waste),
        ("Notes", head.note),
    )
    blocks: list[Block] = []
    for heading, words in told:
        if words:
            blocks += [Heading(heading), *(Paragraph(p) for p in words.split("\n") if p.strip())]
    for heading, rows in _by_time(sheet):
        if rows:
            blocks += [Heading(heading), *readings_table(rows, colour_of)]
    return [*blocks, COLOUR_NOTE] if sheet.readings else blocks


def _by_time(sheet: TreatmentSheet) -> tuple[tuple[str, list[ReadingRow]], ...]:
    """Readings of the cast: those that patches name or that fall within the treatment, then those since its end and
    before its beginning, which are of another time and never taken for its result."""
    named = {id for p in sheet.record.patches for id in (p.value.reading_before, p.value.reading_after)}
    head = sheet.record.head
    groups: dict[str, list[ReadingRow]] = {"within": [], "since": [], "before": []}
    for row in sheet.readings:
        day = row.read_at.date()
        late = head.finished_on is not None and day > head.finished_on
        early = head.started_on is not None and day < head.started_on
        groups["within" if row.id in named or not (late or early) else "since" if late else "before"].append(row)
    return (
        ("Readings of the surface", groups["within"]),
        ("Readings since the end of this treatment", groups["since"]),
        ("Readings from before this treatment", groups["before"]),
    )


def care(sheet: TreatmentSheet) -> list[Block]:
    """The care schedule: what is looked at, how often, what sets it off, and when next."""
    columns = (
        Column("looked at", "38mm"),
        Column("what to do", "1fr"),
        Column("how often, limit", "34mm"),
        Column("next look", "24mm"),
        Column("by", "30mm"),
    )
    blocks = section("Care schedule", columns, tuple(_care(s) for s in sheet.care))
    beside = (Column("of treatment", "38mm"), *columns[1:])
    rows = tuple(
        (Cell(strong=row.name, small=lines(row.status.trigger.name, row.treatment)), *_care(row.status)[1:])
        for row in sheet.earlier_care
    )
    return [*blocks, *section("Care of earlier treatments that still stands", beside, rows)]


STATES = {"act": "act now", "overdue": "overdue", "soon": "soon", "in time": "in time"}


def _care(status: CareStatus) -> tuple[Cell, ...]:
    item = status.item.value
    limit = item.limit if item.limit is not None else status.trigger.limit
    months = item.every_months or status.trigger.months
    last = "" if status.last is None else said("last seen", when_who(status.last.value.on, status.last.value.by))
    return (
        Cell(strong=status.trigger.name, small=lines(last)),
        Cell(item.task, small=lines(status.why)),
        Cell(
            f"every {figures.plain(months, 1)} months", small=lines(said("limit", amount(limit, status.trigger.unit)))
        ),
        Cell("ended")
        if status.state == "ended"
        else Cell(strong=figures.day(status.next_on), small=(STATES[status.state],)),
        Cell(item.responsible or NOT_SAID),
    )
