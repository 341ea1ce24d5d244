"""Mixing: from a recipe and an area to what is weighed, in which order, and what to fear."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.access import require_open
from patina.bench.pots.what_if import (
    at_strength,
    bottles_for,
    deviations,
    strength_cautions,
    strength_factor,
    why_open,
    witness_volume,
)
from patina.bench.recipes.have import on_hand
from patina.chemistry.substances import Catalogue, Substance, catalogue
from patina.colour.values import Caution
from patina.errors import BadQuantity, NotFound, PatinaError, Refused
from patina.recipe import Recipe, Solution, Step
from patina.sheets import MixedSolution, MixSheet, WeighLine

if TYPE_CHECKING:
    from patina.bench.pots.supply import Supply
    from patina.bench.studio import Studio
    from patina.chemistry.weighing import Weighing

# Ways of applying whose quantity is a bath or a saucer, not a coverage of the surface.
BATH_METHODS = ("immersion", "fume")


def recipe_file_of(recipe: str) -> Path | None:
    """The path, where the word names a recipe file; None where it is the name of a record."""
    path = Path(recipe)
    if path.suffix.lower() == ".toml":
        return path
    try:
        return path if "/" in recipe and path.is_file() else None
    except (OSError, ValueError):  # no name that a file could have
        return None


@dataclass(frozen=True, slots=True)
class FoundRecipe:
    """A recipe with where it stands. id: None and revision: 0 for a file that is not in a studio."""

    recipe: Recipe
    id: str | None
    revision: int


def find_recipe(studio: Studio | None, which: str, revision: int | None = None) -> tuple[FoundRecipe, Catalogue]:
    """The recipe of a file or of the studio, and the catalogue that its substances are in."""
    known = catalogue() if studio is None else studio.catalogue()
    path = recipe_file_of(which)
    if path is not None:
        from patina.recipe_file import read_recipe

        return FoundRecipe(read_recipe(path, known), None, 0), known
    if studio is None:
        raise NotFound(f"There is no recipe file '{which}'.", "Give the path of a .toml file, or open a studio.")
    from patina.bench.recipes.finishes import recipe_sheet

    sheet = recipe_sheet(studio, which, revision)
    return FoundRecipe(sheet.recipe, sheet.id, sheet.revision), known


def mix(
    studio: Studio | None,
    recipe: str,
    *,
    area: str | None = None,
    texture: str | float | None = None,
    passes: int | None = None,
    volumes: Sequence[str] = (),
    have: Sequence[str] = (),
    balance: str = "0.1 g",
    cylinder: str = "1 mL",
    revision: int | None = None,
    strength: str | None = None,
    witness: str | None = None,
    from_shelf: bool = False,
) -> MixSheet:
    """What to weigh for a recipe on an area.

    recipe: a name or id in the studio, or a recipe file. area, volumes, balance, cylinder: as a
    person writes them, with units; a volume "2 L" counts for every solution, "NAME=2 L" for one.
    passes: replaces the passes of every apply step. have: "SUBSTANCE" or "SUBSTANCE,assay=98%",
    what stands on the shelf instead of the form the recipe asks for. strength: "80 %" of what the
    recipe says, of every ingredient. witness: "100 mL" more of each solution, to be kept sealed.
    from_shelf: weigh from the lots of the studio's shelf, see ``supply.Supply``.
    Raises BadQuantity, AmbiguousQuantity, UnknownSubstance, CannotConvert, NotFound, Refused, and Withheld
    where the studio holds the recipe's quantities.
    """
    found, known = find_recipe(studio, recipe, revision)
    require_open(found.recipe)
    factor, texture_used = strength_factor(strength), _texture(texture, found.recipe.texture)
    plan = _Plan(
        recipe=at_strength(_with_passes(found.recipe, passes), factor),
        area_m2=_area(area),
        texture=texture_used,
        volumes_ml=_volumes(volumes, found.recipe),
        have=on_hand(have, found.recipe, known),
        step_g=_step(balance, "balance"),
        step_ml=_step_ml(cylinder),
        catalogue=known,
        witness_ml=witness_volume(witness),
        supply=_supply(studio, have) if from_shelf else None,
    )
    sheet = plan.sheet(found)
    differs = deviations(found.recipe, passes=passes, texture=texture_used, factor=factor)
    warnings = (*strength_cautions(factor), *sheet.warnings)
    sheet = replace(sheet, strength=factor, deviations=differs, warnings=warnings)
    if studio is None or found.id is None:
        return sheet
    from patina.bench.recipes.releases import with_release

    return with_release(studio, sheet)


def _supply(studio: Studio | None, have: Sequence[str]) -> Supply:
    from patina.bench.pots.supply import Supply

    if studio is None:
        raise Refused("There is no shelf to weigh from.", "Open a studio (--studio) whose shelf is meant.")
    if any(word.strip() for word in have):
        raise Refused(
            "What there is is told twice: by the shelf and by hand.",
            "Weigh from the shelf, or say what there is, not both.",
            field="have",
        )
    return Supply(studio)


def _area(area: str | None) -> float | None:
    if area is None or not area.strip():
        return None
    from patina.units import area_m2

    return area_m2(area, field="area")


def _texture(texture: str | float | None, of_recipe: float) -> float:
    if texture is None or texture == "":
        return of_recipe
    from patina.units import number

    value = number(texture, field="texture") if isinstance(texture, str) else float(texture)
    if not 1.0 <= value <= 5.0:
        raise BadQuantity(
            f"Texture {value:g} is not between 1 and 5.",
            "It is the developed area over the plain area: 1.0 polished, 1.1 fine blast, up to 2.5 fur or bark.",
            field="texture",
        )
    return value


def _with_passes(recipe: Recipe, passes: int | None) -> Recipe:
    if passes is None:
        return recipe
    if not 1 <= passes <= 1000:
        raise BadQuantity(f"{passes} passes cannot be.", "Give a whole number from 1 to 1000.", field="passes")
    steps = tuple(replace(s, passes=passes) if s.do == "apply" else s for s in recipe.steps)
    return replace(recipe, steps=steps)


def _volumes(volumes: Sequence[str], recipe: Recipe) -> Mapping[str, float]:
    from patina.units import volume_ml

    named: dict[str, float] = {}
    for_all: list[float] = []
    for text in filter(str.strip, volumes):
        name, equals, amount = text.rpartition("=")
        if not equals:
            for_all.append(volume_ml(text, field="volume"))
            continue
        solution = recipe.solution(name.strip()).name
        if solution in named:
            raise _twice(f"The volume of '{solution}'", "volume")
        named[solution] = volume_ml(amount, field="volume")
    if len(for_all) > 1:
        raise _twice("The volume of every solution", "volume")
    return {**{s.name: v for v in for_all for s in recipe.solutions}, **named}


def _twice(what: str, field: str) -> BadQuantity:
    return BadQuantity(f"{what} is given twice.", "Give it once.", field=field)


def _step(balance: str, field: str) -> float:
    from patina.units import mass_g

    return mass_g(balance, field=field)


def _step_ml(cylinder: str) -> float:
    from patina.units import volume_ml

    return volume_ml(cylinder, field="cylinder")


@dataclass(frozen=True)
class _Plan:
    """All that a mix is computed from."""

    recipe: Recipe
    area_m2: float | None
    texture: float
    volumes_ml: Mapping[str, float]
    have: Mapping[str, tuple[Substance, float | None]]
    step_g: float
    step_ml: float
    catalogue: Catalogue
    witness_ml: float = 0.0
    supply: Supply | None = None

    def sheet(self, found: FoundRecipe) -> MixSheet:
        from patina.safety.notes import safety_of

        solutions: list[MixedSolution] = []
        warnings: list[Caution] = []
        for solution in self.recipe.solutions:
            sized = self._volume(solution)
            if sized is None:
                warnings.append(self._unsized(solution))
                continue
            mixed, cautions = self._mixed(solution, *sized)
            solutions.append(mixed)
            warnings += cautions
        if not self.recipe.solutions:
            warnings.append(Caution("nothing-to-mix", "This recipe has no solution to mix.", None, "Follow its steps."))
        sheet = MixSheet(
            recipe=self.recipe.name,
            recipe_id=found.id,
            revision=found.revision,
            finish=self.recipe.finish,
            area_m2=self.area_m2,
            texture=self.texture,
            solutions=tuple(solutions),
            warnings=tuple(warnings),
            safety=safety_of(self.recipe, self.catalogue, volumes_ml={s.name: s.volume_ml for s in solutions}),
        )
        return sheet if self.supply is None else self.supply.told(sheet)

    def _volume(self, solution: Solution) -> tuple[float, str] | None:
        """Millilitres and how they were got; None where no step says how much is used."""
        if solution.name in self.volumes_ml:
            volume = self.volumes_ml[solution.name]
            return volume, f"{volume:g} mL as asked"
        steps = self.recipe.steps_with(solution.name)
        applied = [s for s in steps if s.do == "apply"]
        counted = [s for s in steps if s.coverage_ml_per_m2 is not None]
        for step in applied:
            if step.coverage_ml_per_m2 is None:
                raise self._needs_volume(solution, step)
        if not counted:
            return None
        if self.area_m2 is None:
            raise BadQuantity(
                f"How much '{solution.name}' is needed depends on the area, and none was given.",
                "Give the area with its unit (1.8 m2), or the volume to make (2 L).",
                field="area",
            )
        from patina.chemistry.solution import Application, volume_ml

        return volume_ml(
            [Application(s.coverage_ml_per_m2 or 0.0, s.passes, s.transfer) for s in counted],
            area_m2=self.area_m2,
            texture=self.texture,
            reserve=self.recipe.reserve,
            dead_volume_ml=self.recipe.dead_volume_ml,
        )

    def _needs_volume(self, solution: Solution, step: Step) -> PatinaError:
        place = self.recipe.steps.index(step) + 1
        if step.method in BATH_METHODS:
            what = f"Step {place} uses '{solution.name}' by {step.method}, so its volume is that of the bath."
        else:
            what = f"Step {place} does not say how much '{solution.name}' is put on (coverage)."
        return BadQuantity(what, f"Give the volume: '{solution.name}=2 L'.", field="volume")

    def _unsized(self, solution: Solution) -> Caution:
        return Caution(
            "no-volume",
            f"No step says how much '{solution.name}' is used.",
            None,
            f"Give a volume to have it worked out: '{solution.name}=2 L'.",
        )

    def _mixed(self, solution: Solution, volume_ml: float, working: str) -> tuple[MixedSolution, list[Caution]]:
        from patina.chemistry.solution import mixing_order
        from patina.chemistry.whole_solution import weigh_all

        asked = [(self.catalogue.get(i.substance), i.strength) for i in solution.ingredients]
        solvent = self.catalogue.get(solution.solvent)
        open_why = why_open(solution.name, [*(s for s, _ in asked), solvent]) if self.witness_ml else ""
        witness_ml = 0.0 if open_why else self.witness_ml
        if witness_ml:
            working = f"{working}; + {witness_ml:g} mL of witness = {volume_ml + witness_ml:.6g} mL"
            volume_ml += witness_ml
        steps = (self.step_g, self.step_ml)
        if self.supply is None:
            weighed = weigh_all(asked, volume_ml, solution.volume_is, self.have, *steps, solvent=solvent)
            lines = tuple(weigh_line(w) for w in weighed)
            cautions = [Caution(c.code, f"{solution.name}: {c.text}") for w in weighed for c in w.warnings]
        else:
            lines, cautions = self.supply.lines(solution, asked, solvent, volume_ml, *steps)
        mixed = MixedSolution(
            name=solution.name,
            volume_ml=volume_ml,
            solvent=solvent.name,
            volume_is=solution.volume_is,
            weigh=lines,
            order=mixing_order(
                [self.catalogue.get(key) for key in dict.fromkeys(line.key for line in lines)],
                solvent,
                volume_is=solution.volume_is,
            ),
            working=working,
            use_within_h=solution.use_within_h,
            witness_ml=witness_ml,
            bottles_ml=bottles_for(volume_ml),
        )
        if open_why:
            do = "Seal nothing of it; keep a witness tile instead."
            cautions = [
                Caution("no-witness", f"{solution.name}: no witness is mixed, {open_why}.", None, do),
                *cautions,
            ]
        return mixed, cautions


def weigh_line(w: Weighing) -> WeighLine:
    """A weighing as a line of the sheet."""
    return WeighLine(
        substance=w.substance,
        cas=w.cas,
        asked=w.asked,
        asked_g_per_l=w.asked_g_per_l,
        amount=w.amount,
        unit=w.unit,
        rounded=w.rounded,
        error_pct=w.error_pct,
        achieved_g_per_l=w.achieved_g_per_l,
        working=w.working,
        key=w.key,
    )
