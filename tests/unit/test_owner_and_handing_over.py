"""The owner's sheet, who was given what, loans and licences, and the transfer list."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from secret_studio import CLIENT, CONSERVATOR, HEAD, SECRETS, fill, leaks

from patina.bench import access, upkeep
from patina.bench.paper import owner, owner_giving
from patina.bench.paper.owner_giving import Giving
from patina.bench.studio import Studio, open_studio
from patina.cli import main
from patina.errors import BadQuantity, NotAllowed, NotFound, Refused, Withheld
from patina.recipe_file import read_recipe
from patina.sheets import OwnerCare


@pytest.fixture
def studio(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Studio]:
    """A studio with people and a withheld recipe, with its head at work."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    with open_studio(tmp_path / "studio") as opened:
        fill(opened, tmp_path)
        yield opened


def test_the_owner_gets_finish_readings_care_and_safety_without_quantities(studio: Studio) -> None:
    """Even the head's own printing shows an owner no withheld quantity; classes by solution are there."""
    owner.write_care(studio, "C1", OwnerCare("wash in spring", "wax, May", date(2027, 5, 1), "Mara Holt"))
    owner.write_care(studio, "C1", OwnerCare(ask="Mara Holt, 0123"))
    with pytest.raises(BadQuantity, match="too long"):
        owner.write_care(studio, "C1", OwnerCare(wax="x" * 401))
    sheet = owner.owner_sheet(studio, "C1", show="quantities")
    assert sheet.care == OwnerCare("wash in spring", "wax, May", date(2027, 5, 1), "Mara Holt, 0123")
    assert (sheet.title, sheet.maker, sheet.edition) == ("Grey seal", "Iris Vane", "3/9")
    assert sheet.agreed is not None
    assert sheet.verdict is not None
    (recipe,) = sheet.recipes
    assert recipe.withheld
    assert not leaks(str(sheet))
    assert [name for name, _, _ in recipe.safety] == ["sulphide wash", "ferric"]
    assert any("apply sulphide wash, by torch with brush, 4 passes" in line for line in recipe.lines)


def test_a_recipe_that_is_open_is_shown_as_far_as_asked(studio: Studio) -> None:
    """Quantities, steps alone, or nothing but that the studio holds it; open to the owner by role counts as open."""
    access.withhold(studio, "R1", why="owners may see it", open_to=["client"])
    assert leaks(str(owner.owner_sheet(studio, "C1", show="quantities").recipes[0].lines))
    steps = owner.owner_sheet(studio, "C1", show="steps")
    assert not leaks(str(steps))
    assert "liver of sulphur" in steps.recipes[0].lines[0]
    nothing = owner.owner_sheet(studio, "C1", show="nothing")
    assert nothing.recipes[0].name == "held by the studio"
    assert nothing.recipes[0].lines == ()
    assert nothing.recipes[0].safety
    assert not leaks(str(nothing))
    with pytest.raises(BadQuantity, match="no way to show"):
        owner.owner_sheet(studio, "C1", show="all")


@pytest.mark.parametrize("name", ["owner.pdf", "owner.html"])
def test_handing_the_sheet_over_prints_it_and_is_logged_by_its_hash(studio: Studio, tmp_path: Path, name: str) -> None:
    """Who was given what, when, in which version, on which terms, and the SHA-256 of the very file."""
    paper = tmp_path / name
    row = owner_giving.give(
        studio,
        Giving("owner's sheet", "C1", "Vane estate", "owner", "for upkeep only", paper, on=date(2026, 11, 3)),
    )
    assert row.sha256 == hashlib.sha256(paper.read_bytes()).hexdigest()
    assert (row.record, row.version, row.given_on) == ("C1", 1, date(2026, 11, 3))
    assert (row.to, row.as_what, row.terms, row.by) == ("Vane estate", "owner", "for upkeep only", HEAD)
    assert row.size_bytes == paper.stat().st_size > 1000
    assert owner.given(studio, record="c1") == (row,)
    if name.endswith(".html"):
        assert not leaks(paper.read_text("utf-8"))
    assert [c.deed for c in upkeep.history(studio, row.id)] == ["hand over"]
    assert upkeep.check(studio).problems == ()


def test_a_licence_gives_the_recipe_file_to_those_who_may(studio: Studio, tmp_path: Path) -> None:
    """A licence needs terms; its file is the recipe; a conservator cannot give away what is withheld from them."""
    with pytest.raises(Refused, match="terms"):
        owner_giving.give(studio, Giving("recipe licence", "R1", "Foundry Nord"))
    studio.store.identity.name = CONSERVATOR
    with pytest.raises(Withheld):
        owner_giving.give(studio, Giving("recipe licence", "R1", "Me", terms="all", file=tmp_path / "no.toml"))
    assert not (tmp_path / "no.toml").exists()
    studio.store.identity.name = HEAD
    entry = Giving("recipe licence", "R1", "Foundry Nord", "foundry", "this edition", tmp_path / "r.toml")
    row = owner_giving.give(studio, entry)
    assert row.version == 2
    assert leaks((tmp_path / "r.toml").read_text("utf-8"))
    assert read_recipe(tmp_path / "r.toml", studio.catalogue()).name == "House brown"
    assert row.out


