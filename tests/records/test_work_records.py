"""The work on a piece as it is kept: every press by itself, in order, by number, and never altered."""

from __future__ import annotations

import random
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from behind_its_back import REFUSED, alter, database

from patina.bench import upkeep
from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.bench.torch import heat, work
from patina.chemistry.strength import parse_strength
from patina.entries import NewBatch, NewCast, NewLot, NewPiece, NewTemperature, NewTile, NewWork, Weighed
from patina.errors import Changed, Incomplete, NotFound, Refused
from patina.recipe import Ingredient, Recipe, Solution, Step
from patina.records.tables import base
from patina.records.torch.work_state import elapsed_s, state_of
from patina.sheets import WorkSheet

ROOT = Path(__file__).parents[2]
ZONES = (("front", 0.4), ("back", 0.3))


@pytest.fixture
def job(studio: Studio, brown: Recipe) -> WorkSheet:
    """A work on a cast with two zones and a pot, at the step that puts the wash on."""
    finishes.save_recipe(studio, brown)
    casts.add_piece(studio, NewPiece("Grey seal"))
    casts.add_cast(studio, NewCast("W1", "1/3", "C87300", wall_mm=5.0))
    shelf.add_lot(studio, NewLot("liver of sulphur", 10))
    batches.mix_batch(studio, NewBatch("R1", 1, "sulphide wash", 500, (Weighed("liver of sulphur", 5, 5, "g", "L1"),)))
    begun = work.start_work(studio, NewWork("C1", "R1", zones=ZONES, batch="B1", done_by="Maren"))
    return work.move_to(studio, begun.row.id, step=2)


class Clock(datetime):
    """A clock that can be put forward and back."""

    shift = timedelta()

    @classmethod
    def now(cls, tz: Any = None) -> datetime:
        """The moment this clock shows."""
        return datetime.now(tz) + cls.shift


def test_every_pass_is_on_disk_when_the_deed_returns(studio: Studio, job: WorkSheet) -> None:
    """Another connection, without the program, reads each pass as soon as the deed is back."""
    for n in range(1, 6):
        sheet = work.pass_done(studio, job.row.id)
        with database(studio) as connection:
            kept = connection.execute("SELECT seq, pass_number FROM work_event ORDER BY seq DESC").fetchone()
            assert kept == (sheet.seq, n)
    assert sheet.passes_done == 5 and sheet.passes_to_go == 0
    assert upkeep.check(studio).ok


@pytest.mark.one_engine("sqlite", why="its own setting; a server keeps the usual one")
def test_commits_wait_for_the_disk(studio: Studio) -> None:
    """Each commit is synchronised in full (SQLite: synchronous = 2), so a power cut loses no answered key."""
    with studio.store.view() as session:
        assert session.connection().exec_driver_sql("PRAGMA synchronous").scalar() == 2


def test_a_clock_put_back_changes_no_order(studio: Studio, job: WorkSheet, monkeypatch: pytest.MonkeyPatch) -> None:
    """The numbers give the order; the sheet says that the clock was put back, and time is never below zero."""
    monkeypatch.setattr(base, "datetime", Clock)
    kinds = []
    for shift in (0, -3600, -7200):
        monkeypatch.setattr(Clock, "shift", timedelta(seconds=shift))
        sheet = work.write_note(studio, job.row.id, f"note {shift}")
        kinds.append(sheet.events[-1].note)
    assert [e.note for e in sheet.events if e.kind == "note"] == kinds == ["note 0", "note -3600", "note -7200"]
    assert [e.seq for e in sheet.events] == list(range(1, len(sheet.events) + 1))
    assert "put back" in sheet.clock_note and sheet.elapsed_s >= 0
    assert sheet.events[-1].at < sheet.events[-3].at


def test_time_of_a_break_is_not_time_of_work(studio: Studio, job: WorkSheet, monkeypatch: pytest.MonkeyPatch) -> None:
    """A work that is taken up the next day goes on where it was, and the night is not counted."""
    monkeypatch.setattr(base, "datetime", Clock)
    monkeypatch.setattr(work, "datetime", Clock)
    monkeypatch.setattr(Clock, "shift", timedelta(hours=14))
    sheet = work.take_up(studio, job.row.id)
    assert (sheet.step, sheet.zone, sheet.events[-1].kind) == (2, "front", "resume")
    assert sheet.elapsed_s < 60


