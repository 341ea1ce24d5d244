"""The series screen says what the gauge, the spots and the casts add to the variation."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

from screens_driver import Running

from patina.bench.matched.variation import variation
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.studio import Studio
from patina.entries import NewCast, NewReading


async def test_the_series_says_where_its_variation_comes_from(running: Callable[..., Running], studio: Studio) -> None:
    """The sentences of the variation stand under the series, with the gauge that repeats have told."""
    at = datetime(2026, 3, 2, 12, tzinfo=UTC)
    for n, L in ((1, 27.0), (2, 25.8)):
        if n > 1:
            casts.add_cast(studio, NewCast("W1", number=f"{n}/3", alloy="C87300", master="M1"))
        for spot, by in (("1", 0.0), ("2", 1.0)):
            same = [
                NewReading(
                    L + by + lift,
                    6.5,
                    9.0,
                    source="instrument",
                    area=spot,
                    instrument="meter",
                    wax_state="unwaxed",
                    warmth="cold",
                    read_at=at,
                )
                for lift in (-0.1, 0.1)
            ]
            tiles.add_readings(studio, f"C{n}", same)
    told = variation(studio, "W1")
    assert told.components[0].gauge.df == 4
    async with running(on=studio) as person:
        await person.press("4")
        await person.until(lambda: person.app.screen.WHERE == "casts" and person.app.screen.sheet is not None)
        await person.press("z")
        await person.until(lambda: person.app.screen.WHERE == "series" and person.app.screen.sheet is not None)
        assert person.app.screen.sheet.variation == told.words
        await person.until(lambda: "gauge 0.14 (df 4)" in " ".join(person.sheet().split()))
