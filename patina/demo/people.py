"""The invented studio's owners: a recipe whose quantities are withheld, care for an owner, what was handed over.

Nobody is registered in it, so that whoever looks may try everything.
"""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench import access
from patina.bench.paper import owner, owner_giving
from patina.bench.paper.owner_giving import Giving
from patina.bench.pieces import casts
from patina.sheets import OwnerCare

if TYPE_CHECKING:
    from patina.bench.studio import Studio

WITHHELD = "Green over brown"
OWNER = "Harbour Trust (invented)"
FOUNDRY = "Lower Quay foundry (invented)"


def add_owners(studio: Studio, where: Path, who: str) -> None:
    """A withheld recipe, an owner's sheet that was handed over with its care, a tile on loan."""
    access.withhold(studio, WITHHELD, why="made for one client alone", by=who)
    cast = next(row for row in casts.list_casts(studio, "Heron, turning") if row.number == "1/9").id
    today = date.today()
    care = OwnerCare(
        care="Dust with a soft brush. Wash twice a year with rain water and a soft sponge, dry it. No polish.",
        wax="microcrystalline wax, two thin coats, buffed",
        next_check=today + timedelta(days=180),
        ask=f"{who}, Hollowmere Yard (invented)",
    )
    owner.write_care(studio, cast, care, by=who)
    sheet = where / f"owner-{cast}.html"
    entry = Giving("owner's sheet", cast, OWNER, "owner", "for care and repair; not to be passed on", sheet)
    owner_giving.give(studio, entry, by=who)
    loan = Giving("tile on loan", "T3", FOUNDRY, "foundry", "to cast by; kept dark", back_by=today + timedelta(days=60))
    owner_giving.give(studio, loan, by=who)
