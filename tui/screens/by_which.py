"""What a photograph is corrected by: its own chart, one of the studio's, another photograph's, or a card."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.readings.charts import EDITIONS, add_chart, list_charts
from patina.bench.readings.same_shoot import OfShoot, same_shoot
from tui import format as show

if TYPE_CHECKING:
    from tui.screens.framing import Framing

CARDS = {"step-card": "a row of grey steps", "white-card": "a plain white or grey card"}
NO_CHART = ("none", *CARDS)


@dataclass(frozen=True, slots=True)
class ByChart:
    """chart: "auto", "none", "white-card", "step-card", or the name of one of the studio's charts. card: what a
    card reflects. elsewhere: SHA-256 of another photograph that shows the chart, empty where it is in this one;
    name: of that photograph; corners: its points there, empty where they are found. flat: a photograph of plain
    card in the same place and light, by which the light is evened out."""

    chart: str = "auto"
    card: str = ""
    elsewhere: str = ""
    name: str = ""
    corners: str = ""
    flat: Path | None = None

    @property
    def is_card(self) -> bool:
        """Whether it is a card and no chart of colours."""
        return self.chart in CARDS

    @property
    def words(self) -> str:
        """In words, empty for the chart in this picture, which is found or placed."""
        if self.chart == "none":
            return "none is used"
        what = f"{CARDS[self.chart]}, {self.card}" if self.is_card else "the chart"
        if self.elsewhere:
            return f"{what} in {self.name}"
        return what if self.is_card else ""

    @property
    def found_words(self) -> str:
        """What is said when it was found."""
        if self.elsewhere:
            found = "stands by your points" if self.corners else "was found"
            return f"✓ The chart {found} in {self.name}: same camera, settings and light are taken for granted."
        if self.is_card:
            return "✓ The card was found; its corners are marked. It corrects grey and lightness alone."
        return "✓ The chart was found; its corner patches are marked 1, 6, 24, 19."


def ask_chart(screen: Framing, now: ByChart, then: Callable[[ByChart], None]) -> None:
    """Ask what the photograph is corrected by; then: told the answer."""
    from tui.dialogs.choose import Choose

    ours = [(f"our {c.name}", f"our chart '{c.name}' in this photograph") for c in list_charts(screen.studio)]
    options = [
        ("auto", "the 24-patch chart in this photograph"),
        *ours,
        ("elsewhere", "a chart in another photograph of the same shoot …"),
        ("own", "a chart of ours that is not listed: its name, edition and measured values …"),
        ("step-card", "a row of grey steps in this photograph …"),
        ("white-card", "a plain white or grey card in this photograph …"),
        ("none", "nothing: a rough figure only"),
        ("flat", "besides, a photograph of plain card in the same place and light, to even out the light …"),
    ]
    if now.flat is not None:
        options.append(("uneven", f"no longer {now.flat.name}: the light as it falls"))

    def taken(which: str) -> None:
        if which == "elsewhere":
            _ask_photograph(screen, now, then)
        elif which == "own":
            _ask_own(screen, now, then)
        elif which in CARDS:
            _ask_card(screen, which, now, then)
        elif which == "flat":
            _ask_flat(screen, now, then)
        elif which == "uneven":
            then(replace(now, flat=None))
        else:
            then(ByChart(which.removeprefix("our "), flat=now.flat))

    chosen = "elsewhere" if now.elsewhere else now.chart if now.chart in ("auto", *NO_CHART) else f"our {now.chart}"
    screen.ask(Choose("What is the photograph corrected by?", options, chosen=chosen), taken)


def _ask_photograph(screen: Framing, now: ByChart, then: Callable[[ByChart], None]) -> None:
    """The photographs of the same day, nearest in time first."""
    from tui.dialogs.choose import Choose

    def listed(found: tuple[OfShoot, ...]) -> None:
        if not found:
            screen.said("The studio holds no other photograph of that day. Give one to its tile first.")
            return
        names = {one.photograph.sha256: f"{one.photograph.name} of {one.target}" for one in found}
        chart = now.chart if now.chart not in NO_CHART else "auto"
        before = "It must have been taken with the same camera and settings in the same light."
        dialog = Choose(
            "Which photograph shows the chart?", [(o.photograph.sha256, _of_shoot(o)) for o in found], before=before
        )
        screen.ask(dialog, lambda sha256: then(ByChart(chart, elsewhere=sha256, name=names[sha256], flat=now.flat)))

    screen.work("Looking for the shoot", lambda: same_shoot(screen.studio, screen.sha256), listed, key="shoot")


def _of_shoot(one: OfShoot) -> str:
    when = "time not known" if one.apart_min is None else f"{show.number(one.apart_min, 0)} min apart"
    camera = "; another camera" if one.same_camera is False else ""
    return f"{one.target}  {one.photograph.name}  {when}{camera}"


def _ask_flat(screen: Framing, now: ByChart, then: Callable[[ByChart], None]) -> None:
    """A photograph of plain card."""
    from tui.dialogs.path import PHOTOGRAPHS, AskPath

    before = "Plain white or grey card that fills the frame: same camera, settings, place and light."
    screen.ask(
        AskPath("A photograph of plain card", PHOTOGRAPHS, before=before), lambda path: then(replace(now, flat=path))
    )


def _ask_card(screen: Framing, kind: str, now: ByChart, then: Callable[[ByChart], None]) -> None:
    from tui.dialogs.form import Field, Form

    def said(values: Mapping[str, str]) -> ByChart:
        from patina.bench.readings.reading import check_card

        check_card(kind, values["card"])
        return ByChart(kind, values["card"], flat=now.flat)

    hint = "90 %" if kind == "white-card" else "a CSV file with a row for each step: reflectance_pct"
    screen.ask(Form(f"By {CARDS[kind]}", [Field("card", "What it reflects", hint)], said), then)


def _ask_own(screen: Framing, now: ByChart, then: Callable[[ByChart], None]) -> None:
    from tui.dialogs.form import Field, Form

    def kept(values: Mapping[str, str]) -> ByChart:
        file = values["values"]
        own = add_chart(
            screen.studio,
            values["chart"],
            edition=values["edition"] or "unknown",
            values=Path(file).expanduser() if file else None,
        )
        return ByChart(own.name, flat=now.flat)

    fields = [
        Field("chart", "Name of the chart", "pocket 1"),
        Field("edition", "Edition", "printed on its back", "unknown", EDITIONS),
        Field("values", "Its measured values", "a CSV or CGATS file, empty for the published ones"),
    ]
    screen.ask(Form("A chart of ours", fields, kept), then)
