"""A table on its way in, in words: its columns, one column's questions, what would be kept and what not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import cell_len, set_cell_size
from textual.content import Content

from patina.language import shown
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.sheets.bringing import BringPlan, BringQuestion, BroughtSheet, PicturesSheet

SHOWN = 200


def flat(text: str, width: int) -> str:
    """A text in one line of so many cells."""
    line = " ".join(text.split())
    return set_cell_size(line if cell_len(line) <= width else line[: width - 1] + "…", width)


def questions_at(plan: BringPlan, heading: str) -> tuple[BringQuestion, ...]:
    """The questions of a column; of an empty heading those of every row."""
    return tuple(q for q in plan.questions if q.heading == heading)


def column_line(plan: BringPlan, at: int, width: int) -> Content:
    """One column: heading, what it means, first cells; a sign where something is open."""
    column = plan.mapping.columns[at]
    asked = questions_at(plan, column.heading)
    still = sum(not q.answer for q in asked)
    sign = f"? {still}" if still else ("✓" if asked else "")
    meaning = (f"{column.field} of {column.substance}" if column.substance else column.field) or "— left out"
    third = max(14, (width - 8) // 3)
    style = "$text-muted" if not column.field else "bold"
    made = Content.styled(flat(column.heading, third), style) + Content("  ") + Content(flat(shown(meaning), third))
    made += Content("  ") + Content.styled(
        flat(" | ".join(plan.samples[at]), max(8, width - 2 * third - 10)), "$text-muted"
    )
    return made + Content(" ") + Content.styled(sign, "bold $text-warning" if still else "$text-success")


def every_line(question: BringQuestion, width: int) -> Content:
    """One thing that is said for every row."""
    words = flat(shown(f"every row: {question.about}"), max(14, (width - 8) // 3))
    answer = Content(question.answer) if question.answer else Content.styled(shown("? open"), "bold $text-warning")
    return Content.styled(words, "bold") + Content("  ") + answer


def head_words(plan: BringPlan) -> str:
    """File, sheet, kind and what is open, in two lines."""
    sheets = f", sheet {plan.sheet}" if len(plan.sheets) > 1 else ""
    still = len(plan.open)
    asks = f"{still} questions are open" if still != 1 else "1 question is open"
    if not still:
        asks = "nothing is open"
    missing = f"; no column gives: {', '.join(plan.missing)}" if plan.missing else ""
    what = f"{plan.file}{sheets}: {plan.rows} rows of {plan.mapping.kind}, headings in row {plan.header_row}"
    return f"{what}\n{asks}{missing}"


def column_words(plan: BringPlan, heading: str, samples: tuple[str, ...]) -> Prose:
    """What stands in a column and what is asked of it."""
    prose = Prose()
    if samples:
        prose.fact("Cells", " | ".join(" ".join(s.split()) for s in samples))
    for q in questions_at(plan, heading):
        where = f" ({', '.join(q.cells[:3])})" if q.cells else ""
        if q.answer:
            prose.fact("Answered", f"{q.asks}{where} {q.answer}")
        else:
            prose.caution(f"{q.asks}{where}  A answers it.")
    return prose


def came_words(came: BroughtSheet) -> Prose:
    """Every row: kept or not, with its reason."""
    prose = Prose().title(came.in_words)
    for note in came.notes:
        prose.text(note, "$text-muted")
    left = [r for r in came.refused if not r.here]
    here = [r for r in came.refused if r.here]
    if left:
        prose.heading(f"Not brought in ({len(left)})")
        for r in left[:SHOWN]:
            prose.caution(f"Row {_rows(r.rows)}: {r.reason}")
    prose.heading(f"{'Brought in' if came.stored else 'Would be brought in'} ({len(came.brought)})")
    for b in came.brought[:SHOWN]:
        prose.text(f"{b.record if came.stored else '·'} {b.name}".strip() + f"   row {_rows(b.rows)}", "bold")
        prose.text("; ".join(f"{label}: {' '.join(text.split())}" for label, text in b.values), "$text-muted", indent=2)
        for note in b.notes:
            prose.bullets([note], "\N{BLACK UP-POINTING TRIANGLE}", "$text-warning")
    if len(came.brought) > SHOWN:
        prose.text(f"… and {len(came.brought) - SHOWN} more")
    if here:
        prose.heading(f"Here already ({len(here)})")
        prose.bullets(f"Row {_rows(r.rows)}: {r.reason}" for r in here[:SHOWN])
    return prose


def _rows(numbers: tuple[int, ...]) -> str:
    if len(numbers) < 3:
        return ", ".join(map(str, numbers))
    return f"{numbers[0]} to {numbers[-1]}"


def pictures_words(came: PicturesSheet) -> Prose:
    """Every photograph: where it goes, or why it does not."""
    verb = "put with their records" if came.stored else "would be put with their records"
    prose = Prose().title(f"{len(came.taken)} of {len(came.pictures)} photographs {verb}")
    if came.left:
        prose.heading(f"Not taken ({len(came.left)})")
        for p in came.left[:SHOWN]:
            prose.caution(f"{p.file}: {p.reason}")
    prose.heading("With their records")
    for p in came.taken[:SHOWN]:
        more = "; ".join(w for w in (f"by its {p.how}", p.taken, p.state) if w)
        prose.fact(p.target, f"{p.file}   {more}")
        if p.measurable is False:
            prose.text("no chart: kept as a picture, not to be measured", "$text-warning", indent=16)
    return prose
