"""What the torch screen asks after the last pass: rinse waters, metal and air, release, coats."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from patina.bench.torch import finishing, work, work_forms
from tui.dialogs.choose import Choose
from tui.dialogs.form import Field, Form
from tui.dialogs.message import Notes
from tui.dialogs.torch import done, written
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.sheets import WorkSheet
    from tui.screens.torch import Torch


def ask_release(screen: Torch) -> None:
    """Water, air, release, coats: one after the other."""
    found = finishing.release_sheet(screen.studio, screen.which)
    missing = f"{len(found.missing)} readings missing" if found.missing else "all readings there"
    options = [
        ("rinse", "A rinse water, or the supply water"),
        ("air", "Metal, air and humidity"),
        ("release", f"Release before wax: {missing}"),
        ("coat", "A coat of wax or lacquer"),
    ]
    deeds: dict[str, Callable[[Torch], None]] = {
        "rinse": _ask_rinse,
        "air": _ask_air,
        "release": _decide,
        "coat": _ask_coat,
    }
    chosen = "rinse" if found.missing else "release"
    screen.ask(Choose("Rinse and release", options, chosen=chosen), lambda id: deeds[id](screen))


def _ask_rinse(screen: Torch) -> None:
    supply_known = any(e.kind == "rinse" and e.said["supply"] and not e.cancelled for e in screen.sheet.events)
    fields = [
        Field("what", "Which water", "", "rinse" if supply_known else "supply", ("rinse", "supply")),
        Field("conductivity", "Conductivity, µS/cm", "214"),
        Field("ph", "pH", "7.2"),
        Field("chloride", "Chloride, mg/L", "0 for a strip at its blank"),
    ]

    def keep(values: Mapping[str, str]) -> WorkSheet:
        found = work_forms.rinse_form(values)
        return finishing.add_rinse(screen.studio, screen.which, seen=screen.sheet.seq, **found)

    screen.ask(Form("Water", fields, keep), written(screen))


def _ask_air(screen: Torch) -> None:
    sheet = screen.sheet
    air = "" if sheet.air_c is None else f"{sheet.air_c:g} °C"
    humidity = "" if sheet.air_rh_pct is None else f"{sheet.air_rh_pct:g} %"
    fields = [
        Field("metal", "Metal", "24 °C"),
        Field("air", "Air", air or "20 °C"),
        Field("humidity", "Humidity", humidity or "60 %"),
    ]

    def keep(values: Mapping[str, str]) -> WorkSheet:
        found = work_forms.air_form(values)
        return finishing.add_air(screen.studio, screen.which, seen=sheet.seq, **found)

    screen.ask(Form("Metal and air at the piece", fields, keep), written(screen))


def _decide(screen: Torch) -> None:
    found = finishing.decide_release(screen.studio, screen.which, seen=screen.sheet.seq)
    screen.show(work.work_sheet(screen.studio, screen.which))
    prose = Prose()
    if found.given:
        prose.text(f"✓ {found.words}", "bold $text-success")
    else:
        prose.text("▲! Not released: no wax yet.", "bold $text-error")
    if found.missing:
        prose.heading("Readings missing").bullets(found.missing, "?")
    if found.against:
        prose.heading("Against it").bullets(found.against, "▲")
    prose.heading("It rests on").bullets(found.asked)
    if found.chloride_used:
        prose.gap().text("A solution of this recipe holds chloride: the strip must be read.", "$text-muted")
    screen.answer(found.words, bad=not found.given)
    screen.ask(Notes("Release before wax", prose), done)


def _ask_coat(screen: Torch) -> None:
    zones = tuple(z.name for z in screen.sheet.zones)
    fields = [
        Field("kind", "Wax or lacquer", "", "wax", finishing.COATS),
        Field("product", "Product", "as on the tin"),
        Field("mass", "Mass used", "12 g"),
        Field("lot", "Lot", "as on the tin"),
        Field("how", "How", "hot", "", ("hot", "warm", "cold")),
        Field("zone", "Zone", "", screen.sheet.zone, zones),
        Field("overruled", "Without release", "why it goes on all the same"),
    ]

    def keep(values: Mapping[str, str]) -> WorkSheet:
        coat = work_forms.coat_form(values)
        return finishing.add_coat(screen.studio, screen.which, coat, seen=screen.sheet.seq)

    screen.ask(Form("A coat", fields, keep), written(screen))
