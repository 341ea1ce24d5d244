"""Treatment records in the database: added, corrected and taken back, never altered, the same on both engines."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from PIL import Image
from sqlalchemy import exc, text

from patina.bench import history, sealing, upkeep
from patina.bench.finding.related import related
from patina.bench.finding.search import find_records
from patina.bench.paper import archive
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.bench.treating import treat, treat_care
from patina.entries import NewCast, NewLot, NewPiece, NewReading, NewTreatment
from patina.errors import Changed, Incomplete, NotFound, PatinaError, Refused
from patina.sheets.treatment_words import hours_words


@pytest.fixture
def begun(studio: Studio, tmp_path: Path) -> Studio:
    """A studio with two casts and a treatment of each: CT1 of C1, CT2 of C2; a photograph is with C1."""
    piece = casts.add_piece(studio, NewPiece("Gate", "Somebody"))
    for number in ("1/2", "2/2"):
        casts.add_cast(studio, NewCast(piece.id, number, owner="Northtown" if number[0] == "1" else "Southtown"))
    picture = tmp_path / "front.png"
    Image.new("RGB", (300, 200), (90, 60, 30)).save(picture)
    tiles.add_photograph(studio, "C1", picture)
    for cast in ("C1", "C2"):
        treat.begin_treatment(studio, {"cast": cast, "name": "cleaning", "purpose": "stop it"})
    return studio


def _sha(studio: Studio) -> str:
    return casts.cast_sheet(studio, "C1").photographs[0].sha256


def _sound(studio: Studio) -> bool:
    found = upkeep.check(studio)
    assert found.problems == ()
    return found.ok


def _write(studio: Studio, kind: str, treatment: str = "CT1", **said: str) -> str:
    return treat.write_part(studio, treatment, kind, said).id


def test_a_correction_keeps_what_was_wrong(begun: Studio) -> None:
    """The correction stands in its place, what was wrong stays readable with the reason, and check is clean."""
    first = _write(begun, "statement", sort="observation", topic="corrosion", text="green")
    rests = _write(begun, "statement", sort="interpretation", topic="corrosion", text="chloride", rests_on=first)
    new = treat.correct_part(begun, first, {"text": "pale green"}, "a slip", by="Ada")
    record = treat.treatment_sheet(begun, "CT1").record
    assert [s.id for s in record.statements] == [new.id, rests], "it keeps its place"
    assert record.statements[0].value.topic == "corrosion", "what was not corrected stays"
    assert record.statements[1].value.rests_on == (new.id,), "what rested on it rests on the correction"
    ((part, became),) = record.earlier
    assert (part.value.text, "a slip" in became, "Ada" in became) == ("green", True, True)
    assert _sound(begun)


def test_a_part_is_corrected_once(begun: Studio) -> None:
    """Who corrects what was corrected in the meantime is told, and nothing is lost."""
    first = _write(begun, "person", name="A")
    treat.correct_part(begun, first, {"name": "B"}, "slip")
    with pytest.raises(Changed, match="CP2"):
        treat.correct_part(begun, first, {"name": "C"}, "slip")
    assert [p.value.name for p in treat.treatment_sheet(begun, "CT1").record.people] == ["B"]


def test_what_others_refer_to_is_not_taken_back(begun: Studio) -> None:
    """A map with zones stays until its zones are taken back; then it goes, and stays on record as gone."""
    on = _write(begun, "map", visit="before", view="front", photograph=_sha(begun))
    zone = _write(begun, "zone", map=on, name="a", term="bloom", extent="5 to 25")
    with pytest.raises(Refused, match=zone):
        treat.withdraw_part(begun, on, "wrong picture")
    treat.withdraw_part(begun, zone, "wrong picture")
    sheet = treat.withdraw_part(begun, on, "wrong picture")
    assert (sheet.record.maps, len(sheet.record.earlier)) == ((), 2)
    with pytest.raises(Changed, match="taken back"):
        treat.withdraw_part(begun, on, "again")
    assert _sound(begun)


def test_a_treatment_refers_to_its_own_parts_only(begun: Studio) -> None:
    """A zone on another treatment's map, a photograph or reading of another cast: refused, nothing kept."""
    on = _write(begun, "map", visit="before", view="front", photograph=_sha(begun))
    reading = tiles.add_reading(begun, "C1", NewReading(30, 1, 2)).id
    for kind, said in (
        ("zone", {"map": on, "name": "a", "term": "bloom", "extent": "0"}),
        ("zone", {"map": "CP1", "name": "a", "term": "bloom", "extent": "0"}),
        ("map", {"visit": "x", "view": "y", "photograph": _sha(begun)}),
        ("patch", {"place": "x", "agent": "y", "reading_before": reading}),
        ("authority", {"what": "consent", "who": "x", "deviation": "CA99"}),
        ("statement", {"sort": "interpretation", "topic": "other", "text": "x", "rests_on": "CO1"}),
    ):
        with pytest.raises(PatinaError):
            treat.write_part(begun, "CT2", kind, said)
    record = treat.treatment_sheet(begun, "CT2").record
    assert not list(record.all_parts())


