"""From a vague card to settings and a ladder: with no tiles, with five, with many; the true setting comes up."""

from __future__ import annotations

import json
import math
import random
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from patina.bench.matched import making, reconstruct
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.studio import Studio, open_studio
from patina.cli import patina
from patina.entries import NewReading, NewTile
from patina.errors import BadQuantity, NotFound, Refused
from patina.matching.card import read_card


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    """A studio with the recipes that come along."""
    with open_studio(tmp_path / "studio") as opened:
        finishes.add_starters(opened)
        yield opened


def truth(strength: float, passes: float, surface: float) -> tuple[float, float, float]:
    """An invented law: darker with passes, redder with heat, yellower with strength."""
    return (
        55.0 - 9.0 * math.log(passes) - 2.0 * math.log(strength / 30),
        4.0 + 0.08 * (surface - 60.0),
        8.0 + 5.0 * math.log(strength / 30),
    )


def make(studio: Studio, n: int, seed: int = 3) -> list[str]:
    """Tiles made at random settings, read with a little scatter."""
    rng = random.Random(seed)
    recipe = finishes.recipe_sheet(studio, "Torch sulphide brown").id
    made = []
    for k in range(n):
        strength, passes, surface = rng.uniform(20, 160), rng.randint(1, 8), rng.uniform(70, 120)
        made.append(_tile(studio, recipe, f"N-{k}", strength, passes, surface, rng))
    return made


def _tile(
    studio: Studio, recipe: str, name: str, strength: float, passes: int, surface: float, rng: random.Random
) -> str:
    tile = tiles.start_tile(
        studio,
        NewTile(name, "C87300", recipe=recipe, revision=1, as_done=(f"sulphide wash: {passes} passes",)),
    ).row.id
    making.note_facts(studio, tile, {"strength_g_per_l": f"{strength:.1f}", "surface_c": f"{surface:.0f}"})
    L, a, b = (v + rng.gauss(0, 0.3) for v in truth(strength, passes, surface))
    tiles.add_reading(studio, tile, NewReading(L, a, b, uncertainty_de00=0.5, wax_state="waxed", warmth="cold"))
    return tile


CARD = "2 spoons medium, few coats, hot"
TARGET = truth(67.08, 3, 95.0)  # the middle of each interval, strength by ratio


def _words(lab: tuple[float, float, float]) -> str:
    return ",".join(f"{v:.3f}" for v in lab)


def test_with_no_tiles_nothing_is_known_and_it_is_said(studio: Studio) -> None:
    """Every setting is as likely as any other, the intervals are as wide as all patinas, tiles are proposed."""
    sheet = reconstruct.reconstruct(studio, CARD, _words(TARGET))
    assert sheet.tiles == 0 and "nothing is known" in sheet.knows
    assert sheet.left == () and sheet.candidates > 27
    assert {round(r.chance, 6) for r in sheet.ranked} == {round(1 / sheet.candidates, 6)}
    assert min(sheet.ranked[0].half_width) > 20
    assert sheet.ladder and sheet.inside is None


def test_with_five_tiles_it_is_modest(studio: Studio) -> None:
    """Five tiles give wide intervals; no setting is called nearly certain."""
    make(studio, 5)
    five = reconstruct.reconstruct(studio, CARD, _words(TARGET))
    assert five.tiles == 5 and five.ranked[0].chance < 0.6
    assert five.inside_range is not None and five.inside_range[0] < 0.6 and "so few tell that share" in five.knows
    make(studio, 35, seed=5)
    forty = reconstruct.reconstruct(studio, CARD, _words(TARGET))
    assert max(five.ranked[0].half_width) > 1.2 * max(forty.ranked[0].half_width)
    assert five.unknown_bits > forty.unknown_bits


