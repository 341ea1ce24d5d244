"""Deeds around the work: readings made true, heat, the pot's outlook, release, waste, what was used, the bill.

Outside figures: emissivity and what a thermometer at 0.95 then shows (95 °C reads 68 at 0.55) follow
Planck's law over 8 to 14 µm and are checked against it in test_surface_reference; here they are taken
as given. Heat of water and dew points: steam tables and the Magnus formula of WMO-No. 8, likewise.
"""

from __future__ import annotations

import csv
import math
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import Path

import pytest
import studio_at_work
from studio_at_work import _begin, _recipe

from patina.bench.pots import batches, outlook, waste
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.studio import Studio
from patina.bench.torch import after, finishing, work
from patina.entries import NewBatch, NewCoat, NewTile, NewWork
from patina.errors import BadQuantity, Incomplete, NotFound, PatinaError, Refused, UnknownSubstance

template = studio_at_work.template
studio = studio_at_work.studio


# -- the pot -----------------------------------------------------------------------------------------


def test_planned_and_used_are_counted_per_square_metre_and_pass(studio: Studio) -> None:
    """Two passes on 0.5 m² took 100 mL: 100 mL per m² and pass; planned were 40 × 1.1 / 0.5 = 88."""
    _begin(studio)
    work.pass_done(studio, "J1")
    work.pass_done(studio, "J1", left_ml=1900)
    (line,) = outlook.use_lines(work.work_sheet(studio, "J1"))
    assert line.used_ml_m2 == pytest.approx(100) and line.planned_ml == pytest.approx(88)
    assert line.texture == pytest.approx(1.1 * 100 / 88)
    assert (line.tool, line.by) == ("brush", "Maren")


def test_a_pass_that_was_taken_back_does_not_count(studio: Studio) -> None:
    """Taking a pass and its figure back leaves the passes before it running on."""
    _begin(studio)
    work.pass_done(studio, "J1")
    work.pass_done(studio, "J1", left_ml=1500)
    work.go_back(studio, "J1")
    assert outlook.use_lines(work.work_sheet(studio, "J1")) == ()
    work.pass_done(studio, "J1", left_ml=1900)
    (line,) = outlook.use_lines(work.work_sheet(studio, "J1"))
    assert (line.used_ml, line.work_m2) == (pytest.approx(100), pytest.approx(1.0))


def test_the_outlook_names_the_seam(studio: Studio) -> None:
    """With 100 mL per m² and pass, 260 mL last for the back (3 × 0.3) but not for the base after it."""
    _begin(studio)
    left = 2000.0
    for _ in range(4):
        left -= 50
        sheet = work.pass_done(studio, "J1", left_ml=left)
    batches.use_from_batch(studio, "B1", left - 260, "another tile")
    sheet = work.move_to(studio, "J1", zone="back")
    sheet = work.pass_done(studio, "J1", left_ml=230)
    found = outlook.forecast(studio, sheet)
    assert found is not None and found.outlook != "runs out"
    # to do: back 3 × 0.3 m² and base 4 × 0.2 m² = 1.7 m² of passes at about 100 mL
    assert found.needed_ml == pytest.approx(170, rel=0.15)
    batches.use_from_batch(studio, "B1", 110, "another tile")
    short = outlook.forecast(studio, work.work_sheet(studio, "J1"))
    assert short is not None and short.outlook == "runs out" and short.stop_after == "back"
    assert "seam after 'back'" in short.words


def test_without_areas_the_outlook_says_which(studio: Studio) -> None:
    """A zone that nobody measured is named; without a pot there is nothing to tell."""
    sheet = work.start_work(studio, NewWork("C1", "R1", zones=(("head", None), ("rest", 0.4)), batch="B1"))
    found = outlook.forecast(studio, sheet)
    assert found is not None and found.outlook == "cannot be told" and "head" in found.words
    bare = work.move_to(studio, "J1", step=2)
    assert outlook.forecast(studio, bare) is None


