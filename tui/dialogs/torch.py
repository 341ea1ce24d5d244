"""What the torch screen asks: beginning a work, heat, pots, leftovers, hours, the bill, the end."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.torch import work, work_forms
from patina.sheets import WorkSheet
from tui import format as show
from tui.dialogs.choose import Choose
from tui.dialogs.form import Field, Form
from tui.dialogs.message import Notes
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from tui.screens.base import Base
    from tui.screens.torch import Torch

NEW = "new"
THERMOMETERS = ("contact °C", "infrared 0.95 °C", "contact °F", "infrared 0.95 °F")


# -- beginning and taking up -------------------------------------------------------------------------


def begin(screen: Base, chosen: str, *, pot: bool) -> None:
    """Take up an open work, or begin one with the recipe or the pot (id) that is chosen on the Bench."""
    recipe, batch = chosen, ""
    if pot and chosen:
        recipe, batch = batches.batch_sheet(screen.studio, chosen).recipe_id, chosen
    open_works = work.list_works(screen.studio)
    if not open_works:
        _ask_new(screen, recipe, batch)
        return
    options = [
        (w.id, f"{w.id}  {w.target_name}: {w.recipe}, {show.times(w.passes, 'pass', 'passes')} done")
        for w in open_works
    ]
    options.append((NEW, "Begin another work"))

    def taken(id: str) -> None:
        if id == NEW:
            _ask_new(screen, recipe, batch)
        else:
            to_torch(screen, work.take_up(screen.studio, id))

    screen.ask(Choose("Which work?", options), taken)


def to_torch(screen: Base, sheet: WorkSheet) -> None:
    """Go to the torch screen."""
    from tui.screens.torch import Torch

    screen.app.push_screen(Torch(sheet))


def _ask_new(screen: Base, recipe: str, batch: str) -> None:
    if not recipe:
        screen.said("Choose a recipe or an open pot first.")
        return
    studio = screen.studio
    pieces = [f"{c.id} {c.piece} {c.number}".strip() for c in casts.list_casts(studio)]
    pieces += [f"{t.id} {t.engraved}" for t in tiles.list_tiles(studio, limit=200)]
    if not pieces:
        screen.said("There is no tile and no cast to work on yet: t on a recipe in Finishes (1) starts a tile.")
        return
    pots = [_pot_words(b) for b in batches.list_batches(studio) if b.recipe_id == recipe]
    chosen = next((p for p in pots if p.split()[0] == batch), pots[0] if len(pots) == 1 else "")
    fields = [
        Field("target", "Cast or tile", "C1 or T1", "", tuple(pieces)),
        Field("batch", "Pot", "B1, or empty", chosen, tuple(pots)),
        Field("zones", "Zones", "front 0.4 m2; back 0.3 m2; or empty for the whole"),
        Field("thermometer", "Metal read with", "contact °C", "contact °C", THERMOMETERS),
        Field("air", "Air", "20 °C"),
        Field("humidity", "Humidity", "55 %"),
        Field("tool", "Tool", "as the recipe says"),
        Field("done_by", "Who works", "", studio.who()),
        Field("place", "Place", "yard, booth 2"),
        Field("though_old", "Pot all the same", "why, where it is past its time or for tiles"),
        Field("note", "Note"),
    ]

    def keep(values: Mapping[str, str]) -> WorkSheet:
        target = values["target"].split()[0] if values["target"].split() else ""
        return work.start_work(studio, work_forms.work_form({**values, "target": target, "recipe": recipe}))

    name = f"Work by {finishes.recipe_sheet(studio, recipe).recipe.name}"
    form = Form(name, fields, keep, before=_taught(studio, recipe), yes="Begin")
    screen.ask(form, lambda sheet: to_torch(screen, sheet))


def _taught(studio: Studio, recipe: str) -> str:
    """What earlier works by the recipe used, with their spread."""
    from patina.bench.pots import outlook

    lines = outlook.learnt(studio, recipe)
    return " ".join(
        f"{line.solution}: {show.sentence(line.words)}"
        + ("" if line.texture is None else f" Plan and use agree at a texture of {show.number(line.texture, 2)}.")
        for line in lines
    )


def _pot_words(row: Any) -> str:
    return f"{row.id} {row.solution}, {show.volume(row.left_ml)} left"


# -- heat --------------------------------------------------------------------------------------------


def ask_heat(screen: Torch) -> None:
    """What a pass does to the metal, and what a tile's settings become on this wall."""
    from patina.bench.torch import heat

    sheet = screen.sheet
    step = sheet.here
    fields = [
        Field("wall", "Wall of this piece", "5 mm", "" if sheet.wall_mm is None else f"{sheet.wall_mm:g} mm"),
        Field("alloy", "Alloy", "C87300", sheet.alloy),
        Field("coverage", "On the metal, a pass", "40 mL/m2", _coverage(step.coverage_ml_m2)),
        Field("per_min", "Passes a minute", "1", "1"),
        Field("patch", "Worked at a time", "0.05 m2; empty: no torch power"),
        Field("flame_share", "Metal takes of flame", "20 %, from your own dry heating"),
        Field("tile_wall", "Wall of the tile", "3 mm; empty: no tile"),
        Field("tile_alloy", "Alloy of the tile", "as this piece"),
    ]

    def work_out(values: Mapping[str, str]) -> Prose:
        per_min = work_forms.plain_number(values["per_min"] or "1", "per_min")
        found = heat.pass_budget(
            sheet, wall=values["wall"], coverage=values["coverage"], per_min=per_min, alloy=values["alloy"]
        )
        prose = Prose().fact("a pass cools by", f"{show.number(found.drop_k)} K", "bold $primary")
        if found.most_ml_m2 is not None and step.window_c is not None:
            low, high = step.window_c
            prose.fact("the window bears", f"{found.most_ml_m2:.0f} mL/m² from {high:g} down to {low:g} °C", "bold")
            prose.fact("passes without", f"{show.number(found.passes_in_window or 0.0)} before the torch comes back")
        prose.fact("to hold it", f"{show.number(found.hold_kw_m2)} kW/m² into the metal")
        if values["patch"]:
            flame = heat.flame_kw(found, values["patch"], values["flame_share"])
            prose.fact("torch", f"{show.number(flame)} kW of flame on {values['patch']}")
        if found.share_s is not None:
            prose.fact("wall shares in", f"{show.number(found.share_s)} s")
        prose.gap().text(found.working, "$text-muted")
        if values["tile_wall"]:
            alloy = values["alloy"] or sheet.alloy
            swung = heat.tile_settings_on_cast(
                values["tile_wall"],
                values["tile_alloy"] or alloy,
                values["wall"] or f"{sheet.wall_mm} mm",
                alloy,
                values["coverage"] or _coverage(step.coverage_ml_m2),
            )
            prose.heading("From the tile to this wall").text(swung.words)
        return prose

    form = Form("Heat of a pass", fields, work_out, yes="Work out")
    screen.ask(form, lambda prose: screen.ask(Notes("Heat of a pass", prose), done))


