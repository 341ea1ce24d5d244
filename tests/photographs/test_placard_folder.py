"""A whole folder of photographs read by their placards: what is filed, what is not and why."""

from __future__ import annotations

import dataclasses
import shutil
from pathlib import Path

import pytest
from PIL import Image

import swatches
from patina.colour.folder import Filed, FolderReading, cores, photographs_in, read_folder
from patina.colour.photo_facts import sha256_of
from patina.errors import NotFound
from swatches.render import jpeg_bytes, render_scene
from swatches.scenes import demo_scenes
from swatches.sheet import uid_of

PLAIN = dataclasses.replace(next(scene for scene in demo_scenes() if scene.placard), size_px=(1200, 900))


@pytest.fixture(scope="module")
def shoot(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three good photographs of two tiles, a copy of one, one without a placard, one without its chart,
    a torn one, a text file with a photograph's name, and things that are no photographs."""
    folder = tmp_path_factory.mktemp("shoot")
    for name, record, seed in (("a1.jpg", "T1", 1), ("a2.jpg", "T1", 2), ("b1.JPG", "T22", 3)):
        scene = dataclasses.replace(PLAIN, placard=record, seed=seed)
        (folder / name).write_bytes(jpeg_bytes(render_scene(scene)[0], scene))
    shutil.copy(folder / "a1.jpg", folder / "a1 copy.jpg")
    shutil.copy(swatches.photograph("cupric-mottle.jpg"), folder / "c no placard.jpg")
    bare = dataclasses.replace(PLAIN, chart=None)
    (folder / "d no chart.jpg").write_bytes(jpeg_bytes(render_scene(bare)[0], bare))
    (folder / "e torn.jpg").write_bytes((folder / "a1.jpg").read_bytes()[:20_000])
    (folder / "f text.png").write_text("not a picture")
    (folder / "notes.txt").write_text("passes: 4")
    (folder / ".hidden.jpg").write_bytes(b"")
    (folder / "more.jpg").mkdir()
    return folder


@pytest.fixture(scope="module")
def found(shoot: Path) -> FolderReading:
    """The folder read on two cores."""
    return read_folder(shoot, edition="before-2014", workers=2)


def by_name(found: FolderReading) -> dict[str, str]:
    return {one.path.name: one.code for one in found.unfiled}


def test_photographs_go_to_the_record_they_show(found: FolderReading) -> None:
    """Three photographs, each with its record, its uid and a tile that was read."""
    assert [(one.path.name, one.found.name.record) for one in found.filed] == [
        ("a1 copy.jpg", "T1"),
        ("a2.jpg", "T1"),
        ("b1.JPG", "T22"),
    ]
    for one in found.filed:
        assert one.found.name.uid == uid_of(one.found.name.record)
        assert one.found.reading.areas[0].pixels > 1000
        assert one.sha256 == sha256_of(one.path)


def test_what_is_not_filed_has_its_reason(found: FolderReading) -> None:
    """Each of the others is listed once, with a kind and a sentence."""
    assert by_name(found) == {
        "a1.jpg": "twice",
        "c no placard.jpg": "no-placard",
        "d no chart.jpg": "trouble",
        "e torn.jpg": "trouble",
        "f text.png": "trouble",
    }
    for one in found.unfiled:
        assert one.what.endswith(".")
        assert one.remedy.endswith(".")
    assert {one.path.name for one in found.troubles} == {
        "c no placard.jpg",
        "d no chart.jpg",
        "e torn.jpg",
        "f text.png",
    }
    chart = next(one for one in found.unfiled if one.path.name.startswith("d"))
    assert "chart" in chart.title.lower() + chart.what.lower()


def test_a_second_run_brings_nothing_new(shoot: Path, found: FolderReading) -> None:
    """With what is filed already known, nothing is filed and nothing is read again but the troubles."""
    again = read_folder(shoot, known={one.sha256 for one in found.filed}, workers=1)
    assert again.filed == ()
    assert by_name(again) == {
        **by_name(found),
        "a1 copy.jpg": "known",
        "a1.jpg": "known",
        "a2.jpg": "known",
        "b1.JPG": "known",
    }


def test_one_core_and_two_give_the_same(shoot: Path, found: FolderReading) -> None:
    """The order of finishing changes nothing: same records, same colours, same order."""
    alone = read_folder([shoot / "b1.JPG", shoot / "a2.jpg"], edition="before-2014", workers=1)

    def facts(filed: Filed) -> tuple[object, ...]:
        return filed.path, filed.sha256, filed.found.name, filed.found.reading.areas[0].lab

    assert [facts(one) for one in alone.filed] == [facts(one) for one in found.filed[1:]]


def test_progress_counts_every_file_once(shoot: Path) -> None:
    """Told after each file: how many, of how many, and its name."""
    told: list[tuple[int, int, str]] = []
    read_folder([shoot / "f text.png", shoot / "e torn.jpg"], workers=1, progress=lambda *state: told.append(state))
    assert told == [(1, 2, "e torn.jpg"), (2, 2, "f text.png")]


def test_only_photographs_of_the_folder_itself_are_taken(shoot: Path) -> None:
    """Notes, hidden files and folders are passed over without a word."""
    assert len(photographs_in(shoot)) == 8


def test_an_empty_folder_gives_nothing(tmp_path: Path) -> None:
    """Nothing filed, nothing to complain of."""
    assert read_folder(tmp_path) == FolderReading((), ())


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    """A wrong name is told before anything starts."""
    with pytest.raises(NotFound, match="no folder"):
        read_folder(tmp_path / "nowhere")


def test_a_file_that_goes_away_is_listed(tmp_path: Path) -> None:
    """A named file that cannot be opened is a trouble in the list, not the end of the run."""
    found = read_folder([tmp_path / "gone.jpg"])
    assert [one.code for one in found.unfiled] == ["trouble"]


@pytest.mark.parametrize(("megapixels", "most"), [(1, 5), (12, 4), (50, 2), (100, 1)])
def test_large_photographs_get_fewer_processes(megapixels: int, most: int, tmp_path: Path) -> None:
    """All processes together stay below 1 GiB: three bytes a pixel, held twice, and 150 MiB for each process."""
    path = tmp_path / "large.png"
    Image.new("L", (1000 * megapixels, 1000)).save(path)
    allowed = cores(64, [path] * 64)
    assert allowed == most
    assert allowed * (150 + 2 * megapixels * 1e6 * 3 / 2**20) < 1024