def test_a_tile_bears_the_pot_it_was_worked_out_of(studio: Studio) -> None:
    """A tile worked at the torch out of one pot alone names it from then on; out of two pots it names none, and one
    that somebody named stays."""
    second = batches.mix_batch(studio, NewBatch("R1", 1, "wash", 500, ())).id
    third = batches.mix_batch(studio, NewBatch("R1", 1, "wash", 500, ())).id
    made = [
        tiles.start_tile(studio, NewTile(f"ST-{n}", "C87300", recipe="R1", revision=1, batch=batch)).row.id
        for n, batch in enumerate((None, None, third))
    ]
    for tile, pots in zip(made, (("B1",), ("B1", second), (second,)), strict=True):
        begun = work.start_work(studio, NewWork(tile, "R1", zones=(("all", 0.01),), batch=pots[0])).row.id
        work.pass_done(studio, begun)
        for pot in pots[1:]:
            work.use_pot(studio, begun, pot)
            work.pass_done(studio, begun)
        work.end_work(studio, begun)
    assert [tiles.tile_sheet(studio, tile).batch for tile in made] == ["B1", None, third]


def test_a_tile_that_is_not_on_record_is_said_beside_its_field(studio: Studio) -> None:
    """What cannot be found to work on belongs to the field in which it was named."""
    for wrong in ("T99", "C99"):
        with pytest.raises(NotFound) as told:
            work.start_work(studio, NewWork(wrong, "R1"))
        assert told.value.field == "target"


def test_what_was_planned_gives_way_to_what_was_done(studio: Studio) -> None:
    """The lines that a tile took over from its recipe go for the steps that were worked; a person's own words and
    the other steps stay."""
    planned = ("wash 4 passes: as written", "rinse: as written", "wash went on a little warm")
    tile = tiles.start_tile(studio, NewTile("ST-9", "C87300", recipe="R1", revision=1, as_done=planned)).row.id
    begun = work.start_work(studio, NewWork(tile, "R1", zones=(("all", 0.01),), batch="B1")).row.id
    work.pass_done(studio, begun)
    work.end_work(studio, begun)
    told = tiles.tile_sheet(studio, tile).as_done
    assert told == (*planned[1:], f"{begun}: 1. apply wash: all 1 pass of 4 asked")


def test_what_works_teach_has_a_spread(studio: Studio) -> None:
    """Use is learnt per recipe, tool and hand; one work has no spread, two have one, and the next work is told."""
    for used, hand in ((90.0, "Maren"), (110.0, "Maren"), (300.0, "Jory")):
        left = batches.batch_sheet(studio, "B1").left_ml
        entry = NewWork("C1", "R1", zones=(("all", 1.0),), batch="B1", done_by=hand)
        started = work.start_work(studio, entry)
        work.pass_done(studio, started.row.id, left_ml=left - used)
        work.end_work(studio, started.row.id)
    (mine,) = outlook.learnt(studio, "R1", by="Maren", tool="Brush")
    assert mine.mean == pytest.approx(math.sqrt(90 * 110)) and mine.works == ("J1", "J2")
    assert mine.low is not None and mine.high is not None and mine.low < 90 < 110 < mine.high
    (all_hands,) = outlook.learnt(studio, "R1")
    assert len(all_hands.works) == 3 and all_hands.spread_pct > mine.spread_pct  # type: ignore[operator]
    (one,) = outlook.learnt(studio, "R1", by="Jory")
    assert one.low is None and "no spread" in one.words
    sheet = work.start_work(studio, NewWork("C1", "R1", zones=(("all", 1.0),), batch="B1"))
    told = outlook.forecast(studio, sheet)
    assert told is not None and told.needed_ml is not None, "past works tell before the first pass"


# -- strip checks and waste --------------------------------------------------------------------------


def test_strip_checks_give_a_curve_over_age(studio: Studio) -> None:
    """10 s fresh and 20 s after four hours: the time doubles in four hours, and the advice follows."""
    made = datetime.now(UTC) - timedelta(hours=4)
    batches.mix_batch(studio, NewBatch("R1", 1, "wash", 500, made_at=made))
    from patina.records.studio.unit import unit
    from patina.records.tables.ids import fetch
    from patina.records.tables.shelf import BatchTable
    from patina.records.torch import work_queries

    with unit(studio.store, "strip check") as deed:
        pot = fetch(deed.session, BatchTable, "B2")
        work_queries.add_strip_check(deed.session, pot, age_h=0, seconds=10, temperature_c=20, by="", note="")
        deed.commit()
    sheet = waste.strip_check(studio, "B2", 20)
    assert sheet.doubling_h == pytest.approx(4.0, rel=0.01)
    assert sheet.advice == "strengthen or use up"
    assert sheet.curve[0][1] == pytest.approx(10) and sheet.curve[-1][1] == pytest.approx(20, rel=0.01)


