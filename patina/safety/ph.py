"""Where a pH that nobody has measured could make a bath corrosive.

Source: [CLP_ANNEX_I] 3.2.3.1.2
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any

from patina.datafile import number, read_table, text
from patina.safety.rules import Open, Share, limit, named
from patina.safety.tagwords import matcher

WATER_ION_PRODUCT = 14.0  # pH + pOH at 25 °C
TYPICAL_MASS_G_MOL = 100.0  # for mixtures such as liver of sulphur, which have no molar mass


@cache
def _rows() -> list[dict[str, Any]]:
    columns = {"tags": text, "side": text, "ions_per_formula": number, "why": text, "source": text}
    return read_table("ph_matters.csv", columns)


def ph_open(shares: Sequence[Share], regime: str) -> list[Open]:
    """The corrosive class left open for want of a pH, where acid or alkali enough is in the bath for it to matter.

    The test is an upper bound: were every ingredient a strong acid (or base) that gives all it has, could the
    bath reach pH 2 (11.5)? Where it could not, no pH is asked for.
    """
    bounds = {
        "acid": (10 ** -limit("ph.acid", regime).value, f"pH {limit('ph.acid', regime).value:g} or below"),
        "base": (
            10 ** (limit("ph.base", regime).value - WATER_ION_PRODUCT),
            f"pH {limit('ph.base', regime).value:g} or above",
        ),
    }
    table = limit("ph.acid", regime).table
    result = []
    for side, (least_mol, words) in bounds.items():
        parts = [(s, ions) for s in shares if (ions := _ions(s, side))]
        if sum(ions for _, ions in parts) >= least_mol:
            needs = f"the pH ({named(s for s, _ in parts)}): at {words} it is Skin Corr. 1 (H314) whatever the sums say"
            result.append(Open("skin", 0, "Skin Corr. 1", f"{needs} ({table})"))
    return result


def _ions(share: Share, side: str) -> float:
    """Most moles of hydrogen or hydroxide ion per kilogram of bath that an ingredient could free."""
    substance = share.substance
    if substance.solubility_g_per_l == 0:
        return 0.0
    ions = [r["ions_per_formula"] for r in _rows() if r["side"] == side and matcher(r["tags"])(substance.tags)]
    mass = substance.active_molar_mass_g_mol or substance.molar_mass_g_mol or TYPICAL_MASS_G_MOL
    return max(ions, default=0.0) * share.pct * 10.0 / mass
