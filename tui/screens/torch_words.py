"""What the torch screen says: the step, the zones, the metal, the pot, the safety strip, the log."""

from __future__ import annotations

from datetime import UTC, datetime
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from patina.sheets.named import named
from tui import format as show
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patina.bench.torch.heat import LogLine
    from patina.bench.torch.offline import Tally
    from patina.sheets import ReplaySheet, SafetySheet, StripSheet, WorkEvent, WorkSheet, WorkStep
    from patina.sheets.work import UseLine

MOST_DOTS = 8
Standing = tuple[str, str]  # a style and the words


def step_title(sheet: WorkSheet) -> str:
    """The step in a line: "STEP 3 of 7  APPLY sulphide wash"."""
    step = sheet.here
    what = " ".join(w for w in (step.do.upper(), step.solution or "") if w)
    return f"STEP {step.number} of {len(sheet.steps)}  {what}"


def step_how(step: WorkStep) -> str:
    """How the step is done: method, tool, coverage, note."""
    coverage = None if step.coverage_ml_m2 is None else f"{show.plain(step.coverage_ml_m2)} mL/m² a pass"
    how = ", ".join(w for w in (step.method, step.tool, coverage) if w)
    return ". ".join(w for w in (how, step.note) if w)


def in_lines(text: str, width: int, most: int, more: str) -> str:
    """A text in at most so many lines of a width; where it is cut, more stands at its end.

    >>> in_lines("warm thick and thin parts alike", 12, 2, " …")
    'warm thick\\nand thin …'
    """
    lines = wrap(text, width)
    if len(lines) <= most:
        return "\n".join(lines)
    last = wrap(lines[most - 1], width - len(more))
    return "\n".join([*lines[: most - 1], last[0] + more])


