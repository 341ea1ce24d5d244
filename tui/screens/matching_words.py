"""Verdicts, agreed finishes, series, predictions, plans and cards in words."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from patina.sheets.named import named
from tui import format as show
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.sheets import VerdictSheet
    from patina.sheets.ageing import Foretold, PredictionSheet
    from patina.sheets.matching import AgreedSheet, HoldingRow
    from patina.sheets.reconstruction import ReconstructionSheet
    from patina.sheets.reproducing import CauseSheet, EffectRow, PlanSheet
    from patina.sheets.series import SeriesSheet

SIGNS = {"pass": "✓", "fail": "✗", "cannot be told": "?"}


def verdict_more(sheet: VerdictSheet) -> Prose:
    """What a verdict rests on: each component, the tones, what would decide."""
    prose = Prose()
    if sheet.findings:
        prose.heading("Zone by zone")
    for f in sheet.findings:
        doubt = "± not known" if f.expanded is None else f"± {show.number(f.expanded, 2)}"
        limit = "the limit tile" if f.limit == 0 else f"limit {show.plain(f.limit)}"
        words = f"{f.of:<11} {show.signed(f.value, 2):>7} {doubt}, {limit}: {SIGNS[f.outcome]} {f.outcome}"
        prose.fact(f.zone, words)
    for m in sheet.mottle:
        prose.fact("tones", f"{m.zone}: {SIGNS[m.outcome]} {m.outcome}. {m.words}")
        for name, tones in (("agreed", m.agreed), ("sample", m.sample)):
            if tones:
                grain = m.agreed_grain_mm if name == "agreed" else m.sample_grain_mm
                coarse = "grain not known" if grain is None else f"grain {show.number(grain)} mm"
                prose.text(f"{name}, {coarse}", "$text-muted", 4).parts((t.lab, t.share) for t in tones)
    if sheet.chance is not None:
        prose.fact("chance inside", show.percent(100 * sheet.chance, 0))
    if sheet.sampling_de is not None:
        prose.fact("sampling", f"{show.number(sheet.sampling_de)} between identical pieces")
    if sheet.remedy:
        prose.gap().text(f"→ {sheet.remedy}", "bold")
    for caution in sheet.cautions:
        prose.caution(caution)
    return prose.gap()


def agreed_words(sheet: AgreedSheet) -> Prose:
    """An agreed finish in full."""
    m = sheet.master
    prose = Prose().title(m.name, m.id)
    prose.fact("to look", sheet.aim).fact("state", f"{m.wax_state}, {m.warmth}, {m.geometry}").fact(
        "viewed in", m.light
    )
    limits = [("ΔE", m.limit_de), ("ΔL*", m.limit_dL), ("ΔC*", m.limit_dC), ("ΔH*", m.limit_dH)]
    limits.append(("tones", sheet.limit_mottle))
    prose.fact("limits", ", ".join(f"{n} {show.plain(v)}" for n, v in limits if v is not None))
    for zone in sheet.zones:
        prose.heading(zone.zone).colour(zone.lab, f"{show.times(zone.n, 'reading')}", "as agreed")
        if zone.light_limit is not None:
            prose.colour(zone.light_limit, "light limit", named(zone.light_tile, zone.light_tile_name))
        if zone.dark_limit is not None:
            prose.colour(zone.dark_limit, "dark limit", named(zone.dark_tile, zone.dark_tile_name))
        prose.parts((p.lab, p.share) for p in zone.parts)
        if zone.parts:
            coarse = "not known" if zone.grain_mm is None else f"{show.number(zone.grain_mm)} mm"
            prose.fact("grain", coarse)
    if sheet.holdings:
        prose.heading("Who holds which tile")
    for held in sheet.holdings:
        holding_words(prose, held)
    if sheet.concessions:
        prose.heading("Concessions (the agreed finish stays what it is)")
    prose.bullets(
        f"{named(c.piece, c.piece_name)}, {c.zone}: {show.number(c.difference)} away; {c.reason}. "
        f"{c.agreed_by}, {show.day(c.agreed_on)}"
        for c in sheet.concessions
    )
    if sheet.approvals:
        prose.heading("Approvals")
    prose.bullets(
        f"{a.id} {show.day(a.held_on)} {a.who}, {named(a.piece, a.piece_name)} {a.seen}, {a.light}: {a.answer}"
        + (f"; {a.remarks}" if a.remarks else "")
        for a in sheet.approvals
    )
    return prose


def holding_words(prose: Prose, held: HoldingRow) -> None:
    """One holder, with a caution where the tile's check has come."""
    words = f"{held.tile} {held.engraved}: {held.role}, {held.holder}{', kept ' + held.kept if held.kept else ''}"
    tail = f"; {held.drift_words}" if held.drift_words else ""
    if held.due:
        prose.caution(f"{words}; to be read since {show.day(held.next_check)}{tail}")
    else:
        prose.bullets([f"{words}{tail}"])


