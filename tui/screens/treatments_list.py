"""Treatments in the Casts place: their list, opening and beginning one, and the care that is due."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patina.bench.treating import treat
from patina.bench.treating.treat_care import care_rows
from tui import format as show
from tui.screens.place import Shelfful
from tui.screens.treatment_sections import care_due_words, treatment_overview
from tui.widgets.record_list import Line

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patina.sheets.casts import CastRow
    from patina.sheets.treatment import CareRow, TreatmentHeadRow, TreatmentSheet
    from tui.screens.base import Base
    from tui.screens.casts import Casts


def treatments_shelf(screen: Casts) -> Shelfful:
    """The list of treatments."""
    return Shelfful(
        "treatments",
        lambda text: treat.list_treatments(screen.studio, text),
        treatment_line,
        lambda id: treat.treatment_sheet(screen.studio, id),
        treatment_overview,
        "No conservator's treatment yet.\nPress n and say of which cast.\n"
        "An old bronze is first added to the casts: v, n.",
    )


def treatment_line(row: TreatmentHeadRow) -> Line:
    """A treatment as the list shows it."""
    ended = f"finished {show.day(row.finished_on)}" if row.finished_on else "open"
    below = "  ".join(word for word in (f"{row.title} {row.number}".strip(), row.owner) if word)
    return Line(row.id, row.name, f"{row.id}  {below}", badge=ended)


def open_treatment(screen: Casts, treatment: str) -> None:
    """Open a treatment to work on it; the list and the care that is due are read again afterwards."""
    from tui.screens.treatment import Treatment

    def back(_answer: object) -> None:
        screen.load()
        tell_care(screen)

    screen.app.push_screen(Treatment(treatment), back)


def begin_for_a_cast(screen: Casts) -> None:
    """Begin a treatment from the list of treatments: first, of which cast."""
    from patina.bench.pieces.casts import list_casts
    from tui.dialogs.choose import Choose
    from tui.dialogs.treatment import begin_form

    def chosen(id: str, names: dict[str, str]) -> None:
        form = begin_form(screen.studio, id, names[id])
        screen.ask(form, lambda sheet: open_treatment(screen, sheet.id))

    def found(rows: Sequence[CastRow]) -> None:
        names = {row.id: f"{row.piece} {row.number}".strip() for row in rows}
        if not names:
            screen.said("There is no cast yet: v changes to the casts, n adds one.")
            return
        options = [(id, f"{id}  {name}") for id, name in names.items()]
        screen.ask(Choose("Begin a treatment of which cast?", options), lambda id: chosen(id, names))

    screen.work("Reading the casts", lambda: list_casts(screen.studio), found, key="casts-to-treat")


def conserve(screen: Casts, cast: str, name: str) -> None:
    """Open a treatment of the cast: the only one, one that is chosen, or a new one."""
    from tui.dialogs.choose import Choose
    from tui.dialogs.treatment import begin_form

    def begin() -> None:
        screen.ask(begin_form(screen.studio, cast, name), lambda sheet: open_treatment(screen, sheet.id))

    def found(rows: tuple[TreatmentHeadRow, ...]) -> None:
        if not rows:
            begin()
            return
        options = [(row.id, f"{row.id}  {row.name}") for row in rows]
        options.append(("new", "begin another treatment"))
        screen.ask(
            Choose(f"Treatments of {name}", options), lambda id: begin() if id == "new" else open_treatment(screen, id)
        )

    screen.work(
        "Looking for treatments", lambda: treat.list_treatments(screen.studio, cast=cast), found, key="conserve"
    )


def plot_salts(screen: Base, sheet: TreatmentSheet | None) -> None:
    """What salts are out against the root of time, or a word where no bath was read."""
    from tui.screens.plots import Plots
    from tui.screens.treatment_plots import of_extractions

    plots = () if sheet is None else of_extractions(sheet)
    if plots:
        screen.app.push_screen(Plots(plots))
    else:
        screen.said("No bath has been read: n in the section of salts begins an extraction.")


def tell_care(screen: Casts) -> None:
    """Say on one line how much care is due, and of whom; nothing where none is."""
    screen.work(
        "Looking for care that is due", lambda: care_rows(screen.studio), screen.show_care, quiet=True, key="care"
    )


def care_line(rows: tuple[CareRow, ...]) -> str:
    """How much care is due, in one line; empty where none is."""
    due = [row for row in rows if row.status.due]
    if not due:
        return ""
    owners = list(dict.fromkeys(row.owner or "owner not said" for row in due))
    more = f" and {len(owners) - 1} more" if len(owners) > 1 else ""
    return f"▲ care due: {len(due)}, {owners[0]}{more} (k)"


def show_all_care(screen: Casts) -> None:
    """All care that is due or soon due, to be read."""
    from tui.dialogs.message import Notes

    def told(rows: tuple[CareRow, ...]) -> None:
        screen.app.push_screen(Notes("Care that is due", care_due_words(rows)))

    screen.work("Looking for care that is due", lambda: care_rows(screen.studio), told, key="care-all")