def test_a_tile_on_loan_is_out_until_it_comes_back_once(studio: Studio) -> None:
    """It cannot be lent twice, comes back once and not before it went; sheets that are given do not come back."""
    loan = Giving("tile on loan", "T1", "Foundry Nord", back_by=date(2027, 1, 1), on=date(2026, 11, 1))
    row = owner_giving.give(studio, loan)
    with pytest.raises(Refused, match="Foundry Nord"):
        owner_giving.give(studio, Giving("tile on loan", "T1", "Somebody"))
    with pytest.raises(Refused, match="before"):
        owner_giving.take_back(studio, row.id, on=date(2026, 10, 1))
    back = owner_giving.take_back(studio, row.id, on=date(2026, 12, 1), note="scratched")
    assert back.came_back == date(2026, 12, 1)
    assert owner.given(studio, out=True) == ()
    with pytest.raises(Refused, match="already"):
        owner_giving.take_back(studio, row.id)
    assert [r.kind for r in owner.given(studio, record="T1")] == ["came back", "tile on loan"]
    with pytest.raises(NotFound):
        owner_giving.take_back(studio, "GV99")


def test_the_transfer_list_tells_what_is_out_and_what_would_go_over(studio: Studio, tmp_path: Path) -> None:
    """Loans, licences, files and recipes; what came back is not on it; it is printed without quantities."""
    owner_giving.give(studio, Giving("tile on loan", "T1", "Foundry Nord"))
    owner_giving.give(studio, Giving("recipe licence", "R1", "Foundry Sud", terms="this edition"))
    bundle = tmp_path / "bundle.zip"
    bundle.write_bytes(b"a bundle")
    owner_giving.give(studio, Giving("archive bundle", "C1", "Foundry Nord", "", "for keeping", bundle))
    everything = owner_giving.transfer_list(studio)
    assert [r.record for r in everything.loans] == ["T1"]
    assert [r.record for r in everything.licences] == ["R1"]
    assert [r.kind for r in everything.files] == ["archive bundle"]
    assert everything.recipes == (("R1", "House brown", True),)
    nord = owner_giving.transfer_list(studio, "nord")
    assert nord.loans == everything.loans
    assert nord.licences == ()
    (paper,) = owner_giving.print_transfer_list(studio, tmp_path / "transfer.html")
    said = paper.read_text("utf-8")
    assert "Foundry Sud" in said
    assert not leaks(said)
    assert len(SECRETS) > 4


def test_what_cannot_be_handed_over(studio: Studio, tmp_path: Path) -> None:
    """Nobody named, a record or file that is not there, a day before the day, a role that may not."""
    for entry, trouble in (
        (Giving("owner's sheet", "C1", " ", file=tmp_path / "x.pdf"), Refused),
        (Giving("owner's sheet", "C9", "A", file=tmp_path / "x.pdf"), NotFound),
        (Giving("owner's sheet", "C1", "A"), Refused),
        (Giving("report", "C1", "A", file=tmp_path / "none.pdf"), NotFound),
        (Giving("tile on loan", "T1", "A", back_by=date(2020, 1, 1)), Refused),
        (Giving("a hug", "C1", "A"), BadQuantity),
        (Giving("report", " ", "A"), Refused),
        (Giving("tile on loan", "T1", "A" * 401), BadQuantity),
        (Giving("tile on loan", "T1", "A", on=date.today() + timedelta(days=400)), BadQuantity),
    ):
        with pytest.raises(trouble):
            owner_giving.give(studio, entry)
    studio.store.identity.name = CLIENT
    with pytest.raises(NotAllowed):
        owner_giving.give(studio, Giving("tile on loan", "T1", "A"))
    assert owner.given(studio) == ()


def test_a_name_that_came_out_empty_hands_nothing_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A script whose variable is empty must not get a bundle of the whole studio; who wants that says so."""
    where = tmp_path / "studio"
    open_studio(where).close()
    for target in ("", " "):
        with pytest.raises(SystemExit) as leaving:
            main(["archive", target, str(tmp_path / "all.zip"), "--studio", str(where)])
        assert leaving.value.code == 2
        assert "not said" in capsys.readouterr().err
    assert not (tmp_path / "all.zip").exists()
    with pytest.raises(SystemExit) as leaving:
        main(["archive", "studio", str(tmp_path / "all.zip"), "--studio", str(where)])
    assert not leaving.value.code and (tmp_path / "all.zip").exists()
