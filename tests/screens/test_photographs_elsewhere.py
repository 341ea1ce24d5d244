"""By keys: the photographs taken to another folder, and every photograph read again; shown before it is kept, stopped
midway, refused where it cannot be."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from PIL import Image
from screens_driver import Driver, Running

import swatches
from patina.bench import photo_places
from patina.bench.readings import rereading, tiles
from patina.bench.readings.reading import read_into
from patina.bench.readings.rereading_jobs import Reading
from patina.bench.settings import change_setting
from patina.bench.studio import Studio
from patina.colour.difference import compare
from patina.errors import Refused
from tui.dialogs.photo_place import plan_words
from tui.screens.reread import reread_words

Start = Callable[..., Running]
PICTURES = Path(swatches.__file__).parent
NAME = "ferric-and-olive.jpg"
OLIVE = next(tile for tile in swatches.truth()[NAME]["tiles"] if tile["name"] == "olive")


def _on(person: Driver, name: str) -> bool:
    return type(person.app.screen).__name__ == name


async def _choose(person: Driver, id: str) -> None:
    await person.until(lambda: _on(person, "Choose"))
    ids = [one for one, _ in person.app.screen.options]
    for _ in ids:
        if person.app.screen.query_one("#choices").highlighted == ids.index(id):
            break
        await person.press("down")
    await person.press("enter")


@pytest.fixture
def photographs(studio: Studio, tmp_path: Path) -> list[str]:
    """Three photographs in the studio; their hashes."""
    hashes = []
    for n in range(3):
        path = tmp_path / f"one-{n}.png"
        Image.new("RGB", (400, 300), (96, 64 + 20 * n, 40)).save(path)
        hashes.append(tiles.add_photograph(studio, "T2", path).sha256)
    return hashes


# -- elsewhere -----------------------------------------------------------------------------------------


async def _ask_for(person: Driver, place: str) -> None:
    """K, where the photographs lie, and another place."""
    await person.press("K")
    await _choose(person, "place")
    await person.until(lambda: _on(person, "Form"))
    await person.fill(place=place)
    await person.press("ctrl+s")


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_photographs_are_taken_elsewhere(
    running: Start, studio: Studio, photographs: list[str], tmp_path: Path, size: tuple[int, int]
) -> None:
    """What it would do stands there first, and nothing is copied; Enter copies each, proved by its hash, and the
    studio reads them there; the old ones stay. The same place again is said to be the same."""
    old, new = Path(studio.store.files.where), tmp_path / "share"
    async with running(size) as person:
        await _ask_for(person, str(new))
        await person.until(lambda: _on(person, "Move"))
        told = person.app.screen.query_one("#plan-words").prose.plain
        assert str(old) in told and str(new) in told and "to be copied" in told
        assert person.app.screen.plan.photographs == 3 and person.app.screen.plan.there == 0
        assert not new.exists(), "nothing is copied before"
        await person.press("enter")
        await person.until(lambda: _on(person, "Notes"))
        await person.until_words("3, each proved there")
        await person.press("escape")
        for sha256 in photographs:
            assert hashlib.sha256(tiles.photograph_path(studio, sha256).read_bytes()).hexdigest() == sha256
            assert tiles.photograph_path(studio, sha256).is_relative_to(new)
            assert (old / sha256[:2] / sha256).is_file()
        await _ask_for(person, str(new))
        await person.until(lambda: _on(person, "Move"))
        await person.until_words("They lie there already.")
        await person.press("enter")
        await person.until(lambda: _on(person, "Finishes"))


async def test_a_place_that_is_none_is_said_beside_its_field(running: Start, photographs: list[str]) -> None:
    """A name that is no full path is refused in the form."""
    async with running((80, 24)) as person:
        await _ask_for(person, "share")
        await person.until(lambda: len(person.app.screen.query(".-wrong")) == 1)
        await person.until_words("is no full path")


async def test_a_photograph_that_is_gone_stands_in_the_way(
    running: Start, studio: Studio, photographs: list[str], tmp_path: Path
) -> None:
    """What is missing is named before anything is copied, and copying is not offered."""
    tiles.photograph_path(studio, photographs[0]).unlink()
    async with running((80, 24)) as person:
        await _ask_for(person, str(tmp_path / "share"))
        await person.until(lambda: _on(person, "Move"))
        await person.until_words(photographs[0][:12])
        assert not person.app.screen.query("#yes")
        await person.press("enter")
        await person.until(lambda: _on(person, "Finishes"))
    assert not (tmp_path / "share").exists()


async def test_a_move_that_is_stopped_leaves_the_old_place(
    running: Start, studio: Studio, photographs: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Escape stops between two photographs; the studio goes on with the old place, and what was copied counts as
    there the next time."""
    begun, go_on, real = Event(), Event(), photo_places.move_photographs
    old, new = studio.store.files.where, tmp_path / "share"

    def slow(studio: Studio, place: str, told: Callable[[int, int, str], None]) -> dict[str, Any]:
        def wait(done: int, of: int, name: str) -> None:
            if done == 2:
                begun.set()
                assert go_on.wait(30)
            told(done, of, name)

        return real(studio, place, wait)

    monkeypatch.setattr(photo_places, "move_photographs", slow)
    try:
        async with running((80, 24)) as person:
            await _ask_for(person, str(new))
            await person.until(lambda: _on(person, "Move"))
            await person.press("enter")
            await person.until(lambda: begun.is_set() and _on(person, "Bringing"))
            await person.press("escape")
            await person.until_told("goes on with the old place")
            go_on.set()
            await person.until(lambda: not person.app._workers or all(w.is_finished for w in person.app.workers))
    finally:
        go_on.set()
    assert studio.store.files.where == old
    plan = photo_places.plan_move(studio, str(new))
    assert (plan.photographs, plan.there) == (3, 1)


