"""What can be read of a damaged studio is saved, with a list; whatever is damaged, it ends in a list."""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest

from patina.bench import upkeep
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.studio import Studio, open_studio
from patina.entries import NewReading, NewTile
from patina.errors import Refused

PAGE = 4096


@pytest.fixture(scope="module")
def sixty(full_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A studio with sixty more tiles, closed."""
    folder = tmp_path_factory.mktemp("sixty") / "studio"
    shutil.copytree(full_folder, folder)
    with open_studio(folder) as studio:
        for n in range(60):
            tile = tiles.start_tile(studio, NewTile(f"S{n}", "C87300", note="x" * 200))
            tiles.add_reading(studio, tile.row.id, NewReading(30 + n / 3, 5, 6))
    return folder


def damaged(folder: Path, place: Path) -> Path:
    """A copy to be damaged."""
    shutil.copytree(folder, place)
    return place


def test_a_sound_studio_is_saved_whole(sixty: Path, tmp_path: Path) -> None:
    """Nothing is lost; every record is there as it was, and the new studio checks clean."""
    found = upkeep.salvage(sixty, tmp_path / "new")
    assert (found.lost, found.sound, found.photographs) == ((), True, 1)
    assert (found.saved["tile"], found.saved["reading"], found.saved["revision"]) == (61, 63, 2)
    with open_studio(sixty) as old, open_studio(tmp_path / "new") as new:
        assert tiles.list_tiles(new) == tiles.list_tiles(old)
        assert finishes.list_recipes(new, "harbour") == finishes.list_recipes(old, "harbour")
        assert upkeep.check(new).problems == ()
    assert "tile: 61" in Path(found.file).read_text()


@pytest.mark.parametrize("seed", range(4))
def test_pages_written_over(sixty: Path, tmp_path: Path, seed: int) -> None:
    """Random pages are noise: the damaged studio is left as it is, and all that is saved is as it was."""
    chance = random.Random(seed)
    broken = damaged(sixty, tmp_path / "broken")
    content = bytearray((broken / "studio.db").read_bytes())
    for _ in range(chance.randint(1, 12)):
        at = chance.randrange(1 if seed % 2 else 0, len(content) // PAGE) * PAGE
        content[at : at + PAGE] = chance.randbytes(PAGE)
    (broken / "studio.db").write_bytes(content)
    found = upkeep.salvage(broken, tmp_path / "new")
    assert (broken / "studio.db").read_bytes() == content
    assert Path(found.file).is_file()
    with open_studio(sixty) as old, open_studio(tmp_path / "new") as new:
        was = {row.id: row.engraved for row in tiles.list_tiles(old)}
        now = {row.id: row.engraved for row in tiles.list_tiles(new)}
        assert now.items() <= was.items()
        if len(now) < len(was) or found.saved.get("reading", 0) < 63:
            assert found.lost
        assert tiles.start_tile(new, NewTile("goes on", "C87300")).row.engraved == "goes on"


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9])
def test_a_database_cut_short(sixty: Path, tmp_path: Path, share: float) -> None:
    """What stands before the cut is saved where it can be read; the list says what is missing."""
    broken = damaged(sixty, tmp_path / "broken")
    content = (broken / "studio.db").read_bytes()
    (broken / "studio.db").write_bytes(content[: int(len(content) * share)])
    found = upkeep.salvage(broken, tmp_path / "new")
    assert found.lost
    with open_studio(tmp_path / "new") as new:
        assert len(tiles.list_tiles(new)) == found.saved.get("tile", 0)


def test_single_bytes_altered(sixty: Path, tmp_path: Path) -> None:
    """Bits turned anywhere never end in a fault of the program."""
    for seed in range(3):
        chance = random.Random(seed)
        broken = damaged(sixty, tmp_path / f"broken{seed}")
        content = bytearray((broken / "studio.db").read_bytes())
        for _ in range(40):
            content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
        (broken / "studio.db").write_bytes(content)
        assert Path(upkeep.salvage(broken, tmp_path / f"new{seed}").file).is_file()


@pytest.mark.one_engine("sqlite", why="files of a folder")
def test_photographs_missing_and_damaged(full: Studio, tmp_path: Path) -> None:
    """A damaged photograph is named and not taken; its tile and readings are."""
    full.close()
    broken = damaged(Path(full.where), tmp_path / "broken")
    (photograph,) = (p for p in (broken / "photographs").glob("*/*"))
    photograph.write_bytes(photograph.read_bytes()[:-5])
    found = upkeep.salvage(broken, tmp_path / "new")
    assert found.photographs == 0
    assert any("bytes are not what its hash says" in one for one in found.lost)
    assert any("is missing" in one for one in found.lost)
    assert found.saved["tile"] == 1


def test_what_is_no_studio_is_refused(full_folder: Path, tmp_path: Path) -> None:
    """There must be a database to read and an empty folder to write."""
    with pytest.raises(Refused, match="There is no"):
        upkeep.salvage(tmp_path, tmp_path / "new")
    with pytest.raises(Refused, match="not empty"):
        upkeep.salvage(full_folder, full_folder)
