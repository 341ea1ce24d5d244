"""What was signed off is never edited: refused in the deeds, refused in the database, amended instead."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import exc, text

from patina.bench import upkeep
from patina.bench.history import deeds_on, undo
from patina.bench.matched import agreed
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.sealing import amend, seal, seal_of
from patina.bench.studio import Studio
from patina.entries import NewCast, NewReading, NewTreatment, NewZone
from patina.errors import Incomplete, Refused


def write(studio: Studio, *statements: str) -> None:
    """Write past the program, straight into the database."""
    with studio.store.engine.execution_options(writing=True).connect() as connection, connection.begin():
        for statement in statements:
            connection.execute(text(statement))


def test_a_seal_says_who_when_what_and_the_hash(full: Studio) -> None:
    """Its hash is that of the content, and stays sound while other records go on."""
    made = seal(full, "M1", "Agreed in daylight.", by="Ida")
    assert (made.by, made.statement, made.sealed, made.sound, made.covers) == (
        "Ida",
        "Agreed in daylight.",
        True,
        True,
        1,
    )
    assert len(made.sha256) == 64
    tiles.add_reading(full, "T1", NewReading(31, 5, 6))
    assert seal_of(full, "M1") == made
    assert upkeep.check(full).problems == ()
    assert not seal_of(full, "C1").sealed


def test_each_kind_can_be_signed_once(full: Studio) -> None:
    """A revision, an agreed finish and a cast; a second name under it is refused, a tile is of no such kind."""
    for id, covers in (("R1", 1), ("M1", 1), ("C1", 2)):
        assert seal(full, id, by="Ida").covers == covers
        with pytest.raises(Refused, match="already"):
            seal(full, id, by="Oda")
    assert seal(full, "R1", revision=1, by="Ida").record == "R1 revision 1"
    with pytest.raises(Refused, match="not signed off"):
        seal(full, "T1", by="Ida")
    assert upkeep.check(full).problems == ()


def test_a_seal_needs_a_name_and_words(full: Studio) -> None:
    """Both are asked for at once; nothing is sealed."""
    with pytest.raises(Incomplete) as told:
        seal(full, "M1", " ")
    assert {t.field for t in told.value.troubles} == {"statement", "by"}
    assert not seal_of(full, "M1").sealed


EDITS: list[tuple[str, Callable[[Studio], Any]]] = [
    ("C1", lambda s: casts.change_cast(s, "C1", NewCast("W1", "8/9", "C87300"))),
    ("M1", lambda s: agreed.agree_zone(s, NewZone("M1", "base", readings=("D1",)))),
]


@pytest.mark.parametrize(("id", "edit"), EDITS)
def test_deeds_refuse_to_edit_what_is_sealed(full: Studio, id: str, edit: Callable[[Studio], Any]) -> None:
    """The sentence says who signed, and the way: an amendment."""
    seal(full, id, by="Ida")
    with pytest.raises(Refused, match="signed off by Ida") as refused:
        edit(full)
    assert "patina amend" in refused.value.remedy
    assert upkeep.check(full).problems == ()


def test_undo_does_not_pass_a_seal(full: Studio) -> None:
    """What was changed before it was signed stays."""
    casts.change_cast(full, "C1", NewCast("W1", "5/9", "C87300"), by="Oda")
    seal(full, "C1", by="Ida")
    with pytest.raises(Refused, match="signed off"):
        undo(full, by="Oda")
    with pytest.raises(Refused, match="for good"):
        undo(full, by="Ida")


def test_a_cast_goes_on_after_its_record_was_signed(full: Studio) -> None:
    """A later treatment and reading are added; the seal stays sound, since it covers what was there."""
    tiles.add_reading(full, "C1", NewReading(30, 5, 6))
    seal(full, "C1", by="Ida")
    casts.add_treatment(full, NewTreatment("C1", "waxed again"))
    tiles.add_reading(full, "C1", NewReading(31, 5, 6))
    assert seal_of(full, "C1").sound
    assert upkeep.check(full).problems == ()


def test_amendments_are_shown_with_the_record(full: Studio) -> None:
    """They are numbered, say who and why, and stand in the record's history; the seal stays as it was."""
    before = seal(full, "M1", by="Ida")
    amend(full, "M1", "The lamp was of 4000 K.", "read from its label later", by="Oda")
    sheet = amend(full, "M1", "Seen by the owner too.", "told by telephone", by="Ida")
    assert sheet.sha256 == before.sha256
    assert [(a.number, a.by, a.words) for a in sheet.amendments] == [
        (1, "Oda", "The lamp was of 4000 K."),
        (2, "Ida", "Seen by the owner too."),
    ]
    assert [deed.deed for deed in deeds_on(full, "M1")][:3] == ["amend record", "amend record", "seal record"]
    assert upkeep.check(full).problems == ()


def test_what_may_be_edited_is_not_amended(full: Studio) -> None:
    """A tile is edited; a treatment and a reading, never edited, take amendments without a seal."""
    with pytest.raises(Refused, match="not signed off"):
        amend(full, "T1", "x", "y", by="Ida")
    assert amend(full, "A1", "It was the left hand.", "mixed up", by="Ida").amendments[0].number == 1
    assert amend(full, "D1", "Lamp was warm.", "noticed later", by="Ida").kind == "reading"


PAST_THE_PROGRAM = [
    "UPDATE master SET limit_de = 9 WHERE id = 1",
    "DELETE FROM master WHERE id = 1",
    "UPDATE cast_piece SET owner = 'nobody' WHERE id = 1",
    "UPDATE seal SET statement = 'other' WHERE id = 1",
    "DELETE FROM seal",
    "UPDATE reading SET lab_l = 1 WHERE id = 1",
    "DELETE FROM reading WHERE id = 1",
    "UPDATE revision SET reason = 'other' WHERE id = 1",
    "DELETE FROM change WHERE n = 1",
    "UPDATE lot_movement SET amount = 1",
    "UPDATE batch_use SET ml = 1",
    "UPDATE reading_doubt SET sampling_de00 = 1",
]


@pytest.mark.parametrize("statement", PAST_THE_PROGRAM)
def test_the_database_refuses_as_well(full: Studio, statement: str) -> None:
    """Sealed rows, and rows that are never altered, are guarded by triggers on both databases."""
    if "reading_doubt" in statement:
        tiles.add_reading(full, "T1", NewReading(31, 5, 6, uncertainty_de00=1.0, doubt_de00=(0.6, 0.8)))
    seal(full, "M1", by="Ida")
    seal(full, "C1", by="Ida")
    with pytest.raises((exc.IntegrityError, exc.DatabaseError), match="never altered"):
        write(full, statement)


def test_a_treatment_record_is_sealed_with_all_its_parts() -> None:
    """Every part of the conservator's record is covered but what comes after: visits, copies, further names."""
    from patina.records.log.seals import sealables
    from patina.records.tables.treatments import PartTable

    kind = next(k for k in sealables() if k.word == "treatment record")
    names = {table.__tablename__ for table, _ in kind.parts}
    every = {t.__tablename__ for t in PartTable.__subclasses__()}
    assert every - names == {
        "conservation_care_end",
        "conservation_care_visit",
        "conservation_copy",
        "conservation_signature",
    }
    assert kind.closed
