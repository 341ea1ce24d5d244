"""Every figure that is worked out and kept is worked out anew by the check: altering any of them is found."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from PIL import Image

from patina.bench import upkeep
from patina.bench.matched import agreed
from patina.bench.paper import approving
from patina.bench.pieces import casts
from patina.bench.pots import batches, waste
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.sealing import amend, seal
from patina.bench.shelves import shelf
from patina.bench.studio import open_studio
from patina.bench.torch import work
from patina.entries import (
    NewApproval,
    NewBatch,
    NewCast,
    NewConcession,
    NewLot,
    NewMaster,
    NewPiece,
    NewReading,
    NewTile,
    NewTreatment,
    NewWork,
    NewZone,
    Weighed,
)
from patina.recipe import Recipe


@pytest.fixture(scope="module")
def rich_folder(tmp_path_factory: pytest.TempPathFactory, brown: Recipe) -> Path:
    """A studio in which every kept figure stands at least once."""
    folder = tmp_path_factory.mktemp("rich")
    with open_studio(folder / "studio") as studio:
        studio.set_setting("who", "Ida")
        finishes.save_recipe(studio, brown)
        tiles.start_tile(studio, NewTile("A1", "C87300", recipe="R1", revision=1))
        for L in (30, 31.5, 29):
            parts = ((L, 5, 6, 0.7), (L + 4, 5, 6, 0.3))
            reading = NewReading(L, 5, 6, parts=parts, sd=(1, 2, 3), uncertainty_de00=1.0, doubt_de00=(0.6, 0.8))
            tiles.add_reading(studio, "T1", reading)
        Image.new("RGB", (64, 64), (90, 60, 30)).save(folder / "tile.png")
        tiles.add_photograph(studio, "T1", folder / "tile.png")
        casts.add_piece(studio, NewPiece("Grey seal", edition=9))
        casts.agree_master(studio, NewMaster("client brown", (30, 5, 6), 2, tile="T1", recipe="R1"))
        agreed.agree_zone(studio, NewZone("M1", "base", readings=("D1", "D2", "D3")))
        casts.add_cast(studio, NewCast("W1", "3/9", "C87300", master="M1"))
        tiles.add_reading(studio, "C1", NewReading(35, 5, 6))
        casts.add_treatment(studio, NewTreatment("C1", "patinated"))
        approving.record_approval(studio, NewApproval("C1", "Owner", "approved", held_on=date(2026, 3, 2)))
        agreed.concede(studio, NewConcession("M1", "C1", reason="hidden side", agreed_by="Owner"))
        shelf.add_lot(studio, NewLot("liver of sulphur", 500))
        weighed = (Weighed("liver of sulphur", 7.5, 7.6, "g", "L1"),)
        batches.mix_batch(studio, NewBatch("R1", 1, "sulphide wash", 1500, weighed))
        waste.strip_check(studio, "B1", 20.0)
        begun = work.start_work(studio, NewWork("T1", "R1"))
        work.use_pot(studio, begun.row.id, "B1")
        work.move_to(studio, begun.row.id, step=2)
        for left in (1400.0, 1300.0):
            work.pass_done(studio, begun.row.id, left_ml=left)
        seal(studio, "M1")
        amend(studio, "M1", "Seen twice.", "told later")
        assert upkeep.check(studio).problems == ()
    return folder / "studio"


def altered(folder: Path, place: Path, *statements: str) -> list[str]:
    """What the check says after writing past the program into a copy."""
    shutil.copytree(folder, place)
    with closing(sqlite3.connect(place / "studio.db")) as database, database:
        for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            database.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            assert database.execute(statement).rowcount > 0, statement
    with open_studio(place) as studio:
        found = upkeep.check(studio)
    return [*found.problems, *found.notes]


# what is altered -> what only its being worked out anew says (the log says of most that they are not as it has them)
ALTERED = [
    ("UPDATE recipe SET search_text = 'nothing'", "is not found by its own words"),
    ("UPDATE tile SET search_text = 'nothing'", "T1 is not found by its own words"),
    ("UPDATE batch SET search_text = 'nothing'", "B1 is not found by its own words"),
    ("UPDATE word SET word = 'zz' WHERE letter = 'T' AND word = 'a1'", "index of words does not hold the words of T1"),
    ("DELETE FROM word WHERE letter = 'M'", "index of words does not hold the words of M1"),
    ("UPDATE word SET record_id = 77 WHERE letter = 'C'", "holds words of C77, which is not there"),
    ("DELETE FROM gram WHERE word = 'harbour' AND gram = 'arb'", "'harbour' is not found from its middle"),
    ("UPDATE recipe SET name_folded = 'x'", "is compared as 'x'"),
    ("DELETE FROM revision_substance", "listed under other substances"),
    ("UPDATE revision_substance SET substance = 'silver_nitrate' WHERE substance LIKE 'ferric%'", "other substances"),
    ("UPDATE revision SET finish = 'green'", "listed as something else"),
    ("UPDATE revision SET content_sha256 = replace(content_sha256, 'a', 'b')", "is not what was frozen"),
    ("UPDATE recipe SET revision = 2", "are not 1 to 2"),
    ("UPDATE lot SET left_amount = 400", "left of lot L1 does not follow"),
    ("UPDATE batch SET left_ml = 1499", "left of batch B1 does not follow"),
    ("UPDATE batch SET use_until = '2031-01-01 00:00:00.000000'", "another time than its recipe says"),
    ("UPDATE batch SET solution = 'soup'", "that its recipe does not hold"),
    ("UPDATE batch_weighed SET asked = 75", "its strength and volume come to 7.5 g"),
    ("UPDATE strip_check SET age_h = 30", "says 30.00 h"),
    ("UPDATE reading SET latest = 0", "Another reading than the newest"),
    ("UPDATE reading SET uncertainty_de00 = 0.2 WHERE id = 1", "uncertainty of reading D1 does not follow"),
    ("UPDATE reading_doubt SET sampling_de00 = 3 WHERE id = 2", "uncertainty of reading D2 does not follow"),
    ("UPDATE reading SET parts = '[[30,5,6,0.9],[34,5,6,0.4]]' WHERE id = 1", "come to 130.0 %"),
    ("UPDATE master_zone SET n = 4", "says 4 readings and holds 3"),
    ("UPDATE master_zone SET sd = '[9,9,9]'", "spread of zone 'base'"),
    ("UPDATE reading SET lab_l = 44 WHERE id = 2", "rests on D2 with another colour"),
    ("UPDATE approval SET shown = replace(shown, '\"delta_e\":', '\"delta_e\":1')", "difference shown at viewing P1"),
    ("UPDATE concession SET difference = 60", "concession MC1 follows from no reading"),
    ("UPDATE work_event SET pass_number = 5 WHERE pass_number = 2", "says pass 5; it was 2"),
    ("UPDATE work_event SET used_ml = 900 WHERE pass_number = 2", "the pot did not lose as much"),
    ("UPDATE work_event SET seq = 40 WHERE pass_number = 2", "is not numbered 1 to"),
    ("UPDATE master SET limit_de = 20", "is not what Ida signed off"),
    ("UPDATE seal SET sha256 = replace(sha256, 'a', 'b')", "is not what Ida signed off"),
    ("UPDATE seal SET record_id = 9", "is not what Ida signed off"),
    ("UPDATE amendment SET number = 3", "are not numbered 1 to 1"),
    ("UPDATE amendment SET record_id = 9", "belongs to M9, which is not there"),
    ("UPDATE photograph SET size_bytes = size_bytes + 1", "its bytes have changed"),
    ("UPDATE change SET why = 'other' WHERE n = 3", "is not what was written"),
    ("UPDATE chain_head SET n = n - 1", "does not end where it should"),
    ("UPDATE tile SET revision_id = 99", "points at a row of revision that is not there"),
    ("UPDATE tile SET note = 'other'", "is not what the log of changes says"),
]


# so many at once, each of another record or figure than the others of its group
GROUPS = 7


@pytest.mark.parametrize("group", range(GROUPS))
def test_each_altered_figure_is_found(rich_folder: Path, tmp_path: Path, group: int) -> None:
    """The check works it out anew and names the record."""
    together = ALTERED[group::GROUPS]
    found = altered(rich_folder, tmp_path / "studio", *(statement for statement, _ in together))
    unsaid = [said for _, said in together if not any(said in problem for problem in found)]
    assert unsaid == [], found


def test_what_the_program_itself_kept_is_sound(rich_folder: Path) -> None:
    """Nothing is said of a studio that nobody touched, not even a note."""
    with open_studio(rich_folder) as studio:
        found = upkeep.check(studio)
    assert (found.problems, found.notes) == ((), ())