def test_proposals_are_counted_and_never_corrected(begun: Studio) -> None:
    """Versions count 1, 2, 3 within their treatment; a wrong one is answered by another."""
    one = _write(begun, "proposal", aim="a")
    _write(begun, "proposal", aim="b")
    _write(begun, "proposal", "CT2", aim="c")
    assert [p.number for p in treat.treatment_sheet(begun, "CT1").record.proposals] == [1, 2]
    assert [p.number for p in treat.treatment_sheet(begun, "CT2").record.proposals] == [1]
    with pytest.raises(Refused, match="never corrected"):
        treat.correct_part(begun, one, {"aim": "x"}, "slip")
    with pytest.raises(Refused, match="never taken back"):
        treat.withdraw_part(begun, one, "slip")
    with pytest.raises(NotFound, match="no version 7"):
        _write(begun, "signature", of="proposal", version="7", who="Owner")


def test_a_signed_report_that_is_added_to_is_no_longer_signed(begun: Studio) -> None:
    """A signature is made over the content; later care leaves it standing, anything else does not."""
    _write(begun, "signature", of="report", who="Ada")
    item = _write(begun, "care", trigger="water bead", task="wax")
    assert treat.treatment_sheet(begun, "CT1").unsigned == ("CG1",)
    _write(begun, "signature", of="report", who="Ada")
    _write(begun, "care-visit", item=item, on="2026-03-14", by="Ada", finding="yes")
    assert treat.treatment_sheet(begun, "CT1").unsigned == ("CG1",)


def test_the_head_is_edited_with_its_version(begun: Studio) -> None:
    """A second editor of the same head is told; the first one's words stay."""
    version = treat.treatment_sheet(begun, "CT1").record.version
    treat.change_head(begun, "CT1", {"accession": "A 1"}, version)
    with pytest.raises(Changed):
        treat.change_head(begun, "CT1", {"accession": "A 2"}, version)
    sheet = treat.change_head(begun, "CT1", {"marks": "none"})
    assert (sheet.record.head.accession, sheet.record.head.marks, sheet.record.head.purpose) == (
        "A 1",
        "none",
        "stop it",
    )
    assert _sound(begun)


def test_materials_take_what_shelf_and_catalogue_know(begun: Studio) -> None:
    """CAS number, supplier and lot come from the records, so that a brand's composition outlives the brand."""
    lot = shelf.add_lot(begun, NewLot("benzotriazole", 100, supplier="Marsh", lot_number="B7")).id
    _write(begun, "material", way="added", name="inhibitor", substance="95-14-7", lot=lot, quantity="2,5 g")
    sheet = treat.treatment_sheet(begun, "CT1")
    facts = sheet.materials[0]
    assert (facts.cas, facts.supplier, facts.lot) == ("95-14-7", "Marsh", "B7")
    assert (sheet.record.materials[0].value.quantity, sheet.record.materials[0].value.quantity_unit) == (2.5, "g")


@pytest.mark.parametrize("deed", ["UPDATE conservation_person SET name = 'x'", "DELETE FROM conservation_person"])
def test_no_other_program_alters_a_part(begun: Studio, deed: str) -> None:
    """The database itself refuses to change or remove a row."""
    _write(begun, "person", name="Ada")
    with (
        pytest.raises(exc.DatabaseError, match="never altered"),
        begun.store.engine.connect().execution_options(writing=True) as connection,
        connection.begin(),
    ):
        connection.execute(text(deed))
    assert _sound(begun)


