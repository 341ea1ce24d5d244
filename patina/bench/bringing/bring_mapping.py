"""A mapping kept under a name in the studio, and as a TOML text that a person can read and the command line takes."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.bringing.bring_fields import field_of
from patina.errors import BadSpreadsheet, NotFound
from patina.sheets.bringing import KINDS, MappedColumn, TableMapping

if TYPE_CHECKING:
    from patina.bench.studio import Studio

VERSION = 1
LARGEST_BYTES = 200_000
_PREFIX = "mapping: "
_KEYS = {"patina_mapping", "name", "kind", "sheet", "header_row", "every_row", "column"}
_COLUMN_KEYS = {"heading", "field", "substance", "answers"}


def mapping_text(mapping: TableMapping) -> str:
    """The mapping as the text of its file."""
    lines = [f"patina_mapping = {VERSION}", f"name = {_text(mapping.name)}", f"kind = {_text(mapping.kind)}"]
    if mapping.sheet:
        lines.append(f"sheet = {_text(mapping.sheet)}")
    if mapping.header_row is not None:
        lines.append(f"header_row = {mapping.header_row}")
    if mapping.every:
        lines += ["", "[every_row]", *(f"{_text(k)} = {_text(v)}" for k, v in sorted(mapping.every.items()))]
    for column in mapping.columns:
        lines += ["", "[[column]]", f"heading = {_text(column.heading)}", f"field = {_text(column.field)}"]
        if column.substance:
            lines.append(f"substance = {_text(column.substance)}")
        if column.answers:
            lines += ["[column.answers]", *(f"{_text(k)} = {_text(v)}" for k, v in sorted(column.answers.items()))]
    return "\n".join(lines) + "\n"


def _text(words: str) -> str:
    """A TOML string: JSON's, with the one sign more that TOML wants escaped."""
    return json.dumps(words, ensure_ascii=False).replace("\x7f", "\\u007F")


def read_mapping(path: Path) -> TableMapping:
    """The mapping in a file. Raises BadSpreadsheet."""
    try:
        with path.open("rb") as stream:
            content = stream.read(LARGEST_BYTES + 1)
        if len(content) > LARGEST_BYTES:
            raise BadSpreadsheet(f"{path.name} is larger than a mapping can be.", "Give a mapping file.")
        return mapping_of_text(content.decode("utf-8-sig"), path.name)
    except UnicodeDecodeError:
        raise BadSpreadsheet(f"{path.name} is not UTF-8 text.", "Save it as UTF-8.") from None
    except (OSError, ValueError) as trouble:
        reason = getattr(trouble, "strerror", None) or "it cannot be opened"
        raise BadSpreadsheet(f"{path.name} cannot be read: {reason}.", "Check the path.") from None


def mapping_of_text(text: str, name: str = "the mapping") -> TableMapping:
    """The mapping in a text. name: what the text is called in messages. Raises BadSpreadsheet."""
    try:
        document = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as trouble:
        raise BadSpreadsheet(f"{name} is not TOML: {trouble}.", "Correct that place.") from None
    _known(document, _KEYS, name)
    if document.get("patina_mapping") != VERSION:
        raise BadSpreadsheet(f"{name} is no mapping of version {VERSION}.", f"Put patina_mapping = {VERSION} on top.")
    kind = document.get("kind")
    if kind not in KINDS:
        raise BadSpreadsheet(f"{name}: kind {kind!r} is not known.", f"Use one of: {', '.join(KINDS)}.")
    columns = document.get("column", [])
    if not isinstance(columns, list) or not all(isinstance(c, dict) for c in columns):
        raise BadSpreadsheet(f"{name}: column must be a list of tables.", "Write [[column]] above each one.")
    header_row = document.get("header_row")
    if header_row is not None and (isinstance(header_row, bool) or not isinstance(header_row, int) or header_row < 1):
        raise BadSpreadsheet(f"{name}: header_row must be a whole number.", "Count the rows from 1.")
    return TableMapping(
        kind,
        tuple(_column(c, kind, name) for c in columns),
        _words(document.get("every_row", {}), f"{name}: every_row"),
        _word(document.get("name", ""), f"{name}: name"),
        _word(document.get("sheet", ""), f"{name}: sheet"),
        header_row,
    )


def _column(table: dict[str, Any], kind: str, name: str) -> MappedColumn:
    _known(table, _COLUMN_KEYS, f"{name}, [[column]]")
    heading = _word(table.get("heading", ""), f"{name}: heading")
    field = _word(table.get("field", ""), f"{name}: field")
    if not heading:
        raise BadSpreadsheet(f"{name}: a column has no heading.", "Write the words that stand above it.")
    if field and field_of(kind, field) is None:
        raise BadSpreadsheet(
            f"{name}: {kind} have no field '{field}'.", f"patina bring --fields {kind} lists those there are."
        )
    answers = _words(table.get("answers", {}), f"{name}: answers of '{heading}'")
    return MappedColumn(heading, field, _word(table.get("substance", ""), f"{name}: substance"), answers)


def _known(table: Mapping[str, Any], keys: set[str], where: str) -> None:
    unknown = sorted(set(table) - keys)
    if unknown:
        raise BadSpreadsheet(f"{where}: '{unknown[0]}' has no meaning.", f"Known keys here: {', '.join(sorted(keys))}.")


def _word(value: Any, where: str) -> str:
    if not isinstance(value, str):
        raise BadSpreadsheet(f"{where} must be text in quotation marks.", "Correct that line.")
    return value.strip()


def _words(value: Any, where: str) -> dict[str, str]:
    if not isinstance(value, dict) or not all(isinstance(v, str) for v in value.values()):
        raise BadSpreadsheet(f"{where} must hold texts in quotation marks.", "Correct those lines.")
    return dict(value)


def save_mapping(studio: Studio, mapping: TableMapping) -> None:
    """Keep a mapping under its name, in place of an older one of that name. Raises BadSpreadsheet without a name."""
    if not mapping.name.strip() or len(mapping.name) > 60:
        raise BadSpreadsheet("The mapping has no name of at most 60 letters.", "Give it one.", field="name")
    studio.set_setting(f"{_PREFIX}{mapping.name.strip()}"[:80], mapping_text(mapping))


def saved_mapping(studio: Studio, name: str) -> TableMapping:
    """A mapping kept in the studio. Raises NotFound."""
    text = studio.setting(f"{_PREFIX}{name.strip()}"[:80])
    if not text:
        known = ", ".join(saved_mappings(studio)) or "none yet"
        raise NotFound(f"There is no mapping '{name}'.", f"Kept here: {known}.", field="mapping")
    return mapping_of_text(text, f"the mapping '{name}'")


def saved_mappings(studio: Studio) -> tuple[str, ...]:
    """Names of the mappings kept in the studio, in order."""
    from patina.records.pieces.brought import setting_names

    with studio.store.view() as session:
        return tuple(n.removeprefix(_PREFIX) for n in setting_names(session, _PREFIX))
