"""A conservator's whole job by keys alone: from an old bronze typed in to the signed report, on paper and as a page."""

from __future__ import annotations

import shutil
import zipfile
from pathlib import Path

import pytest
from screens_driver import Running
from stories import SWATCHES, Walk, paper

from patina.bench.paper import archive
from patina.bench.pieces import casts
from patina.bench.sealing import seal_of
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.bench.treating import treat
from tui.screens.treatment_choices import CALLED

WHO, CLERK = "Tamsin Orrelby", "Edda Quillfeather"


class Conservator(Walk):
    """Works on a treatment, section by section."""

    async def section(self, name: str) -> None:
        """The arrows to a section."""
        await self.on("Treatment")
        await self.press("home")
        for _ in range(15):
            if self.screen.section == name:
                return
            await self.press("down")
        raise AssertionError(name)

    async def go(self, **times: int) -> None:
        """Hold keys down, one after another, each so many times."""
        for key, n in times.items():
            await self.person.hold(key, n)

    async def part(self, section: str, kind: str, **fields: str) -> None:
        """Write a part of a section and put it on record."""
        await self.section(section)
        await self.press("n")
        await self.until(lambda: self.screen.query("FieldInput") or self.screen.query("#choices"))
        if self.screen.query("#choices"):
            await self.choose(CALLED[kind])
        await self.form(**fields)
        await self.on("Treatment")


async def _bronze(me: Conservator, pictures: list[Path]) -> None:
    """The piece and the cast are typed in; the cast is given its photographs."""
    await me.choose("Who I am")
    await me.form(who=WHO, studio_name="Quay Conservation")
    await me.press("escape")
    await me.place("5", "shelf")
    await me.press("n")
    await me.form(substance="microcrystalline wax", amount="900 g", lot_number="MW-0714")
    await me.record("L1")
    await me.place("4", "casts")
    await me.press("v", "n")
    await me.form(title="Tide gate, relief", maker="O. Fenwick", height="480 mm")
    await me.record("W1")
    await me.press("escape", "v", "v", "v", "n")
    await me.form(
        alloy="C83600", mass="21.5 kg", wall="6 mm", area="0.52 m2", owner="Town of Saltgate", place="sea wall"
    )
    await me.record("C1")
    await me.press("e")
    await me.form(place="garden")
    await me.until(lambda: me.screen.sheet is not None and me.screen.sheet.row.place == "garden")
    await me.press("u")
    await me.until(lambda: me.screen.sheet is not None and me.screen.sheet.row.place == "sea wall")
    for n, picture in enumerate(pictures):
        await me.press("f")
        if n:
            await me.choose("another photograph")
        await me.file(picture)
        await me.on("Photograph")
        await me.press("escape")
        await me.on("Casts")
        await me.until(lambda k=n: me.screen.sheet is not None and len(me.screen.sheet.photographs) > k)


async def _begin(me: Conservator) -> None:
    """Begun from the cast; its head, the people, and the owner's word in writing."""
    await me.press("w")
    await me.form(
        name="Active corrosion, new wax",
        accession="SG 1968.3",
        purpose="stop the active corrosion and protect anew",
        started_on="2026-03-02",
    )
    await me.on("Treatment")
    await me.see("Identification")
    await me.press("n")
    await me.choose("what the record says of itself")
    await me.form(marks="OFS 68, lower right", measurements="H 480, W 1080, D 65 mm")
    await me.part("identification", "person", name=WHO, role="conservator")
    await me.part(
        "authority and consent",
        "authority",
        what="authority",
        who=CLERK,
        in_writing="letter, file 17/4",
        dated="2026-02-20",
    )


async def _examine(me: Conservator) -> None:
    """What is seen stands apart from what is concluded."""
    dry = {"method": "loupe 10x; wooden pick", "circumstances": "dry, 17 °C, 58 % RH", "on": "2026-03-02"}
    text = "pale green powder in spots of 2 to 4 mm"
    await me.part("examination", "statement", sort="observation", topic="corrosion", text=text, place="middle", **dry)
    text = "bronze disease: chloride goes on reacting in sea air"
    more = {"text": text, "rests_on": "CO1", "on": "2026-03-03"}
    await me.part("examination", "statement", sort="interpretation", topic="corrosion", **more)
    await me.see("Observed", "Concluded (interpretation)")


