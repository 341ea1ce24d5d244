"""Who works here and as what: how it is known, and that a role's deeds are refused at the one door."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from secret_studio import ASSISTANT, CLIENT, CONSERVATOR, HEAD, PATINEUR, SECRET, enlist

from patina.bench import access, people, upkeep
from patina.bench.people_grants import grant
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.cli import main
from patina.entries import NewLot, NewPiece, NewTile
from patina.errors import BadQuantity, Changed, NotAllowed, NotFound, Refused


@pytest.fixture
def where(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of a new studio; what this machine is told stays in the test."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.delenv("PATINA_AS", raising=False)
    return tmp_path / "studio"


@pytest.fixture
def studio(where: Path) -> Iterator[Studio]:
    """The studio, open, with nobody registered."""
    with open_studio(where) as opened:
        yield opened


def test_with_nobody_registered_one_person_does_everything_and_is_told_so(studio: Studio) -> None:
    """A studio of one needs no roles: every deed works, and it says why."""
    me = people.who_am_i(studio)
    assert (me.role, me.enforced) == ("", False)
    assert "may do everything" in me.said
    finishes.save_recipe(studio, SECRET)
    access.withhold(studio, "R1", why="house recipe")
    assert not finishes.recipe_sheet(studio, "R1").withheld
    assert finishes.export_recipe(studio, "R1")


def test_the_first_is_a_head_and_one_head_stays(studio: Studio) -> None:
    """Nobody can lock the studio: not by who is registered first, not by who leaves or changes role."""
    with pytest.raises(Refused, match="first"):
        people.add_person(studio, "Ivo Lenz", "client")
    enlist(studio)
    for change in ({"active": False}, {"role": "assistant"}):
        with pytest.raises(Refused, match="only head"):
            people.change_person(studio, HEAD, **change)  # type: ignore[arg-type]
    people.change_person(studio, PATINEUR, role="head")
    people.change_person(studio, HEAD, role="patineur")
    with pytest.raises(NotAllowed):
        people.change_person(studio, ASSISTANT, role="head")


def test_who_is_registered_is_said_once_and_soundly(studio: Studio) -> None:
    """No name or login twice, no role that is none, no name like an id; a change over another's is told."""
    enlist(studio)
    for name, role, login, trouble in (
        ("mara  HOLT", "client", "", Refused),
        ("Nia Coll", "client", "ivo", Refused),
        ("Nia Coll", "owner", "", BadQuantity),
        ("PE4", "client", "", BadQuantity),
        (" ", "client", "", BadQuantity),
        ("Nia\x07Coll", "client", "", BadQuantity),
    ):
        with pytest.raises(trouble):
            people.add_person(studio, name, role, login=login)
    with pytest.raises(NotFound):
        people.change_person(studio, "Nobody", note="x")
    people.change_person(studio, CLIENT, note="by letter", version=1)
    with pytest.raises(Changed, match="note: nothing → 'by letter'"):
        people.change_person(studio, CLIENT, note="by mail", version=1)
    assert upkeep.check(studio).problems == ()


@pytest.mark.parametrize(("who", "may"), [
    (HEAD, "recipe tile lot piece withhold person"),
    (PATINEUR, "recipe tile lot piece withhold"),
    (CONSERVATOR, "recipe tile lot piece"),
    (ASSISTANT, "tile lot"),
    (CLIENT, ""),
    ("Nobody Known", ""),
    ("", ""),
])  # fmt: skip
def test_each_role_does_its_deeds_and_no_other(studio: Studio, who: str, may: str) -> None:
    """What a role may not do is refused before anything is written; so is all to whoever is not registered."""
    finishes.save_recipe(studio, SECRET)
    enlist(studio)
    studio.store.identity.name = who
    deeds = {
        "recipe": lambda: finishes.save_recipe(studio, _named("Other brown")),
        "tile": lambda: tiles.start_tile(studio, NewTile("B1", "C87300")),
        "lot": lambda: shelf.add_lot(studio, NewLot("liver of sulphur", 5)),
        "piece": lambda: casts.add_piece(studio, NewPiece("Seal")),
        "withhold": lambda: access.withhold(studio, "R1", why="house recipe"),
        "person": lambda: people.add_person(studio, "Nia Coll", "client"),
    }
    done = set()
    for name, deed in deeds.items():
        try:
            deed()
        except NotAllowed:
            continue
        done.add(name)
    assert done == set(may.split())
    studio.store.identity.name = HEAD
    by = {c.by for c in upkeep.history(studio) if c.deed in ("start tile", "add lot", "add piece")}
    assert by <= {who}
    assert upkeep.check(studio).problems == ()