def clock(seconds: float) -> str:
    """Time as hours and minutes.

    >>> clock(59), clock(3725)
    ('0:00', '1:02')
    """
    minutes = int(seconds // 60)
    return f"{minutes // 60}:{minutes % 60:02d}"


def pass_figures(sheet: WorkSheet) -> tuple[str, str, str, str]:
    """Large, short, the word below, and its style."""
    asked, done, left = sheet.here.passes, sheet.passes_done, sheet.passes_to_go
    if left:
        return f"{done}/{asked}", str(done), f"{left} to go" if asked > 1 else "to do", "$primary"
    if done > asked:
        return f"{done}/{asked}", str(done), f"▲ {done - asked} more than asked", "$text-warning"
    return f"{done}/{asked}", str(done), f"✓ {next_hint(sheet)}", "$text-success"


def next_hint(sheet: WorkSheet) -> str:
    """What is next once this zone has its passes."""
    step = sheet.here
    if any(done < step.passes for done in step.done):
        return "done: z next zone"
    return "done: s next step" if step.number < len(sheet.steps) else "all done: x ends"


def pot_figures(sheet: WorkSheet) -> tuple[str, str, str, str]:
    """Volume left: large, its unit, the word below, and its style."""
    if sheet.here.solution is None:
        return "-", "", "nothing from a pot", "$text-muted"
    pot = sheet.pot
    if pot is None:
        return "?", "mL", "▲ no pot named: x", "$text-warning"
    litres = pot.left_ml >= 1000
    figure = show.number(pot.left_ml / 1000, 2) if litres else show.number(pot.left_ml, 0)
    unit = "L" if litres else "mL"
    if pot.past:
        return figure, unit, "▲ PAST ITS TIME", "$text-error"
    if pot.left_ml <= 0:
        return figure, unit, "▲ EMPTY", "$text-error"
    keeps = "keeps" if pot.use_until is None else f"use within {show.time_left(pot.use_until).removesuffix(' left')}"
    return figure, unit, keeps, "$primary"


def metal_figures(sheet: WorkSheet) -> tuple[str, str, str]:
    """True temperature: large, the word below, and its style."""
    window = sheet.here.window_c
    wanted = "no window asked" if window is None else f"want {window[0]:g} to {window[1]:g}"
    event = sheet.last_temperature
    if event is None or event.true_c is None:
        return "-", wanted, "$text-muted"
    figure = show.number(event.true_c, 0).replace(show.MINUS, "-")
    if window is None or event.step != sheet.step:
        return figure, wanted, "$primary"
    low, high = window
    if event.true_c > high:
        return figure, f"▲ {event.true_c - high:.0f} K TOO HOT", "$text-error"
    if event.true_c < low:
        return figure, f"▼ {low - event.true_c:.0f} K TOO COLD", "$text-warning"
    return figure, f"✓ in {low:g} to {high:g}", "$text-success"


def zones_words(prose: Prose, sheet: WorkSheet) -> None:
    """Each zone with a dot for each pass."""
    words = []
    for zone, done in zip(sheet.zones, sheet.here.done, strict=True):
        asked = sheet.here.passes
        dots = f"{done}/{asked}"
        if max(asked, done) <= MOST_DOTS:
            dots = "●" * done + "○" * max(asked - done, 0)
        words.append(f"{'▸' if zone.name == sheet.zone else ' '}{zone.name} {dots}")
    prose.text("   ".join(words), "bold")


def metal_words(sheet: WorkSheet, now: datetime | None = None) -> str:
    """The last reading: how long ago and how sure."""
    event = sheet.last_temperature
    if event is None:
        return "No reading of the metal yet: t writes one down."
    ago = max(((now or datetime.now(UTC)) - event.at).total_seconds(), 0.0)
    when = "just now" if ago < 60 else f"{show.hours(ago / 3600)} ago"
    error = event.said.get("error_k")
    sure = "" if error is None else f" ± {show.number(error, 0)}"
    return f"Metal {show.number(event.true_c or 0.0, 0)}{sure} °C {when}, zone {event.zone}"


def outlook_words(prose: Prose, outlook: Any) -> None:
    """Whether the pot lasts."""
    if outlook is None:
        return
    if outlook.outlook == "lasts":
        prose.text(f"✓ {outlook.words}", "$text-success")
    elif outlook.outlook == "cannot be told":
        prose.text(outlook.words, "$text-muted")
    else:
        prose.caution(outlook.words, grave=outlook.outlook == "runs out")


OFFLINE = (
    "THE DATABASE DOES NOT ANSWER. Keys here go into a journal on this machine and onto record by themselves "
    "when it is back. Nothing else works until then."
)

AWAY = "The database is away."


def offline_words(prose: Prose, tally: Tally) -> None:
    """That the database is away, since when, and how many keys wait."""
    since = f" since {tally.since.astimezone():%H:%M}" if tally.since is not None else ""
    keys = (
        "no key waits" if not tally.waiting else "1 key waits" if tally.waiting == 1 else f"{tally.waiting} keys wait"
    )
    prose.caution(
        f"NO DATABASE{since}: {keys} in this machine's journal. The tally goes on here; nothing else works.", grave=True
    )


def replayed(told: ReplaySheet) -> str:
    """What became of the journal when the database was back."""
    if not told.written and not told.there:
        words = "The database is back; nothing waited"
    else:
        keys = "1 key" if told.written + told.there == 1 else f"{told.written + told.there} keys"
        words = f"The database is back: {keys} of the journal on record, each once"
    if told.others:
        words += f". Meanwhile others wrote {told.others} on this work: look at the log (l)"
    if told.as_notes:
        words += f". Kept as a note: {'; '.join(told.as_notes)}"
    return words


def leaving_offline(waiting: int) -> str:
    """Before the screen is left without the database."""
    return (
        f"NO DATABASE: the other screens show nothing. {waiting} in the journal will wait for you on this machine. "
        "Escape again leaves."
    )


def to_take_back(sheet: WorkSheet) -> WorkEvent | None:
    """The newest event that stands and can be taken back."""
    kinds = ("start", "back", "resume", "end")
    return next((e for e in reversed(sheet.events) if not e.cancelled and e.kind not in kinds), None)


def state_words(sheet: WorkSheet, outlook: Any, strips: StripSheet | None = None, tally: Tally | None = None) -> Prose:
    """Zones, metal, pot, forecast, what the strip checks of the pot say, and whether the database is away."""
    prose = Prose()
    if tally is not None and tally.offline:
        offline_words(prose, tally)
    zones_words(prose, sheet)
    prose.text(metal_words(sheet), "$text-muted")
    outlook_words(prose, outlook)
    if strips is not None and strips.checks:
        weak = strips.advice not in ("use", "check first")
        (prose.caution if weak else prose.text)(f"Strip check: {strips.advice}. {strips.why}")
    for caution in sheet.pot.cautions if sheet.pot else ():
        prose.caution(caution)
    if sheet.clock_note:
        prose.caution(sheet.clock_note)
    return prose


# -- the safety strip --------------------------------------------------------------------------------


def strip_words(safety: SafetySheet, sheet: WorkSheet) -> Prose:
    """What to fear in this step: what kills first, then the pot, the fire, the air, the hands."""
    step = sheet.here
    prose = Prose()
    pot = next((s for s in safety.solutions if s.name == step.solution), None)
    names = [] if pot is None else [pot.name, *(name for name, _ in pot.shares)]
    near = [d for d in safety.dangers if pot is None or any(n in b for n in names for b in d.between)]
    for danger in (d for d in near if d.level == "critical"):
        prose.caution(f"MUST NOT MEET: {' + '.join(danger.between)}: {danger.consequence}.", grave=True)
    if pot is not None:
        _pot_words(prose, pot)
    mark = f"step {step.number},"
    gases = [g for g in safety.emits if mark in g.when or (pot is not None and pot.name in g.from_)]
    if gases:
        alarm = " Smell is no alarm." if any("mell is no alarm" in g.note for g in gases) else ""
        prose.caution(f"Gives off {', '.join(g.gas for g in gases)}: work under extraction.{alarm}")
    for danger in (d for d in near if d.level == "serious"):
        prose.caution(f"Keep apart: {' + '.join(danger.between)}: {danger.consequence}.")
    if step.method in ("torch", "stipple", "oven") or step.do in ("heat", "wax", "lacquer"):
        for line in safety.place[:1] if step.do not in ("wax", "lacquer") else safety.place:
            prose.caution(line)
    for line in safety.ppe:
        prose.caution(line)
    return prose


def _pot_words(prose: Prose, pot: Any) -> None:
    if any(u.class_code == "all classes" for u in pot.undecided):
        prose.caution(f"{pot.name}: hazards not known. Treat it as hazardous.", grave=True)
        return
    texts = [f"{c.h} {c.text.rstrip('.')}" for c in pot.classes if c.on_label]
    word = (pot.signal_word or "").upper()
    if texts or word:
        prose.caution(f"{word} {pot.name}: {'; '.join(texts)}", grave=word == "DANGER")
    if pot.undecided:
        codes = ", ".join(u.class_code for u in pot.undecided)
        prose.caution(f"{pot.name} may be {codes}: not decided, so take it that it is.")


# -- the log -----------------------------------------------------------------------------------------


def event_line(event: WorkEvent) -> str:
    """One thing that happened, in a line."""
    at = event.at.astimezone().strftime("%H:%M:%S")
    words = happened(event)
    return f"{at}  ({words}, taken back)" if event.cancelled else f"{at}  {words}"


def happened(event: WorkEvent) -> str:
    """What happened, without the time."""
    left = "" if event.left_ml is None else f", {show.number(event.left_ml, 0)} mL left"
    said = event.said
    water = "supply water" if said.get("supply") else "rinse"
    return {
        "start": "begun",
        "pass": f"pass {event.pass_number} {event.zone}{left}",
        "level": f"{show.number(event.left_ml or 0.0, 0)} mL left of {named(event.batch, event.batch_name)}",
        "temperature": f"{show.number(event.true_c or 0.0, 0)} °C {event.zone}",
        "note": f"note: {event.note}",
        "move": f"to step {event.step}, {event.zone}",
        "pot": f"pot {named(event.batch, event.batch_name)}{left}",
        "back": "taken back",
        "resume": "taken up again",
        "end": "ended",
        "release": "released for wax" if said.get("given") else "release withheld",
        "rinse": f"{water} {said.get('conductivity_us_cm')} µS/cm, pH {said.get('ph')}",
        "air": f"metal {said.get('metal_c')} °C, air {said.get('air_c')} °C, {said.get('air_rh_pct')} %",
        "coat": f"coat {said.get('coat')} of {said.get('product')}",
        "hours": f"{said.get('hours')} h {said.get('task')}",
    }[event.kind].replace("None", "not read")


def short_log(sheet: WorkSheet, lines: int) -> Prose:
    """The newest events, newest first."""
    prose = Prose()
    for event in list(reversed(sheet.events))[:lines]:
        prose.text(event_line(event), "$text-muted strike" if event.cancelled else "")
    return prose


def log_words(sheet: WorkSheet, readings: Sequence[LogLine], uses: Sequence[UseLine]) -> Prose:
    """Everything that happened, the temperatures with today's correction, planned against used."""
    prose = Prose().title(f"{sheet.row.id} on {sheet.row.target} {sheet.row.target_name}", sheet.row.recipe)
    prose.text(f"{step_title(sheet)}. {step_how(sheet.here)}", "$text-muted")
    if uses:
        prose.heading("Planned and used").bullets(f"{u.solution}: {u.words}" for u in uses)
    if readings:
        prose.heading("Temperatures, with what is known of emissivity today")
        for line in readings:
            then = (
                ""
                if line.today_c is None or abs(line.today_c - line.stored_c) < 0.5
                else (f" Taken for {show.number(line.stored_c, 0)} °C when it was read.")
            )
            prose.fact(f"step {line.step} {line.zone}", line.words + then)
    prose.heading("All that happened, newest first")
    for event in reversed(sheet.events):
        by = f"  {event.by}" if event.by else ""
        prose.text(f"{event.seq:>4}  {event.at.astimezone():%Y-%m-%d} {event_line(event)}{by}")
    return prose
