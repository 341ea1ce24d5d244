"""Amounts in free words leave the studio as little as those of the recipe: on paper, in bundles, under a signature."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest
from secret_studio import ASSISTANT, CLIENT, CONSERVATOR, HEAD, PATINEUR, fill, leaks

from patina.bench import access, sealing, upkeep
from patina.bench.history import deeds_on, undo
from patina.bench.paper import archive, owner, printing
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.entries import NewCast, NewReading, NewTile
from patina.errors import Refused, Withheld

CAST = NewCast("W1", "3/9", "C87300", mass_g=96000, area_m2=0.8, owner="Vane estate", master="M1")


@pytest.fixture
def studio(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Studio]:
    """The studio with a withheld recipe, whose amounts stand in notes, a statement and amendments as well."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    with open_studio(tmp_path / "studio") as opened:
        fill(opened, tmp_path)
        casts.change_cast(opened, "C1", replace(CAST, note="the wash stood at 7.31 g/L"))
        tiles.add_reading(opened, "C1", NewReading(31, 5, 6, note="read after the 2.83 % w/v wash"))
        sealing.seal(opened, "C1", "signed, with 7.31 g/L in the wash", by=HEAD)
        sealing.amend(opened, "C1", "a last coat at 2.83 % w/v", "43.7 mL/m2 were used", by=HEAD)
        yield opened


def words_of(name: str, data: bytes) -> str:
    """All words of a file; of a bundle, those of every file in it."""
    if name.endswith(".zip"):
        with zipfile.ZipFile(io.BytesIO(data)) as bag:
            return "\n".join(words_of(inner, bag.read(inner)) for inner in bag.namelist())
    if name.endswith(".pdf"):
        return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)
    return data.decode("utf-8", "replace")


@pytest.mark.parametrize("target", ["C1", "W1", "M1", "T1"])
def test_a_bundle_for_an_owner_tells_no_amount(studio: Studio, tmp_path: Path, target: str) -> None:
    """Not in a table, in the log, in a printed page or in words that somebody wrote; and it proves what it is."""
    file = tmp_path / "owner.zip"
    sheet = archive.archive(studio, target, file, made_for="owner")
    words = words_of(file.name, file.read_bytes())
    assert leaks(words) == []
    assert "printed" in words or target == "T1"
    assert sheet.withheld == ("R1",)
    assert archive.verify(file).sha256 == sheet.sha256


def test_the_bundle_of_those_who_see_it_all_tells_them(studio: Studio, tmp_path: Path) -> None:
    """Else the test above would prove nothing."""
    file = tmp_path / "all.zip"
    archive.archive(studio, "C1", file)
    words = words_of(file.name, file.read_bytes())
    assert {"7.31", "2.83", "43.7"} <= set(leaks(words))
    assert "signed, with 7.31 g/L" in words


@pytest.mark.parametrize("who", [CLIENT, ASSISTANT, CONSERVATOR])
def test_paper_printed_by_those_who_do_not_see_it_tells_no_amount(studio: Studio, tmp_path: Path, who: str) -> None:
    """Finish record, owner's sheet and tile sheet, on paper and as a page, are written without them."""
    studio.store.identity.name = who
    for ending in ("pdf", "html"):
        printing.finish_record(studio, "C1", tmp_path / f"cast.{ending}")
        owner.print_owner_sheet(studio, "C1", tmp_path / f"owner.{ending}", show="quantities")
        printing.tile_record(studio, "T1", tmp_path / f"tile.{ending}")
    for path in [tmp_path / f"{kind}.{end}" for kind in ("cast", "owner", "tile") for end in ("pdf", "html")]:
        words = words_of(path.name, path.read_bytes())
        assert "House brown" in words, path
        assert leaks(words.rpartition("</style>")[2]) == [], path


def test_a_copy_without_recipes_tells_no_amount(studio: Studio, tmp_path: Path) -> None:
    """The head prints a finish record for somebody else: no recipe, and no amount in any note."""
    printing.finish_record(studio, "C1", tmp_path / "for-them.pdf", show_recipes=False)
    printing.finish_record(studio, "C1", tmp_path / "ours.pdf")
    assert leaks(words_of("x.pdf", (tmp_path / "for-them.pdf").read_bytes())) == []
    assert {"7.31", "2.83", "43.7"} <= set(leaks(words_of("x.pdf", (tmp_path / "ours.pdf").read_bytes())))


def test_nobody_signs_what_they_may_not_read(studio: Studio) -> None:
    """A signature over masked content would break for everybody who sees the true one."""
    studio.store.identity.name = CONSERVATOR
    with pytest.raises(Withheld, match="R1 revision 2"):
        sealing.seal(studio, "R1")
    studio.store.identity.name = HEAD
    assert not sealing.seal_of(studio, "R1").sealed


