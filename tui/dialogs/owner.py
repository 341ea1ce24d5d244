"""What the owner of a cast is given, and what was given to whom."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.paper import owner, owner_giving
from patina.errors import BadQuantity
from patina.sheets import OwnerCare
from tui import format as show
from tui.dialogs.choose import Choose
from tui.dialogs.form import Field, Form
from tui.dialogs.message import Notes
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.sheets import HandoverRow
    from tui.screens.base import Base

_SHOW = tuple(owner.SHOWN)
_OF_CAST = (
    ("sheet", "Owner's sheet: see it"),
    ("care", "Care, wax, next check and whom to ask: write it"),
    ("give", "Hand the owner's sheet over: print it and write it down"),
)
_ALWAYS = (
    ("loan", "A tile on loan, a recipe under licence, a file: hand it over"),
    ("given", "What was given to whom"),
    ("back", "Something came back, or a licence ended"),
    ("list", "Transfer list, for a change of foundry or an estate"),
)


def ask_owner(screen: Base, cast: str | None) -> None:
    """Offer what there is to do about owners and handing over."""
    options = [*(_OF_CAST if cast else ()), *_ALWAYS]
    screen.ask(
        Choose(f"Owner of {cast}" if cast else "Handing over", options), lambda way: _do(screen, cast or "", way)
    )


def _do(screen: Base, cast: str, way: str) -> None:
    studio = screen.studio
    if way == "sheet":
        screen.work("Reading", lambda: owner.owner_sheet(studio, cast), lambda s: _notes(screen, sheet_words(s), cast))
    elif way == "care":
        screen.ask(care_form(screen, cast), lambda _: screen.said("Written down for the owner."))
    elif way == "give":
        screen.ask(give_form(screen, cast, "owner's sheet"), lambda row: _given(screen, row))
    elif way == "loan":
        screen.ask(give_form(screen, "", ""), lambda row: _given(screen, row))
    elif way == "given":
        screen.work("Reading", lambda: owner.given(studio), lambda rows: _show_given(screen, rows))
    elif way == "back":
        screen.work("Reading", lambda: owner.given(studio, out=True), lambda rows: _ask_back(screen, rows))
    else:
        screen.ask(transfer_form(screen), lambda path: screen.said(f"Written: {path}"))


def _notes(screen: Base, prose: Prose, what: str) -> None:
    screen.app.push_screen(Notes(f"Owner's sheet of {what}", prose))


def _given(screen: Base, row: HandoverRow) -> None:
    screen.said(f"{row.id}: {row.kind}, {row.what}, to {row.to}.")


def sheet_words(sheet: Any) -> Prose:
    """The owner's sheet to be read."""
    prose = Prose().title(sheet.title, " ".join(w for w in (sheet.maker, sheet.edition) if w))
    prose.text(sheet.finish)
    if sheet.cast.row.lab is not None:
        prose.colour(sheet.cast.row.lab, "this cast")
    care = sheet.care
    prose.heading("Care").text(care.care or "Care is not written down yet.")
    prose.fact("on the finish", care.wax or "not written down")
    prose.fact("next check", "not written down" if care.next_check is None else show.day(care.next_check))
    prose.fact("whom to ask", care.ask or "not written down")
    for one in sheet.recipes:
        prose.heading(f"{one.name}, revision {one.revision}").bullets(one.lines)
        if one.withheld:
            prose.text("Quantities are held by the studio.", "$text-muted")
        for name, word, statements in one.safety:
            prose.caution(f"{name}: {word or 'no signal word'}", "; ".join(statements))
    return prose