def _named(name: str) -> object:
    from dataclasses import replace

    return replace(SECRET, name=name)


def test_how_a_machine_knows_who_is_at_work(where: Path, studio: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    """--as stands above the environment, the environment above what this machine was told, that above the setting."""
    enlist(studio)
    studio.store.identity.name = HEAD
    studio.set_setting("who", PATINEUR)

    def known(as_name: str | None = None) -> str:
        with open_studio(where, as_name=as_name) as opened:
            return people.who_am_i(opened).name

    assert known() == PATINEUR
    people.work_here_as(studio, CONSERVATOR.upper())
    assert known() == CONSERVATOR
    monkeypatch.setenv("PATINA_AS", ASSISTANT)
    assert known() == ASSISTANT
    assert known(CLIENT) == CLIENT
    monkeypatch.delenv("PATINA_AS")
    people.work_here_as(studio, "")
    assert known() == PATINEUR
    with pytest.raises(NotFound):
        people.work_here_as(studio, "Nobody Known")
    assert "only said" in people.who_am_i(studio).said


def test_typing_another_name_signs_nothing_for_them(studio: Studio) -> None:
    """The log says who was at work, whatever name stands in a form."""
    enlist(studio)
    studio.store.identity.name = ASSISTANT
    tiles.start_tile(studio, NewTile("B1", "C87300", made_by=HEAD))
    assert tiles.tile_sheet(studio, "T1").made_by == HEAD
    (row,) = upkeep.history(studio, "T1")
    assert row.by == ASSISTANT


def test_whoever_has_left_does_nothing_any_more(studio: Studio) -> None:
    """Their name stays on record, their deeds end; nobody is removed."""
    enlist(studio)
    people.change_person(studio, ASSISTANT, active=False)
    studio.store.identity.name = ASSISTANT
    with pytest.raises(NotAllowed, match="not registered"):
        tiles.start_tile(studio, NewTile("B1", "C87300"))
    assert ASSISTANT in [p.name for p in people.list_people(studio)]


def test_the_command_line_by_name(where: Path, studio: Studio, capsys: pytest.CaptureFixture[str]) -> None:
    """patina --as NAME acts as that person; a refusal has its exit code, title and remedy."""
    enlist(studio)

    def run(*words: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as leaving:
            main(["--studio", str(where), *words])
        said = capsys.readouterr()
        return int(leaving.value.code or 0), said.out, said.err

    code, out, _ = run("--as", HEAD, "people", "list", "--json")
    assert code == 0
    assert len(json.loads(out)["people"]) == 5
    assert json.loads(out)["me"]["role"] == "head"
    code, _, err = run("--as", CLIENT, "people", "add", "Nia Coll", "--role", "head", "--json")
    assert code == 2
    assert json.loads(err)["title"] == "Not for this role"
    code, _, err = run("--as", CLIENT, "list", "lots")
    assert code == 2
    assert "not shown" in err
    code, out, _ = run("people", "roles", "--json")
    assert {r["role"]: r["sees_withheld"] for r in json.loads(out)["roles"]} == {
        "head": True, "patineur": True, "assistant": False, "conservator": False, "client": False,
    }  # fmt: skip


def test_a_folder_cannot_be_told_grants(studio: Studio) -> None:
    """Whoever may read a folder may read all of it, and it is said."""
    enlist(studio)
    with pytest.raises(Refused, match="folder"):
        grant(studio)
