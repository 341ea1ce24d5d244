"""A report in the reader's language: its words, not what people wrote, nor what is drawn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

from patina.language import Reader, reader, shown
from patina.reports.document import Document

# What is no word: drawings, colours, sizes, choices of a block, and the name that the thing itself bears.
_KEPT = {
    "svg", "hex", "swatch", "suffix", "content", "align", "width", "size", "level", "pictograms", "qr", "language",
    "record", "title", "mark", "points", "dash",
}  # fmt: skip
_CHOICES = {("Items", "kind")}
# Of what a template of its own is given: what is no word.
_KEPT_DATA = {"qr", "record", "pictograms", "code", "cas"}


def in_readers_language(document: Document) -> Document:
    """The document as the reader reads it; in English with a point and metric units the same document."""
    if reader() == Reader():
        return document
    told: Document = _told(document)
    return replace(told, language=reader().language)


def data_in_readers_language(data: Mapping[str, Any]) -> dict[str, Any]:
    """What a label or card is set from, with its texts as the reader reads them."""
    return {key: value if key in _KEPT_DATA else _told(value) for key, value in data.items()}


def template_words() -> dict[str, str]:
    """The few words that templates bring themselves, and the language all of it is set in."""
    return {
        "language": reader().language,
        "page": shown("page {0} of {1}"),
        "no_reading": shown("no reading"),
        "code": shown("QR code of this record"),
        "serious": shown("serious"),
        "critical": shown("critical"),
        "mixed": shown("mixed"),
        "no_class": shown("No hazard class follows from the data at this strength."),
        "empty_shelf": shown("Nothing stands on the shelf."),
        "substance": shown("substance"),
        "marks": shown("marks"),
        "does": shown("what it does"),
        "where": shown("where, how much"),
        "undecided": shown("Not decided"),
        "apart": shown("Keep apart"),
        "emergency": shown("Emergency"),
        "poison_centre": shown("Poison centre"),
        "yourself": shown(
            "Look to your own safety first: air, gloves, flame out. Tell the doctor the name on the label and take the "
            "label or the safety data sheet along."
        ),
        "not_known": shown("Not known here: read the safety data sheet before you need it"),
    }


def _told(value: Any) -> Any:
    if isinstance(value, str):
        return shown(value)
    if isinstance(value, list):
        return [_told(item) for item in value]
    if isinstance(value, Mapping):
        return data_in_readers_language(value)
    if isinstance(value, tuple):
        return tuple(_told(item) for item in value)
    if is_dataclass(value) and not isinstance(value, type):
        kind = type(value).__name__
        return replace(
            value,
            **{
                f.name: _told(getattr(value, f.name))
                for f in fields(value)
                if f.name not in _KEPT and (kind, f.name) not in _CHOICES
            },
        )
    return value
