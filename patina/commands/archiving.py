"""`patina archive`: records as one file that needs no program."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from patina.commands.common import common, say, table, the_studio, times
from patina.commands.help_words import Group
from patina.errors import BadQuantity, Refused

if TYPE_CHECKING:
    from patina.sheets.archive import BundleSheet, TakenSheet


class _Archive(Group):
    """A group whose first word may also be what is archived."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        if args and args[0] not in self.commands and args[0] not in ("-h", "--help"):
            args = ["make", *args]
        return super().parse_args(ctx, args)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        return super().get_command(ctx, cmd_name) or self.commands.get("make")


@click.group(cls=_Archive)
def archive() -> None:
    """Write records as one file that needs no program: patina archive TARGET FILE.

    TARGET: a piece (W1), cast (C1), series (W1 or M1), recipe (R1), tile (T1), treatment (CT1), or studio. Also:
    archive verify FILE, archive receipt FILE.
    """


def _told(words: str) -> None:
    """What is being done, on stderr, where somebody looks on."""
    if sys.stderr.isatty():
        click.echo(f"\r{words}".ljust(70), nl=False, err=True)


@archive.command("make")
@click.argument("target")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--for", "made_for", default="everyone", help="everyone, or owner: without recipes that are withheld.")
@click.option("--rights", default="", help="Who may do what with these records (else the studio's setting).")
@click.option("--no-print", is_flag=True, help="Leave the printed reports out.")
@common
def make(
    target: str, file: Path, made_for: str, rights: str, no_print: bool, studio: str | None, as_json: bool
) -> None:
    """Write TARGET (W1, C1, M1, R1, T1, CT1 or studio) into one new FILE."""
    from patina.bench.paper.archive import archive as archive_deed

    if not target.strip():  # a name that came out empty must never hand over everything
        raise Refused("It is not said what the bundle is to be of.", "Give an id such as C1, or studio for all of it.")
    with the_studio(studio) as opened:
        sheet = archive_deed(
            opened, target, file, made_for=made_for, rights=rights, printed=not no_print, progress=_told
        )
    say(as_json, sheet.as_json(), _words(sheet, f"Written to {sheet.file}."))


@archive.command("verify")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print exactly one JSON document.")
def verify(file: Path, as_json: bool) -> None:
    """Prove every part of a bundle FILE; no studio is needed."""
    from patina.bench.paper.archive import verify as verify_deed

    sheet = verify_deed(file, _told)
    say(as_json, {"ok": True, **sheet.as_json()}, _words(sheet, f"{sheet.file} is what it says, to the byte."))


@archive.command("receipt")
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("receipt", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--to", required=True, help="Who receives the bundle.")
@click.option("--as", "as_what", default="owner", help="As what: owner, conservator, estate, museum ...")
@click.option("--on", "day", default="", help="Day of it, as 2026-11-25; today where not given.")
@click.option("--terms", default="", help="What was agreed about it.")
@common
def receipt_(
    file: Path, receipt: Path, to: str, as_what: str, day: str, terms: str, studio: str | None, as_json: bool
) -> None:
    """Write down who is given a bundle FILE, and print the RECEIPT for both to sign."""
    from patina.bench.paper.archive import hand_over_bundle

    try:
        on = date.fromisoformat(day) if day else None
    except ValueError:
        raise BadQuantity(f"'{day}' is no day.", "Write it as 2026-11-25.", field="on") from None
    with the_studio(studio) as opened:
        given = hand_over_bundle(opened, file, receipt, to=to, as_what=as_what, on=on, terms=terms)
    words = f"{given.what} handed to {given.to}: {given.id}. The receipt is {receipt}."
    say(as_json, {**given.as_json(), "receipt": str(receipt)}, words)


def _words(sheet: BundleSheet, first: str) -> str:
    lines = [
        first,
        f"  {sheet.called}: {times(sheet.records, 'record')}, {times(sheet.photographs, 'photograph')}, "
        f"{sheet.log_entries} of {times(sheet.log_n, 'change')} in full",
        f"  SHA-256 {sheet.sha256}, {sheet.size_bytes} bytes",
    ]
    lines += [f"  ! photograph {name} was gone or damaged and is not in it" for name in sheet.missing]
    lines += [f"  ! not printed: {words}" for words in sheet.not_printed]
    lines += [f"  withheld by the studio: {', '.join(sheet.withheld)}"] if sheet.withheld else []
    lines += [f"  left empty: {words}" for words in sheet.left_out]
    return "\n".join(lines)


def taken_words(sheet: TakenSheet) -> str:
    """What came of a bundle, with a table of new numbers."""
    lines = [f"Taken in: {sheet.words()}"] if sheet.added else [f"{sheet.called}: everything in it is here already."]
    lines += [f"  stayed as it is here: {words}" for words in sheet.kept]
    if sheet.renumbered:
        lines += ["", table([tuple(pair) for pair in sheet.renumbered], ("there", "here"))]
    return "\n".join(lines)


@click.command("linked-art")
@click.argument("which")
@common
def linked_art(which: str, studio: str | None, as_json: bool) -> None:
    """A cast, piece or treatment (C1, W1, CT1) as Linked Art JSON-LD, on standard output."""
    import json

    from patina.bench.paper.archive_exports import export_linked_art

    with the_studio(studio) as opened:
        document = export_linked_art(opened, which)
    say(as_json, document, json.dumps(document, indent=1, ensure_ascii=False))


@click.command("spectrum")
@click.argument("which")
@common
def spectrum(which: str, studio: str | None, as_json: bool) -> None:
    """A cast, piece or treatment as CSV of Spectrum's information groups, on standard output."""
    from patina.bench.paper.archive_exports import export_spectrum

    with the_studio(studio) as opened:
        text = export_spectrum(opened, which)
    if as_json:
        say(True, {"csv": text}, "")
    else:
        sys.stdout.write(text)
