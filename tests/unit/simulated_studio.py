"""Invented pieces and cards with a known truth, put through a studio's own deeds: what is told, how often wrongly."""

from __future__ import annotations

import itertools
import math
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from patina.bench.matched import making, reconstruct, series
from patina.bench.matched.matching import judge
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.studio import Studio, open_studio
from patina.colour.difference import compare
from patina.colour.values import Lab
from patina.entries import NewCast, NewMaster, NewPiece, NewReading, NewTile
from patina.matching.master import Tolerance, ZoneTarget
from patina.matching.verdict import judge_zone

AGREED = (30.0, 8.0, 12.0)
CARD = "medium, several coats, hot"  # with two levels: 30 or 150 g/L, 4 or 8 passes, 80 or 110 °C
GRID = tuple(itertools.product((30.0, 150.0), (4.0, 8.0), (80.0, 110.0)))
Vector = tuple[float, float, float]


def _way(rng: np.random.Generator) -> np.ndarray:
    way = rng.normal(size=3)
    return np.asarray(way / np.linalg.norm(way))


def _lab(values: np.ndarray) -> Lab:
    return Lab(float(values[0]), float(values[1]), float(values[2]))


def _reading(values: np.ndarray, sd: float, doubt: float, n: int = 5) -> NewReading:
    """Spots by an instrument, waxed and cold."""
    L, a, b = (float(x) for x in values)
    return NewReading(
        L,
        a,
        b,
        source="instrument",
        n=n,
        sd=(sd, sd, sd) if n > 1 else None,
        uncertainty_de00=doubt,
        wax_state="waxed",
        warmth="cold",
    )


@dataclass(frozen=True)
class Drifts:
    """Of so many editions each: told with a drift, and alarmed at without one."""

    runs: int
    told: int
    false: int


def drifts(studio: Studio, runs: int, seed: int, *, sd: float = 0.4, step: float = 0.5) -> Drifts:
    """Editions of six casts that scatter by sd in each component, half of them drifting by step a cast."""
    rng = np.random.default_rng(seed)
    titles: dict[bool, list[str]] = {True: [], False: []}
    entries = []
    for run, drifting in itertools.product(range(runs), (True, False)):
        title = f"{'drift' if drifting else 'still'} {run}"
        piece = casts.add_piece(studio, NewPiece(title, edition=6)).id
        way = _way(rng) * (step if drifting else 0.0)
        for n in range(6):
            row = casts.add_cast(studio, NewCast(piece, number=f"{n + 1}/6", alloy="C87300")).row.id
            lab = np.array(AGREED) + n * way + rng.normal(0, sd, 3)
            entries.append((row, _reading(lab, 0.3, 0.4)))
        titles[drifting].append(title)
    tiles.keep_readings(studio, entries)
    told = sum(any(a.kind == "drift" for a in series.series(studio, t).alarms) for t in titles[True])
    return Drifts(runs, told, sum(bool(series.series(studio, t).alarms) for t in titles[False]))


@dataclass(frozen=True)
class Verdicts:
    """outside, inside: pieces truly so. wrong_pass, wrong_fail: of them. told: pieces with a verdict at all;
    told_alone: by the verdict's own function, given the same spots without any records."""

    outside: int
    inside: int
    wrong_pass: int
    wrong_fail: int
    told: int
    told_alone: int


def verdicts(studio: Studio, runs: int, seed: int, *, limit: float = 2.0, fixed: float = 0.4) -> Verdicts:
    """Tiles whose true differences run from 0 to twice the limit, each read as five spots of spread 0.8 by an
    instrument with an error of its own of that expanded size."""
    rng = np.random.default_rng(seed)
    finish = NewMaster("Simulated", AGREED, limit, "de76", uncertainty_de00=0.0, wax_state="waxed", warmth="cold")
    master = casts.agree_master(studio, finish).id
    target = ZoneTarget("whole", Lab(*AGREED))
    tolerance = Tolerance(limit, formula="de76")
    told_alone = 0
    sizes, entries = [], []
    for run in range(runs):
        size = float(rng.uniform(0, 2 * limit))
        way = _way(rng)
        lift = rng.normal(0, fixed / 2) * way
        tile = tiles.start_tile(studio, NewTile(f"S-{run}", "C87300", wax_state="waxed")).row.id
        spots = np.array(AGREED) + size * way + lift + rng.normal(0, 0.8, (5, 3))
        alone = judge_zone(target, [_lab(s) for s in spots], tolerance, fixed_u=fixed)
        told_alone += alone.outcome != "cannot be told"
        for spot in spots:
            entries.append((tile, _reading(spot, 0.0, fixed, n=1)))
        sizes.append((tile, size))
    tiles.keep_readings(studio, entries)
    outcomes = [(size, judge(studio, master, tile).verdict) for tile, size in sizes]
    outside = [v for size, v in outcomes if size > limit]
    inside = [v for size, v in outcomes if size <= limit]
    told = sum(v != "cannot be told" for _, v in outcomes)
    return Verdicts(len(outside), len(inside), outside.count("pass"), inside.count("fail"), told, told_alone)


