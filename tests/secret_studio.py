"""A studio with people and a recipe whose quantities are withheld, for the tests of who sees what."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from patina.bench import access, people
from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio
from patina.bench.torch import work
from patina.chemistry.strength import parse_strength
from patina.entries import (
    NewBatch,
    NewCast,
    NewLot,
    NewMaster,
    NewPiece,
    NewReading,
    NewTile,
    NewTreatment,
    NewWork,
    Weighed,
)
from patina.errors import Conflict
from patina.recipe import Ingredient, Recipe, Solution, Step

# figures that stand in no other place: of strengths, coverage, reserve, tools and notes, and what follows from them
SECRETS = ("7.31", "2.83", "43.7", "61.9", "93.75", "3.77", "0.619", "0.731")
MOMENT = re.compile(r"\d\d:\d\d:\d\d\.\d+")
HEAD, PATINEUR, ASSISTANT, CONSERVATOR, CLIENT = "Mara Holt", "Jon Brek", "Ada Brix", "Tom Reyes", "Ivo Lenz"
LOGINS = {HEAD: "mara", PATINEUR: "jon", ASSISTANT: "ada", CONSERVATOR: "tom", CLIENT: "ivo"}
ROLES = {HEAD: "head", PATINEUR: "patineur", ASSISTANT: "assistant", CONSERVATOR: "conservator", CLIENT: "client"}

SECRET = Recipe(
    name="House brown",
    finish="deep brown, satin",
    alloys=("C87300",),
    provenance="own tiles",
    solutions=(
        Solution("sulphide wash", "distilled_water", (Ingredient("liver_of_sulphur", parse_strength("7.31 g/L")),)),
        Solution("ferric", "distilled_water", (Ingredient("ferric_nitrate_9h2o", parse_strength("2.83 % w/v")),)),
    ),
    steps=(
        Step("prepare", note="glass bead; degrease with 93.75 mL of isopropanol"),
        Step(
            "apply",
            solution="sulphide wash",
            method="torch",
            tool="brush",
            passes=4,
            coverage_ml_per_m2=43.7,
            transfer=0.5,
            surface_temperature_c=(80.0, 95.0),
        ),
        Step("apply", solution="ferric", method="torch", tool="brush", passes=2, coverage_ml_per_m2=43.7),
        Step("wax", note="thin"),
    ),
    texture=1.1,
    reserve=0.619,
    dead_volume_ml=93.75,
)


def fill(studio: Studio, folder: Path, *, register: bool = True) -> None:
    """The recipe with a second revision, a tile with a reading, an agreed finish, a cast with a treatment; people."""
    finishes.save_recipe(studio, SECRET)
    changed = replace(SECRET, texture=1.2)
    finishes.revise_recipe(studio, "R1", changed, reason="raised from 3.77 to 7.31 g/L", based_on=1)
    done = ("sulphide wash at 7.31 g/L: 4 passes", "ferric 2.83 % w/v: 2 passes, metal 85 °C")
    tiles.start_tile(studio, NewTile("A1", "C87300", recipe="R1", revision=2, as_done=done, note="93.75 mL used"))
    tiles.add_reading(studio, "T1", NewReading(30, 5, 6))
    picture = folder / "tile.png"
    Image.new("RGB", (200, 160), (90, 60, 30)).save(picture)
    tiles.add_photograph(studio, "T1", picture, state="before wax")
    casts.add_piece(studio, NewPiece("Grey seal", maker="Iris Vane", edition=9))
    casts.agree_master(studio, NewMaster("client brown", (30, 5, 6), 2, tile="T1", recipe="R1"))
    casts.add_cast(studio, NewCast("W1", "3/9", "C87300", mass_g=96000, area_m2=0.8, owner="Vane estate", master="M1"))
    casts.add_treatment(
        studio, NewTreatment("C1", "patinated with 7.31 g/L", recipe="R1", revision=2, as_done=done, area_m2=0.8)
    )
    tiles.add_reading(studio, "C1", NewReading(31, 5, 6))
    shelf.add_lot(studio, NewLot("liver of sulphur", 500))
    weighed = (Weighed("liver of sulphur", 7.31, 7.31, "g", "L1"),)
    batches.mix_batch(studio, NewBatch("R1", 2, "sulphide wash", 1000, weighed))
    work.start_work(studio, NewWork("T1", "R1", zones=(("whole", 0.01),), batch="B1", done_by=PATINEUR))
    with pytest.raises(Conflict):
        finishes.revise_recipe(studio, "R1", replace(SECRET, reserve=0.3), reason="less kept back", based_on=1)
    if register:
        enlist(studio)
        studio.store.identity.name = HEAD
        access.withhold(studio, "R1", why="house recipe")


def enlist(studio: Studio) -> None:
    """Everybody with a login, the head first."""
    for name, role in ROLES.items():
        people.add_person(studio, name, role, login=LOGINS[name])
        studio.store.identity.name = HEAD


def leaks(text: str) -> list[str]:
    """The secret figures that stand in a text; the seconds of a moment may be any figure."""
    text = MOMENT.sub("", text)
    return [figure for figure in SECRETS if figure in text]