def series_heading(sheet: SeriesSheet) -> Prose:
    """Which edition, and what asks for a decision; it stands above the charts."""
    finish = named(sheet.master, sheet.master_name)
    against = f"against {finish}" if finish else "no agreed finish"
    prose = Prose().title(sheet.piece.title, f"{sheet.zone}, {sheet.state}, {against}, in order of {sheet.order}").gap()
    for alarm in sheet.alarms:
        prose.caution(alarm.words, grave=True)
    return prose.fact("verdicts", _verdicts(sheet)) if sheet.casts else prose


def _verdicts(sheet: SeriesSheet) -> str:
    """How many casts have which verdict, with its sign."""
    counted = Counter(cast.verdict for cast in sheet.casts if cast.verdict)
    unread = sum(cast.lab is None for cast in sheet.casts)
    told = [f"{SIGNS.get(verdict, '')} {verdict}: {count}".strip() for verdict, count in counted.items()]
    return ", ".join([*told, *([f"not read: {unread}"] if unread else [])]) or "none yet"


def series_words(sheet: SeriesSheet) -> Prose:
    """The register of an edition and what it says; heading and charts stand above it."""
    prose = Prose()
    for cast in sheet.casts:
        figures = [
            "" if cast.delta_e is None else f"ΔE {show.number(cast.delta_e)}",
            "" if cast.to_before is None else f"{show.number(cast.to_before)} from the one before",
            f"{SIGNS.get(cast.verdict, '')} {cast.verdict}".strip(),
        ]
        beside = ", ".join(f for f in figures if f)
        if cast.lab is None:
            prose.fact(cast.label, f"{cast.id}: not read in this state")
        else:
            prose.colour(cast.lab, f"{cast.label} {cast.id}", beside)
        prose.bullets(cast.changed, "▽")
    if sheet.not_on_record:
        prose.fact("not on record", ", ".join(sheet.not_on_record))
    prose.heading("What the series says").bullets([*sheet.words, *(i.words for i in sheet.intervals), *sheet.variation])
    if sheet.shared:
        last = sheet.shared[-1]
        prose.heading(f"{last.cast} against {last.before}")
        prose.fact("the same", ", ".join(last.same)).fact("different", "; ".join(last.different) or "nothing noted")
        prose.fact("not noted", ", ".join(last.blank)).fact("tiles first for", ", ".join(last.tiles))
    return prose


def _foretold(prose: Prose, found: Foretold, name: str) -> None:
    half = found.half_width
    doubt = "how sure is not known" if half is None else "± " + " ".join(show.number(h) for h in half)
    prose.colour(found.lab, name, f"{doubt} (L* a* b*, 95 %)" if half is not None else doubt)
    prose.text(found.words, "$text-muted", 4)


def prediction_words(sheet: PredictionSheet) -> Prose:
    """What a reading becomes, and what the piece was."""
    prose = Prose().title(named(sheet.target, sheet.target_name), f"{sheet.reading}, {sheet.was}").gap()
    prose.colour(sheet.lab, "as read", sheet.was)
    if sheet.final is not None:
        _foretold(prose, sheet.final, sheet.becomes)
    for missing in sheet.missing:
        prose.caution(missing)
    if sheet.delta_e is not None:
        prose.fact("then", f"ΔE00 {show.number(sheet.delta_e)} from {named(sheet.master, sheet.master_name)}")
    prose.heading("When it was delivered")
    if sheet.delivered is None:
        prose.text(sheet.delivered_words)
    else:
        _foretold(prose, sheet.delivered, "as delivered")
    if sheet.courses:
        prose.heading("How twins aged").bullets(c.words for c in sheet.courses)
    for caution in sheet.cautions:
        prose.caution(caution)
    return prose


