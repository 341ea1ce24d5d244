"""What the invented studio shows of matching: zones and limits, holders, a concession, an approval, twins that
age, tiles read warm, cold and waxed, and casts whose circumstances were written down. Everything is made up."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta

from patina.bench.matched import agreed, making
from patina.bench.paper import approving
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.studio import Studio
from patina.entries import (
    NewApproval,
    NewConcession,
    NewHolding,
    NewMaster,
    NewReading,
    NewTile,
    NewTreatment,
    NewZone,
)

RECIPE = "Torch sulphide brown"
ARTIST = "Ilse Varnhagen-Pike (invented)"
# engraved, strength g/L, passes, surface °C, blast
_TILES = (
    ("HW-01", 5.0, 3, 85, "glass bead, new"),
    ("HW-02", 5.0, 4, 90, "glass bead, new"),
    ("HW-03", 5.0, 5, 90, "glass bead, new"),
    ("HW-04", 8.0, 4, 95, "glass bead, used"),
    ("HW-05", 8.0, 6, 85, "glass bead, used"),
    ("HW-06", 12.0, 5, 100, "glass bead, used"),
    ("HW-07", 5.0, 4, 90, "glass bead, used"),
    ("HW-08", 12.0, 3, 95, "glass bead, new"),
)
_METER = "hand-held spectrophotometer (invented)"
_WAX, _COOLING = (-3.1, 0.5, 0.6), (1.1, -0.2, -0.3)
# twin, where it is kept, final change of L*, a*, b*, days after which 63 % of it is done
_TWINS = (("HW-01", "outdoors", (3.4, -0.9, -1.6), 70.0), ("HW-02", "shelf", (0.8, -0.2, -0.3), 120.0))
_AGES_DAYS = (1, 7, 30, 90, 180, 365)


def add_matching(studio: Studio, who: str, helper: str) -> None:
    """Add it to a demo studio whose tiles, casts and agreed finish are there. who, helper: who works there."""
    start = datetime.now(UTC) - timedelta(days=400)
    made = {row[0]: _tile(studio, n, row, start, who if n % 3 else helper) for n, row in enumerate(_TILES)}
    for name, kept, amount, time_days in _TWINS:
        agreed.hold_tile(studio, NewHolding(made[name], "studio", "twin", kept=kept))
        _ages(studio, made[name], amount, time_days, start)
    master = casts.list_masters(studio)[0]
    _agreed_in_full(studio, master.id, master.tile or "T1")
    _mottled_finish(studio)
    _gauge(studio)
    _casts(studio, who, helper)
    first, *_, last = casts.list_casts(studio)
    approving.record_approval(
        studio,
        NewApproval(
            first.id,
            ARTIST,
            "approved",
            "artist",
            "D65 booth, 1500 lx, then daylight in the yard",
            "Hollowmere Yard",
            "waxed",
            remarks="this is the one to hold the others to",
        ),
    )
    agreed.concede(
        studio,
        NewConcession(
            master.id, last.id, "stands alone in a garden; re-torching would thin the base coat", ARTIST, date.today()
        ),
    )


def _colour(strength: float, passes: int, surface: float, blast: str) -> list[float]:
    """An invented law: darker with passes and strength, redder with heat, darker on used bead."""
    L = 40.0 - 7.0 * math.log(passes) - 2.5 * math.log(strength / 5.0) - (1.5 if "used" in blast else 0.0)
    return [L, 6.0 + 0.06 * (surface - 85.0), 9.5 + 1.5 * math.log(strength / 5.0)]


def _tile(studio: Studio, n: int, row: tuple[str, float, int, int, str], start: datetime, hand: str) -> str:
    engraved, strength, passes, surface, blast = row
    sheet = finishes.recipe_sheet(studio, RECIPE)
    tile = tiles.start_tile(
        studio,
        NewTile(
            engraved,
            "C87300",
            preparation="glass bead 100-170 mesh, 3 bar; degreased",
            wall_mm=5.0,
            size="100 × 100 mm",
            recipe=sheet.id,
            revision=sheet.revision,
            as_done=(f"{sheet.recipe.solutions[0].name}: {passes} passes", "wax: hot, one coat"),
            made_on=start.date(),
            made_by=hand,
            wax_state="waxed",
        ),
    ).row.id
    facts = {"surface_c": str(surface), "strength_g_per_l": f"{strength:g}", "blast": blast}
    making.note_facts(studio, tile, facts)
    cold = _colour(strength, passes, surface, blast)
    scatter = (0.2, -0.1, 0.1)
    wave = [s * math.sin(2.0 * n + c) for c, s in enumerate(scatter)]
    cold = [v + w for v, w in zip(cold, wave, strict=True)]
    warm = [v - s + w for v, s, w in zip(cold, _COOLING, reversed(wave), strict=True)]
    waxed = [v + s - w for v, s, w in zip(cold, _WAX, wave, strict=True)]
    _read(studio, tile, warm, "unwaxed", "warm", start)
    _read(studio, tile, cold, "unwaxed", "cold", start + timedelta(hours=3))
    _read(studio, tile, waxed, "waxed", "cold", start + timedelta(days=1))
    return tile


def _read(studio: Studio, target: str, lab: list[float], wax: str, warmth: str, at: datetime) -> None:
    tiles.add_reading(
        studio,
        target,
        NewReading(
            round(lab[0], 2),
            round(lab[1], 2),
            round(lab[2], 2),
            source="instrument",
            area="middle",
            geometry="d:8 SCI",
            instrument=_METER,
            sd=(0.6, 0.3, 0.4),
            n=5,
            uncertainty_de00=0.8,
            wax_state=wax,
            warmth=warmth,
            read_at=at,
        ),
    )


def _ages(studio: Studio, tile: str, amount: tuple[float, float, float], time_days: float, start: datetime) -> None:
    new = tiles.tile_sheet(studio, tile).readings[0].lab
    for days in _AGES_DAYS[1:]:
        done = 1.0 - math.exp(-days / time_days)
        wave = 0.1 * math.sin(float(days))
        lab = [new.L + amount[0] * done + wave, new.a + amount[1] * done, new.b + amount[2] * done - wave]
        _read(studio, tile, lab, "waxed", "cold", start + timedelta(days=1 + days))


def _agreed_in_full(studio: Studio, master: str, tile: str) -> None:
    agreed.agree_zone(studio, NewZone(master, "whole", (tile,), light="26.9,6.7,9.6", dark="21.3,7.1,9.6", fixed_u=0.5))
    agreed.agree_terms(studio, master, aim="as new", limit_mottle=3.0)
    soon = date.today() + timedelta(days=180)
    agreed.hold_tile(
        studio,
        NewHolding(tile, "studio", "sealed", master, "dark", "steel cabinet, drawer 2", date.today(), soon),
    )
    other = next(row.id for row in tiles.list_tiles(studio) if row.engraved == "HM-09")
    agreed.hold_tile(
        studio,
        NewHolding(
            other, ARTIST, "dark limit", master, "", "", date.today() - timedelta(days=400), date.today() - timedelta(1)
        ),
    )


def _mottled_finish(studio: Studio) -> None:
    """A finish of two tones, agreed with its shares and its grain: an even green of the same mean does not pass."""
    tile = next(row for row in tiles.list_tiles(studio) if row.engraved == "HM-05")
    newest = tiles.tile_sheet(studio, tile.id).readings[0]
    finish = casts.agree_master(
        studio,
        NewMaster(
            "Quay gate: green over brown, mottled",
            (newest.lab.L, newest.lab.a, newest.lab.b),
            4.0,
            uncertainty_de00=newest.uncertainty_de00,
            tile=tile.id,
            light="D65 booth, 1500 lx",
            wax_state=newest.wax_state,
            warmth=newest.warmth,
            agreed_by=ARTIST,
            agreed_on=date(2026, 5, 4),
        ),
    )
    agreed.agree_zone(studio, NewZone(finish.id, "whole", (newest.id,)))
    agreed.agree_terms(studio, finish.id, aim="as new", limit_mottle=4.0)


def _gauge(studio: Studio) -> None:
    """One spot read five times, the instrument lifted and put back: what the instrument itself adds."""
    tile = next(row for row in tiles.list_tiles(studio) if row.engraved == "HM-03")
    start = datetime.now(UTC) - timedelta(days=398)
    for n in range(5):
        wave = 0.12 * math.sin(2.3 * n)
        tiles.add_reading(
            studio,
            tile.id,
            NewReading(
                round(32.3 + wave, 2),
                round(17.3 - 0.5 * wave, 2),
                round(18.0 + 0.4 * wave, 2),
                source="instrument",
                area="spot marked by a dot",
                geometry="d:8 SCI",
                instrument=_METER,
                uncertainty_de00=0.8,
                wax_state="unwaxed",
                warmth="cold",
                read_at=start + timedelta(minutes=n),
            ),
        )


def _casts(studio: Studio, who: str, helper: str) -> None:
    """How the casts were finished: the fourth by another hand, on used bead."""
    recipe = finishes.recipe_sheet(studio, RECIPE)
    today = date.today()
    for n, row in enumerate(casts.list_casts(studio), 1):
        hand, blast = (helper, "glass bead, used") if n == 4 else (who, "glass bead, new")
        if not row.treatments:
            casts.add_treatment(
                studio,
                NewTreatment(
                    row.id,
                    "patinated",
                    recipe=recipe.id,
                    revision=recipe.revision,
                    as_done=(f"{recipe.recipe.solutions[0].name}: {4 if n < 4 else 3} passes",),
                    done_on=min(today, date(2026, 4, 16) + timedelta(days=30 * n)),
                    done_by=hand,
                ),
            )
        facts = {"blast": blast, "weld_rod": "same as cast", "torch": "propane, rosebud"}
        making.note_facts(studio, row.id, facts if n < 4 else {k: v for k, v in facts.items() if k != "torch"})
