"""The scenes of the demonstration studio, and the scenes that tests render besides."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

from swatches.scene import Chart, LabValue, Scene, Tile

# Invented colours of the kinds of patina named: no measured table is behind them.
COLOURS: dict[str, LabValue] = {
    "dark brown": (27.0, 6.5, 9.0),
    "chestnut": (36.0, 14.0, 19.0),
    "ferric red-brown": (33.0, 19.0, 18.0),
    "amber": (49.0, 15.0, 36.0),
    "near black": (17.0, 1.0, 1.5),
    "blue-black": (21.0, -0.5, -4.0),
    "cupric green": (52.0, -21.0, 8.0),
    "pale green": (68.0, -19.0, 6.0),
    "verdigris": (56.0, -22.0, -7.0),
    "turquoise": (63.0, -24.0, -11.0),
    "olive": (40.0, -3.0, 18.0),
    "bismuth white": (83.0, 0.5, 5.0),
    "titanium white": (89.0, 0.0, 3.0),
    "bare bronze": (60.0, 7.0, 25.0),
    "fumed grey-green": (46.0, -8.0, 4.0),
    "ochre": (56.0, 11.0, 33.0),
}


def _mottle(
    name: str, place: tuple[float, float], side: float, parts: dict[str, float], seed: int, **more: float
) -> Tile:
    return Tile(
        name, *place, side, side, tuple(COLOURS[part] for part in parts), tuple(parts.values()), seed=seed, **more
    )


def _pair(
    one: tuple[str, dict[str, float]], two: tuple[str, dict[str, float]], seed: int, **more: float
) -> tuple[Tile, ...]:
    return (
        _mottle(one[0], (26.0, 96.0), 68.0, one[1], seed, **more),
        _mottle(two[0], (126.0, 96.0), 68.0, two[1], seed + 1, **more),
    )


def _relief(parts: dict[str, float], **more: float) -> Tile:
    labs = tuple(COLOURS[part] for part in parts)
    return Tile(
        "relief", 16.0, 82.0, 200.0, 84.0, labs, tuple(parts.values()), grain_mm=14.0, soft=0.6, seed=71, **more
    )


def demo_scenes() -> tuple[Scene, ...]:
    """The photographs kept in the repository."""
    chart = Chart(76.0, 16.0)
    return (
        Scene(
            "brown-and-chestnut.jpg",
            _pair(("dark brown", {"dark brown": 1.0}), ("chestnut", {"chestnut": 1.0}), 11, highlights=0.004),
            chart,
            light="D65",
            curve="contrast",
            seed=1,
        ),
        Scene(
            "ferric-and-olive.jpg",
            _pair(("ferric", {"ferric red-brown": 1.0}), ("olive", {"olive": 1.0}), 21, texture=0.06),
            Chart(64.0, 14.0, turned=180),
            light="LED",
            camera="phone",
            curve="shoulder",
            balance=(1.02, 0.97),
            seed=2,
        ),
        Scene(
            "cupric-mottle.jpg",
            _pair(
                ("cupric mottle", {"dark brown": 0.35, "cupric green": 0.65}),
                ("verdigris", {"fumed grey-green": 0.2, "verdigris": 0.8}),
                31,
                grain_mm=5.0,
            ),
            chart,
            light="shade",
            curve="contrast",
            balance=(0.98, 1.05),
            seed=3,
        ),
        Scene(
            "whites.jpg",
            _pair(("bismuth white", {"bismuth white": 1.0}), ("titanium white", {"titanium white": 1.0}), 41),
            chart,
            lay="card",
            exposure=0.85,
            light="D65",
            camera="phone",
            curve="contrast",
            seed=4,
        ),
        Scene(
            "blacks-waxed.jpg",
            _pair(("near black", {"near black": 1.0}), ("blue-black", {"blue-black": 1.0}), 51, highlights=0.015),
            chart,
            lay="bench",
            light="LED",
            curve="srgb",
            seed=5,
        ),
        Scene(
            "amber-by-lamplight.jpg",
            _pair(("amber", {"amber": 1.0}), ("two-tone", {"chestnut": 0.5, "amber": 0.5}), 61, grain_mm=4.0),
            Chart(80.0, 14.0),
            light="A",
            curve="contrast",
            balance=(1.07, 0.9),
            exposure=0.9,
            seed=6,
        ),
        Scene(
            "brown-large-chart.jpg",
            (_mottle("cast sample", (322.0, 60.0), 120.0, {"dark brown": 0.7, "chestnut": 0.3}, 81, grain_mm=8.0),),
            Chart(20.0, 50.0, layout="large"),
            field_mm=(460.0, 345.0),
            lamp_mm=(150.0, -500.0, 1400.0),
            curve="contrast",
            tilt=0.06,
            roll_deg=-2.0,
            seed=7,
        ),
        Scene(
            "relief-before.jpg",
            (_relief({"dark brown": 0.6, "chestnut": 0.4}, relief=0.16),),
            Chart(76.0, 12.0),
            light="D65",
            curve="contrast",
            seed=8,
            taken="2024:04:11 11:00:00",
        ),
        Scene(
            "relief-after.jpg",
            (_relief({"dark brown": 0.6, "fumed grey-green": 0.4}, relief=0.16),),
            Chart(84.0, 10.0),
            light="D65",
            curve="contrast",
            tilt=0.07,
            roll_deg=-4.0,
            exposure=0.92,
            lamp_mm=(180.0, -200.0, 700.0),
            seed=9,
            taken="2026:05:04 11:30:00",
        ),
        Scene(
            "placard.jpg",
            (_mottle("cupric tile", (198.0, 86.0), 76.0, {"dark brown": 0.3, "cupric green": 0.7}, 101, grain_mm=5.0),),
            Chart(46.0, 76.0),
            field_mm=(336.0, 252.0),
            lamp_mm=(100.0, -300.0, 900.0),
            curve="contrast",
            tilt=0.08,
            roll_deg=3.0,
            lay="bench",
            seed=10,
            placard="T4",
        ),
    )


def _trial_tile(number: int, place: int) -> Tile:
    """The number-th tile of the trial, at one of six places; every third is a mottle."""
    names = list(COLOURS)
    one, two = names[number % 16], names[(number + 5) % 16]
    parts = {one: 0.6, two: 0.4} if place % 3 == 2 else {one: 1.0}
    return Tile(
        f"{place + 1} {' and '.join(parts)}",
        16.0 + place % 3 * 72.0,
        82.0 + place // 3 * 48.0,
        62.0,
        40.0,
        tuple(COLOURS[part] for part in parts),
        tuple(parts.values()),
        grain_mm=3.0,
        texture=0.05,
        highlights=0.004 if place % 2 else 0.0,
        seed=1000 + number,
    )


def trial_scenes(
    lights: tuple[str, ...] = ("D65", "A", "LED", "shade"),
    curves: tuple[str, ...] = ("srgb", "contrast", "shoulder"),
    cameras: tuple[str, ...] = ("slr", "phone"),
    size_px: tuple[int, int] = (1000, 750),
) -> Iterator[Scene]:
    """Scenes with six tiles beside a pocket chart, one for each light, curve and camera.

    The sixteen colours go round, every third tile is a mottle of two of them; exposure, white
    balance, glare, lamp and tilt differ from scene to scene within what a careful person gets. Half
    lie on white paper and a quarter on grey card under a near lamp, whose fall-off can be read
    there. The rest lie on the bare bench, where it cannot: these have the more even light of a
    lamp 2 m up.
    """
    for count, (light, curve, camera) in enumerate(product(lights, curves, cameras)):
        swing = (count * 7 % 5 - 2) / 2
        lay = ("paper", "card", "paper", "bench")[(count + count // 4) % 4]
        near, far = (120.0 + 50 * swing, -260.0, 800.0), (120.0 + 150 * swing, -600.0, 2000.0)
        yield Scene(
            f"{light}-{curve}-{camera}",
            tuple(_trial_tile(count * 6 + place, place) for place in range(6)),
            Chart(76.0 + 12 * swing, 11.0, turned=180 * (count % 2)),
            size_px=size_px,
            lay=lay,
            light=light,
            camera=camera,
            curve=curve,
            exposure=0.92 - 0.06 * swing,
            balance=(1 + 0.03 * swing, 1 - 0.04 * swing),
            lamp_mm=far if lay == "bench" else near,
            glare=0.001 + 0.001 * (count % 3),
            tilt=0.03 * swing,
            roll_deg=1.5 * swing,
            seed=500 + count,
        )
