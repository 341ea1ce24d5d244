"""Archive bundles: made, proved without a studio, handed over with a receipt, and taken in again."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.studio import Studio
from patina.errors import BadQuantity, Refused
from patina.sheets.archive import BundleSheet, TakenSheet

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.records.archive.choosing import Held
    from patina.sheets.access import HandoverRow

Progress = Callable[[str], None]
MADE_FOR = ("everyone", "owner")
RIGHTS_SETTING = "rights"
STUDIO = ("studio", "all", "")


def quiet(_words: str) -> None:
    """The progress of somebody who does not look."""


def archive(
    studio: Studio,
    target: str,
    file: Path,
    *,
    made_for: str = "everyone",
    rights: str = "",
    printed: bool = True,
    progress: Progress = quiet,
) -> BundleSheet:
    """Write a piece (W1), cast (C1), series (M1 or W1), recipe (R1), tile (T1), treatment (CT1) or the studio into one
    new file.

    made_for: "owner" leaves out recipes withheld from clients and from the cast's owner; whoever may not see withheld
    quantities makes no bundle that shows them either. rights: who may do what with it, else the studio's setting.
    printed: put PDFs of the reports in. Raises NotFound, Refused, NotAllowed, StudioTrouble.
    """
    from patina.bench.paper.archive_prints import Prints
    from patina.records.archive.writing import write_bundle

    if made_for not in MADE_FOR:
        raise BadQuantity(f"'{made_for}' is nobody a bundle is made for.", f"Use one of: {', '.join(MADE_FOR)}.")
    wanted = "" if target.strip().casefold() in STUDIO else target.strip().upper()
    studio.require("hand over" if wanted else "read all")
    prints = Prints(studio, for_owner=made_for == "owner", progress=progress) if printed else None
    written = write_bundle(
        studio.store,
        Path(file),
        wanted,
        held=_held(studio, wanted, made_for) if wanted else None,
        for_owner=made_for == "owner",
        studio=studio.setting("studio_name"),
        rights=rights.strip() or studio.setting(RIGHTS_SETTING),
        extras=prints,
        progress=progress,
    )
    info = {"Source-Organization": studio.setting("studio_name")}
    trouble = () if prints is None else tuple(prints.trouble)
    return _sheet(Path(file), written.sha256, written.size_bytes, written.document, info, trouble)


def _held(studio: Studio, target: str, made_for: str) -> Callable[[Session], Held] | None:
    """What is withheld from who is to have the bundle, or from whoever makes it."""
    from patina.records.access.roles import session_reader
    from patina.records.access.withheld import withheld_from

    with studio.store.view() as session:
        reader = session_reader(session, studio.store.identity)
    if made_for != "owner" and (not reader.people or reader.sees_withheld):
        return None
    name, role = (_owner(studio, target), "client") if made_for == "owner" else (reader.name, reader.role)
    return lambda session: withheld_from(session, name, role).of


def _owner(studio: Studio, target: str) -> str:
    from patina.bench.pieces.casts import cast_sheet

    if target.startswith("CT"):
        from patina.bench.treating.treat import treatment_sheet

        return treatment_sheet(studio, target).record.owner
    return cast_sheet(studio, target).row.owner if target.startswith("C") else ""


def verify(file: Path, progress: Progress = quiet) -> BundleSheet:
    """Prove a bundle without a studio: every file by its hash, every row, the CSV by the JSON, the chain of the log.

    Raises Refused for what is no bundle of this program, Damaged for one that is not what it says.
    """
    from patina.records.archive.opening import open_bag, prove_rows
    from patina.records.photographs.files import sha256_of

    _require_file(file)
    with open_bag(Path(file), progress) as bag:
        prove_rows(bag, progress)
        return _sheet(Path(file), sha256_of(Path(file)), Path(file).stat().st_size, bag.document, bag.info)


def _require_file(file: Path) -> None:
    if Path(file).exists() and not Path(file).is_file():  # a device can be without end
        raise Refused(f"'{file}' is no file.", "Give the file of a bundle.", field="file")


def _sheet(
    file: Path, sha256: str, size: int, document: dict[str, Any], info: dict[str, str], trouble: tuple[str, ...] = ()
) -> BundleSheet:
    return BundleSheet(
        file=str(file),
        sha256=sha256,
        size_bytes=size,
        target=document["target"],
        kind=document["kind"],
        name=document["name"],
        made_for=document["made_for"],
        studio=info.get("Source-Organization", ""),
        program=document["program"],
        tables=tuple(document["tables"].items()),
        photographs=document["photographs"],
        missing=tuple(document["missing"]),
        left_out=tuple(f"{c['record']}, {c['column']}: {c['why']}" for c in document["left_out"]),
        withheld=tuple(document["withheld"]),
        log_n=document["log"]["n"],
        log_entries=document["log"]["entries"],
        not_printed=trouble,
    )


def hand_over_bundle(
    studio: Studio,
    file: Path,
    receipt: Path | None = None,
    *,
    to: str,
    as_what: str = "owner",
    on: date | None = None,
    terms: str = "",
    by: str = "",
) -> HandoverRow:
    """Write down who was given a bundle, and print the receipt for both to sign.

    receipt: a file that ends in .pdf (or .html, .svg, .png); None prints none. Raises Refused, Damaged, BadQuantity.
    """
    from patina.bench.paper.owner_giving import require_past, require_receiver
    from patina.records.people import handovers
    from patina.records.studio.unit import unit
    from patina.reports.receipt import receipt_document

    require_receiver(to)
    require_past(on)
    sheet = verify(file)
    who, day = studio.who(by), on or date.today()
    with unit(studio.store, "hand over", by=who) as work:
        row = handovers.add_handover(
            work.session,
            kind="archive bundle",
            record=sheet.target,
            what=sheet.called,
            to=to.strip(),
            as_what=as_what.strip()[:80],
            terms=terms.strip(),
            file_name=Path(file).name[:400],
            sha256=sheet.sha256,
            size_bytes=sheet.size_bytes,
            on=day,
            by=work.by,
        )
        given = handovers.handover_row(row)
        if receipt is not None:
            from patina.reports.publish import publish

            name = studio.setting("studio_name")
            publish(receipt_document(sheet, given, studio=name), Path(receipt))
        work.commit()
    return given


def is_bundle(file: Path) -> bool:
    """Whether a file looks like an archive bundle."""
    from patina.records.archive.opening import is_bundle as looks_so

    return Path(file).is_file() and looks_so(Path(file))


def take_in(
    studio: Studio, file: Path, *, keep_ours: bool = False, by: str = "", progress: Progress = quiet
) -> TakenSheet:
    """Take a bundle in, all of it or nothing. keep_ours: records that are here with another content stay.

    Raises Refused where it is no bundle, or disagrees with what is here (listed); Damaged where it is not what it
    says; NotAllowed, StudioTrouble.
    """
    from patina.records.archive.taking import take_bundle

    _require_file(file)
    taken = take_bundle(studio.store, Path(file), by=studio.who(by), keep_ours=keep_ours, progress=progress)
    studio.forget()
    return TakenSheet(
        record=taken.record,
        target=taken.document["target"],
        name=taken.document["name"],
        added=tuple(taken.added.items()),
        known=taken.known,
        kept=tuple(str(c) for c in taken.conflicts),
        renumbered=taken.renumbered,
        photographs=taken.photographs,
    )


def take_in_files(
    studio: Studio, files: Sequence[Path], *, keep_ours: bool = False, by: str = "", progress: Progress = quiet
) -> tuple[tuple[str, ...], tuple[TakenSheet, ...]]:
    """Take in recipe files and backups (all of them or none), or one archive bundle: names of recipes, and bundles.

    Raises Refused where a bundle is given with other files, and all that ``import_files`` and ``take_in`` raise.
    """
    from patina.bench.recipes.finishes import import_files

    bundles = [file for file in files if is_bundle(file)]
    if not bundles:
        return import_files(studio, files, by=by), ()
    if len(files) > 1:
        raise Refused(
            f"'{Path(bundles[0]).name}' is an archive bundle, which is taken in by itself.", "Give one file at a time."
        )
    return (), (take_in(studio, bundles[0], keep_ours=keep_ours, by=by, progress=progress),)
