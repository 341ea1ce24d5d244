"""A studio head's job by keys alone: an old table brought in, an edition held together, and what leaves the house."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from openpyxl import Workbook
from screens_driver import Running
from stories import Walk, paper

from patina.bench import access, people
from patina.bench.paper import owner
from patina.bench.shelves import shelf
from patina.bench.studio import open_studio
from patina.language import read_as

HEAD, CLIENT = "Maren Tallack", "Nia Coll"


@pytest.fixture(autouse=True)
def english_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """What this machine is told stays in the test; the language is put back."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    yield
    read_as()


def _old_table(path: Path) -> Path:
    """A shelf list as somebody kept it: a title, mixed units, a day of either order, a total."""
    book = Workbook()
    sheet = book.active
    for row in (
        ("Shelf list 2019",),
        ("Chemical", "Qty", "Lot no.", "Opened", "Remarks"),
        ("ferric nitrate", 500, "FN-1", "3/4/2019", "lumps"),
        ("silver nitrate", "2 oz", "AG-1", "25/4/2019", None),
        ("liver of sulphur", 250, "LS-7", "26/4/2019", None),
        ("green salt", 100, None, None, "who knows"),
        ("Total", 850, None, None, None),
    ):
        sheet.append(row)
    book.save(path)
    return path


async def _first_minute(me: Walk) -> None:
    """Who I am, with a reminder of backups; the starters; everybody who works here and as what."""
    await me.choose("Who I am")
    await me.form(who=HEAD, studio_name="Quay Yard", backup_days="7")
    await me.choose("Take the starters")
    await me.see("finishes: 20")
    await me.press("f10")
    await me.choose("Register somebody")
    await me.form(name=HEAD, role="head")
    for name, role in (("Ansel Brook", "patineur"), (CLIENT, "client")):
        await me.choose("Register somebody")
        await me.form(name=name, role=role)
    await me.on("Choose")
    await me.see(f"{HEAD}: head", f"{CLIENT}: client")
    await me.press("escape")


async def _bring_in(me: Walk, table: Path, refused: Path) -> None:
    """The mapping screen: each open question is answered once; a preview; then in, and the refused rows in a file."""
    await me.press("ctrl+o")
    await me.choose("A table")
    await me.file(table)
    screen = await me.on("Bringing")
    await me.until(lambda: screen.plan is not None)
    answers = {"unit": "g", "word oz": "oz t", "dates": "day-month", "value green salt": "refuse"}
    while screen.plan.open:
        question, still = screen.plan.open[0], len(screen.plan.open)
        await me.press("a")
        if question.free:
            await me.form(answer=answers[question.about])
        else:
            await me.on("Choose")
            at = [option for option, _ in question.options].index(answers[question.about])
            await me.press("home", *["down"] * at, "enter")
        await me.on("Bringing")
        await me.until(lambda s=still: len(screen.plan.open) < s)
    await me.press("t")
    await me.on("Came")
    await me.see("3 of 5 rows would be brought in", "a row of totals")
    await me.press("b")
    await me.see("3 of 5 rows brought in")
    await me.press("E")
    await me.file(refused)
    await me.until(refused.is_file)
    await me.press("escape")
    if type(me.screen).__name__ == "Bringing":
        await me.press("escape")
    await me.place("5", "shelf")
    await me.see("ferric nitrate")


async def _edition(me: Walk) -> None:
    """A piece, an agreed finish with limits, and the casts of its edition with what was done and read."""
    await me.place("4", "casts")
    await me.press("v", "n")
    await me.form(title="Heron", maker="Ida Thorne", edition="9", height="450 mm")
    await me.record("W1")
    await me.press("escape", "v", "n")
    await me.form(
        name="Heron brown", colour="27,6.5,9", limit="3", limit_dL="2", limit_dC="2", limit_dH="2",
        light="D65 booth, 1500 lx", agreed_by="Ida Thorne", next_check="2027-03-14",
    )  # fmt: skip
    await me.record("M1")
    await me.press("escape", "v", "v")
    made = (("1/9", "27.1", "Ansel Brook", 5), ("2/9", "26.4", "Ansel Brook", 5), ("3/9", "27.6", "Ansel Brook", 5))
    for n, (number, L, hand, readings) in enumerate((*made, ("7/9", "29.2", "Jory Penhale", 1)), 1):
        await me.press("n")
        await me.form(number=number, alloy="C87300", master="M1", cast_on=f"2026-0{n}-10", owner="Coast Museum")
        await me.record(f"C{n}")
        await me.press("t")
        await me.form(did="patinated", recipe="Torch sulphide brown", done_by=hand, as_done="sulphide wash: 4 passes")
        await me.on("Casts")
        await me.press("r")
        await me.form(L=L, a="6.5", b="9,0", n=str(readings), uncertainty="0.6" if readings > 1 else "1.5",
                      wax_state="unwaxed", area="whole")  # fmt: skip
        await me.on("Casts")
        await me.press("escape")


