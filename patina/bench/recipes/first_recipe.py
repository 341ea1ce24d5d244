"""The text of a recipe from a few answers, so that nobody begins with an empty page or a pattern to undo."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from patina.errors import BadQuantity, Incomplete, PatinaError
from patina.recipe import METHODS

if TYPE_CHECKING:
    from patina.bench.studio import Studio

WAYS = METHODS  # how a solution is put on
ANSWERS = (
    *("name", "finish", "alloy", "prepare", "chemicals", "solvent"),
    *("method", "tool", "passes", "coverage", "metal", "wax", "provenance"),
)
_APART = re.compile(r"\s*[;\n]\s*")
_NAME_FIRST = re.compile(r"(\D[^:=]*?)\s*[:=,]?\s*([\d½¼¾.].*)")
_FIGURE_FIRST = re.compile(r"([\d½¼¾.][\d\s.,½¼¾/]*\s*(?:g/l|%(?: ?[wv]/[wv])?|mol/l|ml/l))\s+(?:of\s+)?(\D.+)", re.I)
_RANGE = re.compile(r"\s*(?:to|bis|–|-|\N{HORIZONTAL ELLIPSIS})\s*")


def chemicals(studio: Studio, written: str, names: Mapping[str, str] | None = None) -> tuple[tuple[str, str], ...]:
    """Names and strengths of "liver of sulphur 5 g/L; 2 % sodium chloride", in the order written.

    names: what the reader's language calls a substance, casefolded, with its name in the catalogue. Raises
    Incomplete with what is wrong with each part.
    """
    from patina.chemistry.strength import parse_strength

    troubles: list[PatinaError] = []
    found: list[tuple[str, str]] = []
    for part in filter(None, _APART.split(written.strip())):
        named, first = _NAME_FIRST.fullmatch(part), _FIGURE_FIRST.fullmatch(part)
        name, strength = (first[2], first[1]) if first else (named[1], named[2]) if named else ("", "")
        try:
            if not name:
                raise BadQuantity(f"'{part}' is no substance with its strength.", "Write 'ferric nitrate 100 g/L'.")
            name = (names or {}).get(name.strip().casefold(), name.strip())
            substance = studio.catalogue().find(name, field="chemicals")
            parse_strength(strength.strip(), "chemicals")
            found.append((substance.name, strength.strip()))
        except PatinaError as trouble:
            trouble.field = "chemicals"
            troubles.append(trouble)
    if troubles:
        raise Incomplete(troubles)
    return tuple(found)


def text_of_answers(studio: Studio, answers: Mapping[str, str], names: Mapping[str, str] | None = None) -> str:
    """The text of the recipe that the answers describe: one solution and its step; more is added in the text.

    answers: of ANSWERS, each as a person writes it; name, finish and alloy must be there, several alloys have
    semicolons between them, metal is "80 to 95 °C". names: see ``chemicals``. Raises Incomplete, each trouble
    with its field.
    """
    given = {key: answers.get(key, "").strip() for key in ANSWERS}
    troubles: list[PatinaError] = [
        BadQuantity(f"{what} is missing.", "Fill it in.", field=key)
        for key, what in (("name", "The name"), ("finish", "The look aimed at"), ("alloy", "The alloy"))
        if not given[key]
    ]

    def kept(read: Callable[[], list[str]]) -> list[str]:
        try:
            return read()
        except Incomplete as trouble:
            troubles.extend(trouble.troubles)
        except PatinaError as trouble:
            troubles.append(trouble)
        return []

    mixed = kept(lambda: _solution(studio, given, names))
    applied = kept(lambda: _apply(given)) if given["chemicals"] else []
    if troubles:
        raise Incomplete(troubles)
    alloys = ", ".join(_toml(alloy) for alloy in _APART.split(given["alloy"]) if alloy)
    lines = [
        "patina_recipe = 1",
        f"name = {_toml(given['name'])}",
        f"finish = {_toml(given['finish'])}",
        f"alloys = [{alloys}]",
        f"provenance = {_toml(given['provenance'] or 'own tiles')}",
        *mixed,
        *_step("prepare", given["prepare"]),
        *applied,
        *_step("wax", given["wax"]),
    ]
    return "\n".join(lines) + "\n"


def _solution(studio: Studio, given: Mapping[str, str], names: Mapping[str, str] | None) -> list[str]:
    parts = chemicals(studio, given["chemicals"], names)
    if not parts:
        return []
    solvent = studio.catalogue().find(given["solvent"] or "distilled water", field="solvent").name
    lines = ["", "[[solution]]", f"name = {_toml(_pot(given))}", f"solvent = {_toml(solvent)}"]
    lines.append('volume_is = "made up to"')
    for name, strength in parts:
        lines += ["[[solution.ingredient]]", f"substance = {_toml(name)}", f"strength = {_toml(strength)}"]
    return lines


def _pot(given: Mapping[str, str]) -> str:
    return "wax" if given["solvent"] == "white spirit" else "first wash"


def _apply(given: Mapping[str, str]) -> list[str]:
    from patina.units import coverage_ml_per_m2, temperature_c

    troubles: list[PatinaError] = []
    lines = ["", "[[step]]", 'do = "apply"', f"solution = {_toml(_pot(given))}"]
    if given["method"]:
        if given["method"] not in METHODS:
            remedy = f"Choose one of: {', '.join(METHODS)}."
            troubles.append(BadQuantity(f"'{given['method']}' is no way to apply it.", remedy, field="method"))
        lines.append(f"method = {_toml(given['method'])}")
    if given["tool"]:
        lines.append(f"tool = {_toml(given['tool'])}")
    if given["passes"]:
        if not (given["passes"].isascii() and given["passes"].isdigit() and 1 <= int(given["passes"][:5]) <= 1000):
            what = f"'{given['passes']}' is no number of passes."
            troubles.append(BadQuantity(what, "Write a whole number from 1 to 1000.", field="passes"))
        else:
            lines.append(f"passes = {int(given['passes'])}")
    try:
        if given["coverage"]:
            coverage_ml_per_m2(given["coverage"], "coverage")
            lines.append(f"coverage = {_toml(given['coverage'])}")
    except PatinaError as trouble:
        troubles.append(trouble)
    try:
        if given["metal"]:
            low, high = _window(given["metal"])
            if temperature_c(low, "metal") > temperature_c(high, "metal"):
                raise BadQuantity(f"'{given['metal']}' begins with the higher one.", "Write '80 to 95 °C'.")
            lines.append(f"surface_temperature = [{_toml(low)}, {_toml(high)}]")
    except PatinaError as trouble:
        trouble.field = "metal"
        troubles.append(trouble)
    if troubles:
        raise Incomplete(troubles)
    return lines


def _window(written: str) -> tuple[str, str]:
    """The two temperatures of "80 to 95 °C"; one alone stands for both ends."""
    parts = [part for part in _RANGE.split(written) if part]
    if len(parts) not in (1, 2):
        raise BadQuantity(f"'{written}' is no range of temperatures.", "Write '80 to 95 °C'.")
    unit = re.search(r"[^\d\s.,]+\s*[A-Za-z]*$", parts[-1])
    low = parts[0] if re.search(r"[^\d\s.,]", parts[0]) or unit is None else f"{parts[0]} {unit[0]}"
    return low, parts[-1]


def _step(do: str, note: str) -> list[str]:
    return ["", "[[step]]", f"do = {_toml(do)}", f"note = {_toml(note)}"] if note else []


def _toml(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")
