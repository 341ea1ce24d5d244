"""Exports by one key wherever something can be exported; backups, the proof and the reminder by keys."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from screens_driver import Driver, Running

from patina.bench import backups, upkeep
from patina.bench.studio import Studio
from patina.sheets import CheckSheet
from tui.dialogs.safekeeping import backup_words, check_words

Start = Callable[..., Running]


def _on(person: Driver, name: str) -> bool:
    return type(person.app.screen).__name__ == name


async def _choose(person: Driver, words: str) -> None:
    await person.until(lambda: _on(person, "Choose") and person.app.screen.query("#choices"))
    said = [str(words) for _, words in person.app.screen.options]
    at = next(n for n, line in enumerate(said) if words in line)
    await person.press("home", *["down"] * at, "enter")


async def _file(person: Driver, path: Path) -> None:
    await person.until(lambda: _on(person, "AskPath") and person.app.screen.query("#path-input"))
    person.app.screen.query_one("#path-input").value = str(path)
    await person.press("enter")


@pytest.mark.parametrize(
    ("key", "place", "what", "ending"),
    [
        ("1", "finishes", "as a recipe file", ".toml"),
        ("1", "finishes", "All recipes", ".csv"),
        ("3", "tiles", "All readings", ".csv"),
        ("4", "casts", "Linked Art", ".jsonld"),
        ("4", "casts", "Spectrum", ".csv"),
        ("5", "shelf", "All lots", ".csv"),
    ],
)
async def test_export_is_one_key(running: Start, tmp_path: Path, key: str, place: str, what: str, ending: str) -> None:
    """E writes the chosen record, or the whole list, in each place that has something to export."""
    path = tmp_path / f"out{ending}"
    async with running((80, 24)) as person:
        await person.press(key)
        await person.until(lambda: place == person.app.screen.WHERE and person.app.screen.sheet is not None)
        await person.press("E")
        await _choose(person, what)
        await _file(person, path)
        await person.until_told("Written")
    text = path.read_text("utf-8-sig")
    if ending == ".toml":
        assert 'name = "Quay green"' in text and "based_on = 1" in text
    elif ending == ".jsonld":
        assert json.loads(text)["@context"]
    else:
        assert len(list(csv.reader(text.splitlines()))) > 1


async def test_a_backup_by_keys_is_one_that_can_be_put_back(running: Start, studio: Studio, tmp_path: Path) -> None:
    """K says when the last one was made, makes one, shows its hash; it holds every record and is remembered."""
    file = tmp_path / "one.patina-backup"
    async with running((80, 24)) as person:
        await person.press("K")
        await person.until_words("No whole backup is known.")
        await _choose(person, "Make a backup")
        await _file(person, file)
        await person.until_words("every record and every photograph")
        assert "SHA-256" in person.app.screen.prose.plain
        await person.press("escape", "K")
        await person.until_words("The last whole backup is of")
    back = upkeep.restore(tmp_path / "again", file)
    assert back.ok and back.records == upkeep.check(studio).records


async def test_a_backup_that_is_stopped_leaves_no_file(
    running: Start, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Escape stops the work at the next part; neither the file nor half of one stays."""
    begun, go_on, made, real = Event(), Event(), tmp_path / "backups", upkeep.backup
    made.mkdir()

    def slow(studio: Studio, file: Path, told: Callable[[int, int, str], None]) -> dict[str, Any]:
        def wait(done: int, of: int, what: str) -> None:
            told(done, of, what)
            begun.set()
            assert go_on.wait(30)

        return real(studio, file, wait)

    monkeypatch.setattr(upkeep, "backup", slow)
    try:
        async with running((80, 24)) as person:
            await person.press("K")
            await _choose(person, "Make a backup")
            await _file(person, made / "one.patina-backup")
            await person.until(lambda: begun.is_set() and _on(person, "Bringing"))
            await person.press("escape")
            await person.until_told("Stopped")
            assert list(made.iterdir()), "the work is under way beside the file"
            go_on.set()
            await person.until(lambda: not list(made.iterdir()))
    finally:
        go_on.set()


async def test_the_studio_is_proved_by_keys(running: Start, studio: Studio) -> None:
    """K, then the proof: how many records, and that all is sound; a broken log is told with what to do."""
    async with running((80, 24)) as person:
        await person.press("K")
        await _choose(person, "Prove every record")
        await person.until_text("All is sound")
        assert str(upkeep.check(studio).records) in person.app.screen.prose.plain
    told = check_words(CheckSheet(False, ("Photograph ab is missing.",), 3, 1, ("A stray file.",))).plain
    assert "1 problem" in told and "Photograph ab is missing." in told and "A stray file." in told
    assert "restore the last good backup" in told


async def test_the_reminder_is_set_where_it_is_told(running: Start, studio: Studio) -> None:
    """Days that are none are refused beside the field; with 7, the next start says that K makes a backup."""
    async with running((80, 24)) as person:
        await person.press("K")
        await _choose(person, "Remind me")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(days="99999")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen.query_one("#field-days").has_class("-wrong"))
        await person.fill(days="7")
        await person.press("ctrl+s")
        await person.until(lambda: backups.backup_due(studio).days == 7)
    async with running((80, 24)) as person:
        await person.until_told("K makes one")
        await person.press("K")
        await person.until_text("A backup is due")


def test_a_backup_that_lacks_a_photograph_says_so() -> None:
    """What is gone is named, and the backup is not called whole."""
    told = backup_words({"file": "a", "sha256": "f" * 64, "missing": ["ab12"]}).plain
    assert "ab12" in told and "does not count as whole" in told


def test_every_part_of_backup_and_proof_is_told(studio: Studio, tmp_path: Path) -> None:
    """The bar goes forward and ends full for a backup; the proof tells each part of how many."""
    for work in (lambda told: upkeep.backup(studio, tmp_path / "b", told), lambda told: upkeep.check(studio, told)):
        told: list[tuple[int, int, str]] = []
        work(lambda *at, told=told: told.append(at))  # type: ignore[misc]
        assert [at for at, _, _ in told] == sorted(at for at, _, _ in told)
        assert len({of for _, of, _ in told}) == 1
        assert all(at <= of for at, of, _ in told)