def test_opened_twice_the_second_is_told(studio: Studio, job: WorkSheet) -> None:
    """Who has not seen what the other wrote writes nothing, learns what it was, and may then go on."""
    with open_studio(studio.where) as other:
        seen = job.seq
        theirs = work.pass_done(other, job.row.id, seen=seen, by="Jory")
        with pytest.raises(Changed, match=r"pass 1 in zone 'front' by Jory"):
            work.pass_done(studio, job.row.id, seen=seen)
        both = work.pass_done(studio, job.row.id, seen=theirs.seq)
    assert both.passes_done == 2
    assert work.work_sheet(studio, job.row.id).events == both.events
    assert [e.pass_number for e in both.events if e.kind == "pass"] == [1, 2]


def test_going_back_takes_nothing_from_the_record(studio: Studio, job: WorkSheet) -> None:
    """Back is a row that names what it takes away; the pot gets back what that took off it."""
    work.pass_done(studio, job.row.id, left_ml=470)
    assert batches.batch_sheet(studio, "B1").left_ml == pytest.approx(470)
    sheet = work.go_back(studio, job.row.id)
    assert sheet.passes_done == 0
    assert [(e.kind, e.cancelled) for e in sheet.events[-2:]] == [("pass", True), ("back", False)]
    assert sheet.events[-1].cancels == sheet.events[-2].id
    pot = batches.batch_sheet(studio, "B1")
    assert pot.left_ml == pytest.approx(500) and [round(u[1]) for u in pot.used] == [30, -30]
    assert upkeep.check(studio).ok


def test_back_again_and_again_ends_at_the_beginning(studio: Studio, job: WorkSheet) -> None:
    """Going back leads to the beginning and says so there."""
    work.pass_done(studio, job.row.id)
    for _ in range(3):  # the pass, the move, the pot
        sheet = work.go_back(studio, job.row.id)
    assert (sheet.step, sheet.passes_done, sheet.pot) == (1, 0, None)
    with pytest.raises(Refused, match="nothing to take back"):
        work.go_back(studio, job.row.id)


def test_whatever_is_pressed_the_sums_hold(studio: Studio, job: WorkSheet) -> None:
    """After any run of keys: passes are those that stand, the pot is its volume less its uses, never below zero."""
    dice = random.Random(7)
    sheet, which = job, job.row.id
    for _ in range(60):
        left = batches.batch_sheet(studio, "B1").left_ml
        deeds: list[Callable[[], WorkSheet]] = [
            lambda: work.pass_done(studio, which),
            lambda left=left: work.pass_done(studio, which, left_ml=left * dice.random()),
            lambda left=left: work.volume_left(studio, which, left * dice.random()),
            lambda: work.move_to(studio, which, zone=dice.choice(ZONES)[0]),
            lambda: work.go_back(studio, which),
            lambda: heat.read_temperature(studio, which, NewTemperature(contact_c=dice.uniform(20, 200))),
        ]
        try:
            sheet = dice.choice(deeds)()
        except Refused:
            continue  # nothing left to take back, or a step without a pot
        standing = [e for e in sheet.events if e.kind == "pass" and not e.cancelled]
        assert sum(sum(s.done) for s in sheet.steps) == len(standing)
        pot = batches.batch_sheet(studio, "B1")
        assert pot.left_ml == pytest.approx(500 - sum(u[1] for u in pot.used)) and pot.left_ml >= 0
    assert upkeep.check(studio).ok


@pytest.mark.parametrize("table", ["work_event", "strip_check", "waste"])
@pytest.mark.parametrize("deed", ["UPDATE {} SET uid = 'x'", "DELETE FROM {}"])
def test_no_program_alters_what_happened(studio: Studio, job: WorkSheet, table: str, deed: str) -> None:
    """The database itself refuses to alter or remove such a row."""
    from patina.bench.pots import waste

    waste.strip_check(studio, "B1", 12)
    waste.log_waste(studio, "sulphide", "rest", 10, batch="B1")
    with pytest.raises(REFUSED, match="never altered"), database(studio) as connection:
        connection.execute(deed.format(table))


