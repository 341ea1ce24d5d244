"""Printing: ask what and in which form, then where to, then set it in a thread that says how far it is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tui.dialogs.choose import Choose
from tui.dialogs.path import AskPath

if TYPE_CHECKING:
    from patina.sheets import MixSheet
    from tui.jobs import Ticket
    from tui.screens.base import Base

Progress = Callable[[int, int, str], None]
ENDINGS = (".pdf", ".svg", ".png")
# ending, what the form is
FORMS = ((".pdf", "on paper and for the archive (PDF/A)"), (".html", "as a page for a browser (HTML)"))


@dataclass(frozen=True)
class Sheet:
    """Something that can be printed. what: in words. name: what its file is called at first."""

    what: str
    name: str
    write: Callable[[Path, Progress], Any]


def ask_sheets(screen: Base, sheets: Sequence[Sheet]) -> None:
    """Ask which of the sheets, and whether on paper or as a page; then where to, and write it."""
    options = [
        (f"{n}{ending}", f"{sheet.what[:1].upper()}{sheet.what[1:]}, {form}")
        for n, sheet in enumerate(sheets)
        for ending, form in FORMS
    ]

    def taken(chosen: str) -> None:
        number, dot, ending = chosen.partition(".")
        sheet = sheets[int(number)]
        _ask_place(screen, sheet, (dot + ending,))

    screen.ask(Choose("Print", options), taken)


def ask_print(screen: Base, what: str, name: str, write: Callable[[Path], Any]) -> None:
    """Ask for a path, then write. what: the sheet in words. name: what the file is called at first."""
    _ask_place(screen, Sheet(what, name, lambda path, _progress: write(path)), ENDINGS)


def _ask_place(screen: Base, sheet: Sheet, endings: tuple[str, ...]) -> None:
    plain = "-".join("".join(c if c.isalnum() else " " for c in sheet.name.lower()).split())
    folder = Path(screen.studio.where) if Path(screen.studio.where).is_dir() else Path.cwd()
    before = f"Ends in {endings[0]}."
    if len(endings) > 1:
        before = "Ends in .pdf; .svg and .png are written too where that is its ending."
    value = str(folder / f"{plain}{endings[0]}")
    dialog = AskPath(f"Write the {sheet.what}", endings, value=value, must_exist=False, before=before)
    screen.ask(dialog, lambda path: _write(screen, sheet, path))


def _write(screen: Base, sheet: Sheet, path: Path) -> None:
    def done(written: Any) -> None:
        if screen.is_attached:
            paths = written if isinstance(written, tuple) else (path,)
            screen.said(f"Written: {', '.join(str(p) for p in paths)}")

    def work(ticket: Ticket[Any]) -> Any:
        return sheet.write(path, lambda _done, _of, words: ticket.say(words))

    screen.patina.jobs.start(f"Setting the {sheet.what}", work, done)


def print_mix(screen: Base, mix: MixSheet) -> None:
    """What can be printed of a mix that is not yet a pot."""
    from patina.bench.paper import printing

    sheets = [Sheet("batch sheet", f"batch {mix.recipe}", lambda path, told: printing.batch_sheet(mix, path, told))]
    if (recipe := mix.recipe_id) is not None:
        sheets.append(safety_of(screen, recipe, mix.recipe, mix.revision))
    ask_sheets(screen, sheets)


def print_pot(screen: Base, pot: str, name: str) -> None:
    """What can be printed of a pot on the bench; its label has the size of the bottle, so it is no page."""
    from patina.bench.paper import printing

    sheet = Sheet(
        "batch sheet", f"batch {pot}", lambda path, told: printing.batch_record(screen.studio, pot, path, told)
    )
    label = [("label", "Bottle label, in the size of the bottle (PDF)")]
    paper = [(ending, f"Batch sheet of the pot, {form}") for ending, form in FORMS]

    def taken(chosen: str) -> None:
        if chosen == "label":
            ask_print(
                screen,
                "bottle label",
                f"label {pot} {name}",
                lambda path: printing.batch_label(screen.studio, pot, path),
            )
        else:
            _ask_place(screen, sheet, (chosen,))

    screen.ask(Choose("Print", [*label, *paper]), taken)


def safety_of(screen: Base, recipe: str, name: str, revision: int | None = None) -> Sheet:
    """The safety sheet of a recipe."""
    from patina.bench.paper import printing

    def write(path: Path, told: Progress) -> Any:
        return printing.safety_sheet(screen.studio, recipe, path, revision=revision, progress=told)

    return Sheet("safety sheet", f"safety {name}", write)


def print_tile(screen: Base, tile: str) -> None:
    """What can be printed of a tile."""
    from patina.bench.paper import printing

    ask_sheets(
        screen,
        [
            Sheet(
                "tile record", f"tile {tile}", lambda path, told: printing.tile_record(screen.studio, tile, path, told)
            )
        ],
    )


def print_cast(screen: Base, cast: str, piece: str) -> None:
    """What can be printed of a cast: finish record, owner's sheet, report of its series and of each treatment."""
    from patina.bench.paper import printing
    from patina.bench.paper.owner import print_owner_sheet
    from patina.bench.treating.treat import list_treatments

    def finish(path: Path, told: Progress) -> Any:
        return printing.finish_record(screen.studio, cast, path, progress=told)

    treatments = [treatment_of(screen, t.id, t.name) for t in list_treatments(screen.studio, cast=cast)]
    record = Sheet("finish record", f"cast {cast}", finish)
    owner = Sheet("owner's sheet", f"owner {cast}", lambda path, _told: print_owner_sheet(screen.studio, cast, path))
    ask_sheets(screen, [record, owner, series_of(screen, piece), *treatments])


def print_agreed(screen: Base, master: str, name: str) -> None:
    """What can be printed of an agreed finish."""
    from patina.bench.paper import print_reports

    def write(path: Path, told: Progress) -> Any:
        return print_reports.agreed_finish(screen.studio, master, path, progress=told)

    ask_sheets(screen, [Sheet("agreed finish", f"agreed {master} {name}", write)])


def series_of(screen: Base, piece: str, order: str = "number") -> Sheet:
    """The report of an edition."""
    from patina.bench.paper import print_reports

    def write(path: Path, told: Progress) -> Any:
        return print_reports.series_report(screen.studio, piece, path, order=order, progress=told)

    return Sheet("series report", f"series {piece}", write)


def treatment_of(screen: Base, treatment: str, name: str) -> Sheet:
    """The report of a conservator's treatment."""
    from patina.bench.paper import print_reports

    def write(path: Path, told: Progress) -> Any:
        return print_reports.treatment_report(screen.studio, treatment, path, told)

    return Sheet(f"treatment report ({treatment}, {name})", f"treatment {treatment}", write)