def _coverage(ml_m2: float | None) -> str:
    return "" if ml_m2 is None else f"{ml_m2:g} mL/m2"


def done(_answer: Any) -> None:
    """Nothing is asked of what was only read."""
    return


def written(screen: Torch) -> Callable[[Any], None]:
    """What is done with the answer of a form: the work as it is on disk now."""

    def then(sheet: WorkSheet) -> None:
        screen.show(sheet)
        from tui.screens.torch_words import event_line

        screen.answer(f"On disk  {event_line(sheet.events[-1])}")

    return then


# -- the log and the rest ----------------------------------------------------------------------------


def show_log(screen: Torch) -> None:
    """All that happened, the temperatures, planned against used."""
    from patina.bench.pots import outlook
    from patina.bench.torch import heat
    from tui.screens.torch_words import log_words

    readings = heat.temperature_log(screen.studio, screen.which)
    uses = outlook.use_lines(screen.sheet)
    screen.ask(Notes("Log of the work", log_words(screen.sheet, readings, uses)), done)


def ask_more(screen: Torch) -> None:
    """What is seldom needed with wet gloves on."""
    deeds: dict[str, tuple[str, Callable[[Torch], None]]] = {
        "pot": ("Work from another pot", _ask_pot),
        "strip": ("Strip check of the pot: seconds to brown", _ask_strip),
        "waste": ("Leftovers or rinse water into a drum", _ask_waste),
        "hours": ("Hours of another task", _ask_hours),
        "exposure": ("Exposure: how long, with which mask", _ask_exposure),
        "safety": ("Safety notes in full", _show_safety),
        "bill": ("Write hours and materials as CSV", _ask_bill),
        "end": ("End the work", _ask_end),
    }
    options = [(id, label) for id, (label, _) in deeds.items()]
    screen.ask(Choose("More", options), lambda id: deeds[id][1](screen))