def test_a_signature_over_what_is_withheld_is_not_called_broken(studio: Studio) -> None:
    """Who may not read the recipe cannot prove it, and is told so; who may read it proves it."""
    sealing.seal(studio, "R1", by=HEAD)
    proofs = {}
    for who in (HEAD, PATINEUR, ASSISTANT, CONSERVATOR, CLIENT):
        studio.store.identity.name = who
        proofs[who] = sealing.seal_of(studio, "R1").sound
    assert proofs == {HEAD: True, PATINEUR: True, ASSISTANT: None, CONSERVATOR: None, CLIENT: None}
    studio.store.identity.name = HEAD
    assert upkeep.check(studio).problems == ()


def test_a_form_saved_by_somebody_who_saw_no_amounts_keeps_them(studio: Studio) -> None:
    """A note that was left as it was shown stays as it is written; what was changed is changed."""
    studio.store.identity.name = CONSERVATOR
    seen = casts.add_cast(studio, replace(CAST, number="4/9", note="plain")).note
    assert seen == "plain"
    tile = tiles.tile_sheet(studio, "T1")
    assert (tile.note, leaks(" ".join(tile.as_done))) == ("… used", [])
    entry = NewTile("A1", "C87300", recipe="R1", revision=2, as_done=tile.as_done, note=tile.note, size="100 mm")
    tiles.change_tile(studio, "T1", entry)
    studio.store.identity.name = HEAD
    after = tiles.tile_sheet(studio, "T1")
    assert (after.size, after.note) == ("100 mm", "93.75 mL used")
    assert {"7.31", "2.83"} <= set(leaks(" ".join(after.as_done)))


@pytest.mark.parametrize("who", [ASSISTANT, CONSERVATOR])
def test_the_log_shows_that_something_was_done_and_no_amount(studio: Studio, who: str) -> None:
    """Whoever does not see the quantities reads in the log who did what to a recipe, a pot or a tile, without them;
    moments and ids stand there as they are."""
    studio.store.identity.name = HEAD
    whole = {row.n: row for row in upkeep.history(studio)}
    studio.store.identity.name = who
    seen = upkeep.history(studio)
    assert {"R1", "V2", "T1", "X2", "G1"} <= {row.record for row in seen}
    assert leaks(str([(row.before, row.after, row.why) for row in seen])) == []
    for row in seen:
        if row.after:
            assert row.after["uid"] == whole[row.n].after["uid"]
            assert row.after.get("created_at") == whole[row.n].after.get("created_at")
    tile = next(row for row in seen if row.record == "T1")
    assert tile.after["note"] == "… used"


def test_somebody_who_sees_no_amounts_takes_their_own_deeds_back(studio: Studio) -> None:
    """An assistant's change of a tile and taking from a lot are undone to what was, the words they do not see too."""
    studio.store.identity.name = ASSISTANT
    shown = tiles.tile_sheet(studio, "T1")
    left = shelf.lot_row(studio, "L1").left
    entry = NewTile("A1b", "C87300", recipe="R1", revision=2, as_done=shown.as_done, note="washed")
    tiles.change_tile(studio, "T1", entry)
    undo(studio)
    shelf.take_from_lot(studio, "L1", 2.5, "g", "test")
    undo(studio)
    studio.store.identity.name = HEAD
    tile = tiles.tile_sheet(studio, "T1")
    assert (tile.row.engraved, tile.note) == ("A1", "93.75 mL used")
    assert tile.as_done[0] == "sulphide wash at 7.31 g/L: 4 passes"
    assert shelf.lot_row(studio, "L1").left == left
    assert upkeep.check(studio).problems == ()


def test_a_reason_has_a_length(studio: Studio) -> None:
    """A reason for withholding or opening is said in 2000 characters; one of 2001 is refused and nothing is kept."""
    studio.store.identity.name = HEAD
    access.withhold(studio, "R1", why="x" * 2000)
    for deed in (access.withhold, access.open_again):
        with pytest.raises(Refused, match="2001 characters"):
            deed(studio, "R1", why="x" * 2001)
    assert [row.why for row in access.list_withheld(studio)] == ["x" * 2000]


def test_what_is_withheld_of_one_revision_is_not_told_by_the_next(studio: Studio) -> None:
    """Of a revision that is open, the history says nothing of what it was before where that is withheld."""
    studio.store.identity.name = HEAD
    access.open_again(studio, "R1", why="for the repair")
    access.withhold(studio, "R1", revision=1, why="older house recipe")
    for who, told in ((HEAD, True), (CONSERVATOR, False), (ASSISTANT, False)):
        studio.store.identity.name = who
        (change,) = (a for d in deeds_on(studio, "R1") for a in d.alterations if a.record == "V2")
        assert any("texture" in f.words for f in change.fields) == told, who
        assert all(d.alterations for d in deeds_on(studio))