def empty_studio(folder: Path) -> Path:
    """A closed studio with the recipes that come along, to be copied."""
    with open_studio(folder) as opened:
        finishes.add_starters(opened)
    return folder


@dataclass(frozen=True)
class Climbed:
    """Tiles made for one card until the wanted colour or setting was got."""

    ladder: int
    grid: int


def climbs(empty: Path, folder: Path, runs: int, seed: int, *, earlier: int = 0) -> Iterator[Climbed]:
    """For each run a house of its own with an invented law of colour: the card's ladder asked again after every
    tile, beside making the eight settings in order. earlier: tiles the house already has."""
    rng = np.random.default_rng(seed)
    for run in range(runs):
        where = folder / f"run-{run}"
        shutil.copytree(empty, where)
        true = GRID[run % len(GRID)]
        slopes = rng.normal(0, 1, (3, 3)) * np.array([[8.0, 3.0, 4.0]]).T

        def law(setting: tuple[float, float, float], slopes: np.ndarray = slopes) -> np.ndarray:
            s, p, c = setting
            found = np.array(AGREED) + slopes @ np.array([math.log(s / 70), math.log(p / 5.5), (c - 95) / 15])
            found[0] = np.clip(found[0], 2.0, 98.0)  # scatter stays inside what a reading can be
            return found

        def read(setting: tuple[float, float, float]) -> np.ndarray:
            return np.asarray(law(setting) + rng.normal(0, 0.3, 3))

        target = law(true) + rng.normal(0, 0.3, 3)
        with open_studio(where) as studio:
            for n in range(earlier):
                elsewhere = (float(rng.uniform(15, 200)), float(rng.integers(2, 10)), float(rng.uniform(60, 130)))
                _make(studio, f"E-{n}", elsewhere, read(elsewhere))
            ladder = _climb(studio, target, true, read)
        grid = next(n for n, s in enumerate(GRID, 1) if s == true or _met(target, read(s)))
        shutil.rmtree(where)
        yield Climbed(ladder, grid)


def _met(target: np.ndarray, lab: np.ndarray) -> bool:
    return compare(_lab(target), _lab(lab)).delta_e <= 2.0


def _climb(studio: Studio, target: np.ndarray, true: Vector, read) -> int:  # type: ignore[no-untyped-def]
    words = ",".join(f"{x:.3f}" for x in target)
    tried: list[str] = []
    while True:
        sheet = reconstruct.reconstruct(studio, CARD, words, levels=2, tried=tried)
        if not sheet.ladder:
            return len(tried)
        best = next(r.values for r in sheet.ranked if r.setting == sheet.ladder[0].setting)
        setting = (float(best["strength_g_per_l"]), float(best["passes"]), float(best["surface_c"]))
        tried.append(_make(studio, f"L-{len(tried)}", setting, read(setting)))
        if setting == true:
            return len(tried)


def _make(studio: Studio, name: str, setting: Vector, lab: np.ndarray) -> str:
    strength, passes, surface = setting
    recipe = finishes.recipe_sheet(studio, "Torch sulphide brown").id
    done = (f"sulphide wash: {passes:.0f} passes",)
    tile = tiles.start_tile(studio, NewTile(name, "C87300", recipe=recipe, revision=1, as_done=done)).row.id
    making.note_facts(studio, tile, {"strength_g_per_l": f"{strength:.1f}", "surface_c": f"{surface:.0f}"})
    tiles.add_reading(studio, tile, _reading(lab, 0.2, 0.5))
    return tile
