"""An invented studio, built through the same deeds that a person uses.

Everybody and everything in it is made up. Its photographs are rendered (see ``swatches``), and
what is read from them is really read.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from patina.bench.pieces import casts
from patina.bench.pots import batches, mixing
from patina.bench.readings import reading, tiles
from patina.bench.recipes import finishes, releases
from patina.bench.safe import exposure
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.bench.treating import treat
from patina.demo.matching import add_matching
from patina.demo.old_table import add_old_table
from patina.demo.people import add_owners
from patina.demo.signed_off import add_signed_record
from patina.demo.torch import add_torch_log
from patina.demo.treatment import add_treatment_record
from patina.entries import (
    NewBatch,
    NewCast,
    NewExposure,
    NewLot,
    NewMaster,
    NewPiece,
    NewReading,
    NewTile,
    NewTreatment,
    Weighed,
)
from patina.errors import Refused
from patina.recipe_file import read_recipe_text

WHO = "Maren Oskvist"
HELPER = "Jory Tallack"
FIRST_DAY = date(2026, 3, 2)

# engraved, alloy, recipe, wax state, photograph, name of the tile in it (see swatches/truth.json)
_TILES = (
    ("HM-01", "C87300", "Torch sulphide brown", "unwaxed", "brown-and-chestnut.jpg", "dark brown"),
    ("HM-02", "C87300", "Ochre in two layers", "unwaxed", "brown-and-chestnut.jpg", "chestnut"),
    ("HM-03", "C87300", "Hot ferric red-brown", "unwaxed", "ferric-and-olive.jpg", "ferric"),
    ("HM-04", "C83600", "Green over brown", "unwaxed", "ferric-and-olive.jpg", "olive"),
    ("HM-05", "C87300", "Hot cupric blue-green", "unwaxed", "cupric-mottle.jpg", "cupric mottle"),
    ("HM-06", "C83600", "Chamber verdigris", "unwaxed", "cupric-mottle.jpg", "verdigris"),
    ("HM-07", "C87300", "Hot bismuth white", "unwaxed", "whites.jpg", "bismuth white"),
    ("HM-08", "C87300", "Titanium white", "unwaxed", "whites.jpg", "titanium white"),
    ("HM-09", "C87300", "Torch sulphide black", "waxed", "blacks-waxed.jpg", "near black"),
    ("HM-10", "C87300", "Silver black", "waxed", "blacks-waxed.jpg", "blue-black"),
    ("HM-11", "C87300", "Hot ferric red-brown", "waxed", "amber-by-lamplight.jpg", "amber"),
    ("HM-12", "C83600", "Ochre in two layers", "waxed", "amber-by-lamplight.jpg", "two-tone"),
)

# substance, amount, unit, grade, lot number, assay %, opened, use by, place, price
_LOTS = (
    ("liver of sulphur", 480.0, "g", "technical, lump", "HY-2231", None, 20, 200, "dry cupboard", "14.50"),
    ("cupric nitrate hemipentahydrate", 1850.0, "g", "98 %", "CN-0417", 98.0, 60, 900, "oxidiser shelf", "61.00"),
    ("ferric nitrate nonahydrate", 920.0, "g", "98 %", "FN-1180", 98.0, 40, 700, "oxidiser shelf", "38.20"),
    ("bismuth nitrate pentahydrate", 240.0, "g", "98 %", "BN-0032", 98.0, 90, 800, "oxidiser shelf", "79.00"),
    ("silver nitrate", 22.0, "g", "99.8 %", "AG-7710", 99.8, 120, 900, "locked box, dark", "44.00"),
    ("ammonium chloride", 1000.0, "g", "pure", "AC-5521", 99.5, None, 1500, "salt shelf", "9.80"),
    ("nitric acid", 900.0, "mL", "65 %", "NA-3308", 65.0, 15, 500, "acid cabinet", "21.40"),
    ("ammonia solution", 750.0, "mL", "25 %", "AM-0912", 25.0, 200, -20, "fume cupboard", "8.90"),
)


def make_demo(directory: Path | None = None, tell: Callable[[str], None] | None = None) -> Path:
    """Make the invented studio in an empty or new folder; None makes one in a temporary folder.

    tell: is called with a few words as the work goes on. Raises Refused for a folder that already
    holds something.
    """
    where = Path(tempfile.mkdtemp(prefix="patina-demo-")) if directory is None else directory.resolve()
    if where.exists() and any(where.iterdir()):
        raise Refused(
            f"{where} is not empty.", "Name a new folder for the demo studio, so that nothing of yours is touched."
        )
    ours = directory is None or not where.exists()
    whole = False
    try:
        _fill(where, tell or (lambda _words: None))
        whole = True
    finally:
        if ours and not whole:  # so that the same word can be given again
            shutil.rmtree(where, ignore_errors=True)
    return where


def _fill(where: Path, say: Callable[[str], None]) -> None:
    with open_studio(str(where)) as studio:
        studio.set_setting("who", WHO)
        studio.set_setting("studio_name", "Hollowmere Yard (invented)")
        say("recipes")
        _recipes(studio)
        _release(studio)
        say("shelf")
        _shelf(studio)
        say("tiles and photographs")
        ids = _tiles(studio)
        say("agreed finishes and casts")
        _series(studio, ids)
        say("a finished job")
        pot = _job(studio)
        say("matching, series and ageing")
        add_matching(studio, WHO, HELPER)
        say("a tile at the torch")
        add_torch_log(studio, "HW-08", "Torch sulphide brown", HELPER)
        _beside_the_cast(studio, pot)
        say("a conservator's treatment")
        treated = add_treatment_record(studio)
        add_signed_record(studio, treat.treatment_sheet(studio, treated).record.object.cast)
        say("owners")
        add_owners(studio, where, WHO)
        say("old cards to bring in")
        add_old_table(studio, where)


def _recipes(studio: Studio) -> None:
    finishes.add_starters(studio, by=WHO)
    sheet = finishes.recipe_sheet(studio, "Torch sulphide brown")
    text = finishes.export_recipe(studio, sheet.id)
    weaker = read_recipe_text(text.replace("passes = 4", "passes = 5"), studio.catalogue())
    if weaker != sheet.recipe:
        finishes.revise_recipe(
            studio,
            sheet.id,
            weaker,
            reason="one pass more: the first casts came out too light",
            by=WHO,
            version=sheet.version,
        )


def _release(studio: Studio) -> None:
    """The recipe of the finished job is released; one with pots that must not meet is released with its reason."""
    releases.release(studio, "Torch sulphide brown", by=WHO, note="three tiles in a row came out alike")
    state = releases.release_state(studio, "Green over brown")
    answers = {
        str(d.number): "the sulphide pot is covered and put away before the cupric one is opened" for d in state.open
    }
    releases.release(studio, state.recipe_id, by=WHO, answers=answers)


def _shelf(studio: Studio) -> None:
    today = datetime.now(UTC).date()
    for substance, amount, unit, grade, number, assay, opened, use_by, place, price in _LOTS:
        shelf.add_lot(
            studio,
            NewLot(
                substance=substance,
                amount=amount,
                unit=unit,
                supplier="Marsh Lane Chemicals (invented)",
                grade=grade,
                lot_number=number,
                assay_pct=assay,
                opened_on=None if opened is None else today - timedelta(days=opened),
                use_by=today + timedelta(days=use_by),
                place=place,
                price=Decimal(price),
                currency="EUR",
            ),
        )


def _tiles(studio: Studio) -> dict[str, str]:
    import swatches

    ids: dict[str, str] = {}
    for n, (engraved, alloy, recipe, wax, picture, name) in enumerate(_TILES):
        sheet = finishes.recipe_sheet(studio, recipe)
        tile = tiles.start_tile(
            studio,
            NewTile(
                engraved=engraved,
                alloy=alloy,
                preparation="glass bead 100-170 mesh, 3 bar; degreased",
                wall_mm=5.0,
                size="100 × 100 mm",
                recipe=sheet.id,
                revision=sheet.revision,
                as_done=tuple(_as_done(step.do, step.passes, step.solution) for step in sheet.recipe.steps),
                made_on=FIRST_DAY + timedelta(days=3 * n),
                made_by=WHO if n % 3 else HELPER,
                wax_state=wax,
            ),
        )
        ids[engraved] = tile.row.id
        photograph = tiles.add_photograph(studio, tile.row.id, swatches.photograph(picture), state=wax)
        rect = next(t["rect"] for t in swatches.truth()[picture]["tiles"] if t["name"] == name)
        area = f"middle={','.join(str(v) for v in rect)}"
        reading.read_into(
            studio,
            tile.row.id,
            photograph.sha256,
            areas=[area],
            edition=swatches.truth()[picture]["chart"]["edition"],
            wax_state=wax,
            warmth="cold",
            by=WHO,
            scale="6.6 px/mm",  # of the rendered pictures
        )
    _instrument_readings(studio, ids["HM-01"])
    return ids


def _as_done(do: str, passes: int, solution: str | None) -> str:
    if do == "apply":
        return f"{solution}: {passes} {'pass' if passes == 1 else 'passes'} as written"
    return f"{do}: as written"


def _instrument_readings(studio: Studio, tile: str) -> None:
    for wax, colour in (("unwaxed", (27.4, 6.3, 9.2)), ("waxed", (24.1, 6.9, 9.6))):
        _read_by_instrument(studio, tile, "middle", colour, (0.6, 0.3, 0.4), 0.8, wax)


def _read_by_instrument(
    studio: Studio,
    target: str,
    area: str,
    colour: tuple[float, float, float],
    sd: tuple[float, float, float],
    doubt_de00: float,
    wax: str = "waxed",
) -> None:
    """The mean of five readings. doubt_de00: their uncertainty (95 %)."""
    tiles.add_reading(
        studio,
        target,
        NewReading(
            *colour,
            source="instrument",
            area=area,
            geometry="d:8 SCI",
            instrument="hand-held spectrophotometer (invented)",
            sd=sd,
            n=5,
            uncertainty_de00=doubt_de00,
            wax_state=wax,
            warmth="cold",
            read_by=WHO,
        ),
    )


def _series(studio: Studio, ids: dict[str, str]) -> None:
    master = casts.agree_master(
        studio,
        NewMaster(
            name="Heron, turning: dark brown",
            colour=(24.1, 6.9, 9.6),
            limit_de=3.0,
            limit_dL=2.0,
            limit_dC=2.0,
            limit_dH=1.5,
            uncertainty_de00=0.8,
            tile=ids["HM-01"],
            recipe=finishes.recipe_sheet(studio, "Torch sulphide brown").id,
            light="D65 booth, 1500 lx",
            geometry="d:8 SCI",
            wax_state="waxed",
            warmth="cold",
            agreed_by="Ilse Varnhagen-Pike (artist, invented)",
            agreed_on=FIRST_DAY + timedelta(days=20),
            holders="studio and artist, one tile each",
        ),
    )
    piece = casts.add_piece(studio, NewPiece("Heron, turning", "Ilse Varnhagen-Pike (invented)", 9, 620.0))
    for n, colour in enumerate(((24.3, 6.8, 9.4), (24.0, 7.1, 9.9), (25.2, 6.5, 9.1), (26.4, 7.4, 10.6)), 1):
        cast = casts.add_cast(
            studio,
            NewCast(
                piece=piece.id,
                number=f"{n}/9",
                alloy="C87300",
                mass_g=14_200.0,
                wall_mm=5.0,
                area_m2=0.34,
                owner="on loan to the Saltgate Rooms (invented)" if n == 1 else "",
                master=master.id,
                cast_on=FIRST_DAY + timedelta(days=30 * n),
            ),
        )
        _read_by_instrument(studio, cast.row.id, "back", colour, (0.7, 0.3, 0.4), 0.9)


def _job(studio: Studio) -> str:
    """One finished job: mixed from the shelf, put on cast 1/9, and recorded. Id of its pot."""
    recipe = finishes.recipe_sheet(studio, "Torch sulphide brown")
    mixed = mixing.mix(studio, recipe.id, area="0.34 m2")
    lot = next(row for row in shelf.list_lots(studio) if row.substance_key == "liver_of_sulphur")
    pot = mixed.solutions[0]
    batch = batches.mix_batch(
        studio,
        NewBatch(
            recipe=recipe.id,
            revision=recipe.revision,
            solution=pot.name,
            volume_ml=pot.volume_ml,
            weighed=tuple(Weighed(w.key, w.amount, w.rounded, w.unit, lot.id) for w in pot.weigh),
            water="distilled",
            ph=11.2,
            temperature_c=40.0,
            made_by=WHO,
            purpose="work",
        ),
    )
    exposure.add_exposure(
        studio,
        NewExposure(
            person=WHO,
            minutes=55.0,
            shift="morning",
            batch=batch.id,
            task="torch and brush",
            extraction="hood over the turntable",
            flow_m3_h=1800.0,
            respirator="half mask, ABEK1 P3",
        ),
    )
    first = next(row for row in casts.list_casts(studio) if row.number == "1/9")
    casts.add_treatment(
        studio,
        NewTreatment(
            cast=first.id,
            did="patinated",
            recipe=recipe.id,
            revision=recipe.revision,
            batch=batch.id,
            as_done=tuple(_as_done(step.do, step.passes, step.solution) for step in recipe.recipe.steps),
            area_m2=0.34,
            done_on=FIRST_DAY + timedelta(days=45),
            done_by=WHO,
            note="metal 85 to 95 °C by contact probe; last pass thin",
        ),
    )
    return batch.id


def _beside_the_cast(studio: Studio, pot: str) -> None:
    """A tile that was given the passes of a cast beside it, out of the same pot."""
    recipe = finishes.recipe_sheet(studio, "Torch sulphide brown")
    tile = tiles.start_tile(
        studio,
        NewTile(
            engraved="HM-13",
            alloy="C87300",
            preparation="glass bead 100-170 mesh, 3 bar; degreased",
            wall_mm=5.0,
            size="100 × 100 mm",
            recipe=recipe.id,
            revision=recipe.revision,
            batch=pot,
            as_done=tuple(_as_done(step.do, step.passes, step.solution) for step in recipe.recipe.steps),
            made_on=datetime.now(UTC).date(),
            made_by=WHO,
            wax_state="waxed",
            note="made beside cast 1/9, out of its pot",
        ),
    )
    _read_by_instrument(studio, tile.row.id, "middle", (24.4, 6.8, 9.5), (0.6, 0.3, 0.4), 0.8)
