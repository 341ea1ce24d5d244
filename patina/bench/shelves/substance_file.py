"""A substance in a file: TOML that a person writes from the supplier's safety data sheet (EXAMPLE shows it all).

Needed are name, supplier, date, basis, form and tags; what is left out is unknown and printed as unknown. A file
with anything wrong in it is refused whole, every trouble named by line and key.
"""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.shelves.substance_fields import PLACES, NewSheet, substance_form
from patina.errors import Incomplete, PatinaError, Refused
from patina.recipe_lines import line_of

if TYPE_CHECKING:
    from patina.chemistry.substances import Catalogue

LARGEST_FILE_BYTES = 1_000_000
EXAMPLE = """\
patina_substance = 1
name = "potassium polysulphide, lump"
other_names = ["polysulphide lump"]
note = ""

[sheet]                                  # section 1 of the data sheet
supplier = "Marsh Lane Chemicals"
product = "K-POLY"                       # may be left out
date = 2024-05-01                        # of the sheet's last revision
cas = "39365-88-3"                       # may be left out

[hazards]                                # section 2; basis: "supplier", "harmonised", "none" or "unknown"
basis = "supplier"
classes = ["Skin Corr. 1B H314", "Acute Tox. 3 H301", "Aquatic Acute 1 H400"]
euh = ["EUH031"]
limits = ["Skin Corr. 1B H314 from 5 % below 20 %"]
ate = ["oral 150 mg/kg"]                 # or dermal, vapour, dust, gas
m_acute = 1
m_chronic = 1

[composition]                            # section 3; a mixture has no formula
formula = "K2S"
molar_mass = "110.26 g/mol"
assay = "98 %"
hydrate_of = ""                          # a substance of the catalogue that this is a hydrate of

[properties]                             # section 9
form = "solid"                           # solid, liquid, solution, gas or paste
density = "1.2 g/mL"
solubility = "500 g/L"                   # or "miscible", "insoluble"

[reactions]                              # section 10; tags = [] where it names nothing
tags = ["sulphide", "base"]
gives_off = ["hydrogen sulphide: acid: any acid sets it free"]
"""
FORMAT_WORDS = (
    "Needed are name, supplier, date, basis, form and tags; what is left out is unknown and printed as unknown."
)
_BY_PLACE = {place: key for key, place in PLACES.items()}
_TABLES = {place[0] for place in PLACES.values() if len(place) == 2}
_LISTS = {"other_names", "classes", "euh", "limits", "ate", "tags", "gives_off"}


def _refused(what: str, remedy: str) -> Refused:
    return Refused(what, remedy, title="The substance was not taken in")


def read_substance(path: Path, known: Catalogue, today: date, *, replaces: str = "") -> NewSheet:
    """The substance in a file. Raises Refused naming lines and keys; nothing is half-read."""
    try:
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise _refused(f"{path.name} is larger than a substance can be.", "Give a text file.")
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _refused(f"{path.name} is not UTF-8 text.", "Save it as UTF-8 in a text editor.") from None
    except OSError as trouble:
        reason = trouble.strerror or "it cannot be opened"
        raise _refused(f"{path.name} cannot be read: {reason}.", "Check the path.") from None
    return read_substance_text(text, known, today, name=path.name, replaces=replaces)


def read_substance_text(
    text: str, known: Catalogue, today: date, *, name: str = "the text", replaces: str = ""
) -> NewSheet:
    """The substance in a text. name: what the text is called in messages. Raises Refused."""
    try:
        document = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as trouble:
        raise _refused(f"{name} is not TOML: {trouble}.", "Correct that place.") from None
    fields, said = _flat(document, text)
    if "tags" in fields and not fields["tags"]:
        fields["tags"] = "none"
    try:
        new = substance_form(fields, known, today, replaces=replaces)
    except Incomplete as trouble:
        said += [(_placed(t, text), t.remedy) for t in trouble.troubles]
    if said:
        raise _refused(
            f"{name} is refused. " + " ".join(what for what, _ in said),
            " ".join(dict.fromkeys(remedy for _, remedy in said)),
        )
    return new


def _placed(trouble: PatinaError, text: str) -> str:
    return f"{_where(PLACES.get(trouble.field or '', ()), text)}{trouble.what}"


def _where(place: tuple[str, ...], text: str) -> str:
    if not place:
        return ""
    line = _line(place, text)
    return f"line {line}, {'.'.join(place)}: " if line else f"{'.'.join(place)}: "


def _line(place: tuple[str, ...], text: str) -> int | None:
    """The line of a key, or of its table where the key is missing."""
    lines = text.splitlines()
    inside = ""
    table = None
    for n, line in enumerate(lines, 1):
        stripped = line.strip()
        if stripped.startswith("["):
            inside = stripped.strip("[] ").split("]")[0]
            table = n if len(place) == 2 and inside == place[0] else table
        elif stripped.partition("=")[0].strip().strip('"') == place[-1] and inside == (
            place[0] if len(place) == 2 else ""
        ):
            return n
    return table if len(place) == 2 else line_of(text, place)


def _flat(document: dict[str, Any], text: str) -> tuple[dict[str, str], list[tuple[str, str]]]:
    """The fields of the form, and what cannot be one."""
    said: list[tuple[str, str]] = []
    fields: dict[str, str] = {}
    version = document.pop("patina_substance", None)
    if version != 1 or isinstance(version, bool):
        said.append(("patina_substance: the file does not say that it is a substance.", "Write patina_substance = 1."))
    for name, value in document.items():
        if name in _TABLES and isinstance(value, dict):
            for key, inner in value.items():
                _take((name, key), inner, fields, said, text)
        else:
            _take((name,), value, fields, said, text)
    return fields, said


def _take(place: tuple[str, ...], value: Any, fields: dict[str, str], said: list[tuple[str, str]], text: str) -> None:
    key = _BY_PLACE.get(place)
    where = _where(place, text)
    if key is None:
        near = sorted(".".join(p) for p in _BY_PLACE if p[0] == place[0] or len(p) == len(place))
        said.append((f"{where}this key has no meaning.", f"Known keys here: {', '.join(near)}."))
    elif key in _LISTS:
        if not isinstance(value, list) or not all(isinstance(v, str) and ";" not in v for v in value):
            said.append((f"{where}must be a list of texts without a semicolon.", f'Write {place[-1]} = ["…", "…"].'))
        else:
            fields[key] = "; ".join(value)
    elif isinstance(value, date) and key == "date":
        fields[key] = value.isoformat()[:10]
    elif isinstance(value, int | float) and not isinstance(value, bool) and key in ("m_acute", "m_chronic"):
        fields[key] = f"{value:g}"
    elif isinstance(value, str):
        fields[key] = value
    else:
        said.append((f"{where}must be text in quotation marks, with its unit.", 'Write for example assay = "98 %".'))
