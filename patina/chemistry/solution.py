"""How much of a solution the work needs, and how a stock is thinned.

Source: [PRACTICE] for the reckoning of passes, reserve and dead volume.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from patina.chemistry.substances import Substance
from patina.errors import BadQuantity


@dataclass(frozen=True, slots=True)
class Application:
    """One apply step.

    coverage_ml_per_m2: what reaches the metal in a pass. transfer: share (0-1] of what leaves the
    pot that reaches the metal.
    """

    coverage_ml_per_m2: float
    passes: int = 1
    transfer: float = 1.0


def volume_ml(
    applications: Sequence[Application],
    area_m2: float,
    texture: float = 1.0,
    reserve: float = 0.25,
    dead_volume_ml: float = 0.0,
) -> tuple[float, str]:
    """Millilitres to mix, and the sum in words.

    area_m2: plain area, above 0. texture: developed over plain area, 1 to 10. reserve: share kept
    back, 0 to 5. dead_volume_ml: what brush, pot and sprayer swallow, 0 or more.
    Raises BadQuantity for anything outside these, or where nothing is applied.

    >>> volume_ml([Application(40, 6, 0.5)], 2.3, 1.1, 0.25, 250)[0]
    1768.0
    """
    _check(applications, area_m2, texture, reserve, dead_volume_ml)
    on_metal = area_m2 * texture
    needed = sum(on_metal * a.coverage_ml_per_m2 * a.passes / a.transfer for a in applications)
    volume = needed * (1 + reserve) + dead_volume_ml
    terms = " + ".join(_term(a) for a in applications)
    bracket = f"({terms})" if len(applications) > 1 else terms
    words = f"{area_m2:g} m² × {texture:g} texture × {bracket} = {needed:.6g} mL"
    if reserve:
        words += f"; + {100 * reserve:g} % reserve"
    if dead_volume_ml:
        words += f"; + {dead_volume_ml:g} mL dead volume"
    return round(volume, 9), f"{words} → {volume:.6g} mL"


def _term(application: Application) -> str:
    words = (
        f"{application.coverage_ml_per_m2:g} mL/m² × {application.passes} pass{'es' if application.passes != 1 else ''}"
    )
    return words if application.transfer == 1 else f"{words} / {100 * application.transfer:g} % transfer"


def _check(applications: Sequence[Application], area_m2: float, texture: float, reserve: float, dead_ml: float) -> None:
    if not applications:
        raise BadQuantity(
            "No step puts this solution on the metal.", "Give a volume to mix, or add an apply step with its coverage."
        )
    ranges = [
        ("area", area_m2, 0, 10_000, False, "m²"),
        ("texture", texture, 1, 10, True, "(developed over plain area)"),
        ("reserve", reserve, 0, 5, True, "(a share, 0.25 for 25 %)"),
        ("dead volume", dead_ml, 0, 1_000_000, True, "mL"),
    ]
    for application in applications:
        ranges.append(("coverage", application.coverage_ml_per_m2, 0, 5000, False, "mL/m²"))
        ranges.append(("number of passes", application.passes, 1, 1000, True, ""))
        ranges.append(("transfer", application.transfer, 0, 1, False, "(a share, 0.5 for 50 %)"))
    for name, value, low, high, low_counts, unit in ranges:
        if not (low <= value <= high) or (value == low and not low_counts):
            bound = "from" if low_counts else "above"
            raise BadQuantity(
                f"The {name} of {value:g} cannot be used.",
                f"Give it {bound} {low:g} to {high:g} {unit}".rstrip() + ".",
                field=name.replace(" ", "_"),
            )


def from_stock(stock_g_per_l: float, wanted_g_per_l: float, volume_ml: float) -> tuple[float, float, str]:
    """mL of stock and mL of water for a working solution, and the sum in words.

    All above 0; the wanted strength at most the stock's. The two volumes are taken to add up,
    which is right to about 1 % for watery solutions.
    Raises BadQuantity.

    >>> from_stock(200, 50, 1000)[:2]
    (250.0, 750.0)
    """
    for name, value in (("stock", stock_g_per_l), ("wanted strength", wanted_g_per_l), ("volume", volume_ml)):
        if not 0 < value < float("inf"):
            raise BadQuantity(
                f"The {name} of {value:g} cannot be used.", "Give an amount above zero.", field=name.replace(" ", "_")
            )
    if wanted_g_per_l > stock_g_per_l:
        raise BadQuantity(
            f"A stock of {stock_g_per_l:g} g/L cannot give {wanted_g_per_l:g} g/L.",
            "Use a stronger stock, or weigh the substance out.",
            field="wanted_strength",
        )
    stock = volume_ml * wanted_g_per_l / stock_g_per_l
    water = volume_ml - stock
    sum_of_it = f"{volume_ml:g} mL × {wanted_g_per_l:g} g/L / {stock_g_per_l:g} g/L"
    return stock, water, f"{sum_of_it} = {stock:.6g} mL of stock, {water:.6g} mL of water"


def mixing_order(
    ingredients: Sequence[Substance], solvent: Substance, volume_is: str = "made up to"
) -> tuple[str, ...]:
    """The steps of putting a solution together: see `patina.chemistry.mixing_order`."""
    from patina.chemistry import mixing_order as order

    return order.mixing_order(ingredients, solvent, volume_is)