def test_a_pass_that_was_done_is_kept_though_the_pot_is_past_its_time(
    studio: Studio, job: WorkSheet, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Time runs out during the work: the pass is written down, and the sheet says that the pot is past its time."""
    from patina.records.torch import work as work_records

    late = datetime.now(UTC) + timedelta(hours=13)
    monkeypatch.setattr(work_records, "now", lambda: late)
    sheet = work.pass_done(studio, job.row.id)
    assert sheet.passes_done == 1 and sheet.pot is not None and sheet.pot.past
    assert "past its time" in sheet.pot.cautions[0]


def test_a_pot_past_its_time_or_empty_is_not_begun_with(studio: Studio, job: WorkSheet, brown: Recipe) -> None:
    """Such a pot is named only with a reason; an empty one, or one of another recipe, not at all."""
    old = datetime.now(UTC) - timedelta(hours=30)
    batches.mix_batch(studio, NewBatch("R1", 1, "sulphide wash", 300, made_at=old))
    with pytest.raises(Refused, match="was over"):
        work.use_pot(studio, job.row.id, "B2")
    sheet = work.use_pot(studio, job.row.id, "B2", though_old="strip browned in 8 s")
    assert sheet.pot is not None and sheet.pot.batch == "B2" and sheet.events[-1].note == "strip browned in 8 s"
    batches.use_from_batch(studio, "B1", 500, "spilt")
    with pytest.raises(Refused, match="B1 is empty"):
        work.use_pot(studio, job.row.id, "B1")
    finishes.save_recipe(studio, replace(brown, name="Other brown"))
    batches.mix_batch(studio, NewBatch("R2", 1, "sulphide wash", 300))
    with pytest.raises(Refused, match="another recipe"):
        work.use_pot(studio, job.row.id, "B3")


def test_a_lot_that_is_gone_is_said(studio: Studio, job: WorkSheet) -> None:
    """Once the lot of the pot is used up, a second pot would be of another lot."""
    assert job.pot is not None and not any("used up" in c for c in job.pot.cautions)
    shelf.take_from_lot(studio, "L1", 5, "g", "tiles")
    sheet = work.pass_done(studio, job.row.id)
    assert sheet.pot is not None and any("L1" in c and "used up" in c for c in sheet.pot.cautions)


def test_a_pot_does_not_fill_by_itself(studio: Studio, job: WorkSheet) -> None:
    """A figure above the last one is refused, and nothing is written."""
    work.volume_left(studio, job.row.id, 400)
    with pytest.raises(Refused, match="450 mL cannot be left"):
        work.pass_done(studio, job.row.id, left_ml=450)
    assert work.work_sheet(studio, job.row.id).passes_done == 0


def test_one_open_work_on_a_piece(studio: Studio, job: WorkSheet) -> None:
    """A second work on the same piece is refused until the first is ended."""
    with pytest.raises(Refused, match="still open"):
        work.start_work(studio, NewWork("C1", "R1"))
    work.end_work(studio, job.row.id)
    assert work.start_work(studio, NewWork("C1", "R1")).row.id == "J2"
    assert [w.id for w in work.list_works(studio)] == ["J2"]
    assert [w.id for w in work.list_works(studio, open_only=False)] == ["J2", "J1"]


def test_the_end_is_on_record_of_the_piece(studio: Studio, job: WorkSheet) -> None:
    """A cast gets a treatment that says how each step was really done; nothing more is written after the end."""
    for zone in ("front", "back"):
        work.move_to(studio, job.row.id, zone=zone)
        work.pass_done(studio, job.row.id)
    heat.read_temperature(studio, job.row.id, NewTemperature(contact_c=88))
    work.end_work(studio, job.row.id)
    (treatment,) = casts.cast_sheet(studio, "C1").treatments
    assert treatment.as_done == ("2. apply sulphide wash: front 1 pass; back 1 pass of 4 asked, metal 88 °C",)
    assert (treatment.batch, treatment.area_m2, treatment.done_by) == ("B1", pytest.approx(0.7), "Maren")
    with pytest.raises(Refused, match="was ended"):
        work.pass_done(studio, job.row.id)
    again = work.take_up(studio, job.row.id)
    assert again.row.ended_at is None and again.passes_done == 1
    assert upkeep.check(studio).ok


def test_a_beginning_is_asked_for_whole(studio: Studio, job: WorkSheet) -> None:
    """All that is wrong with a beginning is said at once, and nothing is begun."""
    bad = NewWork("", "", zones=(("a", 0.1), ("A", -1.0)), air_c=400, air_rh_pct=140)
    with pytest.raises(Incomplete) as trouble:
        work.start_work(studio, bad)
    assert {t.field for t in trouble.value.troubles} == {"target", "recipe", "zones", "air", "humidity"}
    with pytest.raises(NotFound):
        work.pass_done(studio, "J9")
    with pytest.raises(Refused, match="no step 9"):
        work.move_to(studio, job.row.id, step=9)
    with pytest.raises(Refused, match="no zone 'top'"):
        work.move_to(studio, job.row.id, zone="top")


def test_nothing_at_all_comes_to_nothing() -> None:
    """A work without events stands at its beginning and has taken no time."""
    assert state_of([]).passes == {} and elapsed_s([], None) == (0.0, "")


def test_a_studio_of_the_first_schema_is_brought_up(tmp_path: Path, brown: Recipe) -> None:
    """Records of the first schema stay what they were; works can be begun on them, and a copy lies beside."""
    from alembic import command

    from patina.records.studio.folder import sqlite_engine
    from patina.records.studio.migrating import _ensure_start, alembic_config
    from patina.records.studio.peek import DATABASE_FILE

    folder = tmp_path / "old"
    folder.mkdir()
    engine = sqlite_engine(folder / DATABASE_FILE)
    with engine.connect().execution_options(writing=True) as connection, connection.begin():
        config = alembic_config()
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
        _ensure_start(connection)
    engine.dispose()
    with open_studio(folder) as studio:
        finishes.save_recipe(studio, brown)
        casts.add_piece(studio, NewPiece("Seal"))
        casts.add_cast(studio, NewCast("W1"))
        assert work.start_work(studio, NewWork("C1", "R1")).row.id == "J1"
        assert upkeep.check(studio).ok
    assert list(folder.glob("studio-before-*-was-0001.db"))


def test_killed_at_the_torch_nothing_answered_is_lost() -> None:
    """The torch screen is killed ten times while keys arrive; the long run is in tests/benchmarks."""
    script = ROOT / "tests" / "benchmarks" / "kill_at_the_torch.py"
    command = [sys.executable, str(script), "--kills", "10", "--longest", "0.3", "--seed", "5"]
    done = subprocess.run(command, capture_output=True, text=True, cwd=ROOT, timeout=120, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "lost: 0" in done.stdout and "killed 10 times" in done.stdout


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("DELETE FROM work_event WHERE kind = 'move'", "not numbered 1 to"),
        ("UPDATE work_event SET pass_number = 9 WHERE kind = 'pass'", "is not what the log of changes says"),
        ("UPDATE work_event SET cancels_id = 99 WHERE kind = 'back'", "takes back something of another work"),
        ("UPDATE work SET place = 'elsewhere'", "Work J1 is not what the log"),
        ("UPDATE waste SET amount = 1", "Waste Z1 is not what the log"),
    ],
)
def test_what_was_altered_is_found(studio: Studio, job: WorkSheet, statement: str, said: str) -> None:
    """The check finds a pass, a work or a waste entry that was altered behind the program's back."""
    from patina.bench.pots import waste

    work.pass_done(studio, job.row.id)
    work.pass_done(studio, job.row.id)
    work.go_back(studio, job.row.id)
    waste.log_waste(studio, "sulphide", "rest", 10, batch="B1")
    alter(studio, statement)
    found = upkeep.check(studio)
    assert not found.ok and any(said in p for p in found.problems), found.problems


def test_a_pot_for_test_tiles_goes_on_a_piece_only_with_a_reason(studio: Studio, job: WorkSheet) -> None:
    """A pot that was mixed for tiles is not begun with on a cast; on a tile it is."""
    batches.mix_batch(studio, NewBatch("R1", 1, "sulphide wash", 200, purpose="test tiles"))
    with pytest.raises(Refused, match="test tiles only"):
        work.use_pot(studio, job.row.id, "B2")
    sheet = work.use_pot(studio, job.row.id, "B2", though_old="trial on the underside")
    assert sheet.pot is not None and any("test tiles only" in c for c in sheet.pot.cautions)
    tiles.start_tile(studio, NewTile("A1", "C87300"))
    on_tile = work.start_work(studio, NewWork("T1", "R1", batch="B2"))
    on_tile = work.move_to(studio, on_tile.row.id, step=2)
    assert on_tile.pot is not None and on_tile.pot.cautions == ()


def test_ammoniacal_silver_past_its_clock_is_never_used(
    studio: Studio, job: WorkSheet, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What explodes on standing is refused whatever is said; while its clock runs the sheet says until when.
    Source: the clock of ammoniacal silver in the program's reactions [AGN]."""
    from patina.bench.pots import pot_rules

    ingredients = (
        Ingredient("silver_nitrate", parse_strength("10 g/L")),
        Ingredient("ammonia_solution", parse_strength("20 g/L")),
    )
    silver = Solution("silver", "distilled_water", ingredients)
    step = Step("apply", solution="silver", method="cold brush")
    finishes.save_recipe(studio, Recipe("Mirror", "bright", ("C87300",), "own tiles", (silver,), (step,)))
    batches.mix_batch(studio, NewBatch("R2", 1, "silver", 100))
    tiles.start_tile(studio, NewTile("A2", "C87300"))
    sheet = work.start_work(studio, NewWork("T1", "R2", batch="B2"))
    assert sheet.pot is not None and "must be gone by" in sheet.pot.cautions[0]
    work.end_work(studio, sheet.row.id)
    monkeypatch.setattr(pot_rules, "now", lambda: datetime.now(UTC) + timedelta(days=2))
    with pytest.raises(Refused, match="should have been gone"):
        work.start_work(studio, NewWork("T1", "R2", batch="B2", though_old="it looks clear"))