@pytest.mark.one_engine("sqlite", why="the time goes into the fit; the next ones fit on both")
def test_with_many_tiles_the_true_setting_comes_up(studio: Studio) -> None:
    """Forty tiles: the setting that made the target is among the first three, its colour inside the interval."""
    make(studio, 40)
    sheet = reconstruct.reconstruct(studio, CARD, _words(TARGET))
    wanted = {"strength_g_per_l": 67.0, "passes": 3.0, "surface_c": 95.0}
    near = [all(abs(float(r.values[k]) / v - 1) < 0.1 for k, v in wanted.items()) for r in sheet.ranked[:3]]
    assert any(near)
    best = sheet.ranked[0]
    assert all(
        abs(t - g) <= h for t, g, h in zip(TARGET, (best.lab.L, best.lab.a, best.lab.b), best.half_width, strict=True)
    )
    assert sheet.inside is not None and sheet.inside > 0.85
    assert 1 <= len(sheet.ladder) <= 6


def test_a_tile_that_was_tried_is_ruled_out_or_ends_the_search(studio: Studio) -> None:
    """A tile that missed takes its setting out; one that met the target ends the ladder."""
    made = make(studio, 12)
    missed = reconstruct.reconstruct(studio, CARD, "60,0,0", tried=made[:1])
    assert not missed.tried[0].met
    assert missed.tried[0].setting not in [r.setting for r in missed.ranked]
    recipe = finishes.recipe_sheet(studio, "Torch sulphide brown").id
    hit = _tile(studio, recipe, "HIT", 67.0, 3, 94.0, random.Random(1))
    met = reconstruct.reconstruct(studio, CARD, _words(truth(67.0, 3, 94.0)), tried=[hit])
    assert met.tried[0].met and met.ladder == ()
    with pytest.raises(NotFound):
        reconstruct.reconstruct(studio, CARD, "60,0,0", tried=["T999"])


def test_figures_on_a_card_count_before_words() -> None:
    """Strength, temperature in either unit, a count or a range of coats, a method; the rest is handed back."""
    card = read_card("30 g/L, three to 5 coats by torch at 200 °F, sunny side")
    found = {m.factor: (m.low, m.high, m.word) for m in card.meant}
    assert found["strength_g_per_l"][:2] == (30.0, 30.0)
    assert found["surface_c"][0] == pytest.approx(93.33, abs=0.01)
    assert found["method"][2] == "torch"
    assert "sunny" in card.left
    assert read_card("4-6 coats").meant[0].low == 4 and read_card("4-6 coats").meant[0].high == 6


@pytest.mark.one_engine("sqlite", why="what is read is the card")
def test_a_card_that_says_nothing_is_refused(studio: Studio) -> None:
    """What cannot be read is refused with an example; a colour that is none, too."""
    with pytest.raises(Refused):
        reconstruct.reconstruct(studio, "as grandfather did", "30,5,5")
    with pytest.raises(BadQuantity):
        reconstruct.reconstruct(studio, CARD, "30,5")


def test_a_chemical_is_found_by_its_names(studio: Studio) -> None:
    """Only tiles of that substance are taken; one without tiles is told."""
    make(studio, 6)
    assert reconstruct.reconstruct(studio, CARD, "30,5,5", chemical="liver of sulphur").tiles == 6
    other = reconstruct.reconstruct(studio, CARD, "30,5,5", chemical="silver nitrate")
    assert other.tiles == 0 and "nothing is known of it" in other.cautions[0]


def test_reconstruct_on_the_command_line(studio: Studio) -> None:
    """JSON with chances that add up; text with the ladder."""
    make(studio, 8)
    run = CliRunner()
    where = ["--studio", studio.where, "reconstruct", CARD, "--target", _words(TARGET)]
    said = json.loads(run.invoke(patina, [*where, "--json"]).output)
    assert said["tiles"] == 8 and 0 < sum(r["chance"] for r in said["ranked"]) <= 1 + 1e-9
    assert "1. make" in run.invoke(patina, where).output