def test_what_moving_would_do(studio: Studio, photographs: list[str], tmp_path: Path) -> None:
    """Bytes and room are those of the system; too little room is said; a plan copies nothing."""
    plan = photo_places.plan_move(studio, str(tmp_path / "a" / "b"))
    files = [tiles.photograph_path(studio, sha256) for sha256 in photographs]
    assert plan.size_bytes == sum(file.stat().st_size for file in files)
    assert plan.free_bytes and plan.free_bytes > plan.size_bytes
    assert not (tmp_path / "a").exists()
    assert plan.possible and "to be copied" in plan_words(plan).plain
    with pytest.raises(Refused):
        photo_places.plan_move(studio, "share")


# -- read again ----------------------------------------------------------------------------------------


@pytest.fixture
def read_once(studio: Studio, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> str:
    """The olive tile, read from its photograph by its area; the id of the reading."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    change_setting(studio, "chart-edition", "before-2014")
    photo = tiles.add_photograph(studio, "T2", PICTURES / NAME).sha256
    area = f"olive={','.join(map(str, OLIVE['rect']))}"
    rows, _ = read_into(studio, "T2", photo, areas=[area], wax_state="unwaxed", warmth="cold")
    return rows[0].id


def _lighter(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stands for a reading function that has changed: everything comes out 2 lighter."""
    import dataclasses

    real = rereading.read_job

    def other(job: Any) -> Reading:
        found = real(job)
        return dataclasses.replace(found, readings=tuple(dataclasses.replace(r, L=r.L + 2.0) for r in found.readings))

    def here(function: Any, calls: Any, _cores: int) -> Any:
        return ((n, other(*call)) for n, call in enumerate(calls))

    monkeypatch.setattr("patina.colour.folder.over_cores", here)


async def _ask_again(person: Driver) -> None:
    await person.press("3")
    await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)
    await person.press("R")
    await person.until(lambda: _on(person, "Form"))
    await person.press("ctrl+s")
    await person.until(lambda: _on(person, "Reread"), 60.0)


