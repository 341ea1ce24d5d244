"""What was measured of the pots: pH and density, which decide what the sums leave undecided."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tui.dialogs.form import Field, Form

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets import RecipeSheet

REGIMES = ("CLP", "HCS")


@dataclass(frozen=True)
class Measured:
    """As typed: pH and density (g/mL) by solution; whose rules classify."""

    ph: Mapping[str, str] = field(default_factory=dict)
    density: Mapping[str, str] = field(default_factory=dict)
    regime: str = "CLP"


def measured_form(studio: Studio, sheet: RecipeSheet, before: Measured) -> Form:
    """Ask for pH and density of each pot. The answer is a `Measured` that the rules can work with."""
    pots = [s.name for s in sheet.recipe.solutions]
    fields = []
    for n, name in enumerate(pots):
        fields.append(Field(f"ph{n}", f"pH of {name}", "empty: not measured", before.ph.get(name, "")))
        fields.append(Field(f"density{n}", "  density", "1.05 (g/mL); empty: estimated", before.density.get(name, "")))
    fields.append(Field("regime", "Rules", "CLP or HCS", before.regime, REGIMES))

    def read(values: Mapping[str, str]) -> Measured:
        from patina.bench.safe.safety import safety

        found = Measured(
            {name: values[f"ph{n}"] for n, name in enumerate(pots) if values[f"ph{n}"]},
            {name: values[f"density{n}"] for n, name in enumerate(pots) if values[f"density{n}"]},
            values["regime"].upper() or "CLP",
        )
        safety(
            studio, sheet.id, ph=found.ph, density=found.density, regime=found.regime, revision=sheet.revision
        )  # refuses what cannot be
        return found

    return Form(f"Measured: {sheet.recipe.name}", fields, read, before="Measured on the pot as mixed, at 20 °C.")