async def _draw(me: Conservator, size: tuple[int, int]) -> None:
    """The condition map: an outline and a zone, corner by corner with the arrows, and a test patch on it."""
    await me.section("condition")
    await me.press("m")
    await me.form(visit="before", view="front", photograph=me.photograph(0), seen_on="2026-03-02")
    screen = await me.on("TreatmentMap")
    await me.until(lambda: screen.picture.preview)
    await me.see("not outlined")
    far, down = (34, 12) if size[0] < 100 else (50, 16)
    await me.go(left=60, up=30)
    await me.go(right=4, down=2, space=1)
    await me.go(right=far, space=1)
    await me.go(down=down, space=1)
    await me.go(left=far, space=1, o=1)
    await me.until(lambda: screen.map.value.outline)
    await me.go(right=6, up=6, space=1)
    await me.go(right=8, space=1)
    await me.go(down=3, space=1, enter=1)
    await me.form(name="middle field", term="bloom", severity="3", activity="active", adhesion="powdering", bead="none")
    await me.on("TreatmentMap")
    await me.until(lambda: len(screen.zones) == 1)
    await me.press("tab")
    await me.see("middle field", "of the object")
    for agent, effect, harm, mildness in (
        ("deionised water", "none", "none", "1"),
        ("isopropanol", "enough", "none", "2"),
    ):
        await me.go(right=2, n=1)
        await me.form(
            place="left edge", agent=agent, strength="50", strength_unit="% v/v", dwell_min="3", effect=effect,
            harm=harm, mildness=mildness, result="seen", on="2026-03-04",
        )  # fmt: skip
        await me.on("TreatmentMap")
    await me.see("isopropanol")
    await me.press("escape")
    await me.section("tests")
    await me.see("lowest")


async def _propose(me: Conservator) -> None:
    """Proposal, the owner's signature and consent, before anything is done."""
    await me.part(
        "proposal",
        "proposal",
        aim="no active corrosion; a coat the town can renew",
        steps="wash; pick active spots; wax",
        alternatives="leave it and inspect yearly",
        retreatability="wax comes off with white spirit",
        risks="the brown may pale",
        reference_appearance="photograph of 1971",
        hours_low="20",
        hours_high="30",
        cost="EUR 2450",
        drafted_on="2026-03-05",
    )
    on = "authority and consent"
    await me.part(on, "signature", of="proposal", version="1", who=CLERK, how="on paper", dated="2026-03-08")
    await me.part(on, "authority", what="consent", who=CLERK, in_writing="letter", dated="2026-03-08", proposal="1")


async def _work(me: Conservator) -> None:
    """Log with wax from the shelf, salt baths until the curve says enough, protection."""
    await me.part(
        "log", "action", on="2026-03-10", by=WHO, did="washed and rinsed", agent="deionised water", hours="4",
        proposal="1", air_c="17 °C", humidity_pct="58", metal_c="18 °C", result="soil off",
    )  # fmt: skip
    await me.part(
        "log", "action", on="2026-04-01", by=WHO, did="waxed", tool="brush", hours="5", proposal="1", result="even"
    )
    await me.part("log", "material", way="added", name="wax", action="CA2", lot="L1", quantity="9 g", left_g="9 g")
    await me.part("salts", "bath", name="loose corner", measured="chloride mg/L", scheme="baths changed", supply="0.4")
    for n, value in enumerate(("32.7", "23.1", "12.8", "6.8", "2.3", "0.9"), 1):
        await me.part("salts", "bath-reading", bath="CB1", number=str(n), hours="48", value=value, volume_ml="2 L")
    await me.see("above supply")
    await me.press("y")
    await me.on("Plots")
    await me.press("escape")
    await me.part(
        "protection", "layer", product="microcrystalline wax", sort="hot wax", lot="L1", coats="2", used_g="9 g",
        area_m2="0.52 m2", air_c="17 °C", humidity_pct="58", metal_c="45 °C", application="brushed", on="2026-04-01",
    )  # fmt: skip


