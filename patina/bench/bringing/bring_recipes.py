"""Recipes from the rows of an old table: one row for each, or one row for each ingredient and step.

Rows that bear the same name are one recipe. What is put together goes through the reader of recipe files, so that
nothing comes in by this door that a recipe file could not say.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from patina.bench.bringing.bring_cells import Column
from patina.bench.bringing.bring_rows import RowRead, RowReader, reasons
from patina.chemistry.strength import parse_strength
from patina.errors import BadQuantity, BadRecipeFile, PatinaError
from patina.recipe_file import read_recipe_text
from patina.sheets.bringing import MappedColumn

if TYPE_CHECKING:
    from patina.recipe import Recipe

BATH = "bath"
_ONCE = ("finish", "alloys", "provenance", "texture", "reserve", "dead_volume")
_OF_SOLUTION = ("solvent", "volume_is", "use_within")
_OF_STEP = ("method", "tool", "passes", "coverage", "transfer", "surface_temperature")
_APART = re.compile(r"\s*(?:;|\n|\s\+\s)\s*")


@dataclass
class _Solution:
    name: str
    values: dict[str, str] = field(default_factory=dict)
    ingredients: list[tuple[str, str]] = field(default_factory=list)
    step: dict[str, str] = field(default_factory=dict)


def groups_of(rows: Iterable[RowRead]) -> list[list[RowRead]]:
    """Rows that make one recipe: of the same name, and those without one below them."""
    groups: dict[str, list[RowRead]] = {}
    last = ""
    for row in rows:
        name = " ".join(row.text("name").split()).casefold() or last or f"row {row.number}"
        groups.setdefault(name, []).append(row)
        last = name
    return list(groups.values())


class RecipeMaker:
    """Puts recipes together from the rows of one file."""

    def __init__(self, reader: RowReader, file: str):
        self.reader, self.file = reader, file
        self.columns = {column.heading: column for _, _, _, column in reader.columns}

    def recipe(self, rows: list[RowRead]) -> tuple[Recipe, list[str]]:
        """The recipe of a group of rows, and what a person should look at.

        Raises Ask for what has to be answered first, BadQuantity and BadRecipeFile for what cannot be.
        """
        troubles = [t for row in rows for t in row.troubles]
        if troubles:
            raise BadQuantity(reasons(troubles), "Mend the rows and bring them in again.")
        notes = [note for row in rows for note in row.notes]
        once = {name: self._same(rows, name) for name in ("name", *_ONCE)}
        if not once["name"]:
            raise BadQuantity("The row has no name of a finish.", "Give it one.", field="name")
        if not once["alloys"]:
            raise BadQuantity("No alloy is named.", "Name it in the row, or once for every row.", field="alloys")
        solutions, steps = self._parts(rows, notes)
        for solution in solutions:
            lacks = [n for n in ("solvent", "volume_is") if not (solution.values.get(n) or self.reader.every.get(n))]
            if lacks:
                raise BadQuantity(
                    f"It is not said what '{solution.name}' is dissolved in, or how its volume is meant.",
                    "Say solvent and volume_is in the row, or once for every row.",
                    field=lacks[0],
                )
        text = self._document(rows, once, solutions, steps, notes)
        try:
            recipe = read_recipe_text(text, self.reader.known.catalogue, name=f"'{once['name']}'")
        except BadRecipeFile as trouble:
            raise BadRecipeFile(re.sub(r"line \d+, ", "", trouble.what), trouble.remedy) from None
        if not once["finish"]:
            notes.append("no look is given: the name stands in its place")
        return recipe, notes

    def _same(self, rows: list[RowRead], name: str) -> str:
        said = {row.text(name): row for row in rows if row.text(name)}
        if name == "name":
            return next(iter(said), "")
        if len(said) > 1:
            one, other = list(said)[:2]
            raise BadQuantity(
                f"{rows[0].heading(name)}: row {said[one].number} says '{one}', row {said[other].number} '{other}'.",
                "Say the same in all rows of one recipe.",
                field=name,
            )
        return next(iter(said), "")

    def _parts(self, rows: list[RowRead], notes: list[str]) -> tuple[list[_Solution], list[dict[str, str]]]:
        solutions: dict[str, _Solution] = {}
        steps: list[dict[str, str]] = []
        at = ""
        for row in rows:
            at = row.text("solution") or at
            pairs = list(self._pairs(row, notes))
            named = row.text("do")
            if pairs or row.text("solution"):
                made = solutions.setdefault(at or BATH, _Solution(at or BATH))
                made.ingredients += pairs
                for name in _OF_SOLUTION:
                    if row.text(name):
                        made.values.setdefault(name, row.text(name))
            values = {name: row.text(name) for name in _OF_STEP if row.text(name)}
            if named:
                used = row.text("solution") or (at or (BATH if solutions else "") if named == "apply" else "")
                steps.append({"do": named, "note": row.text("note"), "solution": used, **values})
            elif solutions:
                step = solutions.get(at or BATH, next(iter(solutions.values()))).step
                for name, value in values.items():
                    step.setdefault(name, value)
                if row.text("note"):
                    step["note"] = "; ".join(dict.fromkeys(p for p in (step.get("note", ""), row.text("note")) if p))
        return list(solutions.values()), steps

    def _pairs(self, row: RowRead, notes: list[str]) -> Iterable[tuple[str, str]]:
        """Substances with their strengths, in the order of columns."""
        waiting = ""
        for mapped, text in row.ordered:
            if mapped.field == "substance":
                if waiting:
                    raise BadQuantity("A substance has no strength.", "Give it one.", field=mapped.heading)
                waiting = text
            elif mapped.field == "strength" and mapped.substance:
                key = self.reader.known.catalogue.find(mapped.substance, field=mapped.heading).key
                yield key, self._strength(mapped, text, key, notes)
            elif mapped.field == "strength":
                if not waiting:
                    raise BadQuantity(
                        f"'{text}' is a strength of nothing.", "Name its substance before it.", field=mapped.heading
                    )
                yield waiting, self._strength(mapped, text, waiting, notes)
                waiting = ""
            elif mapped.field == "ingredients":
                yield from self._listed(mapped, text, notes)
        if waiting:
            raise BadQuantity("A substance has no strength.", "Give it one.", field="substance")

    def _listed(self, mapped: MappedColumn, text: str, notes: list[str]) -> Iterable[tuple[str, str]]:
        """ "ferric nitrate 100 g/L; water" written in one cell."""
        column = self.columns[mapped.heading]
        for part in (p for p in _APART.split(text) if p):
            after = re.fullmatch(r"(\D[^:=]*?)\s*[:=,]?\s*([\d½¼¾.].*)", part)
            before = re.fullmatch(
                r"([\d½¼¾].*?(?:g/l|g per lit(?:re|er)|%(?: [wv]/[wv])?|mol/l|ml/l))\s+(?:of\s+)?(.+)", part, re.I
            )
            if before:
                strength, name = before.groups()
            elif after:
                name, strength = after.groups()
            else:
                raise column.refuse(f"'{part}' is no substance with its strength.", "Write 'ferric nitrate 100 g/L'.")
            key = self.reader.substance(column, name.strip())
            reading = Column(column.heading, "strength", column.answers, asked=column.asked)
            from patina.bench.bringing.bring_cells import read_cell

            cell = read_cell(reading, strength)
            notes += [f"{mapped.heading}: {note}" for note in cell.notes]
            yield key, self._strength(mapped, cell.text, key, notes)

    def _strength(self, mapped: MappedColumn, text: str, substance: str, notes: list[str]) -> str:
        """A strength as a recipe can hold it; words of old measures only by an answer given for the column."""
        try:
            parse_strength(text, mapped.heading)
        except BadQuantity as trouble:
            old = self._old(mapped, text, substance)
            if old is None:
                trouble.field = mapped.heading
                raise
            notes.append(f"{mapped.heading}: written '{text}', {old[1]}")
            return old[0]
        return text

    def _old(self, mapped: MappedColumn, text: str, substance: str) -> tuple[str, str] | None:
        """The middle of what spoons and the like can mean, with the words; None for what is no old measure."""
        from patina.bench.recipes.old import figure
        from patina.chemistry.old_measures import old_measure
        from patina.units import volume_ml

        column = self.columns[mapped.heading]
        form = self.reader.known.catalogue.get(substance)
        into = None
        try:
            least = old_measure(text, form, 1000.0).low_g_per_l
        except PatinaError:
            return None
        if least <= 0:
            return None
        try:
            found = old_measure(text, form)
        except PatinaError:
            asks = "In how much water does this go?"
            answer = column.need("volume", asks, text, [("1 L", "1 L"), ("500 mL", "500 mL")], free=True)
            into = volume_ml(answer, mapped.heading)
            found = old_measure(text, form, into)
        middle = (max(found.low_g_per_l, found.high_g_per_l / 100) * found.high_g_per_l) ** 0.5
        means = f"{figure(found.low_g_per_l)} to {figure(found.high_g_per_l)} g/L ({found.assumption})"
        options = [("refuse", "the row is not brought in"), ("middle", f"{figure(middle)} g/L, of {means}")]
        column.need("old words", "It can mean anything within an interval.", text, options)
        return f"{figure(middle)} g/L", f"which can mean {means}"

    def _document(
        self,
        rows: list[RowRead],
        once: Mapping[str, str],
        solutions: list[_Solution],
        steps: list[dict[str, str]],
        notes: list[str],
    ) -> str:
        lines = [
            "patina_recipe = 1",
            f"name = {_toml(once['name'])}",
            f"finish = {_toml(once['finish'] or once['name'])}",
            f"alloys = [{', '.join(_toml(a) for a in once['alloys'].splitlines())}]",
            f"provenance = {_toml(once['provenance'] or f'brought in from {self.file}')}",
        ]
        if once["texture"]:
            lines.append(f"texture = {_number(once['texture'])}")
        lines += [f"{k} = {_toml(once[k])}" for k in ("reserve", "dead_volume") if once[k]]
        for solution in solutions:
            every = self.reader.every
            values = {k: solution.values.get(k) or every.get(k, "") for k in _OF_SOLUTION}
            lines += ["[[solution]]", f"name = {_toml(solution.name)}"]
            lines += [f"{k} = {_toml(v)}" for k, v in values.items() if v]
            for substance, strength in solution.ingredients:
                lines += ["[[solution.ingredient]]", f"substance = {_toml(substance)}", f"strength = {_toml(strength)}"]
        for step in self._all_steps(rows, solutions, steps, notes):
            lines += ["[[step]]", *_step_lines(step)]
        return "\n".join(lines) + "\n"

    def _all_steps(
        self, rows: list[RowRead], solutions: list[_Solution], steps: list[dict[str, str]], notes: list[str]
    ) -> list[dict[str, str]]:
        """The steps that rows name; else preparation, one application of each solution, and the wax."""
        made = list(steps) or [{"do": "apply", "solution": s.name, **s.step} for s in solutions]
        for name, do, first in (("preparation", "prepare", True), ("wax", "wax", False)):
            texts = list(dict.fromkeys(row.text(name) for row in rows if row.text(name)))
            if texts and not any(s["do"] == do for s in steps):
                made.insert(0 if first else len(made), {"do": do, "note": "; ".join(texts)})
        if made and notes:
            said = "; ".join(dict.fromkeys(notes))
            target = next((s for s in made if s["do"] == "apply"), made[0])
            target["note"] = f"{target.get('note', '')} [{said}]".strip()
        return made


def _step_lines(step: Mapping[str, str]) -> list[str]:
    lines = [f"{k} = {_toml(step[k])}" for k in ("do", "note", "solution", "method", "tool") if step.get(k)]
    if step.get("passes"):
        lines.append(f"passes = {int(step['passes'])}")
    lines += [f"{k} = {_toml(step[k])}" for k in ("coverage", "transfer") if step.get(k)]
    if step.get("surface_temperature"):
        low, _, high = step["surface_temperature"].partition(" | ")
        lines.append(f"surface_temperature = [{_toml(low)}, {_toml(high)}]")
    return lines


def _number(text: str) -> str:
    from patina.units import number

    return repr(float(number(text, "texture")))


def _toml(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")
