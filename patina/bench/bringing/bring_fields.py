"""The fields that old tables fill, guessed from the words above their columns; nothing guessed is kept unseen."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from patina.datafile import any_text, one_of, read_table, text, words, yes_or_no
from patina.entries import READING_SOURCES, WARMTH, WAX_STATES
from patina.recipe import DOINGS, METHODS, VOLUME_IS
from patina.sheets.bringing import KINDS, FieldRow, MappedColumn

CHOICES: dict[tuple[str, str], tuple[str, ...]] = {
    ("recipes", "do"): DOINGS,
    ("recipes", "method"): METHODS,
    ("recipes", "volume_is"): VOLUME_IS,
    ("tiles", "wax_state"): WAX_STATES,
    ("readings", "wax_state"): WAX_STATES,
    ("readings", "warmth"): WARMTH,
    ("readings", "source"): READING_SOURCES,
}
# several columns may fill these; their texts are put together
SEVERAL = ("note", "preparation", "as_done", "strength", "substance", "ingredients", "did", "wax")


@dataclass(frozen=True, slots=True)
class _Known:
    row: FieldRow
    words: tuple[str, ...]


@cache
def _known() -> tuple[_Known, ...]:
    columns = {
        "kind": one_of(*KINDS),
        "field": text,
        "label": text,
        "reads": text,
        "needed": yes_or_no,
        "words_en": words,
        "words_de": words,
        "words_fr": words,
        "source": text,
    }
    return tuple(
        _Known(
            FieldRow(r["kind"], r["field"], r["label"], r["reads"], r["needed"]),
            tuple(dict.fromkeys(level(w) for w in (*r["words_en"], *r["words_de"], *r["words_fr"], r["field"]))),
        )
        for r in read_table("column_words.csv", columns)
    )


@cache
def cell_words() -> Mapping[str, tuple[str, ...]]:
    """Words in cells by what they mean: "total", "ditto", "empty", "month 3", "waxed"; all in small letters."""
    rows = read_table("cell_words.csv", {"means": text, "words": words, "source": text})
    return {r["means"]: tuple(w.casefold() for w in r["words"]) for r in rows}


@cache
def answers_of(reads: str) -> tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...]:
    """What may be answered for a kind of cell: about ("unit" or "word"), the words asked about, the options."""
    columns = {"reads": text, "about": one_of("unit", "word"), "options": words, "words": any_text, "source": text}
    rows = read_table("column_answers.csv", columns)
    return tuple((r["about"], words(r["words"].casefold()), r["options"]) for r in rows if r["reads"] == reads)


def level(heading: str) -> str:
    """A heading as it is compared: small letters, single blanks, no bracket behind it, no full stop or colon.

    >>> level("Wall  thickness (mm):")
    'wall thickness'
    """
    plain = " ".join(heading.replace("_", " ").split()).casefold().rstrip(" :.")
    without = re.sub(r"\s*[(\[].*[)\]]$|,\s*\S{1,6}$", "", plain).rstrip(" :.")
    return without or plain


def fields_of(kind: str) -> tuple[FieldRow, ...]:
    """The fields of a kind of record, in order."""
    return tuple(k.row for k in _known() if k.row.kind == kind)


def field_of(kind: str, name: str) -> FieldRow | None:
    """One field by its name, None where the kind has none of that name."""
    return next((f for f in fields_of(kind) if f.name == name), None)


def means_something(heading: str) -> bool:
    """Whether a heading is among the words of any kind."""
    return any(level(heading) in k.words for k in _known())


def guessed_kind(headings: Sequence[str], substances: Mapping[str, str] | None = None) -> str:
    """The kind whose words explain most headings, and whose needed fields are there."""
    best, found = -1.0, KINDS[0]
    for kind in KINDS:
        mapped = {c.field for c in guessed_columns(kind, headings, substances)} - {""}
        needed = {f.name for f in fields_of(kind) if f.needed}
        score = len(mapped) + 2.0 * len(needed & mapped) / len(needed) - 1.5 * len(needed - mapped)
        if kind == "recipes":  # a name and an alloy make no recipe; what goes into it does
            score += 2.0 if mapped & {"strength", "ingredients", "substance"} else -2.0
        if score > best:
            best, found = score, kind
    return found


def guessed_columns(
    kind: str, headings: Sequence[str], substances: Mapping[str, str] | None = None
) -> tuple[MappedColumn, ...]:
    """What each column may mean, by the words above it. substances: names in small letters and what to call them,
    so that a column "Ferric nitrate g/L" is one of strengths of that substance."""
    taken: set[str] = set()
    made = []
    for heading in headings:
        field = _guess(kind, heading, taken)
        substance = "" if substances is None or kind != "recipes" else _substance_in(heading, substances)
        if substance and field in ("", "strength", "substance"):
            made.append(MappedColumn(heading, "strength", substance))
            continue
        if field not in SEVERAL:
            taken.add(field)
        made.append(MappedColumn(heading, field))
    return tuple(made)


def _guess(kind: str, heading: str, taken: set[str]) -> str:
    wanted = level(re.sub(r"\s*\(\d+\)$|\s+\d+$", "", heading))
    best, found = 0, ""
    for known in (k for k in _known() if k.row.kind == kind):
        if known.row.name in taken:
            continue
        for word in known.words:
            exact = 1000 if word == wanted else 0
            part = len(word) if len(word) > 3 and re.search(rf"\b{re.escape(word)}\b", wanted) else 0
            if exact + part > best:
                best, found = exact + part, known.row.name
    return found


def _substance_in(heading: str, substances: Mapping[str, str]) -> str:
    plain = re.sub(
        r"[\s:,/(\[-]*(g/l|%.*|g per l.*|mol/l|conc.*|strength|amount|konz.*|menge|dose)\W*$", "", level(heading)
    )
    plain = re.split(r":\s", plain)[0].strip()
    return substances.get(plain, "") if len(plain) > 3 else ""


def unit_in(heading: str, options: Sequence[str]) -> str:
    """The unit that a heading names, of those that may be answered; empty where it names none.

    >>> unit_in("Wall (mm)", ("mm", "cm")), unit_in("Ferric nitrate: g/L", ("g/L",)), unit_in("Wall", ("mm",))
    ('mm', 'g/L', '')
    """
    flat = heading.casefold().replace("²", "2").replace("litre", "l").replace("liter", "l").replace(" per ", "/")
    for option in sorted(options, key=len, reverse=True):
        word = re.escape(option.casefold())
        if re.search(rf"(?:^|[\s(\[,:_]){word}(?=$|[\s)\].,:])", flat):
            return option
    return ""
