"""Rows that were brought in are on record, guarded and proved, on every database."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import text

from patina.bench.bringing.bring_in import bring, plan
from patina.bench.readings import tiles
from patina.bench.studio import Studio
from patina.bench.upkeep import backup, check
from patina.errors import PatinaError
from patina.records.studio.unit import unit

TABLE = "Mark,Alloy,Wall (mm)\nA1,C87300,5\nA2,C87300,6\nA2,C83600,7\n"


def _file(tmp_path: Path) -> Path:
    path = tmp_path / "tiles.csv"
    path.write_text(TABLE, encoding="utf-8")
    return path


def test_a_preview_writes_nothing_and_the_real_thing_once(studio: Studio, tmp_path: Path) -> None:
    """The preview takes back all it did; a second run knows every row again; `check` proves them."""
    path = _file(tmp_path)
    mapping = plan(studio, path).mapping
    tried = bring(studio, path, mapping, dry_run=True)
    assert (len(tried.brought), tried.stored, check(studio).records) == (2, False, 0)
    came = bring(studio, path, mapping)
    assert [b.name for b in came.brought] == ["A1", "A2"]
    assert "marked 'A2' is here already" in came.refused[0].reason
    again = bring(studio, path, mapping)
    assert (len(again.brought), again.here_already) == (0, 2)
    assert len(tiles.list_tiles(studio)) == 2
    found = check(studio)
    assert found.ok
    assert found.records == 4, "two tiles, and two rows of a file"


@pytest.mark.parametrize("change", ["UPDATE brought_row SET record = 'T9'", "DELETE FROM brought_row"])
def test_what_was_brought_in_is_never_altered(studio: Studio, tmp_path: Path, change: str) -> None:
    """The database itself refuses."""
    path = _file(tmp_path)
    bring(studio, path, plan(studio, path).mapping)
    with pytest.raises(PatinaError), unit(studio.store, "test") as work:
        work.session.execute(text(change))
        work.commit()
    assert check(studio).ok


@pytest.mark.one_engine("sqlite", why="a studio on a server is restored by tests of its own")
def test_a_backup_carries_what_was_brought_in(studio: Studio, tmp_path: Path) -> None:
    """So that the same file brought into the restored studio makes nothing twice either."""
    path = _file(tmp_path)
    mapping = plan(studio, path).mapping
    bring(studio, path, mapping)
    backup(studio, tmp_path / "kept.zip")
    from patina.bench.studio import open_studio
    from patina.bench.upkeep import restore

    with open_studio(tmp_path / "other") as other:
        restore(other, tmp_path / "kept.zip")
        assert not bring(other, path, mapping).brought