async def _after(me: Conservator) -> None:
    """Images before and after, care, what is missing, and the words at the end."""
    for n, role in enumerate(("before", "after")):
        await me.part(
            "images", "image", photograph=me.photograph(n), role=role, view="front", light="diffuse",
            position="tripod 1.9 m", in_frame="id; scale; chart; date",
        )  # fmt: skip
    await me.press("f")
    await me.notes("front")
    await me.part("care", "care", trigger="months", task="wash and wax", every_months="6", from_day="2026-04-01")
    await me.section("report")
    await me.press("c")
    missing = await me.notes("As a proposal", "AIC commentary")
    assert "finished" in missing.casefold() or "state after" in missing.casefold(), missing
    await me.section("identification")
    await me.press("n")
    await me.choose("what the record says of itself")
    await me.form(
        finished_on="2026-04-03",
        state_after="dark brown, even; no powder after two days",
        result="aim met",
        limits="chloride below the tight crust was not reached",
        recommendations="no acids, no salt",
        health_and_waste="gloves and goggles; rinse water to the licensed carrier",
    )
    await me.on("Treatment")


@pytest.mark.parametrize("size", [(80, 24)])
async def test_a_conservators_job_by_keys(tmp_path: Path, size: tuple[int, int]) -> None:
    """An empty studio; at the end the report is on paper and on a page, signed off, amended, and in an archive."""
    pictures = [tmp_path / "gate-before.jpg", tmp_path / "gate-after.jpg"]
    for name, path in zip(("relief-after.jpg", "relief-before.jpg"), pictures, strict=True):
        shutil.copy(SWATCHES / name, path)
    with open_studio(tmp_path / "studio") as studio:
        async with Running(studio, size) as person:
            me = Conservator(person)
            me.photograph = lambda n: casts.cast_sheet(studio, "C1").photographs[-1 - n].sha256[:12]  # type: ignore[attr-defined]
            await _bronze(me, pictures)
            await _begin(me)
            await _examine(me)
            await _draw(me, size)
            await _propose(me)
            await _work(me)
            await _after(me)
            told = await me.printed("on paper", tmp_path / "report.pdf")
            await me.printed("as a page", tmp_path / "report.html")
            await me.press("escape")
            await me.on("Casts")
            await me.see("care due")
            await me.press("k")
            await me.notes("OVERDUE", "wash and wax")
            await me.press("v", "v", "v")
            await me.step_to("CT1")
            await me.press("S")
            await me.form()
            await me.on("Casts")
            await me.see("Signed off")
            await me.press("A")
            await me.form(words="a spot at the left foot is under watch", why="seen at the second visit")
            await me.see("under watch")
            await me.press("v")
            await me.step_to("C1")
            await me.press("B")
            await me.choose("C1 Tide gate, relief with all that belongs to it")
            await me.file(tmp_path / "gate.zip")
            await me.notes("Written: gate.zip", "2 photographs")
        _on_record(studio)
        assert archive.verify(tmp_path / "gate.zip").photographs == 2
    with zipfile.ZipFile(tmp_path / "gate.zip") as bundle:
        assert bundle.testzip() is None
    page = paper(tmp_path / "report.html")
    for words in ON_PAPER:
        assert words in told, (words, told)
        assert words in page, words
    assert "<script" not in page


ON_PAPER = (
    "Tide gate, relief",
    "SG 1968.3",
    "Town of Saltgate",
    WHO,
    CLERK,
    "pale green powder in spots of 2 to 4 mm",
    "bronze disease: chloride goes on reacting in sea air",
    "middle field",
    "isopropanol",
    "wax comes off with white spirit",
    "washed and rinsed",
    "MW-0714",
    "loose corner",
    "dark brown, even; no powder after two days",
    "wash and wax",
)


def _on_record(studio: Studio) -> None:
    """What stands on record is what was typed and drawn; consent came before the work; the wax left the shelf or is
    named; the record is signed and amended."""
    sheet = treat.treatment_sheet(studio, "CT1")
    record = sheet.record
    assert (len(record.observations), len(record.interpretations)) == (1, 1)
    (zone,) = record.zones
    assert (zone.value.name, sheet.maps[0].of) == ("middle field", "object")
    assert 0 < sheet.maps[0].zones[zone.id].pct < 20
    assert (len(record.patches), len(record.bath_readings), len(record.images)) == (2, 6, 2)
    assert sheet.flags == (), "nothing is open about consent"
    signed = seal_of(studio, "CT1")
    assert (signed.sealed, signed.by, len(signed.amendments)) == (True, WHO, 1)
    assert shelf.lot_row(studio, "L1").left <= 900.0