async def test_photographs_that_read_the_same(running: Start, studio: Studio, read_once: str) -> None:
    """R reads every photograph again on this machine's cores; nothing differs, and nothing is kept."""
    async with running((80, 24)) as person:
        await _ask_again(person)
        await person.until_words("Every reading comes out as it is on record.")
        await person.press("enter")
        await person.until_told("nothing to keep")
        await person.press("escape")
        await person.until(lambda: _on(person, "Tiles"))
    assert len(tiles.tile_sheet(studio, "T2").readings) == 2


@pytest.mark.parametrize(("size", "way"), [((80, 24), "beside"), ((120, 36), "instead")])
async def test_what_would_change_is_seen_before_it_is_kept(
    running: Start,
    studio: Studio,
    read_once: str,
    monkeypatch: pytest.MonkeyPatch,
    size: tuple[int, int],
    way: str,
) -> None:
    """The old and the new colour stand beside each other with their difference; nothing is on record until Enter and
    one of two ways: beside the old, or with the old one withdrawn. The difference is CIEDE2000 of the two."""
    _lighter(monkeypatch)
    old = tiles.reading_of(studio, read_once)
    async with running(size) as person:
        await _ask_again(person)
        await person.until_words("1 reading would change")
        (row,) = person.app.screen.sheet.of("other")
        assert row.reading == read_once
        assert row.de00 == pytest.approx(compare(old.lab, row.after).delta_e)
        assert len(tiles.tile_sheet(studio, "T2").readings) == 2
        await person.press("enter")
        await _choose(person, way)
        await person.until(lambda: _on(person, "Reread") and person.app.screen.kept, 60.0)
        await person.until_words("1 reading put on record.")
        await person.press("escape")
        await person.until(lambda: _on(person, "Tiles"))
    readings = tiles.tile_sheet(studio, "T2").readings
    assert len(readings) == (3 if way == "beside" else 2)
    assert (read_once in {r.id for r in readings}) is (way == "beside")
    assert pytest.approx(old.lab.L + 2.0) == max(readings, key=lambda r: int(r.id[1:])).lab.L


async def test_reading_again_is_stopped_and_goes_on(
    running: Start, studio: Studio, photographs: list[str], read_once: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Escape stops after the photograph that is being read; what came out so far is shown; r goes on with the rest
    and reads nothing twice."""
    begun, go_on, seen = Event(), Event(), []

    def one_by_one(function: Any, calls: Any, _cores: int) -> Any:
        for n, call in enumerate(calls):
            seen.append(call[0].mark)
            begun.set()
            assert go_on.wait(30)
            yield n, function(*call)

    monkeypatch.setattr("patina.colour.folder.over_cores", one_by_one)
    async with running((80, 24)) as person:
        await person.press("3")
        await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)
        await person.press("R")
        await person.until(lambda: _on(person, "Form"))
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Rereading") and begun.is_set())
        await person.press("escape")
        await person.until_words("It stops after this photograph")
        go_on.set()
        await person.until(lambda: _on(person, "Reread"), 30.0)
        await person.until_words("Stopped: 3 photographs left.")
        assert len(seen) == 1
        await person.press("r")
        await person.until(lambda: _on(person, "Reread") and not person.app.screen.sheet.left, 60.0)
        assert len(seen) == len(set(seen)) == 4
        await person.press("r")
        await person.until_told("All photographs are read.")


async def test_a_day_that_is_none_is_refused(running: Start, studio: Studio, read_once: str) -> None:
    """A date is asked for as year, month, day; a later one than the photographs leaves nothing to read."""
    async with running((80, 24)) as person:
        await person.press("K")
        await _choose(person, "reread")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(since="31.3.2026", fresh="perhaps")
        await person.press("ctrl+s")
        await person.until(lambda: len(person.app.screen.query(".-wrong")) == 1)
        await person.fill(since="2999-01-01", fresh="no")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Reread"), 30.0)
        assert person.app.screen.sheet.photographs == 0
    assert "Every reading comes out" in reread_words(rereading.reread(studio, fresh=True, workers=1)).plain
