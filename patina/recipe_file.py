"""The recipe file: TOML that a person can write with a text editor, read and written.

A file that says something unknown or contradictory is refused whole, with every trouble named by
line and key. Keys and their meaning are listed in README.md.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from patina.chemistry.strength import parse_strength
from patina.chemistry.substances import Catalogue
from patina.errors import BadRecipeFile, NotFound, PatinaError
from patina.recipe import DOINGS, FORMAT_VERSION, METHODS, VOLUME_IS, Ingredient, Recipe, Solution, Step
from patina.recipe_lines import line_of
from patina.recipe_writing import write_recipe
from patina.surface.alloys import find_alloy

LARGEST_FILE_BYTES = 1_000_000

__all__ = ["based_on", "read_recipe", "read_recipe_text", "write_recipe"]

_RECIPE_KEYS = {
    "patina_recipe",
    "based_on",
    "name",
    "finish",
    "alloys",
    "provenance",
    "texture",
    "reserve",
    "dead_volume",
    "solution",
    "step",
}
_SOLUTION_KEYS = {"name", "solvent", "volume_is", "use_within", "ingredient"}
_INGREDIENT_KEYS = {"substance", "strength"}
_STEP_KEYS = {"do", "note", "solution", "method", "tool", "passes", "coverage", "transfer", "surface_temperature"}


def read_recipe(path: Path, catalogue: Catalogue) -> Recipe:
    """The recipe in a file. Raises BadRecipeFile naming lines and keys; nothing is half-read."""
    try:
        with path.open("rb") as file:  # a device or pipe does not say how large it is
            content = file.read(LARGEST_FILE_BYTES + 1)
        if len(content) > LARGEST_FILE_BYTES:
            raise BadRecipeFile(
                f"{path.name} is larger than a recipe can be.", "Give a recipe file, at most 1 MB of text."
            )
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadRecipeFile(f"{path.name} is not UTF-8 text.", "Save it as UTF-8 in a text editor.") from None
    except (OSError, ValueError) as trouble:  # ValueError: a name that no file can have
        reason = getattr(trouble, "strerror", None) or "it cannot be opened"
        raise BadRecipeFile(
            f"{path.name} cannot be read: {reason}.", "Check the path and the file's permissions."
        ) from None
    return read_recipe_text(text, catalogue, name=path.name)


def read_recipe_text(text: str, catalogue: Catalogue, *, name: str = "the text") -> Recipe:
    """The recipe in a text. name: what the text is called in messages. Raises BadRecipeFile."""
    if "\x00" in text:
        raise BadRecipeFile(f"{name} holds bytes that are not text.", "Give a recipe file saved by a text editor.")
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as trouble:
        raise BadRecipeFile(
            f"{name} is not TOML: {trouble}.", "Correct that place; strings need quotation marks."
        ) from None
    except RecursionError:
        raise BadRecipeFile(
            f"{name} is nested too deeply.", "A recipe holds [[solution]] and [[step]] tables only."
        ) from None
    return _Reader(text, name, catalogue).recipe(document)


def based_on(path: Path) -> int | None:
    """The revision that a recipe file says it was written on (``based_on = 3``); None where it does not say.

    To be asked of a file that ``read_recipe`` has taken.
    """
    value = tomllib.loads(path.read_text("utf-8-sig")).get("based_on")
    return int(value) if isinstance(value, int) else None


class _Reader:
    """Reads one document and collects every trouble before refusing."""

    def __init__(self, text: str, name: str, catalogue: Catalogue):
        self.text, self.name, self.catalogue = text, name, catalogue
        self.troubles: list[tuple[str, str]] = []

    def trouble(self, where: tuple[str | int, ...], what: str, remedy: str) -> None:
        line = line_of(self.text, where)
        place = ".".join(str(part) if isinstance(part, str) else f"[{part + 1}]" for part in where).replace(".[", "[")
        at = f"line {line}, {place}" if line else place
        self.troubles.append((f"{at}: {what}", remedy))

    def parsed(
        self, where: tuple[str | int, ...], parse: Callable[[str], Any], value: Any, fallback: Any = None
    ) -> Any:
        if not isinstance(value, str):
            self.trouble(where, "must be text in quotation marks, with its unit.", 'Write for example "40 mL/m2".')
            return fallback
        try:
            return parse(value)
        except PatinaError as trouble:
            self.trouble(where, trouble.what, trouble.remedy)
            return fallback

    def word(self, table: dict[str, Any], key: str, where: tuple[str | int, ...], *, needed: bool = False) -> str:
        value = table.get(key)
        if value is None and not needed:
            return ""
        if not isinstance(value, str) or (needed and not value.strip()):
            self.trouble((*where, key), "must be text in quotation marks and not empty.", f'Write {key} = "…".')
            return ""
        if len(value) > 20_000:
            self.trouble((*where, key), "is longer than 20,000 characters.", "Shorten it.")
        return value.strip()

    def choice(
        self, table: dict[str, Any], key: str, where: tuple[str | int, ...], allowed: tuple[str, ...]
    ) -> str | None:
        value = table.get(key)
        if value is None:
            return None
        if value not in allowed:
            self.trouble((*where, key), f"{value!r} is not known here.", f"Use one of: {', '.join(allowed)}.")
            return None
        return str(value)

    def known_keys(self, table: dict[str, Any], allowed: set[str], where: tuple[str | int, ...]) -> None:
        for key in table:
            if key not in allowed:
                self.trouble(
                    (*where, key), "this key has no meaning.", f"Known keys here: {', '.join(sorted(allowed))}."
                )

    def tables(self, document: dict[str, Any], key: str, where: tuple[str | int, ...]) -> list[dict[str, Any]]:
        value = document.get(key, [])
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            self.trouble((*where, key), "must be a list of tables.", f"Write [[{key}]] above each one.")
            return []
        return value

    def recipe(self, document: dict[str, Any]) -> Recipe:
        self._version(document)
        self.known_keys(document, _RECIPE_KEYS, ())
        self._based_on(document.get("based_on", 1))
        solutions = tuple(self.solution(t, i) for i, t in enumerate(self.tables(document, "solution", ())))
        self._one_name_each(solutions)
        steps = tuple(self.step(t, i, solutions) for i, t in enumerate(self.tables(document, "step", ())))
        if not steps and "step" not in document:
            self.trouble(("step",), "the recipe has no step.", 'Add at least one [[step]] with do = "…".')
        recipe = Recipe(
            name=self.word(document, "name", (), needed=True),
            finish=self.word(document, "finish", (), needed=True),
            alloys=self._alloys(document),
            provenance=self.word(document, "provenance", (), needed=True),
            solutions=solutions,
            steps=steps,
            texture=self._texture(document.get("texture", 1.0)),
            reserve=self._reserve(document),
            dead_volume_ml=self._dead_volume(document),
        )
        if self.troubles:
            raise BadRecipeFile(
                f"{self.name} is refused. " + " ".join(what for what, _ in self.troubles),
                " ".join(dict.fromkeys(remedy for _, remedy in self.troubles)),
            )
        return recipe

    def _version(self, document: dict[str, Any]) -> None:
        version = document.get("patina_recipe")
        if version is None:
            self.trouble(
                ("patina_recipe",),
                "the file does not say that it is a recipe.",
                "Put patina_recipe = 1 on its first line.",
            )
        elif version != FORMAT_VERSION or isinstance(version, bool):
            self.trouble(("patina_recipe",), f"version {version!r} is not known.", "This program reads version 1.")

    def _based_on(self, value: Any) -> None:
        if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 1_000_000:
            self.trouble(("based_on",), "must be the number of a revision.", "Write based_on = 3, or leave it out.")

    def _one_name_each(self, solutions: tuple[Solution, ...]) -> None:
        names = [s.name for s in solutions]
        for i, name in enumerate(names):
            if name in names[:i]:
                self.trouble(("solution", i, "name"), f"two solutions are called '{name}'.", "Give each its own name.")

    def _alloys(self, document: dict[str, Any]) -> tuple[str, ...]:
        value = document.get("alloys")
        if not isinstance(value, list) or not value or not all(isinstance(a, str) and a.strip() for a in value):
            self.trouble(("alloys",), "must be a list of alloy names.", 'Write alloys = ["C87300"].')
            return ()
        return tuple(dict.fromkeys(_alloy_key(a) for a in value))

    def _texture(self, value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not 1.0 <= value <= 5.0:
            self.trouble(
                ("texture",), "must be a number from 1 to 5 (developed area over plain area).", "Write texture = 1.1."
            )
            return 1.0
        return float(value)

    def _reserve(self, document: dict[str, Any]) -> float:
        from patina.units import share

        if "reserve" not in document:
            return 0.25
        reserve: float = self.parsed(("reserve",), share, document["reserve"], 0.0)
        return reserve

    def _dead_volume(self, document: dict[str, Any]) -> float:
        from patina.units import volume_ml

        value = document.get("dead_volume")
        if value is None or (isinstance(value, int | float) and not isinstance(value, bool) and value == 0):
            return 0.0
        volume: float = self.parsed(("dead_volume",), partial(volume_ml, zero=True), value, 0.0)
        return volume

    def solution(self, table: dict[str, Any], index: int) -> Solution:
        from patina.units import duration_h

        where: tuple[str | int, ...] = ("solution", index)
        self.known_keys(table, _SOLUTION_KEYS, where)
        ingredients = tuple(
            item
            for i, t in enumerate(self.tables(table, "ingredient", where))
            if (item := self.ingredient(t, (*where, "ingredient", i))) is not None
        )
        if not table.get("ingredient"):
            self.trouble(
                (*where, "ingredient"), "the solution has no ingredient.", "Add [[solution.ingredient]] under it."
            )
        seen: set[str] = set()
        for i, item in enumerate(ingredients):
            if item.substance in seen:
                self.trouble(
                    (*where, "ingredient", i, "substance"),
                    "is named twice in this solution.",
                    "Give its whole strength once.",
                )
            seen.add(item.substance)
        use_within = table.get("use_within")
        return Solution(
            name=self.word(table, "name", where, needed=True),
            solvent=self._substance(table, "solvent", where),
            ingredients=ingredients,
            volume_is=self.choice(table, "volume_is", where, VOLUME_IS) or self._volume_is_missing(table, where),
            use_within_h=None if use_within is None else self.parsed((*where, "use_within"), duration_h, use_within),
        )

    def _volume_is_missing(self, table: dict[str, Any], where: tuple[str | int, ...]) -> str:
        if "volume_is" not in table:
            self.trouble(
                (*where, "volume_is"),
                "it is not said whether the volume is that of the solution or of the solvent.",
                'Write volume_is = "made up to" or volume_is = "added to".',
            )
        return VOLUME_IS[0]

    def _substance(self, table: dict[str, Any], key: str, where: tuple[str | int, ...]) -> str:
        name = self.word(table, key, where, needed=True)
        if not name:
            return ""
        try:
            return self.catalogue.find(name).key
        except PatinaError as trouble:
            self.trouble((*where, key), trouble.what, trouble.remedy)
            return ""

    def ingredient(self, table: dict[str, Any], where: tuple[str | int, ...]) -> Ingredient | None:
        self.known_keys(table, _INGREDIENT_KEYS, where)
        substance = self._substance(table, "substance", where)
        if "strength" not in table:
            self.trouble((*where, "strength"), "is missing.", 'Write for example strength = "5 g/L".')
            return None
        strength = self.parsed((*where, "strength"), parse_strength, table["strength"])
        return Ingredient(substance, strength) if strength is not None and substance else None

    def step(self, table: dict[str, Any], index: int, solutions: tuple[Solution, ...]) -> Step:
        from patina.units import coverage_ml_per_m2, share

        where: tuple[str | int, ...] = ("step", index)
        self.known_keys(table, _STEP_KEYS, where)
        do = self.choice(table, "do", where, DOINGS)
        if "do" not in table:
            self.trouble((*where, "do"), "is missing.", f"Use one of: {', '.join(DOINGS)}.")
        coverage, transfer = table.get("coverage"), table.get("transfer")
        return Step(
            do=do or DOINGS[0],
            note=self.word(table, "note", where),
            solution=self._named_solution(table, do, where, solutions),
            method=self.choice(table, "method", where, METHODS),
            tool=self.word(table, "tool", where),
            passes=self._passes(table, where),
            coverage_ml_per_m2=None
            if coverage is None
            else self.parsed((*where, "coverage"), coverage_ml_per_m2, coverage),
            transfer=1.0 if transfer is None else self._transfer((*where, "transfer"), share, transfer),
            surface_temperature_c=self._window(table, where),
        )

    def _named_solution(
        self, table: dict[str, Any], do: str | None, where: tuple[str | int, ...], solutions: tuple[Solution, ...]
    ) -> str | None:
        name = self.word(table, "solution", where) or None
        if name is None and do == "apply":
            self.trouble(
                (*where, "solution"), "an apply step names no solution.", "Name one of the recipe's solutions."
            )
        if name is not None and name not in [s.name for s in solutions]:
            known = ", ".join(f"'{s.name}'" for s in solutions) or "none"
            self.trouble((*where, "solution"), f"there is no solution '{name}'.", f"The recipe's solutions: {known}.")
        return name

    def _passes(self, table: dict[str, Any], where: tuple[str | int, ...]) -> int:
        value = table.get("passes", 1)
        if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 1000:
            self.trouble((*where, "passes"), "must be a whole number from 1 to 1000.", "Write passes = 4.")
            return 1
        return value

    def _transfer(self, where: tuple[str | int, ...], parse: Callable[[str], float], value: Any) -> float:
        share: float = self.parsed(where, parse, value, 1.0)
        if not 0.0 < share <= 1.0:
            self.trouble(where, "must be more than 0 % and at most 100 %.", 'Write transfer = "50 %".')
            return 1.0
        return share

    def _window(self, table: dict[str, Any], where: tuple[str | int, ...]) -> tuple[float, float] | None:
        from patina.units import temperature_c

        value = table.get("surface_temperature")
        if value is None:
            return None
        where = (*where, "surface_temperature")
        if not isinstance(value, list) or len(value) != 2:
            self.trouble(
                where, "must be a pair, lowest and highest.", 'Write surface_temperature = ["80 degC", "95 degC"].'
            )
            return None
        low, high = (self.parsed(where, temperature_c, v) for v in value)
        if low is None or high is None:
            return None
        if low > high:
            self.trouble(where, "the first temperature is above the second.", "Write the lowest first.")
        return (low, high)


def _alloy_key(name: str) -> str:
    """The catalogue's key of an alloy; a name it does not hold stays as written, for no list of alloys is whole."""
    try:
        return find_alloy(name).key
    except NotFound:
        return name.strip()
