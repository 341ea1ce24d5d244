"""Care of an earlier treatment, handed on to a later one or ended: the reminders, both records, what is refused."""

from __future__ import annotations

from datetime import date

import pytest

from patina.bench import sealing, upkeep
from patina.bench.pieces import casts
from patina.bench.studio import Studio
from patina.bench.treating import treat, treat_care
from patina.entries import NewCast, NewPiece
from patina.errors import Incomplete, NotFound
from patina.sheets.care_words import care_row_words, earlier_care_words

TODAY = date(2026, 5, 1)


@pytest.fixture
def twice(studio: Studio) -> Studio:
    """One cast that was treated twice, CT1 in 2020 and CT2 in 2026, and another cast with CT3; CT1 has two points of
    care and was signed off."""
    piece = casts.add_piece(studio, NewPiece("Gate", "Somebody"))
    for number in ("1/2", "2/2"):
        casts.add_cast(studio, NewCast(piece.id, number, owner="Northtown"))
    for cast, name, day in (
        ("C1", "washed", "2020-03-01"),
        ("C1", "rewaxed", "2026-04-01"),
        ("C2", "else", "2026-04-02"),
    ):
        treat.begin_treatment(studio, {"cast": cast, "name": name, "started_on": day})
    for trigger, task, months in (("months", "wax it", "12"), ("water bead", "look at the wax", "6")):
        said = {"trigger": trigger, "task": task, "every_months": months, "from_day": "2020-03-10"}
        treat.write_part(studio, "CT1", "care", said)
    sealing.seal(studio, "CT1", by="Ida")
    return studio


def _reminded(studio: Studio) -> list[tuple[str, str]]:
    return [(row.treatment, row.status.item.id) for row in treat_care.care_rows(studio, TODAY, all_points=True)
            if row.status.state != "ended"]  # fmt: skip


def test_a_reminder_says_which_treatment_it_stems_from_and_what_came_later(twice: Studio) -> None:
    """Both the treatment whose schedule it is and the later one of the same object are named."""
    rows = {row.status.item.id: row for row in treat_care.care_rows(twice, TODAY)}
    assert rows["CI1"].name == "washed" and rows["CI1"].later == (("CT2", "rewaxed"),)
    assert care_row_words(rows["CI1"]).endswith("From CT1 washed; CT2 rewaxed came later.")
    later = treat.treatment_sheet(twice, "CT2", TODAY)
    assert [row.status.item.id for row in later.earlier_care] == ["CI2", "CI1"], "the most pressing first"
    assert "CI2, CI1 of CT1 washed" in earlier_care_words(later)
    for other in ("CT1", "CT3"):
        assert treat.treatment_sheet(twice, other, TODAY).earlier_care == ()


def test_a_point_is_taken_over_and_another_ended(twice: Studio) -> None:
    """The point stands in the later schedule and counts on from the end of that treatment; the earlier record keeps
    both points as ended, its signature stays sound, and check is clean."""
    treat.change_head(twice, "CT2", {"finished_on": "2026-04-20"})
    why = {"CI1": "goes on as before", "CI2": "the wax was taken off"}
    sheet = treat_care.hand_on_care(
        twice, "CT2", take_over={"ci1": why["CI1"]}, end={"CI2": why["CI2"]}, on=TODAY, by="Ida"
    )
    (item,) = sheet.record.care
    assert (item.value.task, item.value.every_months, item.value.from_day) == ("wax it", 12, date(2026, 4, 20))
    assert item.reason == why["CI1"] and sheet.earlier_care == ()
    earlier = treat.treatment_sheet(twice, "CT1", TODAY)
    assert {s.item.id: s.state for s in earlier.care} == {"CI1": "ended", "CI2": "ended"}
    assert [(end.value.item, end.value.on, end.value.by, end.value.why) for end in earlier.record.care_ends] == [
        (id, TODAY, "Ida", words) for id, words in why.items()
    ]
    assert _reminded(twice) == [("CT2", item.id)]
    assert sealing.seal_of(twice, "CT1").sound
    found = upkeep.check(twice)
    assert found.ok and found.problems == ()


def test_a_point_counts_on_from_its_last_visit(twice: Studio) -> None:
    """Where the later treatment is not finished, the next look stays due on the day it was due before."""
    visit = {"item": "CI1", "on": "2025-11-02", "by": "Ida", "done": "waxed"}
    treat.write_part(twice, "CT1", "care-visit", visit)
    before = next(r for r in treat_care.care_rows(twice, TODAY, all_points=True) if r.status.item.id == "CI1")
    sheet = treat_care.hand_on_care(twice, "CT2", take_over={"CI1": "goes on"}, end={}, on=TODAY, by="Ida")
    assert sheet.care[0].next_on == before.status.next_on == date(2026, 11, 2)


def test_what_was_set_off_is_not_lost_by_taking_over(twice: Studio) -> None:
    """A point that asks for work is not taken over before the work or the end of the treatment is on record."""
    treat.write_part(twice, "CT1", "care-visit", {"item": "CI2", "on": "2026-04-01", "by": "Ida", "finding": "none"})
    with pytest.raises(Incomplete, match="nothing was done since"):
        treat_care.hand_on_care(twice, "CT2", take_over={"CI2": "goes on"}, end={}, on=TODAY, by="Ida")
    treat.change_head(twice, "CT2", {"finished_on": "2026-04-20"})
    sheet = treat_care.hand_on_care(twice, "CT2", take_over={"CI2": "goes on"}, end={}, on=TODAY, by="Ida")
    assert [(item.value.task, item.value.from_day) for item in sheet.record.care] == [
        ("look at the wax", date(2026, 4, 20))
    ], "the treatment itself was the work that was asked for"


@pytest.mark.parametrize(
    ("which", "take_over", "end", "words"),
    [
        ("CT2", {}, {}, "No point of care is named"),
        ("CT2", {"CI9": "x"}, {}, "CI9 is no open point"),
        ("CT3", {"CI1": "x"}, {}, "CI1 is no open point"),
        ("CT1", {}, {"CI1": "x"}, "CI1 is no open point"),
        ("CT2", {"CI1": "x"}, {"CI1": "x"}, "both taken over and ended"),
        ("CT2", {"CI1": "x"}, {"CI2": " "}, "Why"),
    ],
)
def test_what_is_refused(twice: Studio, which: str, take_over: dict[str, str], end: dict[str, str], words: str) -> None:
    """Points that are not there, not of an earlier treatment, named twice or without a reason; nothing is half done."""
    with pytest.raises(Incomplete, match=words):
        treat_care.hand_on_care(twice, which, take_over=take_over, end=end, on=TODAY, by="Ida")
    assert _reminded(twice) == [("CT1", "CI2"), ("CT1", "CI1")]
    assert treat.treatment_sheet(twice, "CT2").record.care == ()


def test_a_signed_schedule_takes_nothing_over(twice: Studio) -> None:
    """A record that was signed off may still end earlier care, with the reason; its own schedule is closed."""
    sealing.seal(twice, "CT2", by="Ida")
    with pytest.raises(Incomplete, match="stays as it was signed"):
        treat_care.hand_on_care(twice, "CT2", take_over={"CI1": "x"}, end={}, by="Ida")
    treat_care.hand_on_care(twice, "CT2", take_over={}, end={"CI1": "x", "CI2": "y"}, by="Ida")
    assert _reminded(twice) == []
    with pytest.raises(NotFound):
        treat_care.hand_on_care(twice, "CT8", take_over={}, end={"CI1": "x"}, by="Ida")
