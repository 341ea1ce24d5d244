"""The ways through the invented studio on which every screen and dialog is met, by keys."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

from screens_driver import Driver
from snapshot_photographs import photographs_anew
from snapshots import Picture, pictures, settled

from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.torch import work, work_forms
from patina.errors import Refused

RECIPE = "Torch sulphide brown"
PAUSE_S = 0.2  # longer than a search waits for the next letter


class Walk:
    """Somebody at the screens who takes a picture now and then. svgs: folder for drawings, or None.
    looks: 2 for both looks at each size, 1 for the dark at the small and the light at the large one."""

    def __init__(self, person: Driver, folder: Path, svgs: Path | None = None, looks: int = 2) -> None:
        self.person = person
        self.app: Any = person.app
        self.folder = folder
        self.svgs = svgs
        self.looks = looks
        self.taken: dict[str, dict[str, Picture]] = {}
        self.met: dict[str, str] = {}  # name of a picture: class of the screen on it

    async def snap(self, name: str) -> None:
        """Take the pictures of what is shown now."""
        assert name not in self.taken, name
        self.met[name] = type(self.app.screen).__name__
        self.taken[name] = await pictures(self.person, self.svgs, name, self.looks)

    async def on(self, name: str) -> Any:
        """Wait for a screen or dialog by the name of its class, and until it is at rest."""
        await self.person.until(lambda: type(self.app.screen).__name__ == name, 40)
        await settled(self.person, PAUSE_S)
        return self.app.screen

    async def to(self, key: str, place: str, record: str = "") -> None:
        """Go to a place, and to one of its records."""
        await self.person.press(key)
        await self.person.until(lambda: self.app.current_mode == place and not self.app.screen.is_modal)
        await settled(self.person, PAUSE_S)
        if record:
            self.app.open_record(record)
            await self.person.until(lambda: self.app.screen.record_list.chosen == record)
            await settled(self.person, PAUSE_S)

    async def press(self, *keys: str) -> None:
        """Press keys and wait until all is at rest."""
        await self.person.press(*keys)
        await settled(self.person, PAUSE_S)

    async def top(self, key: str) -> Any:
        """Press a key that opens something."""
        before = self.app.screen
        await self.person.press(key)
        await self.person.until(lambda: self.app.screen is not before, 40)
        await settled(self.person, PAUSE_S)
        return self.app.screen

    async def back_to(self, screen: Any) -> None:
        """Leave what stands on top of a screen."""
        for _ in range(6):
            if self.app.screen is screen:
                break
            await self.person.press("escape")
            await settled(self.person, PAUSE_S)
        assert self.app.screen is screen, self.app.screen

    async def peek(self, key: str, name: str) -> None:
        """Open something by a key, take its pictures, and leave it."""
        here = self.app.screen
        await self.top(key)
        await self.snap(name)
        await self.back_to(here)

    async def choose(self, key: str, option: str) -> Any:
        """Choose one option of a list that a key opens; options are named by their ids."""
        here = self.app.screen
        menu = await self.top(key)
        ids = [id for id, _ in menu.options]
        menu.query_one("#choices").highlighted = ids.index(option)
        await self.person.press("enter")
        await self.person.until(lambda: self.app.screen not in (menu, here), 40)
        await settled(self.person, PAUSE_S)
        return self.app.screen

    async def options(self, key: str, name: str, *options: str) -> None:
        """Take the pictures of a list of doings, and of what some of them open."""
        here = self.app.screen
        await self.peek(key, name)
        for option in options:
            await self.choose(key, option)
            await self.snap(f"{name}-{option}")
            await self.back_to(here)


async def in_finishes(walk: Walk) -> None:
    """Finishes: list, sheet, text, starters, safety page, release."""
    recipe = finishes.recipe_sheet(walk.app.studio, RECIPE).id
    await walk.to("1", "finishes", recipe)
    await walk.snap("finishes-sheet")
    await walk.press("escape")
    await walk.snap("finishes")
    await walk.press("slash", *"umber")
    await walk.snap("finishes-nothing-found")
    await walk.press("escape")
    await walk.to("1", "finishes", recipe)
    await walk.peek("question_mark", "help")
    await walk.peek("ctrl+p", "palette")
    await walk.peek("f2", "handbook-topic")
    for key, name in (
        ("n", "recipe-form"),
        ("t", "tile-form"),
        ("l", "revisions"),
        ("g", "go-to"),
        ("H", "past"),
        ("B", "archive"),
    ):
        await walk.peek(key, name)
    for key, name in (("f9", "settings"), ("f10", "people"), ("S", "sign-off"), ("W", "withhold"), ("i", "import")):
        await walk.peek(key, name)
    await walk.peek("E", "export")
    await walk.peek("K", "keep-safe")
    await walk.top("e")
    await walk.snap("recipe-text")
    await walk.person.write("?")
    await walk.press()
    await walk.snap("recipe-text-wrong")
    await walk.peek("f3", "old-words")
    await walk.peek("escape", "recipe-text-not-saved")


async def at_safety(walk: Walk) -> None:
    """The page that gives every reason, its air, its measured figures, its release; the handbook."""
    await walk.to("1", "finishes", finishes.recipe_sheet(walk.app.studio, RECIPE).id)
    await walk.top("s")
    await walk.snap("safety")
    await walk.press("down", "enter")
    await walk.snap("safety-unfolded")
    await walk.peek("k", "measured")
    await walk.peek("r", "release")
    await walk.peek("a", "air")
    await walk.back_to(walk.app.screen_stack[0])
    await walk.to("1", "finishes", finishes.recipe_sheet(walk.app.studio, "Hot ferric red-brown").id)
    page = await walk.top("s")
    await walk.snap("safety-not-released")
    await walk.peek("r", "release-form")
    assert walk.app.screen is page
    await walk.press("f2")
    await walk.on("Handbook")
    await walk.press("escape")
    await walk.snap("handbook-topics")


async def at_the_bench(walk: Walk) -> None:
    """Mixing, its forms and sheets, the pots, and plots of potency."""
    await walk.to("1", "finishes", finishes.recipe_sheet(walk.app.studio, RECIPE).id)
    await walk.press("m")
    await walk.person.until(lambda: walk.app.current_mode == "bench" and walk.app.screen.sheet is not None)
    await walk.snap("bench-form")
    await walk.person.write("1.8 m2")
    await walk.press("enter")
    await walk.snap("bench-mix")
    await walk.peek("f3", "area")
    await walk.peek("f7", "print-mix")
    await walk.press("escape")
    await walk.snap("bench")
    await walk.peek("k", "exposure-form")
    await walk.peek("ctrl+s", "keep-pot")
    await walk.press("v")
    await walk.press("enter")
    await walk.snap("pot-sheet")
    await walk.press("escape")
    await walk.snap("pots")
    await walk.peek("u", "use-pot")


async def among_tiles(walk: Walk) -> None:
    """The rack, its forms, its map, tiles side by side."""
    studio = walk.app.studio
    mottled = tiles.tile_sheet(studio, "HM-05").row.id
    await walk.to("3", "tiles", mottled)
    await walk.snap("tile-sheet")
    await walk.press("escape", "o")
    await walk.snap("tiles-by-lightness")
    await walk.press("o", "o", "o")
    await walk.options("x", "tile-more", "predict", "reproduce", "card", "fact", "hold", "due", "approve")
    for key, name in (("n", "new-tile"), ("e", "change-tile"), ("r", "reading-form"), ("l", "like-it"), ("i", "csv")):
        await walk.peek(key, name)
    for key, name in (("a", "agree"), ("P", "placard"), ("F", "shoot"), ("p", "print-tile"), ("A", "amend")):
        await walk.peek(key, name)
    await walk.peek("j", "judge")
    await walk.peek("c", "compare-form")
    await walk.peek("v", "rack-map")
    for engraved in ("HM-03", "HM-04", mottled):
        await walk.to("3", "tiles", tiles.tile_sheet(studio, engraved).row.id)
        await walk.press("escape", "space")
    await walk.peek("z", "side-by-side")
    await walk.press("space")
    await walk.top("c")
    await walk.snap("comparing")
    await walk.press("escape")


async def at_a_photograph(walk: Walk) -> None:
    """A photograph with its chart and areas, the reading, the picture alone; two of a day laid over each other."""
    await walk.to("3", "tiles", tiles.tile_sheet(walk.app.studio, "HM-03").row.id)
    await walk.top("f")
    await walk.snap("photographs")
    await walk.press("enter")
    photograph = await walk.on("Photograph")
    await walk.person.until_text("chart", 40)
    await settled(walk.person, PAUSE_S)
    await walk.snap("photograph")
    await walk.peek("t", "photograph-typed")
    await walk.peek("k", "chart-edition")
    await walk.press("k", "home", "down", "enter")
    await walk.press("c")
    await walk.snap("photograph-corrected")
    await walk.peek("l", "look")
    assert walk.app.screen is photograph
    await walk.top("enter")
    await walk.on("Reading")
    await walk.snap("reading")
    await walk.peek("enter", "keep-reading")


async def among_casts(walk: Walk) -> None:
    """Casts, pieces, agreed finishes, treatments; series, plots, owners, verdicts."""
    studio = walk.app.studio
    first = casts.list_casts(studio)[0].id
    await walk.to("4", "casts", first)
    await walk.snap("cast-sheet")
    await walk.press("escape")
    await walk.snap("casts")
    await walk.options("x", "cast-more", "predict", "reproduce", "causes", "fact", "approve", "page")
    await walk.options("h", "owner", "sheet", "care", "give", "loan", "given", "back", "list")
    for key, name in (("n", "new-cast"), ("e", "change-cast"), ("t", "cast-treated"), ("p", "print-cast")):
        await walk.peek(key, name)
    here = walk.app.screen
    await walk.top("z")
    await walk.snap("series")
    await walk.peek("y", "plots")
    await walk.back_to(here)
    await walk.press("v")
    await walk.snap("pieces")
    await walk.peek("n", "new-piece")
    await walk.press("v")
    await walk.snap("agreed-finishes")
    await walk.peek("n", "new-agreed-finish")
    await walk.options("x", "agreed-more", "agreed", "zone", "terms", "holder", "concede")
    await walk.press("v")
    await walk.snap("treatments")


async def a_treatment(walk: Walk) -> None:
    """A conservator's record, section by section, its forms and its map."""
    treatment = "CT1"
    await walk.to("4", "casts", treatment)
    await walk.top("w")
    screen = await walk.on("Treatment")
    from tui.screens.treatment_sections import SECTIONS

    for section in SECTIONS:
        screen.go_to(section)
        await walk.press()
        await walk.snap(f"treatment-{section.replace(' ', '-')}")
    screen.go_to("examination")
    await walk.press()
    for key, name in (("n", "treatment-write"), ("e", "treatment-correct"), ("c", "treatment-missing")):
        await walk.peek(key, name)
    await walk.top("m")
    if type(walk.app.screen).__name__ == "Choose":
        await walk.press("enter")
    await walk.on("TreatmentMap")
    await walk.snap("treatment-map")
    await walk.press("tab")
    await walk.snap("treatment-map-zone")