async def _series(me: Walk, report: Path) -> str:
    """The edition as a series: charts, alarms, variation, plots; its report on paper."""
    await me.press("z")
    screen = await me.on("Series")
    await me.until(lambda: screen.sheet is not None)
    await me.see("7/9", "L*")
    await me.press("y")
    await me.on("Plots")
    await me.press("right")
    await me.see("a* by cast")
    await me.press("escape")
    await me.on("Series")
    told = await me.printed("Series report, on paper", report)
    await me.press("escape")
    await me.on("Casts")
    return told


async def _seventh(me: Walk) -> None:
    """Cast 7/9: the verdict cannot be told from one reading; why it differs; how the finish is got again."""
    await me.step_to("C4")
    await me.press("j")
    await me.choose("Heron brown")
    await me.notes("CANNOT BE TOLD")
    await me.press("x")
    await me.choose("Why it came out otherwise")
    await me.form(reference="C1")
    await me.notes("hand", "Ansel Brook → Jory Penhale")
    await me.press("x")
    await me.choose("Get this finish again")
    await me.form(now="blast=used bead", area="0.2 m2")
    await me.notes("One tile exactly as it was then")


async def _out_of_the_house(me: Walk, sheet: Path) -> None:
    """A recipe is withheld; the owner is told of care, and given a sheet that says nothing of quantities."""
    await me.place("1", "finishes")
    await me.step_to("Torch sulphide brown")
    await me.press("W")
    await me.form(why="the house's own")
    await me.place("4", "casts")
    await me.step_to("C1")
    await me.press("h")
    await me.choose("Care, wax")
    await me.form(care="wax once a year", next_check="2027-05-01", ask=HEAD)
    await me.press("h")
    await me.choose("Hand the owner's sheet over")
    await me.form(to="Coast Museum", as_what="owner", terms="for upkeep only", file=str(sheet))
    await me.until(sheet.is_file)
    await me.press("h")
    await me.choose("What was given")
    await me.notes("Coast Museum", "upkeep")
    await me.press("H")
    await me.on("History")
    await me.see("owner care added", "wax once a year")
    await me.press("escape")
    await me.on("Casts")


async def _german_and_back(me: Walk) -> None:
    """F9 changes the language; the screens that are open follow at once, and back again."""
    await me.press("f9")
    await me.form(language="de")
    await me.see("▸Güsse", "Hilfe")
    await me.press("5")
    await me.see("▸Regal", "zum Suchen")
    await me.press("f9")
    await me.form(language="en")
    await me.see("▸Shelf", "Help", "to search")


@pytest.mark.parametrize("size", [(80, 24)])
async def test_a_studio_heads_job_by_keys(tmp_path: Path, size: tuple[int, int]) -> None:
    """An empty studio; at the end an edition with its report, a withheld recipe, and an owner's sheet handed over."""
    refused, report, given = tmp_path / "refused.csv", tmp_path / "series.pdf", tmp_path / "owner.pdf"
    table = _old_table(tmp_path / "shelf list.xlsx")
    with open_studio(tmp_path / "studio") as studio:
        async with Running(studio, size) as person:
            me = Walk(person)
            await _first_minute(me)
            await _bring_in(me, table, refused)
            await _edition(me)
            told = await _series(me, report)
            await _seventh(me)
            await _out_of_the_house(me, given)
            await _german_and_back(me)
        async with Running(studio, size) as person:
            await Walk(person).told("K makes one")
        lots = {lot.lot_number: lot for lot in shelf.list_lots(studio)}
        assert sorted(lots) == ["AG-1", "FN-1", "LS-7"]
        assert lots["AG-1"].amount == pytest.approx(2 * 31.1034768)  # the troy ounce, NIST Handbook 44
        assert lots["FN-1"].opened_on is not None and lots["FN-1"].opened_on.isoformat() == "2019-04-03"
        assert [(p.name, p.role) for p in people.list_people(studio)] == [
            ("Ansel Brook", "patineur"),
            (HEAD, "head"),
            (CLIENT, "client"),
        ]
        (held,) = access.list_withheld(studio)
        assert held.recipe == "Torch sulphide brown"
        (row,) = owner.given(studio)
        assert row.sha256 == hashlib.sha256(given.read_bytes()).hexdigest()
    assert "green salt" in refused.read_text("utf-8-sig") and "Total" in refused.read_text("utf-8-sig")
    assert all(words in told for words in ("Heron", "1/9", "7/9", "agreed finish M1", "Jory Penhale")), told
    on_paper = paper(given)
    assert all(words in on_paper for words in ("Heron", "wax once a year", HEAD)), on_paper
    assert "5 g/L" not in on_paper, "quantities are withheld"
