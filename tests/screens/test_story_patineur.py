"""A patineur's whole job by keys alone, gloves on: from an empty studio to a finish record on paper."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from screens_driver import Running
from stories import SWATCHES, Walk

from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.readings import tiles
from patina.bench.readings.comparing import compare
from patina.bench.recipes import finishes
from patina.bench.shelves.shelf import lot_row
from patina.bench.studio import Studio, open_studio
from patina.bench.torch import work
from tui.screens import torch
from tui.screens.photograph import Photograph

PICTURE = "brown-and-chestnut.jpg"
RECIPE = "Torch sulphide brown"


@pytest.fixture(autouse=True)
def no_held_keys(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests press faster than a hand; nobody has said the edition of the chart yet."""
    monkeypatch.setattr(torch, "HELD_KEY_S", 0.0)
    monkeypatch.setattr(Photograph, "edition", "")


def _rect(name: str) -> str:
    truth = json.loads((SWATCHES / "truth.json").read_text("utf-8"))[PICTURE]
    return ",".join(str(v) for v in next(t["rect"] for t in truth["tiles"] if t["name"] == name))


async def _first_minute(me: Walk) -> None:
    """The doors: who I am, then the starters; then the recipe is found by a few letters."""
    await me.choose("Who I am")
    await me.form(who="Ansel Brook", studio_name="Quay Yard")
    await me.choose("Take the starters")
    await me.see("finishes: 20")
    await me.press("slash")
    await me.write("torch sulphide")
    await me.press("enter")
    await me.see("finishes: 2")
    await me.step_to(RECIPE)


async def _release(me: Walk) -> None:
    """Every critical danger is answered before the recipe is released for work on pieces."""
    await me.press("s")
    await me.on("SafetyPage")
    await me.until(lambda: me.screen.notes is not None)
    await me.press("r")
    form = await me.on("ReleaseForm")
    await me.form(**dict.fromkeys(form.told, "no acid in this room; the drum is marked sulphide only"))
    await me.on("SafetyPage")
    await me.see("Released")
    await me.press("escape")
    await me.on("Finishes")


async def _shelf(me: Walk) -> None:
    await me.place("5", "shelf")
    await me.see("Press n")
    await me.press("n")
    await me.form(substance="liver of sulphur", amount="250 g", lot_number="LS-7", place="dry cupboard")
    await me.record("L1")


async def _mix(me: Walk) -> None:
    """From the recipe to the bench; the area from weight and wall; weighed from the shelf; kept; labelled."""
    await me.place("1", "finishes")
    await me.press("m")
    await me.until(lambda: me.person.app.current_mode == "bench" and me.screen.sheet is not None)
    await me.press("f3")
    await me.on("AreaDialog")
    await me.fill(**{"weight-mass": "12 kg", "weight-wall": "5 mm", "weight-alloy": "C87300"})
    await me.until(lambda: me.screen.taken is not None)
    await me.press("ctrl+s")
    await me.on("Bench")
    await me.until(lambda: me.screen.mix is not None)
    await me.press("f6")
    await me.until(lambda: me.screen.mix is not None and me.screen.mix.from_shelf)
    await me.see("L1")
    await me.press("ctrl+s")
    await me.form(ph="9.8")
    await me.on("Bench")
    await me.record("B1")


async def _tile(me: Walk, name: str, *, ask_edition: bool) -> None:
    """Give the chosen tile its photograph, put the area on it by its pixels, read, keep."""
    await me.press("f")
    await me.file(SWATCHES / PICTURE)
    await me.on("Photograph")
    await me.see("The chart was found")
    await me.press("t")
    await me.form(area0=_rect(name))
    await me.on("Photograph")
    await me.press("enter")
    if ask_edition:
        await me.choose("2014")
    await me.on("Reading")
    await me.see("not kept yet")
    await me.press("enter")
    await me.form(wax_state="unwaxed")
    await me.on("Tiles")
    await me.until(lambda: me.screen.sheet is not None and me.screen.sheet.readings)


async def _piece(me: Walk) -> None:
    """The list of casts says that a piece comes first; both are typed in."""
    await me.place("4", "casts")
    await me.see("No casts yet", "Press n to add one")
    await me.press("v")
    await me.see("No pieces yet")
    await me.press("n")
    await me.form(title="Cormorant", edition="3", height="600 mm")
    await me.record("W1")
    await me.press("escape", "v", "v", "v")
    await me.see("No casts yet")
    await me.press("n")
    await me.form(number="1/3", alloy="C87300", mass="12 kg", wall="5 mm", area="0.287 m2", master="M1")
    await me.record("C1")


async def _torch(me: Walk) -> None:
    """Gloves on: one key for a pass, a temperature, what is left, a note, and for taking back."""
    await me.place("2", "bench")
    await me.step_to("B1")
    await me.press("w")
    await me.form(
        target="C1", zones="front 0.15 m2; back 0.137 m2", thermometer="contact °C", air="19 °C", humidity="55 %"
    )
    screen = await me.on("Torch")
    await me.press("s", "s")
    await me.see("sulphide wash", "PASSES", "Gives off hydrogen sulphide")
    await me.press("t")
    await me.write("88")
    await me.press("enter")
    await me.see("On disk")
    for n in (1, 2, 3, 4):
        await me.press("space")
        await me.see(f"pass {n} front")
    await me.press("space")
    await me.see("pass 5 front")
    await me.press("b")
    await me.until(lambda: screen.sheet.passes_done == 4)
    await me.press("z")
    for n in (1, 2, 3, 4):
        await me.press("space")
        await me.see(f"pass {n} back")
    await me.press("v")
    await me.write("120")
    await me.press("enter")
    await me.press("n")
    await me.write("left wing a little redder")
    await me.press("enter")
    await me.see("left wing a little redder")
    await me.press("y")
    await me.on("Plots")
    await me.press("escape")
    await me.on("Torch")


