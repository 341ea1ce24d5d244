"""The label of a mixture: signal word, pictograms and statements after precedence, with their texts.

Source: [CLP_ARTICLES] 26 to 28, [HCS_APP_C], the rows of ``pictograms.csv`` and the statement tables
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from patina.datafile import any_text, read_table, text, words
from patina.errors import NotFound
from patina.safety.rules import Finding

SIGNAL_ORDER = ("Danger", "Warning")


@dataclass(frozen=True, slots=True)
class Label:
    """signal_word: "Danger", "Warning" or None. pictograms, statements, p_statements: codes, sorted."""

    signal_word: str | None
    pictograms: tuple[str, ...]
    statements: tuple[str, ...]
    p_statements: tuple[str, ...]


@cache
def _texts() -> dict[str, str]:
    columns = {"code": text, "text": text, "source": text, "german_source": text}
    found = {row["code"]: row["text"] for row in read_table("hazard_statements.csv", columns)}
    found |= {row["code"]: row["text"] for row in _precautions()}
    found |= {row["h"]: row["text"] for row in _new_classes()}
    return found


@cache
def _new_classes() -> list[dict[str, Any]]:
    columns = dict.fromkeys(("class_code", "h", "signal_word", "text", "source", "german_source"), text)
    return read_table("label_elements_new_classes.csv", columns)


@cache
def _precautions() -> list[dict[str, Any]]:
    columns = dict.fromkeys(("code", "text", "kind", "source", "german_source"), text) | {"classes": words, "h": words}
    return read_table("precautionary_statements.csv", columns)


@cache
def _elements() -> dict[tuple[str, str], tuple[str, str]]:
    columns = {"class_code": text, "h": text, "signal_word": any_text, "pictogram": any_text, "source": text}
    found = {
        (row["class_code"], _short(row["h"])): (row["signal_word"], row["pictogram"])
        for row in read_table("pictograms.csv", columns)
    }
    return found | {(row["class_code"], row["h"]): (row["signal_word"], "") for row in _new_classes()}


def _short(h: str) -> str:
    """H360FD and H360 share a row; EUH statements are compared whole."""
    return h if h.startswith("EUH") else h[:4]


def statement(code: str) -> str:
    """The words of an H, EUH or P statement, falling back to its first four characters (H360FD to H360).

    Raises NotFound for a code that the tables do not hold.
    """
    table = _texts()
    for candidate in (code, _short(code)):
        if candidate in table:
            return table[candidate]
    raise NotFound(f"No statement is known under '{code}'.", "Add it to patina/data/hazard_statements.csv.")


def elements(code: str, h: str) -> tuple[str | None, str | None]:
    """Signal word and pictogram of one class; None where the class has none. Raises NotFound."""
    try:
        signal, pictogram = _elements()[(code, _short(h))]
    except KeyError:
        raise NotFound(
            f"No label elements are known for {code} ({h}).", "Add the row to patina/data/pictograms.csv."
        ) from None
    return signal or None, pictogram or None


def label(found: Sequence[Finding], regime: str = "CLP") -> Label:
    """The label for the classes found (those that a stronger class covers left out beforehand or not)."""
    signals = {signal for f in found if (signal := elements(f.code, f.h)[0])}
    statements = statements_after_precedence(f.h for f in found)
    return Label(
        next((word for word in SIGNAL_ORDER if word in signals), None),
        pictograms_after_precedence(found, regime),
        statements,
        precautions([f for f in found if f.h in statements]),
    )


def statements_after_precedence(codes: Iterable[str]) -> tuple[str, ...]:
    """Statements without those that another one already says.

    >>> statements_after_precedence(["H314", "H318", "H335", "H400", "H410"])
    ('H314', 'H335', 'H410')
    >>> statements_after_precedence(["H400", "H411"])
    ('H400', 'H411')
    """
    present = set(codes)
    covered = {
        "H314": ("H315", "H318", "H319"),
        "H318": ("H319",),
        "H410": ("H400",),
    }
    dropped = {weaker for strong, weak in covered.items() if strong in present for weaker in weak}
    return tuple(sorted(present - dropped))


def pictograms_after_precedence(found: Sequence[Finding], regime: str = "CLP") -> tuple[str, ...]:
    """Pictograms without those that another one takes the place of.

    GHS06 takes the place of GHS07 (under HCS only of the one for acute toxicity); GHS05 of GHS07 for skin and
    eye irritation; GHS08 for a respiratory sensitiser of GHS07 for skin sensitisation and for skin and eye
    irritation. A GHS05 that stands for corrosion of metals alone drops nothing.
    Source: [CLP_ARTICLES] 26, [HCS_APP_C] C.2.1
    """
    carried = [(f, picture) for f in found if (picture := elements(f.code, f.h)[1])]
    pictures = {picture for _, picture in carried}
    corrosive = any(picture == "GHS05" and f.family in ("skin", "eye") for f, picture in carried)
    breathing = any(f.family == "Resp. Sens." for f, _ in carried)

    def stays(f: Finding) -> bool:
        irritant = f.family in ("skin", "eye")
        if "GHS06" in pictures and (regime == "CLP" or f.family.startswith("acute")):
            return False
        return not ((irritant and (corrosive or breathing)) or (f.family == "Skin Sens." and breathing))

    kept = {picture for f, picture in carried if picture != "GHS07" or stays(f)}
    return tuple(sorted(kept))


def precautions(found: Sequence[Finding], kinds: Sequence[str] = ()) -> tuple[str, ...]:
    """Codes of the precautionary statements that the classes call for. kinds: "prevention", "response", "storage"
    or "disposal"; none given: all."""
    chosen = []
    for row in _precautions():
        if kinds and row["kind"] not in kinds:
            continue
        if any(f.code in row["classes"] and (not row["h"] or f.h[:4] in row["h"]) for f in found):
            chosen.append(row["code"])
    return _without_doubles(chosen)


def _without_doubles(codes: Sequence[str]) -> tuple[str, ...]:
    """Where "do not breathe" stands, "avoid breathing" is left out; likewise the weaker of two medical ones."""
    weaker = {"P260": "P261", "P301+P310": "P301+P312", "P303+P361+P353": "P302+P352"}
    dropped = {weak for strong, weak in weaker.items() if strong in codes}
    if "P310" in codes:
        dropped.add("P337+P313")
    return tuple(sorted(dict.fromkeys(code for code in codes if code not in dropped)))
