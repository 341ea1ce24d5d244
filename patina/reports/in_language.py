"""A report in the reader's language: its words, not what people wrote, nor what is drawn."""

from __future__ import annotations

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


def in_readers_language(document: Document) -> Document:
    """The document as the reader reads it; in English with a point and metric units the same document."""
    if reader() == Reader():
        return document
    told: Document = _told(document)
    return replace(told, language=reader().language)


def _told(value: Any) -> Any:
    if isinstance(value, str):
        return shown(value)
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
