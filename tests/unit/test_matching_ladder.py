"""Vague cards, what a house's tiles tell of colour, and the tile to make next."""

from __future__ import annotations

import math
import time
from collections.abc import Callable

import numpy as np
import pytest

from patina.colour.values import Lab
from patina.errors import BadQuantity, NotFound
from patina.matching.ladder import candidates, next_tile, rank, what_may_be_meant
from patina.matching.tile_model import MadeTile, Setting, TileModel

World = Callable[[Setting], np.ndarray]


def _world(rng: np.random.Generator) -> World:
    """A made-up response of colour to strength, passes and temperature, with interactions."""
    slopes = rng.normal(size=(3, 3)) * np.array([[9], [4], [5]]) / math.sqrt(3)
    mixed = rng.normal(size=(3, 3)) * np.array([[3], [1.5], [2]])
    base = np.array([38, 6, 12]) + rng.normal(0, 3, 3)

    def colour(setting: Setting) -> np.ndarray:
        v = {k: float(x) for k, x in setting.values.items()}
        x = np.array(
            [
                math.log(v["strength_g_per_l"] / 60) / math.log(3),
                math.log(v["passes"] / 5) / math.log(2),
                (v["surface_c"] - 90) / 15,
            ]
        )
        return np.asarray(base + slopes @ x + mixed @ np.array([x[0] * x[1], x[1] * x[2], x[0] * x[2]]))

    return colour


def _some_setting(rng: np.random.Generator) -> Setting:
    return Setting(
        {
            "strength_g_per_l": float(np.exp(rng.uniform(math.log(15), math.log(200)))),
            "passes": float(rng.integers(2, 10)),
            "surface_c": float(rng.uniform(75, 105)),
        }
    )


def _tile(world: World, setting: Setting, rng: np.random.Generator, sd: float = 0.7) -> MadeTile:
    return MadeTile(setting, Lab(*(float(x) for x in world(setting) + rng.normal(0, sd, 3))))


CARD = candidates({"strength_g_per_l": (20, 180), "passes": (3, 8), "surface_c": (78, 102)}, levels=2)


def test_words_on_a_card_are_intervals() -> None:
    """ "Few" passes are two to four; a word that is not known is refused with those that are."""
    assert what_may_be_meant("Few", "passes") == (2, 4)
    with pytest.raises(NotFound, match="plenty"):
        what_may_be_meant("plenty", "passes")


def test_a_card_becomes_settings() -> None:
    """Intervals are spaced by ratio, words are tried each, single values stay."""
    found = candidates({"strength_g_per_l": (10, 160), "method": ["torch", "spray"], "passes": 4}, levels=3)
    assert len(found) == 6
    assert {s.values["strength_g_per_l"] for s in found} == {10.0, 40.0, 160.0}
    assert {s.values["passes"] for s in found} == {4}
    assert "method" not in found[0].text()
    assert "torch" in found[0].text()


@pytest.mark.parametrize("card", [{}, {"passes": (8, 2)}, dict.fromkeys("abcdefg", (1, 9))])
def test_cards_that_leave_nothing_or_too_much_are_refused(card: dict[str, tuple[float, float]]) -> None:
    """An empty card, an interval upside down and thousands of settings are refused."""
    with pytest.raises(BadQuantity):
        candidates(card)


def test_without_tiles_nothing_is_known() -> None:
    """No tile: all candidates are alike, intervals are as wide as all patinas, and it is said."""
    model = TileModel([], CARD)
    ranked = rank(model, CARD, Lab(30, 8, 12))
    assert {round(r.chance, 6) for r in ranked} == {round(1 / 8, 6)}
    assert ranked[0].half_width[0] > 30
    assert model.expect(CARD[0]).known < 0.1
    assert "nothing is known" in model.words()
    assert TileModel([]).expect(Setting({})).known < 0.1


def test_predictions_hold_as_often_as_said() -> None:
    """Over 40 made-up houses of 5, 15 and 40 tiles, 95 % intervals hold new tiles in at least 92 %."""
    rng = np.random.default_rng(2)
    held: dict[int, list[bool]] = {5: [], 15: [], 40: []}
    for _ in range(40):
        world = _world(rng)
        for n, seen in held.items():
            model = TileModel([_tile(world, _some_setting(rng), rng) for _ in range(n)])
            for _ in range(4):
                new = _tile(world, _some_setting(rng), rng)
                found = model.expect(new.setting)
                away = np.abs(np.array(new.lab.as_list()) - found.lab.as_list())
                seen.extend((away <= found.half_width).tolist())
    for n, seen in held.items():
        assert np.mean(seen) >= 0.92, n


def test_five_tiles_left_out_lie_inside_as_often_as_said() -> None:
    """Over 300 made-up houses of five tiles each is left out in turn: 92 % or more lie inside; a single house's share
    is shown with how little five tell (Wilson's interval, 5 of 5: 56.6 to 100 %, as tables of it have)."""
    rng = np.random.default_rng(9)
    shares, ranges = [], []
    for _ in range(300):
        world = _world(rng)
        model = TileModel([_tile(world, _some_setting(rng), rng) for _ in range(5)], CARD)
        shares.append(model.left_out()[0])
        ranges.append(model.left_out_range())
        assert "so few tell that share" in model.words()
    assert np.mean(shares) >= 0.92
    whole = next(r for s, r in zip(shares, ranges, strict=True) if s == 1.0)
    assert whole == pytest.approx((0.5655, 1.0), abs=5e-4)
    assert TileModel([]).left_out_range() == (0.0, 1.0)


