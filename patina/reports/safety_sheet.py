"""The safety sheet of a recipe: every pot with its classes and why, what must not meet, the air, and what to wear."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Any

from patina.language import shown
from patina.reports import figures
from patina.reports.document import (
    Block,
    Caution,
    Cell,
    Column,
    Document,
    Group,
    Heading,
    Items,
    Marks,
    Paragraph,
    Signatures,
    Table,
)
from patina.reports.precautions import precaution
from patina.reports.safety_words import danger_words, hazards
from patina.sheets import RecipeRelease, SafetySheet

if TYPE_CHECKING:
    from patina.safety.values import SolutionSafety

# First aid and spills: the statements of the response group, which begin with P3.
RESPONSE = re.compile(r"P3\d\d")
LEVELS = ("critical", "serious", "caution")


def safety_document(
    sheet: SafetySheet,
    *,
    recipe: str,
    record: str,
    made_on: date,
    studio: str = "",
    release: RecipeRelease | None = None,
    strength: str = "",
) -> Document:
    """The safety notes of a recipe as one report.

    recipe: its name. record: its id and revision. release: where the revision stands, and the reasons that were
    written. strength: in words, where it is not the recipe's.
    """
    facts = [("recipe", record), ("rules", sheet.regime), ("pots", str(len(sheet.solutions)))]
    if release is not None:
        facts.append(("released", release.state))
    if strength:
        facts.append(("strength", strength))
    blocks: list[Block] = [*critical_blocks(sheet), Caution(sheet.caution, level="caution"), Heading("Each pot")]
    for solution in sheet.solutions:
        blocks += _pot(solution)
    blocks += rest_blocks(sheet)
    if release is not None:
        blocks += _release(release)
    blocks.append(Signatures((("read by", "", ""), ("date", "", ""))))
    return Document(
        kind="Safety sheet",
        title=recipe,
        subtitle="At the strength it is mixed.",
        record=record,
        made_on=made_on,
        facts=tuple(facts),
        blocks=tuple(blocks),
        footer=", ".join(w for w in (studio, figures.day(made_on)) if w),
    )


def critical_blocks(sheet: SafetySheet) -> tuple[Block, ...]:
    """The dangers that can kill, to stand first."""
    return tuple(_critical(danger_words(d)) for d in sheet.dangers if d.level == LEVELS[0])


def _critical(words: dict[str, str]) -> Block:
    return Caution(words["consequence"], lead=f"{words['between']}.", do=words["instead"], level="critical")


def safety_blocks(sheet: SafetySheet) -> tuple[Block, ...]:
    """Pots, dangers, air, what to wear and the rest, as they stand on a batch sheet."""
    pots: list[Block] = []
    for solution in sheet.solutions:
        pots.append(Group(tuple(_pot_short(hazards(solution)))))
    return (Caution(sheet.caution, level="caution"), *pots, *rest_blocks(sheet))


def _pot_short(h: dict[str, Any]) -> list[Block]:
    blocks: list[Block] = [Marks(tuple(h["pictograms"]), h["signal"], name=h["name"], text=h["density"])]
    blocks += [Paragraph(s["text"], lead=s["code"]) for s in h["statements"]]
    if h["precautions"]:
        blocks.append(Paragraph(" ".join(precaution(code).text for code in h["precautions"]), size="small"))
    if h["none"]:
        blocks.append(Paragraph(h["none"]))
    blocks += [Paragraph(u, lead="Not decided") for u in h["undecided"]]
    return blocks + [Paragraph(n) for n in h["notes"]]


def _pot(solution: SolutionSafety) -> list[Block]:
    h = hazards(solution)
    head = _pot_short({**h, "statements": [], "precautions": [], "undecided": [], "notes": []})
    columns = (Column("statement", "62mm"), Column("class", "30mm"), Column("because", "1fr"))
    notes = (*solution.classes, *solution.supplemental)
    rows = tuple(
        (
            Cell(n.text, n.h, foot="" if n.on_label else "covered by another statement on the label"),
            Cell(n.class_code or "supplemental"),
            Cell(small=(_substances_shown(n.why, solution),), text=""),
        )
        for n in notes
    )
    blocks: list[Block] = [*head]
    if rows:
        blocks.append(Table(columns, rows))
    blocks += [Paragraph(_substances_shown(u, solution), lead="Not decided") for u in h["undecided"]]
    blocks += [Paragraph(n) for n in h["notes"]]
    if h["precautions"]:
        blocks += [Heading("Precautions", 3), Items(tuple(_code_and_words(code) for code in h["precautions"]))]
    if solution.shares:
        said = ", ".join(f"{shown(name)} {figures.plain(pct, 2)} %" for name, pct in solution.shares)
        blocks.append(Paragraph(f"{said} (by weight).", lead="What is in it:", size="small"))
    return blocks


def _substances_shown(why: str, solution: SolutionSafety) -> str:
    """A reason with the names of substances as the reader reads them: in it a name stands before its share without
    a mark between, so a sentence known only as a whole does not show where the name ends."""
    names = {name: shown(name) for name, _ in solution.shares}
    known = "|".join(re.escape(name) for name in sorted(names, key=len, reverse=True))
    if known:
        why = re.sub(rf"(^|[:,;] |\()({known})(?= \d)", lambda found: found[1] + names[found[2]], why)
    return why


def _code_and_words(code: str) -> str:
    known = precaution(code)
    return f"{known.code}: {known.text}" if known.code else known.text


def rest_blocks(sheet: SafetySheet) -> tuple[Block, ...]:
    """What must not meet, the air, what to wear, to make ready, first aid, waste."""
    by_gravity = sorted(sheet.dangers, key=lambda d: LEVELS.index(d.level) if d.level in LEVELS else len(LEVELS))
    words = [danger_words(d) for d in by_gravity if d.level != LEVELS[0]]
    blocks: list[Block] = [_danger(w) for w in words]
    if sheet.emits:
        blocks += [Heading("In the air"), _air(sheet)]
    aid = tuple(w for w in sheet.place if RESPONSE.match(w))
    ready = tuple(w for w in sheet.place if w not in aid)
    blocks += [*_ticks("Wear", sheet.ppe), *_ticks("Make ready", ready)]
    if aid:
        blocks += [Heading("If it goes wrong"), *(Paragraph(words) for words in aid)]
    return (*blocks, *_ticks("Waste", sheet.waste))


def _ticks(name: str, items: tuple[str, ...]) -> list[Block]:
    return [Heading(name), Items(tuple(items), "ticks")] if items else []


def _danger(words: dict[str, str]) -> Block:
    level = "serious" if words["level"] == "serious" else "mind"
    lead = f"{words['between']}." if level == "serious" else f"{words['level'].upper()}: {words['between']}."
    return Caution(words["consequence"], lead=lead, do=words["instead"], level=level)  # type: ignore[arg-type]


def _air(sheet: SafetySheet) -> Block:
    columns = (Column("gas, vapour or mist", "36mm"), Column("from, when", "1fr"), Column("limits", "67mm"))
    rows = tuple(
        (
            Cell(strong=e.gas, small=(e.formula,) if e.formula else ()),
            Cell(small=(f"{shown(e.from_)}: {shown(e.when)}", *([e.note] if e.note else []))),
            Cell(small=tuple(f"{x.who} {x.value}" for x in e.limits) or ("no limit is known here",)),
        )
        for e in sheet.emits
    )
    return Table(columns, rows)


def _release(release: RecipeRelease) -> list[Block]:
    blocks: list[Block] = [Heading("Release"), Paragraph(release.words)]
    blocks += [Paragraph(b, lead="Stands against it:") for b in release.blocks]
    columns = (Column("danger", "1fr"), Column("why it is safe as the work is done here", "1fr"), Column("who, when"))
    rows = tuple(
        (Cell(danger_words(d.danger)["between"]), Cell(a.reason), Cell(f"{a.by}, {figures.day(a.at)}"))
        for d in release.dangers
        for a in d.answers
    )
    return [*blocks, Table(columns, rows)] if rows else blocks
