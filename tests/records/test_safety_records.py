"""The safety record is kept as everything else is: logged, checked, backed up, frozen."""

from __future__ import annotations

from pathlib import Path

import pytest
from behind_its_back import REFUSED, alter, database, rows

from patina.bench import upkeep
from patina.bench.pots import batches
from patina.bench.recipes import releases
from patina.bench.safe import exposure
from patina.bench.shelves import substances
from patina.bench.studio import Studio, open_studio
from patina.entries import NewBatch, NewExposure
from patina.errors import Refused

REASON = "the pots are opened one after the other, with running water between"
FROZEN = ("danger_answer", "recipe_release", "batch_mark", "sheet_read", "exposure")


@pytest.fixture
def safe(full: Studio) -> Studio:
    """The full studio with one of each row of the safety record."""
    answers = {str(d.number): REASON for d in releases.release_state(full, "R1").dangers}
    assert answers, "sulphide and ferric nitrate must not meet"
    releases.release(full, "R1", by="Ada Ness", answers=answers)
    batches.mix_batch(full, NewBatch("R1", 2, "sulphide wash", 200.0, purpose="work"))
    substances.sheet_checked(full, "silver nitrate", "2025-02-03", "Marsh Lane Chemicals", by="Ada Ness")
    exposure.add_exposure(full, NewExposure("Ben Orr", 45.0, batch="B1"))
    return full


def _rows(studio: Studio) -> dict[str, list[tuple[object, ...]]]:
    return {table: rows(studio, table) for table in FROZEN}


def test_everything_of_it_is_in_the_log(safe: Studio) -> None:
    """The whole check is content, and every table holds something."""
    assert upkeep.check(safe).problems == ()
    assert all(_rows(safe).values())


@pytest.mark.parametrize("table", FROZEN)
def test_rows_are_never_altered(safe: Studio, table: str) -> None:
    """The database refuses to change or take out a row, whoever asks."""
    for statement in (f"UPDATE {table} SET uid = 'x'", f"DELETE FROM {table}"):
        with pytest.raises(REFUSED), database(safe) as connection:
            connection.execute(statement)


def test_a_row_altered_behind_its_back_is_found(safe: Studio) -> None:
    """Whoever takes the trigger away and edits a reason is found by the check."""
    alter(safe, "UPDATE danger_answer SET reason = 'never said'")
    assert any("Danger answer" in problem for problem in upkeep.check(safe).problems)


@pytest.mark.one_engine("sqlite", why="a backup file holds a SQLite database")
def test_it_goes_into_a_backup_and_comes_back(safe: Studio, tmp_path: Path) -> None:
    """Restored, every row is what it was."""
    upkeep.backup(safe, tmp_path / "all.zip")
    with open_studio(tmp_path / "again") as again:
        assert upkeep.restore(again, tmp_path / "all.zip").ok
    with open_studio(tmp_path / "again") as again:
        assert _rows(again) == _rows(safe)
        assert releases.release_state(again, "R1").released
        assert [r.person for r in exposure.list_exposures(again)] == ["Ben Orr"]


def test_a_refused_release_keeps_nothing(full: Studio) -> None:
    """Answers written with a release that is refused are not kept either: one deed, one transaction."""
    dangers = releases.release_state(full, "R1").dangers
    before = _rows(full)
    with pytest.raises(Refused):
        releases.release(full, "R1", by="Ada Ness", answers={str(d.number): REASON for d in dangers[1:]})
    assert _rows(full) == before
    assert upkeep.check(full).ok


def test_a_pot_that_is_refused_takes_nothing(full: Studio) -> None:
    """A pot for work of a draft is refused before a lot is touched."""
    count = len(batches.list_batches(full, open_only=False))
    with pytest.raises(Refused, match="not released"):
        batches.mix_batch(full, NewBatch("R1", 2, "sulphide wash", 200.0, purpose="work"))
    assert len(batches.list_batches(full, open_only=False)) == count


def test_pots_from_before_the_record_are_for_tiles_only(full: Studio) -> None:
    """Nobody had released anything then; that is said, and the pot stays as it was."""
    sheet = batches.batch_sheet(full, "B1")
    assert sheet.tiles_only and sheet.discard_by is None and sheet.left_ml == 1200.0


def test_two_who_correct_the_same_row(safe: Studio) -> None:
    """The second is told who was before; both studios see the same log."""
    with open_studio(safe.where) as other:
        exposure.add_exposure(safe, NewExposure("Ben Orr", 40.0, batch="B1", corrects="H1"))
        with pytest.raises(Refused, match="already corrected"):
            exposure.add_exposure(other, NewExposure("Ben Orr", 50.0, batch="B1", corrects="H1"))
        assert exposure.list_exposures(other) == exposure.list_exposures(safe)