def _effect(prose: Prose, effect: EffectRow) -> None:
    tail = "" if effect.explains is None else f" Would explain {show.percent(100 * effect.explains, 0)}."
    prose.bullets([effect.words + tail])


def plan_words(plan: PlanSheet) -> Prose:
    """How an old finish is got again."""
    prose = Prose().title(named(plan.target, plan.name), f"{plan.recipe}, revision {plan.revision}").gap()
    if plan.lab is not None:
        prose.colour(plan.lab, "as it was read")
    for fact in plan.facts:
        prose.fact(fact.what, fact.value)
    if plan.as_done:
        prose.heading("As it was done").numbered(plan.as_done)
    prose.heading("Different now, and what that did here")
    for effect in plan.effects:
        _effect(prose, effect)
    if not plan.effects:
        prose.text("Nothing that was written down differs.")
    prose.fact("not said yet", ", ".join(plan.unsaid)).fact("not noted then", ", ".join(plan.blank))
    prose.heading("Tiles to make first").numbered(plan.tiles)
    for solution in plan.mix.solutions if plan.mix is not None else ():
        prose.heading(f"{solution.name}, {show.volume(solution.volume_ml)}")
        for line in solution.weigh:
            prose.weighed(show.amount(line.rounded, line.unit), line.substance)
    for caution in plan.cautions:
        prose.caution(caution)
    return prose.gap().text(f"From {show.times(plan.history, 'other tile or cast', 'other tiles and casts')}.")


def cause_words(found: CauseSheet) -> Prose:
    """Why a piece missed."""
    miss = ", ".join(f"{n} {show.signed(v)}" for n, v in zip(("L*", "a*", "b*"), found.miss, strict=True))
    piece, reference = named(found.piece, found.piece_name), named(found.reference, found.reference_name)
    prose = Prose().title(f"{piece} against {reference}", f"ΔE00 {show.number(found.delta_e)} ({miss})")
    prose.heading("Likeliest first")
    for cause in found.causes:
        _effect(prose, cause)
    if not found.causes:
        prose.text("Nothing that was written down differs.")
    if found.blank:
        prose.gap().caution(f"Not written down, and could explain it: {', '.join(found.blank)}.")
    return prose.gap().text(f"From {show.times(found.history, 'other tile or cast', 'other tiles and casts')}.")


def reconstruction_words(sheet: ReconstructionSheet) -> Prose:
    """Settings a card may mean, and the tiles to make."""
    prose = Prose().title(sheet.card, f"to get {sheet.target_name}").gap().colour(sheet.target, "wanted")
    for m in sheet.meant:
        prose.fact(m.name, f"{m.meaning} ({m.said})")
    if sheet.left:
        prose.caution(f"Not understood: {', '.join(sheet.left)}.")
    prose.text(sheet.knows, "bold").heading("Settings, likeliest first")
    for r in sheet.ranked[:6]:
        half = "± " + " ".join(show.number(h, 0) for h in r.half_width)
        prose.colour(r.lab, f"{show.percent(100 * r.chance, 0)}  {r.setting}", half)
        if r.as_measured:
            prose.text(r.as_measured, "$text-muted", indent=12)
    prose.heading("Tiles to make, one at a time")
    prose.numbered(f"{s.setting}, to {s.why} ({show.number(s.bits)} bits)" for s in sheet.ladder)
    for t in sheet.tried:
        prose.fact(
            named(t.tile, t.engraved), f"ΔE00 {show.number(t.delta_e)} from the target, {'met' if t.met else 'missed'}"
        )
    for caution in sheet.cautions:
        prose.caution(caution)
    return prose