def test_more_tiles_are_more_knowledge() -> None:
    """From 5 to 40 tiles intervals narrow, and tiles left out are predicted better."""
    rng = np.random.default_rng(5)
    world = _world(rng)
    tiles = [_tile(world, _some_setting(rng), rng) for _ in range(40)]
    few, many = TileModel(tiles[:5], CARD), TileModel(tiles, CARD)
    assert many.expect(CARD[3]).half_width[0] < few.expect(CARD[3]).half_width[0] / 2
    assert many.expect(CARD[3]).known > few.expect(CARD[3]).known
    assert many.left_out()[1] < few.left_out()[1]
    assert "40 tiles" in many.words()


def test_leaving_out_in_closed_form_is_leaving_out() -> None:
    """The closed form agrees with taking each tile out in turn at the same lengths and noise."""
    rng = np.random.default_rng(8)
    world = _world(rng)
    tiles = [_tile(world, _some_setting(rng), rng) for _ in range(12)]
    model = TileModel(tiles)
    squares = []
    for i in range(12):
        others = TileModel(tiles[:i] + tiles[i + 1 :], [t.setting for t in tiles])
        others._coder, others._x = model._coder, np.delete(model._x, i, axis=0)
        others._worded, others.lengths, others.noise = model._worded, model.lengths, model.noise
        others._solve()
        mean = others.joint([tiles[i].setting])[0][0]
        squares.append(((mean - np.array(tiles[i].lab.as_list())) ** 2).sum())
    assert model.left_out()[1] == pytest.approx(math.sqrt(np.mean(squares)), rel=1e-6)


def test_words_and_missing_values_are_factors_too() -> None:
    """Torch and immersion make other colours; a tile whose method was not written down still counts."""
    rng = np.random.default_rng(4)
    tiles = []
    for i in range(30):
        method = ("torch", "immersion")[i % 2]
        strength = float(rng.uniform(20, 100))
        lightness = (30 if method == "torch" else 45) - 5 * math.log(strength / 50) + rng.normal(0, 0.4)
        values: dict[str, float | str] = {"strength_g_per_l": strength}
        if i % 10 != 9:
            values["method"] = method
        tiles.append(MadeTile(Setting(values), Lab(lightness, 6, 10)))
    model = TileModel(tiles)
    torch, bath = (model.expect(Setting({"strength_g_per_l": 50.0, "method": m})).lab.L for m in ("torch", "immersion"))
    assert torch == pytest.approx(30, abs=1.5)
    assert bath == pytest.approx(45, abs=1.5)
    with pytest.raises(BadQuantity):
        TileModel([MadeTile(Setting({"passes": 0.0}), Lab(30, 8, 12))])
    with pytest.raises(BadQuantity):
        TileModel([MadeTile(Setting({"passes": 3.0}), Lab(math.nan, 8, 12))])


TWO_FACTORS = tuple(
    Setting({"strength_g_per_l": s, "passes": p, "surface_c": 90.0})
    for s in (20.0, 40.0, 80.0, 160.0)
    for p in (3.0, 8.0)
)


@pytest.mark.parametrize(("card", "earlier"), [(TWO_FACTORS, 0), (CARD, 0), (CARD, 2), (CARD, 6)])
def test_the_ladder_needs_fewer_tiles_than_a_grid(card: tuple[Setting, ...], earlier: int) -> None:
    """200 made-up cards of 8 candidates: the true one is made after fewer tiles (median) than going through them.

    earlier: tiles at other settings that the house already has. Each candidate is the true one in 25 cards.
    """
    rng = np.random.default_rng(1)
    ladder, grid = [], []
    for run in range(200):
        world, true = _world(rng), run % 8
        target = Lab(*(float(x) for x in world(card[true]) + rng.normal(0, 0.3, 3)))
        tiles = [_tile(world, _some_setting(rng), rng) for _ in range(earlier)]
        made: list[Setting] = []
        while card[true] not in made:
            made.append(next_tile(TileModel(tiles, card), card, target, made=made).setting)
            tiles.append(_tile(world, made[-1], rng))
        ladder.append(len(made))
        grid.append(true + 1)
    assert np.median(ladder) < np.median(grid)
    assert np.mean(ladder) < {0: 4.2, 2: 3.2, 6: 2.0}[earlier]


def test_a_likely_candidate_is_confirmed_and_none_is_made_twice() -> None:
    """With enough tiles the likely candidate is proposed to confirm it; when all are made there is none left."""
    rng = np.random.default_rng(3)
    world = _world(rng)
    tiles = [_tile(world, _some_setting(rng), rng, 0.2) for _ in range(60)]
    target = Lab(*(float(x) for x in world(CARD[5])))
    model = TileModel(tiles, CARD)
    assert rank(model, CARD, target)[0].setting == CARD[5]
    found = next_tile(model, CARD, target)
    assert (found.setting, found.why) == (CARD[5], "confirm")
    assert next_tile(model, CARD, target, made=[CARD[5]]).setting != CARD[5]
    with pytest.raises(BadQuantity):
        next_tile(model, CARD, target, made=CARD)
    with pytest.raises(BadQuantity):
        rank(model, [], target)


def test_five_hundred_tiles_are_learnt_in_seconds() -> None:
    """Fit, ranking and proposal on 500 tiles in 5 s of processor time; 5,000 tiles work too."""
    rng = np.random.default_rng(6)
    world = _world(rng)
    tiles = [_tile(world, _some_setting(rng), rng) for _ in range(500)]
    target = Lab(*(float(x) for x in world(CARD[2])))
    start = time.process_time()
    model = TileModel(tiles, CARD)
    found = next_tile(model, CARD, target)
    assert time.process_time() - start < 5
    assert found.setting == CARD[2]
    many = TileModel([_tile(world, _some_setting(rng), rng) for _ in range(5000)], CARD)
    assert next_tile(many, CARD, target).setting == CARD[2]
