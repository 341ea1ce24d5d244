"""How a field of a treatment record is asked for: one description that forms, options and checks are made of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any

LONGEST_TEXT = 400
LONGEST_WORDS = 20_000


@dataclass(frozen=True, slots=True)
class Saying:
    """How one field is asked for. label: as a form names it. hint: an example. how: which reader takes it
    (see ``reading_words``). choices: words it is one of. low, high: range of a number, in ``unit``. needed: an
    entry without it says nothing, and is refused. to: what an id in it refers to."""

    label: str
    hint: str = ""
    how: str = "text"
    choices: tuple[str, ...] = ()
    low: float = 0.0
    high: float = 1e9
    unit: str = ""
    needed: bool = False
    to: str = ""


def said(label: str, hint: str = "", how: str = "text", *, default: Any = None, **more: Any) -> Any:
    """A field of a part of the record. default: what stands for "not said"; words are empty, all else is None."""
    if default is None and how in ("text", "words", "choice"):
        default = ""
    if default is None and how in ("lines", "polygons"):
        default = ()
    return field(default=default, metadata={"saying": Saying(label, hint, how, **more)})


def sayings(kind: type[Any]) -> Mapping[str, Saying]:
    """The fields of a kind of part, by name, as they are asked for."""
    return {f.name: f.metadata["saying"] for f in fields(kind) if "saying" in f.metadata}