async def at_the_torch(walk: Walk) -> None:
    """The screen at the torch with its questions and answers."""
    studio = walk.app.studio
    first = next(row for row in casts.list_casts(studio) if row.number == "2/9")
    form = {"target": first.id, "recipe": RECIPE, "batch": "B1", "zones": "back 0.14 m2; wings 0.12 m2; base 0.08 m2"}
    form |= {"thermometer": "contact °C", "air": "19 °C", "humidity": "55 %", "tool": "brush"}
    sheet = work.start_work(studio, work_forms.work_form(form))
    steps = finishes.recipe_sheet(studio, RECIPE).recipe.steps
    work.move_to(studio, sheet.row.id, step=1 + next(n for n, s in enumerate(steps) if s.do == "apply"))
    await walk.to("2", "bench")
    await walk.peek("w", "which-work")
    await walk.choose("w", "new")
    await walk.snap("begin-work")
    await walk.back_to(walk.app.screen_stack[0])
    await walk.choose("w", sheet.row.id)
    await walk.on("Torch")
    await walk.snap("torch")
    await walk.press("t", *"91")
    await walk.snap("torch-typing")
    await walk.press("enter", "space")
    await walk.snap("torch-pass")
    for key, name in (("r", "torch-rinse"), ("h", "torch-heat"), ("l", "torch-log"), ("x", "torch-more")):
        await walk.peek(key, name)
    ids = [id for id, _ in (await walk.top("x")).options]
    await walk.press("escape")
    for id in ids:
        await walk.choose("x", id)
        await walk.snap(f"torch-more-{id}")
        await walk.back_to(walk.app.screen_stack[1])