def _ask_pot(screen: Torch) -> None:
    recipe = screen.sheet.row.recipe_id
    pots = tuple(_pot_words(b) for b in batches.list_batches(screen.studio) if b.recipe_id == recipe)
    fields = [
        Field("batch", "Pot", "B1", pots[0] if pots else "", pots),
        Field("though_old", "All the same", "why, where it is past its time or for tiles"),
    ]

    def keep(values: Mapping[str, str]) -> WorkSheet:
        named = values["batch"].split()[0] if values["batch"].split() else ""
        return work.use_pot(screen.studio, screen.which, named, though_old=values["though_old"], seen=screen.sheet.seq)

    screen.ask(Form("Work from another pot", fields, keep), written(screen))


def _pot_or_say(screen: Torch) -> str | None:
    if screen.sheet.pot is None:
        screen.answer("No pot is named for this step.", bad=True)
        return None
    return screen.sheet.pot.batch


def _ask_strip(screen: Torch) -> None:
    from patina.bench.pots import waste

    batch = _pot_or_say(screen)
    if batch is None:
        return
    fields = [Field("seconds", "Seconds to brown", "12"), Field("temperature", "Pot", "20 °C"), Field("note", "Note")]

    def keep(values: Mapping[str, str]) -> Any:
        from patina.bench.torch.work_forms import plain_number, temperature

        warm = temperature(values["temperature"], "temperature") if values["temperature"] else None
        seconds = plain_number(values["seconds"] or "", "seconds")
        return waste.strip_check(screen.studio, batch, seconds, temperature_c=warm, note=values["note"])

    def told(sheet: Any) -> None:
        prose = Prose().text(sheet.advice.capitalize(), "bold $primary").text(sheet.why)
        if sheet.doubling_h is not None:
            prose.fact("seconds double in", show.hours(sheet.doubling_h))
        prose.heading("Checks").bullets(f"{show.hours(c[0])} old: {c[1]:g} s" for c in sheet.checks)
        screen.ask(Notes(f"How strong {batch} is", prose), done)

    screen.ask(Form(f"Strip check of {batch}", fields, keep), told)


def _ask_exposure(screen: Torch) -> None:
    from patina.bench.torch.exposure_of_work import exposure_of_work
    from tui.dialogs.exposure import exposure_form

    form = exposure_form(screen.studio, exposure_of_work(screen.studio, screen.which))
    screen.ask(form, lambda row: screen.answer(f"{row.id}: {row.person}, {row.minutes:g} min. On record."))


def _ask_waste(screen: Torch) -> None:
    from tui.dialogs.waste import ask_into_drum

    batch = screen.sheet.pot.batch if screen.sheet.pot else ""
    ask_into_drum(screen, batch, screen.which, lambda: screen.show(work.work_sheet(screen.studio, screen.which)))


def _ask_hours(screen: Torch) -> None:
    from patina.bench.torch import after

    fields = [Field("task", "Task", "chasing"), Field("hours", "Hours", "1.5 h, or 40 min")]

    def keep(values: Mapping[str, str]) -> WorkSheet:
        hours = work_forms.duration(values["hours"], "hours")
        return after.add_hours(screen.studio, screen.which, values["task"], hours, seen=screen.sheet.seq)

    screen.ask(Form("Hours", fields, keep), written(screen))


def _show_safety(screen: Torch) -> None:
    from tui.screens.safety_words import safety_full

    if screen.safety is not None:
        screen.ask(Notes("Safety notes", safety_full(screen.safety)), done)


def _ask_bill(screen: Torch) -> None:
    from patina.bench.torch import after
    from tui.dialogs.path import AskPath

    folder = Path(screen.studio.where) if Path(screen.studio.where).is_dir() else Path.cwd()
    name = f"{screen.which}-hours-and-materials.csv"
    dialog = AskPath("Write hours and materials", (".csv",), value=str(folder / name), must_exist=False)
    screen.ask(
        dialog,
        lambda path: screen.answer(f"Written: {after.write_bill(screen.studio, Path(path), (screen.which,))}"),
    )


def _ask_end(screen: Torch) -> None:
    options = [
        ("no", "Go on working"),
        ("yes", f"End {screen.which} and put it on record of {screen.sheet.row.target_name}"),
    ]

    def answered(id: str) -> None:
        if id == "yes" and screen.write(lambda: work.end_work(screen.studio, screen.which, seen=screen.sheet.seq)):
            screen.dismiss(None)

    screen.ask(Choose("Is the work done?", options), answered)