@pytest.mark.one_engine("sqlite", why="nothing reaches the database")
@pytest.mark.parametrize(
    ("kind", "said", "fields"),
    [
        ("action", {}, {"on", "by", "did"}),
        ("action", {"on": "2099-01-01", "by": "A", "did": "x"}, {"on"}),
        ("action", {"on": "14.3.2026", "by": "A", "did": "x", "humidity_pct": "120"}, {"on", "humidity_pct"}),
        ("statement", {"sort": "opinion", "topic": "corrosion", "text": "x"}, {"sort"}),
        ("statement", {"sort": "observation", "topic": "surface", "text": "x", "method": "to EN 15886"}, {"method"}),
        ("layer", {"product": "wax", "sort": "cold wax", "used_g": "18", "area_m2": "1.4"}, {"used_g", "area_m2"}),
        ("bath-reading", {"bath": "CB1", "number": "1", "hours": "x", "value": "-1"}, {"hours", "value"}),
        ("patch", {"place": "x", "agent": "y", "spot": "2,0"}, {"spot"}),
        ("patch", {"place": "x", "agent": "y", "spot": "0.2,0"}, {"spot"}),
        ("material", {"way": "added", "name": "x", "quantity": "3"}, {"quantity"}),
        ("zone", {"map": "CM1", "name": "a", "term": "rust-like"}, {"term"}),
        ("person", {"name": "x", "colour": "blue"}, {"colour"}),
    ],
)
def test_what_cannot_be_is_said_by_field(begun: Studio, kind: str, said: dict[str, str], fields: set[str]) -> None:
    """Every trouble of an entry is named with its field, and nothing is kept."""
    with pytest.raises(Incomplete) as found:
        treat.write_part(begun, "CT1", kind, said)
    assert {t.field for t in found.value.troubles} == fields
    assert not list(treat.treatment_sheet(begun, "CT1").record.all_parts())


@pytest.mark.one_engine("sqlite", why="a bundle is the same file whichever engine wrote it")
def test_a_record_that_is_moved_keeps_its_references_and_its_signature(begun: Studio, tmp_path: Path) -> None:
    """In another studio ids are others: what an interpretation rests on and what was signed stay what they were."""
    seen = [_write(begun, "statement", sort="observation", topic="corrosion", text=word) for word in ("green", "grey")]
    _write(begun, "statement", sort="interpretation", topic="corrosion", text="chloride", rests_on=seen[1])
    _write(begun, "action", on="2026-03-14", by="Ada", did="washed")
    _write(begun, "material", way="added", name="water", action="CA1", left_words="none")
    _write(begun, "signature", of="report", who="Ada")
    archive.archive(begun, "C1", tmp_path / "c1.zip")
    with open_studio(tmp_path / "other") as other:
        piece = casts.add_piece(other, NewPiece("Another"))
        casts.add_cast(other, NewCast(piece.id, "1/1"))
        treat.begin_treatment(other, {"cast": "C1", "name": "older"})
        for _ in range(3):
            treat.write_part(other, "CT1", "statement", {"sort": "observation", "topic": "other", "text": "x"})
        archive.take_in(other, tmp_path / "c1.zip")
        moved = next(r for r in treat.list_treatments(other) if r.name == "cleaning")
        sheet = treat.treatment_sheet(other, moved.id)
        (concluded,) = sheet.record.interpretations
        rested = next(s for s in sheet.record.observations if s.id == concluded.value.rests_on[0])
        assert (moved.id != "CT1", rested.id != seen[1], rested.value.text) == (True, True, "grey")
        assert sheet.record.materials[0].value.action == sheet.record.actions[0].id
        assert sheet.unsigned == (), "the signature holds in another studio"
        assert _sound(other)


def test_undo_names_the_way_that_is_left(begun: Studio) -> None:
    """A part is never taken out of the record: undo says how it is corrected; the head is put back as it was."""
    treat.change_head(begun, "CT1", {"accession": "A 1"}, by="Ada")
    history.undo(begun, by="Ada")
    assert treat.treatment_sheet(begun, "CT1").record.head.accession == ""
    treat.write_part(begun, "CT1", "person", {"name": "Bo"}, by="Bo")
    with pytest.raises(Refused, match="take-back CP1"):
        history.undo(begun, by="Bo")
    assert _sound(begun)