async def _rinse_and_wax(me: Walk) -> None:
    """Without readings no wax; with them the release is given, a coat goes on, and the work ends."""
    await me.press("r")
    await me.choose("Release before wax")
    await me.notes("Not released: no wax yet")
    for what, us in (("supply", "210"), ("rinse", "260"), ("rinse", "225"), ("rinse", "216")):
        await me.press("r")
        await me.choose("A rinse water")
        await me.form(what=what, conductivity=us, ph="7.2")
        await me.on("Torch")
    await me.press("r")
    await me.choose("Metal, air")
    await me.form(metal="24 °C", air="19 °C", humidity="55 %")
    await me.press("r")
    await me.choose("Release before wax")
    await me.notes("✓ Released", "rinse 3: 216 µS/cm", "metal 24 °C")
    await me.press("r")
    await me.choose("A coat of wax")
    await me.form(kind="wax", product="microcrystalline", mass="6 g", lot="MW-7", how="hot")
    await me.see("microcrystalline")
    await me.press("x")
    await me.choose("End the work")
    await me.choose("put it on record")
    await me.until(lambda: me.screen.WHERE == "bench")


async def _judge_and_print(me: Walk, to: Path) -> str:
    """The cast is read, judged against what was agreed, and its finish record printed."""
    await me.place("4", "casts")
    await me.step_to("C1")
    for L in ("26.2", "26.6", "26.4", "26.9", "26.3"):
        await me.press("r")
        await me.form(L=L, a="6.4", b="8,8", area="front", uncertainty="0.4", wax_state="unwaxed", n="5")
        await me.on("Casts")
    await me.press("j")
    await me.choose("quay brown")
    await me.notes("✓ PASS", "5 readings", "limit 3")
    return await me.printed("Finish record, on paper", to)


@pytest.mark.parametrize("size", [(80, 24)])
async def test_a_patineurs_job_by_keys(tmp_path: Path, size: tuple[int, int]) -> None:
    """From the first minute to the printed record: everything by keys, at 80 × 24."""
    record, label = tmp_path / "record.pdf", tmp_path / "label.pdf"
    with open_studio(tmp_path / "studio") as studio:
        async with Running(studio, size) as person:
            me = Walk(person)
            await _first_minute(me)
            await _release(me)
            await _shelf(me)
            await _mix(me)
            on_label = await me.printed("Bottle label", label, "f7")
            await me.place("1", "finishes")
            await me.press("t")
            await me.form(engraved="QY-1", batch="B1")
            await me.record("T1")
            await _tile(me, "dark brown", ask_edition=True)
            await me.press("escape", "N")
            await me.form()
            await me.record("T2")
            await _tile(me, "chestnut", ask_edition=False)
            await me.press("escape")
            await me.step_to("T2")
            await me.press("space", "down", "space", "c")
            await me.on("Comparing")
            await me.see("CIEDE2000")
            difference = me.screen.sheet.difference
            await me.press("escape")
            await me.step_to("T1")
            await me.press("a")
            await me.form(name="quay brown", limit="3", light="D65 booth, 1500 lx", agreed_by="Ida Thorne")
            await _piece(me)
            await _torch(me)
            await _rinse_and_wax(me)
            finish = await _judge_and_print(me, record)
        _on_record(studio, difference)
    assert all(words in on_label for words in ("sulphide wash", "5.03 g/L", "Ansel Brook", "liberates toxic gas"))
    assert all(words in finish for words in ON_PAPER), finish


ON_PAPER = (
    "Quay Yard",
    "Cormorant 1/3",
    "C87300",
    "agreed: quay brown",
    "agreed by Ida Thorne",
    "D65 booth, 1500 lx",
    "pass: whole: pass (5 readings",
    "Torch sulphide brown, revision 1, batch B1",
    "front 4 passes; back 4 passes of 4 asked, metal 88 °C",
    "rinsed 3 times, last water 216 µS/cm, pH 7.2; supply 210 µS/cm, pH 7.2",
    "released for wax",
    "wax, coat 1 on back: microcrystalline, hot, 6 g, lot MW-7",
    "note: left wing a little redder",
    "L* 26.4 a* 6.4 b* 8.8",
    "J1: temperatures at the torch",
)


def _on_record(studio: Studio, difference: Any) -> None:
    """What stands on record is what was done: amounts, colours near what the picture was rendered from, no open work.

    12 kg of C87300 (8.36 g/cm³) at 5 mm are 0.287 m²: the density is that of the alloy's data sheet.
    """
    pot = batches.batch_sheet(studio, "B1")
    assert (pot.left_ml, pot.weighed[0][4]) == (120.0, "L1")
    assert lot_row(studio, "L1").left == pytest.approx(250.0 - pot.weighed[0][2])
    truth = {t["name"]: t["lab"] for t in json.loads((SWATCHES / "truth.json").read_text("utf-8"))[PICTURE]["tiles"]}
    for engraved, name in (("QY-1", "dark brown"), ("QY-2", "chestnut")):
        reading = tiles.tile_sheet(studio, engraved).readings[0]
        ours = f"{reading.lab.L},{reading.lab.a},{reading.lab.b}"
        away = compare(None, ",".join(str(v) for v in truth[name]), ours).difference.delta_e
        assert away < max(reading.uncertainty_de00 or 0.0, 3.0)
    assert difference.delta_e > 5.0, "the two tiles are told apart"
    assert finishes.recipe_sheet(studio, RECIPE).id == pot.recipe_id
    assert work.list_works(studio) == ()
    assert pytest.approx(casts.cast_sheet(studio, "C1").area_m2, abs=5e-4) == 12_000 / (8.36 * 5 * 1000)