def care_form(screen: Base, cast: str) -> Form:
    """What the owner of a cast is told."""
    now = owner.care_of(screen.studio, cast)
    fields = [
        Field("care", "Care", "wash with rain water in spring; wax once a year", now.care),
        Field("wax", "On the finish", "microcrystalline wax, two coats, May 2026", now.wax),
        Field("next_check", "Next check", "2027-05-01", "" if now.next_check is None else now.next_check.isoformat()),
        Field("ask", "Whom to ask", "name and where to reach them", now.ask),
    ]

    def keep(values: Mapping[str, str]) -> OwnerCare:
        day = _day(values["next_check"], "next_check")
        return owner.write_care(screen.studio, cast, OwnerCare(values["care"], values["wax"], day, values["ask"]))

    return Form(f"What the owner of {cast} is told", fields, keep)


def give_form(screen: Base, record: str, kind: str) -> Form:
    """Hand something over: what, to whom, on which terms, in which file."""
    file = str(Path.cwd() / f"owner-{record}.pdf") if record else ""
    fields = [
        Field("record", "What", "C1 a cast, R1 a recipe, T1 a tile", record),
        Field("kind", "As", "empty: as the record says", kind, owner_giving.KINDS),
        Field("to", "To", "person or house"),
        Field("as_what", "Who is", "owner, foundry, estate, client"),
        Field("terms", "Terms", "what was agreed about it"),
        Field("file", "File", "owner.pdf or .html is printed; a recipe's .toml is written", file),
        Field("show", "Recipes", ", ".join(_SHOW), "steps", _SHOW),
        Field("back_by", "Back by", "2027-05-01; empty: no day"),
    ]

    def keep(values: Mapping[str, str]) -> HandoverRow:
        entry = owner_giving.Giving(
            kind=values["kind"] or owner_giving.kind_of(values["record"]),
            record=values["record"],
            to=values["to"],
            as_what=values["as_what"],
            terms=values["terms"],
            file=Path(values["file"]).expanduser() if values["file"] else None,
            back_by=_day(values["back_by"], "back_by"),
            show=values["show"] or "steps",
        )
        return owner_giving.give(screen.studio, entry)

    return Form("Hand over", fields, keep, yes="Hand over")


def transfer_form(screen: Base) -> Form:
    """Print the transfer list."""
    fields = [
        Field("to", "Only of", "a holder's name; empty: all"),
        Field("file", "File", "transfer.pdf or .html", str(Path.cwd() / "transfer.pdf")),
    ]

    def keep(values: Mapping[str, str]) -> Path:
        path = Path(values["file"]).expanduser()
        return owner_giving.print_transfer_list(screen.studio, path, values["to"])[0]

    return Form("Transfer list", fields, keep, yes="Write")


def _show_given(screen: Base, rows: tuple[HandoverRow, ...]) -> None:
    prose = Prose()
    for row in rows:
        ends = f"came back {show.day(row.came_back)}" if row.came_back else ""
        due = f"back by {show.day(row.back_by)}" if row.back_by and not ends else ""
        prose.heading(f"{row.id}  {row.kind}: {row.what}")
        prose.fact("to", f"{row.to}{f' ({row.as_what})' if row.as_what else ''}, {show.day(row.given_on)}")
        for label, text in (("terms", row.terms), ("file", row.file_name), ("SHA-256", row.sha256), ("", ends or due)):
            if text:
                prose.fact(label or "end", text)
    if not rows:
        prose.text("Nothing was given to anybody yet.")
    screen.app.push_screen(Notes("What was given to whom", prose))


def _ask_back(screen: Base, rows: tuple[HandoverRow, ...]) -> None:
    if not rows:
        screen.said("Nothing is out: no loan and no licence.")
        return
    options = [(r.id, f"{r.id}  {r.what}, with {r.to} since {show.day(r.given_on)}") for r in rows]

    def back(id: str) -> None:
        screen.work("Writing", lambda: owner_giving.take_back(screen.studio, id), lambda row: _back(screen, row))

    screen.ask(Choose("What came back?", options), back)


def _back(screen: Base, row: HandoverRow) -> None:
    screen.said(f"{row.what} came back from {row.to}.")


def _day(text: str, field: str) -> date | None:
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise BadQuantity(f"'{text}' is no day.", "Write it as 2027-05-01.", field=field) from None