def test_a_strip_check_before_the_pot_was_mixed_is_a_wrong_clock(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A clock that was put back before the mixing of the pot: it is said, and nothing is written."""

    class Back(datetime):
        @classmethod
        def now(cls, tz: tzinfo | None = None) -> datetime:
            return datetime.now(tz) - timedelta(hours=2)

    monkeypatch.setattr(waste, "datetime", Back)
    with pytest.raises(Refused, match="clock"):
        waste.strip_check(studio, "B1", 12)
    monkeypatch.undo()
    assert waste.strip_sheet(studio, "B1").checks == ()
    with pytest.raises(BadQuantity):
        waste.strip_check(studio, "B1", 0)


def test_leftovers_leave_the_pot_and_acid_never_joins_sulphide(studio: Studio) -> None:
    """What goes to waste is off the pot; what makes hydrogen sulphide is refused before anything is written.
    Source: laboratory safety summaries on sulphides and acids [LCSS]."""
    row = waste.log_waste(studio, "Sulphide waste", "left over", 150, batch="B1")
    assert row.volume_ml == 150 and "liver of sulphur" in row.substances
    assert any("hydrogen sulphide" in w for w in row.never_with)
    assert batches.batch_sheet(studio, "B1").left_ml == 1850
    with pytest.raises(Refused, match="hydrogen sulphide"):
        waste.log_waste(studio, "sulphide WASTE", "pickle", 200, substances=["nitric acid"])
    assert waste.list_drums(studio)[0].contents == row.contents
    waste.log_waste(studio, "Acid waste", "pickle", 200, substances=["nitric acid"])
    with pytest.raises(Refused, match="hydrogen sulphide"):
        waste.log_waste(studio, "Acid waste", "left over", 100, batch="B1")
    assert batches.batch_sheet(studio, "B1").left_ml == 1850
    with pytest.raises(Refused, match="who fetched it"):
        waste.empty_drum(studio, "Acid waste", " ")
    emptied = waste.empty_drum(studio, "acid  waste", "fetched by the carrier, paper 12")
    assert emptied.contents == () and "paper 12" in emptied.fetched[0]
    with pytest.raises(NotFound, match="Nothing stands"):
        waste.empty_drum(studio, "Acid waste", "fetched by the carrier, paper 12")
    assert [(d.drum, len(d.fetched)) for d in waste.list_drums(studio)] == [("Acid waste", 1), ("Sulphide waste", 0)]
    assert waste.log_waste(studio, "Acid waste", "left over", 100, batch="B1").volume_ml == 100


@pytest.mark.parametrize(
    ("given", "trouble"),
    [
        ({"drum": " ", "what": "x", "amount": 1.0}, Refused),
        ({"drum": "d", "what": "x", "amount": 0.0}, BadQuantity),
        ({"drum": "d", "what": "x", "amount": 1.0}, Refused),
        ({"drum": "d", "what": "x", "amount": 1.0, "substances": ["moon dust"]}, UnknownSubstance),
        ({"drum": "d", "what": "x", "amount": 5000.0, "batch": "B1"}, Refused),
        ({"drum": "d", "what": "x", "amount": 5.0, "unit_of": "g", "batch": "B1"}, Refused),
    ],
)
def test_waste_that_is_not_said_is_refused(studio: Studio, given: dict, trouble: type[PatinaError]) -> None:
    """A drum, an amount and what is in it are asked for; a pot gives no more than it holds."""
    with pytest.raises(trouble):
        waste.log_waste(studio, **given)
    assert waste.list_drums(studio) == () and batches.batch_sheet(studio, "B1").left_ml == 2000


# -- release and coats -------------------------------------------------------------------------------


def _rinse(studio: Studio, conductivity: float, ph: float | None = 7.2, *, supply: bool = False) -> None:
    finishing.add_rinse(studio, "J1", supply=supply, conductivity_us_cm=conductivity, ph=ph)


def test_release_names_the_missing_reading_and_is_given_when_all_is_there(studio: Studio) -> None:
    """Rinse water flat and near the supply, metal above the dew point (12.0 °C at 20 °C and 60 %, WMO-No. 8)."""
    _begin(studio)
    work.pass_done(studio, "J1")
    assert "conductivity of the supply water" in finishing.release_sheet(studio, "J1").missing
    _rinse(studio, 210, supply=True)
    _rinse(studio, 400)
    _rinse(studio, 216)
    _rinse(studio, 214)
    with pytest.raises(Refused, match="temperature of the metal"):
        finishing.add_coat(studio, "J1", NewCoat("wax", "microcrystalline"))
    finishing.add_air(studio, "J1", metal_c=24, air_c=20, air_rh_pct=60)
    found = finishing.decide_release(studio, "J1")
    assert found.given and not found.missing
    sheet = finishing.add_coat(studio, "J1", NewCoat("wax", "microcrystalline", mass_g=12))
    assert sheet.events[-1].said["coat"] == 1
    assert finishing.add_coat(studio, "J1", NewCoat("wax", "microcrystalline")).events[-1].said["coat"] == 2


def test_what_speaks_against_release_is_said(studio: Studio) -> None:
    """Rinse water that still changes, or metal near the dew point, withholds it; the decision stays on record."""
    _begin(studio)
    _rinse(studio, 210, supply=True)
    _rinse(studio, 400)
    _rinse(studio, 300)
    finishing.add_air(studio, "J1", metal_c=13, air_c=20, air_rh_pct=60)
    found = finishing.decide_release(studio, "J1")
    assert not found.given and any("still changes" in a for a in found.against)
    assert any("dew point" in a for a in found.against)
    assert work.work_sheet(studio, "J1").events[-1].said["given"] is False
    with pytest.raises(Refused):
        finishing.add_coat(studio, "J1", NewCoat("wax", "microcrystalline"))
    kept = finishing.add_coat(studio, "J1", NewCoat("wax", "paste", overruled="tile only"))
    assert kept.events[-1].said["overruled"] == "tile only"


def test_a_pass_after_the_rinse_voids_it(studio: Studio) -> None:
    """Whatever is put on later has to be rinsed off again."""
    _begin(studio)
    _rinse(studio, 210, supply=True)
    for value in (216, 214):
        _rinse(studio, value)
    finishing.add_air(studio, "J1", metal_c=24, air_c=20, air_rh_pct=60)
    assert finishing.decide_release(studio, "J1").given
    work.pass_done(studio, "J1")
    found = finishing.release_sheet(studio, "J1")
    assert not found.given and "conductivity of two rinses one after the other" in found.missing
    with pytest.raises(Refused):
        finishing.add_coat(studio, "J1", NewCoat("wax", "paste"))


def test_chloride_is_asked_for_where_chloride_was_used(studio: Studio) -> None:
    """A recipe with a chloride needs the strip; one without does not."""
    finishes.save_recipe(studio, _recipe("Sea green", "ammonium_chloride"))
    work.start_work(studio, NewWork("C1", "R2"))
    found = finishing.release_sheet(studio, "J1")
    assert found.chloride_used and "chloride of the last rinse" in found.missing
    with pytest.raises(BadQuantity):
        finishing.add_rinse(studio, "J1", supply=False, ph=19)
    with pytest.raises(Incomplete):
        finishing.add_air(studio, "J1", air_rh_pct=140)
    with pytest.raises(Refused):
        finishing.add_rinse(studio, "J1", supply=False)


# -- the bill ----------------------------------------------------------------------------------------


def test_the_bill_is_of_what_was_used_and_harms_no_spreadsheet(studio: Studio, tmp_path: Path) -> None:
    """A tenth of the pot holds 1 g of the lot: 14.50 × 1 / 500 = 0.03; a title that begins with = is text."""
    _begin(studio)
    work.pass_done(studio, "J1", left_ml=1800)
    after.add_hours(studio, "J1", "+chasing", 1.5)
    finishing.add_coat(studio, "J1", NewCoat("wax", "@paste", mass_g=12, overruled="tile"))
    path = after.write_bill(studio, tmp_path / "bill.csv", ("J1",))
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    by_what = {r["what"]: r for r in rows}
    assert by_what["liver of sulphur"]["amount"] == "1" and by_what["liver of sulphur"]["price"] == "0.03"
    assert by_what["liver of sulphur"]["currency"] == "EUR"
    assert by_what["wash from B1"]["amount"] == "200" and by_what["'@paste"]["amount"] == "12"
    assert by_what["'+chasing"]["amount"] == "1.5" and by_what["'+chasing"]["unit"] == "h"
    assert all(cell[:1] not in tuple("=+-@\t\r") for r in rows for cell in r.values())
    with pytest.raises(NotFound):
        after.write_bill(studio, tmp_path / "other.csv", ("J9",))
    assert not (tmp_path / "other.csv").exists()


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", " =1", "−5", "\t=1", "\n@x"])
def test_no_cell_begins_like_a_formula(text: str) -> None:
    """Whatever a person names a thing, no spreadsheet works it out."""
    assert after.safe_cell(text).startswith("'")
    assert after.safe_cell("brown -1") == "brown -1"