@pytest.mark.one_engine("sqlite", why="what is read is the card")
def test_a_spoon_is_each_kind_of_spoon_in_turn(studio: Studio) -> None:
    """ "2 spoons" without a size: tea, dessert and table spoon compete, each with its assumption and the volume
    that nobody stated; what the card calls medium narrows them."""
    sheet = reconstruct.reconstruct(studio, CARD, "30,5,5", chemical="liver of sulphur")
    rows = [m for m in sheet.meant if m.factor == "strength_g_per_l"]
    assert [next(s for s in ("tea", "dessert", "table") if s in m.said) for m in rows] == ["tea", "dessert", "table"]
    for row in rows:
        assert "bulk density 0.8 to 1.3 g/mL" in row.said and "which the card does not say" in row.said
        assert "'medium' taken as 30 to 150 g/L" in row.said
    measured = {r.as_measured for r in sheet.ranked}
    assert any("teaspoons" in m for m in measured) and all(m for m in measured)
    strengths = {float(r.values["strength_g_per_l"]) for r in sheet.ranked}
    assert min(strengths) >= 29 and max(strengths) <= 151


@pytest.mark.one_engine("sqlite", why="what is read is the card")
def test_a_spoon_in_a_known_volume_is_reckoned_by_published_sizes(studio: Studio) -> None:
    """A tablespoon is 15 mL (metric) to 17.8 mL (imperial, five-eighths of a fluid ounce; from memory), heaped or
    scant by 30 %; powders lie at 0.8 to 1.3 g/mL (common practice, no source): two in one litre are 17 to 60 g/L."""
    told = reconstruct.reconstruct(
        studio, "2 tablespoons, 3 coats", "30,5,5", chemical="cupric nitrate", volume_ml=1000
    )
    (row,) = [m for m in told.meant if m.factor == "strength_g_per_l"]
    low, high = (float(w) for w in row.meaning.removesuffix(" g/L").split(" to "))
    assert low == pytest.approx(2 * 15 * 0.7 * 0.8, rel=0.01) and high == pytest.approx(2 * 17.8 * 1.3 * 1.3, rel=0.01)
    pint = read_card("two tablespoons of it in a pint, 3 coats")
    assert (pint.measures, pint.left) == (("2 tablespoons in a pint",), ())
    said = reconstruct.reconstruct(studio, "2 tablespoons in a pint", "30,5,5", chemical="cupric nitrate")
    assert "a pint, US or imperial" in said.meant[0].said and "does not say" not in said.meant[0].said


@pytest.mark.one_engine("sqlite", why="what is read is the card")
def test_a_figure_counts_before_a_spoon_and_contradictions_are_said(studio: Studio) -> None:
    """30 g/L beside a spoon: the figure; a pinch called strong: told; an unknown chemical: taken as powder, told."""
    figure = reconstruct.reconstruct(studio, "2 spoons, 30 g/L, 3 coats", "30,5,5")
    assert any("left aside" in c for c in figure.cautions)
    assert {r.values["strength_g_per_l"] for r in figure.ranked} == {30.0}
    pinch = reconstruct.reconstruct(studio, "a pinch, strong", "30,5,5", chemical="silver nitrate")
    assert any("does not go with" in c for c in pinch.cautions)
    assert any("Name the chemical" in c for c in reconstruct.reconstruct(studio, "3 spoons", "30,5,5").cautions)


@pytest.mark.one_engine("sqlite", why="the same questions as of the other cards")
@pytest.mark.parametrize("n", [0, 5])
def test_spoons_with_few_tiles_and_on_the_command_line(studio: Studio, n: int) -> None:
    """With no tiles and with five the readings are ranked; the volume can be named."""
    make(studio, n)
    words = ["--studio", studio.where, "reconstruct", "2 spoons, few coats", "--target", "30,5,5", "--volume", "500 ml"]
    said = json.loads(CliRunner().invoke(patina, [*words, "--json"]).output)
    assert said["not_understood"] == [] and said["tiles"] == n
    assert all("spoons" in r["as_measured"] for r in said["ranked"])
    assert all("in 500 mL" in m["said"] for m in said["meant"] if m["factor"] == "strength_g_per_l")
