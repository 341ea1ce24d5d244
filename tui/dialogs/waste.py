"""Waste drums: what stands in each, what is put in, and that one was fetched."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from patina.bench.pots import waste
from tui import format as show
from tui.dialogs.choose import Choose
from tui.dialogs.form import Field, Form
from tui.dialogs.message import Notes
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.sheets import DrumRow
    from tui.screens.base import Base

_INTO, _READ, _FETCHED = "into", "read", "fetched"


def ask_drums(screen: Base) -> None:
    """Which drum, or something into one."""
    rows = {f"drum {n}": row for n, row in enumerate(waste.list_drums(screen.studio))}
    options = [(_INTO, "Put something into a drum"), *((key, _line(row)) for key, row in rows.items())]

    def taken(key: str) -> None:
        if key == _INTO:
            ask_into_drum(screen)
        elif not rows[key].contents:
            screen.ask(Notes(f"Drum {rows[key].drum}", drum_words(rows[key])), _nothing)
        else:
            _ask_of_drum(screen, rows[key])

    screen.ask(Choose("Waste drums", options), taken)


def _line(row: DrumRow) -> str:
    held = [
        w
        for w, there in ((show.volume(row.volume_ml), row.volume_ml), (show.amount(row.mass_g, "g"), row.mass_g))
        if there
    ]
    return f"{row.drum}: {' and '.join(held) or 'empty'}"


def _ask_of_drum(screen: Base, row: DrumRow) -> None:
    def taken(key: str) -> None:
        if key == _READ:
            screen.ask(Notes(f"Drum {row.drum}", drum_words(row)), _nothing)
        else:
            _ask_fetched(screen, row)

    options = [(_READ, "What is in it, and what must never join it"), (_FETCHED, "It was fetched")]
    screen.ask(Choose(f"Drum {row.drum}", options), taken)


def _ask_fetched(screen: Base, row: DrumRow) -> None:
    fields = [Field("note", "Who fetched it", "carrier, number of its paper")]

    def keep(values: Mapping[str, str]) -> Any:
        return waste.empty_drum(screen.studio, row.drum, values["note"])

    screen.ask(Form(f"Drum {row.drum} was fetched", fields, keep), lambda _row: screen.said("On record: it is empty."))


def ask_into_drum(
    screen: Base, batch: str = "", work: str | None = None, then: Callable[[], None] | None = None
) -> None:
    """Put leftovers or rinse water into a drum. batch: of the pot it comes from; work: id of the work it belongs to;
    then: is called once it is on record."""
    drums = tuple(row.drum for row in waste.list_drums(screen.studio))
    fields = [
        Field("drum", "Drum", "sulphide waste", "", drums),
        Field("what", "What", "left over"),
        Field("amount", "How much", "120 mL"),
        Field("batch", "Out of the pot", "B1, or empty", batch),
        Field("substances", "Or what is in it", "copper nitrate; water"),
    ]

    def keep(values: Mapping[str, str]) -> Any:
        from patina.bench.forms import amount_and_unit

        amount, unit = amount_and_unit(values["amount"], "amount")
        named = tuple(s.strip() for s in values["substances"].split(";") if s.strip())
        return waste.log_waste(
            screen.studio,
            values["drum"],
            values["what"],
            amount,
            unit,
            batch=values["batch"] or None,
            work=work,
            substances=named,
        )

    def told(row: DrumRow) -> None:
        if then is not None:
            then()
        screen.ask(Notes(f"Drum {row.drum}", drum_words(row)), _nothing)

    screen.ask(Form("Into a drum", fields, keep), told)


def drum_words(row: DrumRow) -> Prose:
    """What is in a drum, what must never join it, when it was fetched before."""
    prose = Prose().bullets(row.contents)
    if not row.contents:
        prose.text("Nothing is in it.")
    if row.never_with:
        prose.heading("Must never join it").bullets(row.never_with, "▲")
    if row.fetched:
        prose.heading("Fetched before").bullets(row.fetched)
    return prose.gap().text("Where it goes is said by the local rules and the carrier.", "$text-muted")


def _nothing(_answer: Any) -> None:
    return