def test_hours_and_the_work_on_the_cast_itself_are_told(begun: Studio) -> None:
    """Hours add up against the estimate; what was put down on the cast in those days is shown beside the log."""
    for day, did in ((date(2026, 3, 1), "waxed"), (date(2026, 3, 9), "patinated"), (date(2027, 1, 1), "waxed")):
        casts.add_treatment(begun, NewTreatment("C1", did, done_on=day))
    _write(begun, "proposal", aim="x", hours_low="4", hours_high="6")
    for day, hours in (("2026-03-08", "2.5"), ("2026-03-10", "4,0")):
        _write(begun, "action", on=day, by="Ada", did="washed", hours=hours)
    sheet = treat.change_head(begun, "CT1", {"finished_on": "2026-03-10"})
    assert (sheet.hours, [row.did for row in sheet.studio_work]) == (6.5, ["patinated"])
    assert "beyond" in hours_words(sheet)


def test_a_reading_that_is_withdrawn_stays_named(begun: Studio) -> None:
    """A patch still names the reading that was withdrawn since, and says that its change cannot be given."""
    ids = [tiles.add_reading(begun, "C1", NewReading(30, 1, n)).id for n in (2, 5)]
    _write(begun, "patch", place="x", agent="y", reading_before=ids[0], reading_after=ids[1])
    assert treat.treatment_sheet(begun, "CT1").patch_changes[0].difference is not None
    history.withdraw_reading(begun, ids[0], "the gauge was not set")
    sheet = treat.treatment_sheet(begun, "CT1")
    assert sheet.record.patches[0].value.reading_before == ids[0]
    assert (sheet.patch_changes[0].difference, "missing" in sheet.patch_changes[0].words) == (None, True)


def test_care_is_listed_by_owner(begun: Studio) -> None:
    """What is due of every treatment, by owner; what is in time only when asked for."""
    for treatment, since in (("CT1", "2020-01-01"), ("CT2", "2020-01-01")):
        _write(begun, "care", treatment, trigger="months", task="wax", from_day=since)
    _write(begun, "care", trigger="inspection", task="look", every_months="1200", from_day="2020-01-01")
    rows = treat_care.care_rows(begun)
    assert [(r.owner, r.status.state) for r in rows] == [("Northtown", "overdue"), ("Southtown", "overdue")]
    assert len(treat_care.care_rows(begun, all_points=True)) == 3
    assert [r.treatment for r in treat_care.care_rows(begun, owner="south")] == ["CT2"]


def test_treatments_are_found_by_their_words(begun: Studio) -> None:
    """By name, piece, owner or id; every word must be there."""
    assert [r.id for r in treat.list_treatments(begun)] == ["CT2", "CT1"]
    assert [r.id for r in treat.list_treatments(begun, "gate southtown")] == ["CT2"]
    assert [r.id for r in treat.list_treatments(begun, cast="C1")] == ["CT1"]
    with pytest.raises(NotFound, match="CT9"):
        treat.treatment_sheet(begun, "CT9")
    assert [f.id for f in find_records(begun, "southtown") if f.kind == "treatment"] == ["CT2"]
    assert find_records(begun, "ct1")[0].id == "CT1"
    assert [f.id for f in related(begun, "C1") if f.kind == "treatment"] == ["CT1"]
    assert [f.id for f in related(begun, "CT1")] == ["C1", "W1"]
    assert casts.cast_sheet(begun, "C1").conserved == (("CT1", "cleaning"),)


def test_care_of_a_signed_record_is_ended(begun: Studio) -> None:
    """A point of the schedule of a record that was signed off is due until somebody ends it, with the reason; the end
    is a row that is never altered, and the signature stays sound."""
    said = {"trigger": "months", "task": "wax it", "every_months": "6", "from_day": "2020-01-01"}
    point = treat.write_part(begun, "CT1", "care", said).id
    sealing.seal(begun, "CT1", by="Ida")
    assert [row.status.item.id for row in treat_care.care_rows(begun)] == [point]
    with pytest.raises(Refused, match="signed off"):
        treat.withdraw_part(begun, point, "not needed any more")
    end = {"item": point, "on": "2026-03-14", "by": "Ida", "why": "CT2 has a schedule of its own"}
    sheet = treat.write_part(begun, "CT1", "care-end", end).sheet
    assert treat_care.care_rows(begun) == () and sheet.care[0].state == "ended"
    assert [row.status.state for row in treat_care.care_rows(begun, all_points=True)] == ["ended"]
    assert sealing.seal_of(begun, "CT1").sound
    assert _sound(begun)
