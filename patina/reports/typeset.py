"""Setting a sheet with Typst: one door for every printed thing.

What is printed goes to the template as JSON and is shown as plain text there; no text of a person
becomes markup. Only the fonts beside this file are used, so that a sheet looks the same everywhere.
"""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Mapping
from datetime import UTC, date, datetime
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from patina.errors import BadPhotograph, PatinaError, Refused, StudioTrouble
from patina.reports.in_language import template_words
from patina.reports.pictograms import SHOWS

KINDS = (".pdf", ".svg", ".png")
PNG_DOTS_PER_INCH = 150.0
# ISO 19005-2, level B. Source: [PDFA2]
PDF_STANDARD = "a-2b"


def typeset(
    template: str,
    data: Mapping[str, Any],
    path: Path,
    *,
    made_on: date,
    pictures: Mapping[str, bytes] | None = None,
) -> tuple[Path, ...]:
    """Write a sheet; the path's ending picks PDF (PDF/A-2b), SVG or PNG.

    template: file name in ``templates``. data: texts, numbers, lists and mappings (JSON). made_on:
    the date the document carries; the same data and date give the same bytes. pictures: photographs
    by the names the template calls them ("pictures/1.jpg"), as JPEG, PNG or SVG.
    Returns the files written: one PDF, or one picture per page ("name.svg", "name-2.svg", …).
    Raises Refused for another ending, StudioTrouble where the file cannot be written, BadPhotograph.
    """
    kind = path.suffix.lower()
    if kind not in KINDS:
        raise Refused(
            f"'{path.name}' does not say how the sheet is to be written.",
            "Name a file that ends in .pdf, .svg or .png.",
        )
    pages = pages_of(template, data, kind=kind, made_on=made_on, pictures=pictures)
    written = [path if n == 1 else path.with_name(f"{path.stem}-{n}{path.suffix}") for n in range(1, len(pages) + 1)]
    for target, content in zip(written, pages, strict=True):
        write_whole(target, content)
    return tuple(written)


def pages_of(
    template: str,
    data: Mapping[str, Any],
    *,
    kind: str,
    made_on: date,
    pictures: Mapping[str, bytes] | None = None,
) -> list[bytes]:
    """The bytes of a sheet: one PDF, or one picture per page. kind: one of KINDS."""
    data = {**data, "words": template_words()}
    sources = _shared_files() | {"main.typ": _file("templates", template)} | dict(pictures or {})
    # A character that the sheet's own fonts lack: try the machine's fonts, then show a box for it.
    tries = ((data, False), (data, True), (_boxed(data), False))
    reason = ""
    with tempfile.TemporaryDirectory(prefix="patina-sheet-") as folder:
        main = _laid_out(sources, Path(folder))
        for shown, system_fonts in tries:
            result = _compile(main, shown, kind, made_on, system_fonts=system_fonts)
            if isinstance(result, list):
                return result
            reason = result
    raise PatinaError(
        f"The sheet could not be set: {reason}",
        "Take unusual characters out of names and notes and print again.",
        title="The sheet could not be set",
    )


def _laid_out(sources: Mapping[str, bytes], folder: Path) -> Path:
    """Put templates, drawings and photographs where the typesetter may read them, and nothing else."""
    for name, content in sources.items():
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
    return folder / "main.typ"


def _compile(main: Path, data: Mapping[str, Any], kind: str, made_on: date, *, system_fonts: bool) -> list[bytes] | str:
    """The pages, or the reason why a PDF/A cannot hold one of the characters."""
    import typst

    noon = datetime(made_on.year, made_on.month, made_on.day, 12, tzinfo=UTC)
    options: dict[str, Any] = {
        "root": str(main.parent),
        "font_paths": [str(files("patina").joinpath("reports", "fonts"))],
        "ignore_system_fonts": not system_fonts,
        "format": kind.removeprefix("."),
        "ppi": PNG_DOTS_PER_INCH,
        "sys_inputs": {"data": _as_json(data)},
        "pdf_standards": [PDF_STANDARD] if kind == ".pdf" else [],
        "timestamp": int(noon.timestamp()),
    }
    try:
        out = typst.compile(str(main), **options)
    except typst.TypstError as trouble:
        if "could not be displayed with" in str(trouble) or "glyph" in str(trouble):
            return str(trouble).splitlines()[0]
        if "image" in str(trouble):
            raise BadPhotograph(
                "A photograph could not be put on the sheet: it is no JPEG, PNG or SVG, or is damaged.",
                "Leave it out, or save it again as JPEG.",
            ) from None
        raise
    return list(out) if isinstance(out, list) else [out]


def _file(*parts: str) -> bytes:
    return files("patina").joinpath("reports", *parts).read_bytes()


@cache
def _shared_files() -> dict[str, bytes]:
    drawings = {f"pictograms/{code}.svg": _file("pictograms", f"{code}.svg") for code in SHOWS}
    return {"common.typ": _file("templates", "common.typ"), **drawings}


def _as_json(data: Mapping[str, Any]) -> str:
    # A half of a surrogate pair, as damaged file names bring it, is no character at all.
    return json.dumps(data, ensure_ascii=False, sort_keys=True).encode("utf-8", "replace").decode("utf-8")


def _boxed(value: Any) -> Any:
    """The same data with every character outside Latin, Greek, Cyrillic and common signs as a box."""
    if isinstance(value, str):
        return "".join(c if _printable(c) else "\u25a1" for c in value)
    if isinstance(value, Mapping):
        return {key: _boxed(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_boxed(item) for item in value]
    return value


def _printable(c: str) -> bool:
    n = ord(c)
    return c in "\n\t" or 0x20 <= n < 0x7F or 0xA0 <= n < 0x0530 or 0x2010 <= n <= 0x2265


def write_whole(path: Path, content: bytes) -> None:
    """Write beside the target and swap, so that no half sheet is ever found under the name."""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as out:
            out.write(content)
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except OSError as trouble:
        raise StudioTrouble(
            f"'{path}' cannot be written: {trouble.strerror or 'no access'}.",
            "Choose another folder or free some space.",
            title="The sheet was not written",
        ) from None


def qr_svg(*lines: str) -> str:
    """A QR code of short lines as SVG text, UTF-8, error level M. Each line is cut at 60 characters, so
    that the code stays coarse enough for a wet camera. An exclamation mark goes before them: on screen it
    begins a record's id, so that a scanner that types opens the record. Source: [ISO18004]"""
    import io

    import segno

    words = "!" + "\n".join(line[:60] for line in lines if line)
    out = io.BytesIO()
    segno.make(words.encode("utf-8", "replace"), error="m", encoding="utf-8", micro=False).save(
        out, kind="svg", border=2, xmldecl=False, svgns=True, nl=False, omitsize=True, light="#ffffff"
    )
    return out.getvalue().decode("ascii")
