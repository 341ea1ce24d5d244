"""Archive bundles by keys: one made of a record or the studio, one proved, one taken in, one handed over."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.paper import archive
from patina.errors import BadQuantity
from patina.sheets.named import named
from tui import format as show
from tui.dialogs.choose import Choose
from tui.dialogs.form import Field, Form
from tui.dialogs.message import Notes
from tui.dialogs.path import AskPath
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.sheets.access import HandoverRow
    from patina.sheets.archive import BundleSheet, TakenSheet
    from tui.jobs import Ticket
    from tui.screens.base import Base

ENDINGS = (".zip",)
# letters of the records that a bundle can be made of
MADE_OF = ("W", "C", "M", "R", "T", "CT")
_ALWAYS = (
    ("studio", "The whole studio, as one file"),
    ("verify", "A bundle: prove it"),
    ("take", "A bundle: take it in"),
    ("keep", "A bundle: take it in; what is here with another content stays"),
    ("give", "A bundle: hand it over, with a receipt to sign"),
)


def ask_archive(screen: Base, record: str | None, done: Callable[[], None] = lambda: None, called: str = "") -> None:
    """Offer what there is to do about bundles. record: id of the one chosen; called: its
    name. done: called when records came in."""
    mine = []
    if record is not None and record.rstrip("0123456789") in MADE_OF:
        mine = [
            (f"all {record}", f"{named(record, called)} with all that belongs to it, as one file"),
            (f"owner {record}", f"{named(record, called)} for its owner: without what is withheld"),
        ]
    screen.ask(Choose("Archive", [*mine, *_ALWAYS]), lambda way: _do(screen, way, done))


def _do(screen: Base, way: str, done: Callable[[], None]) -> None:
    if way == "verify":
        screen.ask(AskPath("Prove an archive bundle", ENDINGS), lambda path: _verify(screen, path))
    elif way in ("take", "keep"):
        heading = "Take in an archive bundle"
        screen.ask(AskPath(heading, ENDINGS), lambda path: take_in(screen, path, done, keep_ours=way == "keep"))
    elif way == "give":
        screen.ask(give_form(screen), lambda row: screen.said(f"{row.id}: {row.what}, to {row.to}."))
    else:
        kind, _, target = way.partition(" ")
        name = f"{target or 'studio'}{'-owner' if kind == 'owner' else ''}.zip"
        before = "Opens as a ZIP file, without this program."
        value = str(Path.cwd() / name)
        dialog = AskPath("Write the archive bundle", ENDINGS, value=value, must_exist=False, before=before)
        screen.ask(dialog, lambda path: _make(screen, target or "studio", kind, path))


def _make(screen: Base, target: str, kind: str, path: Path) -> None:
    made_for = "owner" if kind == "owner" else "everyone"

    def work(ticket: Ticket[Any]) -> BundleSheet:
        return archive.archive(screen.studio, target, path, made_for=made_for, progress=ticket.say)

    def done(sheet: BundleSheet) -> None:
        if screen.is_attached:
            screen.app.push_screen(Notes(f"Written: {path.name}", bundle_words(sheet)))

    screen.patina.jobs.start("Writing the archive bundle", work, done, key="archive")


def _verify(screen: Base, path: Path) -> None:
    def done(sheet: BundleSheet) -> None:
        if screen.is_attached:
            screen.app.push_screen(Notes(f"{path.name} is what it says, to the byte", bundle_words(sheet)))

    screen.patina.jobs.start("Proving", lambda ticket: archive.verify(path, ticket.say), done, key="archive")


def take_in(screen: Base, path: Path, then: Callable[[], None], *, keep_ours: bool = False) -> None:
    """Take a bundle in, and say what came of it."""

    def work(ticket: Ticket[Any]) -> TakenSheet:
        return archive.take_in(screen.studio, path, keep_ours=keep_ours, progress=ticket.say)

    def done(sheet: TakenSheet) -> None:
        if screen.is_attached:
            then()
            screen.app.push_screen(Notes(f"Taken in: {path.name}", taken_words(sheet)))

    screen.patina.jobs.start("Taking in the bundle", work, done, key="archive")


def bundle_words(sheet: BundleSheet) -> Prose:
    """What a bundle holds."""
    prose = Prose().heading(sheet.called)
    prose.fact("holds", f"{show.times(sheet.records, 'record')}, {show.times(sheet.photographs, 'photograph')}")
    prose.fact("log", f"{sheet.log_entries} of {show.times(sheet.log_n, 'change')} in full")
    prose.fact("size", f"{sheet.size_bytes} bytes").fact("SHA-256", sheet.sha256).fact("made for", sheet.made_for)
    for heading, lines in (
        ("Withheld by the studio", sheet.withheld),
        ("Left empty", sheet.left_out),
        ("Photographs that were gone or damaged", sheet.missing),
        ("Not printed", sheet.not_printed),
    ):
        if lines:
            prose.heading(heading).bullets(lines)
    return prose


def taken_words(sheet: TakenSheet) -> Prose:
    """What came of a bundle, with every number that is another here."""
    prose = Prose().heading(sheet.called)
    prose.text(sheet.words() if sheet.records else "Everything in it is here already.")
    if sheet.kept:
        prose.heading("Stayed as it is here").bullets(sheet.kept)
    if sheet.renumbered:
        prose.heading("Another number here")
        for there, here in sheet.renumbered:
            prose.fact(there, here)
    return prose


def give_form(screen: Base) -> Form:
    """Hand a bundle over: which file, to whom, and where the receipt goes."""
    fields = [
        Field("file", "Bundle", "C1.zip"),
        Field("to", "To", "person or house"),
        Field("as_what", "Who is", "owner, conservator, estate, museum", "owner"),
        Field("terms", "Terms", "what was agreed about it"),
        Field("receipt", "Receipt", "receipt.pdf", str(Path.cwd() / "receipt.pdf")),
    ]

    def keep(values: Mapping[str, str]) -> HandoverRow:
        if not values["file"]:
            raise BadQuantity("No bundle is named.", "Give its file.", field="file")
        receipt = Path(values["receipt"]).expanduser() if values["receipt"] else None
        file = Path(values["file"]).expanduser()
        return archive.hand_over_bundle(
            screen.studio, file, receipt, to=values["to"], as_what=values["as_what"], terms=values["terms"]
        )

    return Form("Hand an archive bundle over", fields, keep)
