"""What a record lacks is said with who asks for it and where it is written down: the command, the section, the key."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from patina.conservation.completeness import PURPOSES, Missing, asks, completeness
from patina.conservation.kinds import BY_NAME
from patina.conservation.record import Kept, ObjectFacts, Record
from patina.conservation.saying import sayings
from patina.conservation.values import Action, Head, Statement
from patina.sheets.missing_words import completeness_lines, fill_of
from tui.actions import ACTIONS

NOW = datetime(2026, 3, 14, tzinfo=UTC)
OUTSIDE = {"piece", "seal"}  # what is not written into the treatment itself


def _bare() -> Record:
    """A treatment of which nothing is written down but its name."""
    thing = ObjectFacts("C1", "Gate", "", "1/2", None, "", "", "", None, None)
    return Record("CT1", Head(cast="C1", name="washed"), thing, 1, NOW)


@pytest.mark.parametrize("ask", asks(), ids=lambda a: a.key)
def test_every_ask_says_where_it_is_filled(ask: object) -> None:
    """Its field is one of the head or of a kind of part, under the name that commands know."""
    where, _, field = ask.fill.partition(":")  # type: ignore[attr-defined]
    if where in OUTSIDE:
        return
    name, _, value = field.partition("=")
    known = sayings(Head if where == "head" else BY_NAME[where].type)
    assert not name or name in known
    if value and known[name].choices:
        assert value in known[name].choices


@pytest.mark.parametrize("ask", asks(), ids=lambda a: a.key)
def test_the_key_that_is_named_works_in_the_treatment(ask: object) -> None:
    """Each key is one of the treatment's, and each section one of its own."""
    fill = fill_of("CT1", Missing(ask, "x"))  # type: ignore[arg-type]
    if fill is None:
        assert ask.fill == "piece"  # type: ignore[attr-defined]
        return
    assert any("treatment" in action.where and fill.key in action.keys for action in ACTIONS)
    assert fill.section in {"", *(kind.within for kind in BY_NAME.values())}


def test_nobody_asks_for_the_lot_of_what_was_not_used() -> None:
    """Of a record with nothing in it, only what any record must hold is asked; with a first action more is."""
    bare = _bare()
    asked = {ask.key for ask in asks() if ask.asked_of(bare)}
    assert not asked & {"lots", "composition", "left", "samples", "salts", "protection", "tests", "deviations"}
    assert {"object_id", "authority", "log", "images_before", "scope"} <= asked
    for purpose in PURPOSES:
        found = completeness(bare, purpose)
        assert len(found.missing) >= found.asked - 2, "hardly anything of a bare record is there"
    done = Kept("CA1", Action(on=date(2026, 3, 14), by="Ida", did="washed"), NOW, "Ida")
    worked = Record(bare.id, bare.head, bare.object, 1, NOW, actions=(done,))
    assert {ask.key for ask in asks() if ask.asked_of(worked)} - asked == {"materials", "deviations", "consent"}


def test_the_command_names_the_part_that_lacks_something() -> None:
    """A part that is there is corrected; where there is none, one is written."""
    bare = _bare()
    seen = Kept("CO1", Statement(sort="observation", topic="surface", text="dull"), NOW, "Ida")
    record = Record(bare.id, bare.head, bare.object, 1, NOW, statements=(seen,))

    def command(of: Record, key: str) -> str:
        missing = next(m for p in PURPOSES for m in completeness(of, p).missing if m.ask.key == key)
        fill = fill_of("CT1", missing)
        assert fill is not None
        return fill.command

    assert command(record, "methods") == "patina treatment correct CO1 method=VALUE --reason WHY"
    assert command(bare, "methods") == "patina treatment write CT1 statement method=VALUE"
    assert command(bare, "object_id") == "patina treatment set CT1 accession=VALUE"
    assert command(bare, "earlier") == 'patina treatment write CT1 statement "topic=earlier treatment"'
    assert command(bare, "report_signed") == "patina seal CT1"


def test_each_line_names_who_asks() -> None:
    """Every missing thing stands with its code, standard or common practice, and with its command below."""
    found = completeness(_bare(), "report")
    lines = completeness_lines(found, "CT1")
    assert len([line for line in lines if "(asked for by: " in line]) == len(found.missing)
    assert "    patina treatment set CT1 marks=VALUE" in lines
