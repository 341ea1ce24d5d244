"""Where the photographs lie, and taking them to another folder or store: first what it would do, then the copying."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from tui import format as show
from tui.dialogs.base import Dialog
from tui.dialogs.bringing import Bringing
from tui.dialogs.form import Field, Form
from tui.dialogs.message import Notes
from tui.widgets.prose import Prose, ProseView

if TYPE_CHECKING:
    from patina.bench.photo_places import MovePlan
    from tui.screens.base import Base

_MISSING_SHOWN = 8


class Move(Dialog[bool]):
    """What moving would do. The answer is True where it is to be done."""

    HEADING = "Take the photographs elsewhere"
    YES = "Copy them (Enter)"

    def __init__(self, plan: MovePlan) -> None:
        super().__init__()
        self.plan = plan
        if not plan.possible:
            self.YES = ""

    def body(self) -> ComposeResult:
        """Both places, what is to be copied, what stands in the way."""
        with VerticalScroll(id="dialog-body", can_focus=False):
            yield ProseView(plan_words(self.plan), id="plan-words")

    def agreed(self) -> None:
        """Copy them."""
        self.dismiss(True)


def plan_words(plan: MovePlan) -> Prose:
    """What moving would do, before anything is copied."""
    prose = Prose().fact("now in", plan.before).fact("then in", plan.place)
    prose.fact("photographs", f"{plan.photographs}, {show.size(plan.size_bytes)}")
    prose.fact("there already", str(plan.there)).fact("to be copied", str(plan.photographs - plan.there))
    prose.fact("free there", "a store does not say" if plan.free_bytes is None else show.size(plan.free_bytes))
    if plan.place == plan.before:
        return prose.gap().caution("They lie there already.", "Name another place.")
    for caution in plan.cautions:
        prose.caution(caution)
    if plan.missing:
        prose.caution(
            f"{show.times(len(plan.missing), 'photograph')} cannot be copied: gone or not whole.",
            "Prove the studio (K) and put them back from a backup first; nothing is copied before.",
            grave=True,
        )
        return prose.bullets(f"{sha256[:12]} …" for sha256 in plan.missing[:_MISSING_SHOWN])
    return prose.gap().text(
        "Each is proved at the new place before the studio looks there. What lies at the old place stays there until "
        "you delete it. Stopping midway leaves the studio with the old place."
    )


def ask_place(screen: Base) -> None:
    """Say where the photographs lie and ask for another place."""
    from patina.bench.photo_places import where_photographs_are

    screen.work(
        "Looking for the photographs", lambda: where_photographs_are(screen.studio), lambda now: _ask(screen, now)
    )


def _ask(screen: Base, now: Mapping[str, Any]) -> None:
    def told(values: Mapping[str, str]) -> str:
        from patina.bench.photo_places import check_place

        check_place(screen.studio, values["place"])
        return values["place"]

    fields = [
        Field("place", "New place", "a folder's full path, or s3://bucket/prefix; empty: the studio's own folder")
    ]
    before = f"{show.times(now['photographs'], 'photograph')} in {now['where']}. You see what it would do first."
    screen.ask(Form("Where the photographs lie", fields, told, before=before), lambda place: _look(screen, place))


def _look(screen: Base, place: str) -> None:
    from patina.bench.photo_places import plan_move

    def seen(plan: MovePlan) -> None:
        screen.ask(Move(plan), lambda _yes: _copy(screen, place))

    work = Bringing(
        "Looking at both places",
        lambda told: plan_move(screen.studio, place, told),
        keeps=False,
        stopped="Stopped. Nothing was copied.",
    )
    screen.ask(work, seen)


def _copy(screen: Base, place: str) -> None:
    from patina.bench.photo_places import move_photographs

    def moved(came: dict[str, Any]) -> None:
        prose = Prose().fact("now in", came["where"]).fact("photographs", str(came["photographs"]))
        prose.fact("copied", f"{came['copied']}, each proved there")
        prose.gap().text(f"Those in {came['before']} were left there. Delete them when K has proved the studio.")
        screen.app.push_screen(Notes("The photographs lie there now", prose))

    work = Bringing(
        "Copying the photographs",
        lambda told: move_photographs(screen.studio, place, told),
        keeps=True,
        stopped="Stopped. The studio goes on with the old place; what was copied is not copied again.",
    )
    screen.ask(work, moved)