async def at_the_shelf(walk: Walk) -> None:
    """Lots with their hazards, and the forms of the shelf."""
    await walk.to("5", "shelf")
    await walk.snap("shelf")
    await walk.press("enter")
    await walk.snap("lot-sheet")
    await walk.press("escape")
    for key, name in (("n", "new-lot"), ("t", "take"), ("k", "stock-take"), ("e", "change-lot"), ("p", "print-lot")):
        await walk.peek(key, name)


async def bringing_in(walk: Walk) -> None:
    """An old table brought in: questions, preview, what came."""
    path = walk.folder / "shelf list.csv"
    path.write_text(
        "Chemical,Qty,Lot no.,Opened,Remarks\nferric nitrate,500,FN-1,3/4/2019,lumps\n"
        "silver nitrate,2 oz,AG-1,25/4/2019,\ngreen salt,100,,,who knows\nTotal,600,,,\n",
        "utf-8",
    )
    await walk.to("5", "shelf")
    await walk.peek("ctrl+o", "bring-in")
    await walk.top("ctrl+o")
    await walk.press("enter")
    field = (await walk.on("AskPath")).query_one("#path-input")
    field.value = ""
    await walk.snap("ask-path")
    field.value = str(path)
    await walk.person.press("enter")
    await walk.on("Bringing")
    await walk.person.until_text("open", 40)
    await walk.press()
    await walk.snap("bringing")
    await walk.peek("a", "bringing-question")
    await walk.top("t")
    await walk.on("Came")
    await walk.snap("brought")


async def nothing_yet(walk: Walk) -> None:
    """An empty studio: the doors, and each place without anything in it."""
    await walk.on("Choose")
    await walk.snap("doors")
    await walk.press("escape")
    for key, place in (("1", "finishes"), ("2", "bench"), ("3", "tiles"), ("4", "casts"), ("5", "shelf")):
        await walk.to(key, place)
        await walk.snap(f"empty-{place}")
    walk.app._handle_exception(Refused("The folder is not empty.", "Name a new folder."))
    await walk.on("Trouble")
    await walk.snap("trouble")


WALKS: dict[str, Callable[[Walk], Awaitable[None]]] = {
    "finishes": in_finishes,
    "safety": at_safety,
    "bench": at_the_bench,
    "tiles": among_tiles,
    "photograph": at_a_photograph,
    "photographs": photographs_anew,
    "casts": among_casts,
    "treatment": a_treatment,
    "torch": at_the_torch,
    "shelf": at_the_shelf,
    "bringing": bringing_in,
    "empty": nothing_yet,
}
PLACES = ("finishes", "bench", "tiles", "casts", "shelf")
