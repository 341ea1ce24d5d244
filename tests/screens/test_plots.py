"""Plots on screen: what is drawn is what the sheet holds, and the same stands in words."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from screens_driver import Running

from patina.bench.matched.series import series
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.studio import Studio
from patina.entries import NewCast, NewReading
from tui.plots import of_series


def _cast(studio: Studio, number: str, colour: tuple[float, float, float], day: int) -> None:
    cast = casts.add_cast(studio, NewCast("W1", number=number, alloy="C87300", cast_on=date(2026, 3, day)))
    reading = NewReading(*colour, area="whole", uncertainty_de00=0.8, wax_state="waxed", warmth="cold")
    tiles.add_reading(studio, cast.row.id, reading)


def test_the_plots_of_a_series_hold_its_charts(studio: Studio) -> None:
    """One plot each for L*, a* and b*, with every cast's value and both limits; every value stands in the words."""
    _cast(studio, "2/3", (24.0, 7.0, 10.0), 1)
    _cast(studio, "3/3", (26.5, 7.2, 10.4), 2)
    sheet = series(studio, "W1")
    plots = of_series(sheet)
    assert [plot.y_name for plot in plots] == ["L*", "a*", "b*"]
    for plot, chart in zip(plots, sheet.charts, strict=True):
        drawn = sorted(zip((x for c in plot.curves for x in c.x), (y for c in plot.curves for y in c.y), strict=True))
        assert [y for _, y in drawn] == list(chart.values)
        assert {level for level, _ in plot.across} == {chart.lower, chart.centre, chart.upper}
        assert all(f"{value:.1f}" in plot.words for value in chart.values)


async def test_a_series_is_plotted_by_one_key(running: Callable[..., Running], studio: Studio) -> None:
    """From the series y shows L*, the right arrow turns to a*, Esc goes back."""
    _cast(studio, "2/3", (24.0, 7.0, 10.0), 1)
    _cast(studio, "3/3", (26.5, 7.2, 10.4), 2)
    async with running((80, 24)) as driver:
        await driver.press("4")
        await driver.until_text("2/3")
        await driver.press("z")
        await driver.until(lambda: any(line.split() == ["2/3", "3/3"] for line in driver.text().splitlines()))
        await driver.press("y")
        await driver.until_text("L* by cast  (1 of 3)")
        await driver.until_text("●")
        await driver.press("right")
        await driver.until_text("a* by cast  (2 of 3)")
        await driver.press("escape")
        await driver.until(lambda: driver.app.screen.WHERE == "series")


async def test_a_tile_without_twins_says_what_would_make_a_plot(running: Callable[..., Running]) -> None:
    """No empty plot: the way to one is told."""
    async with running((80, 24)) as driver:
        await driver.press("3")
        await driver.until_text("QT-2")
        await driver.press("y")
        await driver.until(lambda: any("No twins have been read twice" in n.message for n in driver.app._notifications))
