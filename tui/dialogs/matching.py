"""Everything that can be done with a tile, a cast or an agreed finish besides measuring it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.matched import matching_forms
from patina.entries import APPROVAL_ANSWERS, APPROVAL_ROLES, HOLDING_ROLES, WAX_STATES
from patina.sheets.named import named
from tui.dialogs import offered
from tui.dialogs.choose import Choose
from tui.dialogs.form import Field, Form
from tui.dialogs.message import Notes

if TYPE_CHECKING:
    from patina.sheets.matching import HoldingRow
    from tui.screens.base import Base
    from tui.widgets.prose import Prose

_TILE = (
    ("map", "Map of the rack: tiles by their real colours"),
    ("predict", "What it becomes, cold and waxed; what it was when new"),
    ("reproduce", "Get this finish again: what was done, what is different now"),
    ("card", "From an old card to this colour: settings and tiles to make"),
    ("fact", "Write down how it was made: blast, rod, water, weather …"),
    ("hold", "Who holds it, and when it is read again"),
    ("due", "Tiles whose check has come"),
    ("approve", "Approval: write down who looked and what they said"),
)
_CAST = (
    ("series", "The edition as a series: charts, alarms, what changed"),
    ("predict", "What it becomes, cold and waxed; what it was when delivered"),
    ("reproduce", "Get this finish again: what was done, what is different now"),
    ("causes", "Why it came out otherwise than another"),
    ("fact", "Write down how it was made: blast, rod, water, weather …"),
    ("approve", "Approval: write down who looked and what they said"),
    ("page", "Approval: a page for the client, to print or send"),
)
_PIECE = (("series", "The edition as a series: charts, alarms, what changed"),)
_MASTER = (
    ("agreed", "The agreed finish in full: zones, holders, concessions, approvals"),
    ("zone", "Agree the colour of a zone, with its limit tiles"),
    ("terms", "Agree the aim, and the limit of tones"),
    ("holder", "Who holds one of its tiles"),
    ("concede", "Take a piece although it is outside"),
    ("due", "Tiles whose check has come"),
)
_BY_LETTER = {"T": _TILE, "C": _CAST, "W": _PIECE, "M": _MASTER}


def ask_more(screen: Base, id: str) -> None:
    """Offer what can be done with a record, and do it."""
    options = _BY_LETTER[id[:1]]
    screen.ask(Choose(f"With {_called(screen, id)}", options), lambda taken: DOINGS[taken](screen, id))


def _called(screen: Base, id: str) -> str:
    """A record with its name, where it is the one that is chosen on the screen."""
    return named(id, getattr(screen, "called", "") if getattr(screen, "standing_on", None) == id else "")


def _show_map(screen: Base, id: str) -> None:
    from tui.screens.rack_map import RackPlace

    screen.app.push_screen(RackPlace(id))


def show_series(screen: Base, id: str) -> None:
    """The series of a piece, or of the piece of a cast."""
    from tui.screens.series import Series

    screen.app.push_screen(Series(id))


def _notes(screen: Base, heading: str, prose: Prose) -> None:
    screen.app.push_screen(Notes(heading, prose))


def _tell(screen: Base, words: str, work: Callable[[], Any], heading: str, prose: Callable[[Any], Prose]) -> None:
    screen.work(words, work, lambda found: _notes(screen, heading, prose(found)))


def _predict(screen: Base, id: str) -> None:
    from patina.bench.matched.ageing import foretell
    from tui.screens.matching_words import prediction_words

    _tell(screen, "Working out", lambda: foretell(screen.studio, id), "What it becomes and was", prediction_words)


def _reproduce(screen: Base, id: str) -> None:
    from patina.bench.matched import reproduce as deeds
    from tui.screens.matching_words import plan_words

    fields = [
        Field("area", "Area", "1.8 m2; empty: no quantities"),
        offered.offered(
            "onto",
            "New piece",
            "id of the new cast or tile, if it is on record",
            (*offered.casts(screen.studio, id), *offered.tiles(screen.studio)),
        ),
        offered.offered("now", "Now otherwise", "blast=glass bead, new; hand=Jory", offered.circumstances(), many=True),
    ]

    def plan(values: Mapping[str, str]) -> Any:
        now = [part for part in values["now"].split(";") if part.strip()]
        return deeds.reproduce(
            screen.studio,
            id,
            area=values["area"] or None,
            onto=values["onto"] or None,
            now=deeds.parse_facts(now),
        )

    screen.ask(
        Form(
            f"Get the finish of {_called(screen, id)} again", fields, plan, yes="Work out", slow="Working out the plan"
        ),
        lambda found: _notes(screen, "Plan", plan_words(found)),
    )


def _causes(screen: Base, id: str) -> None:
    from patina.bench.matched import reproduce as deeds
    from tui.screens.matching_words import cause_words

    known = (*offered.casts(screen.studio, id), *offered.tiles(screen.studio))
    field = offered.offered("reference", "Reference", "id of an earlier cast, or of the tile", known)
    screen.ask(
        Form(
            f"Why is {_called(screen, id)} otherwise than",
            [field],
            lambda values: deeds.causes(screen.studio, id, values["reference"]),
            yes="Work out",
            slow="Looking for causes",
        ),
        lambda found: _notes(screen, "Likely causes", cause_words(found)),
    )


def _card(screen: Base, id: str) -> None:
    from patina.bench.matched.reconstruct import reconstruct
    from tui.screens.matching_words import reconstruction_words

    known = offered.tiles(screen.studio)
    fields = [
        Field("card", "The card says", "2 spoons medium, few coats, hot"),
        offered.offered("target", "Colour", "id of a tile or reading, or L,a,b", known, id),
        Field("chemical", "Chemical", "empty: not known"),
        offered.offered("tried", "Tried", "ids of tiles made for it: T7; T9", known, many=True),
        Field("volume", "In", "1 L: what a spoon of the card goes into; empty: not known"),
    ]

    def ask(values: Mapping[str, str]) -> Any:
        from patina.units import volume_ml

        tried = [part.strip() for part in values["tried"].split(";") if part.strip()]
        return reconstruct(
            screen.studio,
            values["card"],
            values["target"],
            chemical=values["chemical"],
            tried=tried,
            volume_ml=volume_ml(values["volume"], "volume") if values["volume"].strip() else None,
        )

    screen.ask(
        Form("From a card to a colour", fields, ask, yes="Work out", slow="Reading the card against your tiles"),
        lambda found: _notes(screen, "What it may have been", reconstruction_words(found)),
    )


def _fact(screen: Base, id: str) -> None:
    from patina.bench.matched.making import known_facts, note_facts

    known = known_facts(screen.studio, id)
    fields = [Field(key, words, "", known.get(key, "")) for key, words in matching_forms.fact_fields()]

    def keep(values: Mapping[str, str]) -> Any:
        said = matching_forms.facts_form(values)
        new = {key: value for key, value in said.items() if known.get(key) != value}
        return note_facts(screen.studio, id, new)

    screen.ask(Form(f"How {_called(screen, id)} was made", fields, keep), lambda _: _kept(screen, "Written down."))


def _kept(screen: Base, words: str) -> None:
    screen.said(words)


def _holding_form(screen: Base, tile: str, master: str) -> Form:
    from patina.bench.matched.agreed import hold_tile

    fields = [
        offered.offered(
            "tile", "Tile", "T1", offered.tiles(screen.studio), tile or offered.tile_of(screen.studio, master)
        ),
        Field("holder", "Held by", "who has it"),
        Field("role", "As", "master", "master", HOLDING_ROLES),
        offered.offered("master", "Agreed finish", "M1", offered.agreed(screen.studio), master),
        Field("kept", "A twin kept", "dark, shelf, outdoors", "", ("dark", "shelf", "outdoors")),
        Field("place", "Place"),
        Field("since", "Since", "2026-03-14 or today", "today"),
        Field("next_check", "Next check", "2027-03-14"),
        Field("note", "Note"),
    ]
    return Form("Who holds a tile", fields, lambda v: hold_tile(screen.studio, matching_forms.holding_form(v)))


def _held(screen: Base, row: HoldingRow) -> None:
    _kept(screen, f"{named(row.tile, row.engraved)} is held by {row.holder}.")


def _hold(screen: Base, id: str) -> None:
    screen.ask(
        _holding_form(screen, id, ""),
        lambda row: _held(screen, row),
    )


def _holder(screen: Base, id: str) -> None:
    screen.ask(
        _holding_form(screen, "", id),
        lambda row: _held(screen, row),
    )


def _due(screen: Base, id: str) -> None:
    from patina.bench.matched.agreed import checks_due
    from tui.screens.matching_words import holding_words
    from tui.widgets.prose import Prose

    def words(rows: Any) -> Prose:
        prose = Prose()
        for row in rows:
            holding_words(prose, row)
        return prose if rows else prose.text("No tile is due.")

    _tell(screen, "Looking", lambda: checks_due(screen.studio), "Tiles to be read again", words)


def show_agreed(screen: Base, id: str) -> None:
    """An agreed finish in full."""
    from patina.bench.matched.agreed import agreed_sheet
    from tui.screens.matching_words import agreed_words

    _tell(screen, "Reading", lambda: agreed_sheet(screen.studio, id), "Agreed finish", agreed_words)


def _zone(screen: Base, id: str) -> None:
    from patina.bench.matched.agreed import agree_zone

    known = offered.tiles(screen.studio)
    fields = [
        Field("zone", "Zone", "face"),
        offered.offered("readings", "From", "T1; D7: ids of tiles or readings", known, many=True),
        offered.offered("light", "Light limit", "id of its tile, or L,a,b", known),
        offered.offered("dark", "Dark limit", "id of its tile, or L,a,b", known),
        Field("fixed_u", "± that stays", "ΔE, 95 %; empty: that of the readings"),
    ]
    before = "An agreed zone never moves: look at the readings before you save."
    form = Form(
        f"A zone of {_called(screen, id)}",
        fields,
        lambda v: agree_zone(screen.studio, matching_forms.zone_form(v, id)),
        before=before,
    )
    screen.ask(form, lambda _: show_agreed(screen, id))


def _terms(screen: Base, id: str) -> None:
    from patina.bench.matched.agreed import agree_terms

    fields = [
        Field("aim", "To look", "as new", "as new", ("as new", "as today")),
        Field("limit_mottle", "Limit of tones", "ΔE00; empty: as the limit of ΔE"),
    ]

    def keep(values: Mapping[str, str]) -> Any:
        aim, limit = matching_forms.terms_form(values)
        return agree_terms(screen.studio, id, aim=aim, limit_mottle=limit)

    screen.ask(Form(f"Terms of {_called(screen, id)}", fields, keep), lambda _: show_agreed(screen, id))


def _concede(screen: Base, id: str) -> None:
    from patina.bench.matched.agreed import concede

    known = (*offered.casts(screen.studio), *offered.tiles(screen.studio))
    fields = [
        offered.offered("piece", "Piece", "id of the cast or tile", known),
        Field("reason", "Why", "what speaks for taking it"),
        Field("agreed_by", "Taken by", "who says so"),
        Field("agreed_on", "On", "2026-03-14 or today", "today"),
    ]
    before = "The agreed finish stays what it is; the piece stays outside it."
    form = Form(
        f"Take a piece outside {_called(screen, id)}",
        fields,
        lambda v: concede(screen.studio, matching_forms.concession_form(v, id)),
        before=before,
    )
    screen.ask(form, lambda _: show_agreed(screen, id))


def _approve(screen: Base, id: str) -> None:
    from patina.bench.paper.approving import record_approval

    fields = [
        Field("who", "Who looked"),
        Field("answer", "Answer", "approved", "", APPROVAL_ANSWERS),
        Field("role", "As", "client", "client", APPROVAL_ROLES),
        Field("light", "Light", "D65 booth, 1500 lx"),
        Field("place", "Place"),
        Field("state", "It was", "waxed", "", WAX_STATES),
        Field("seen", "Seen", "in hand", "in hand", ("in hand", "picture")),
        Field("remarks", "Remarks"),
        offered.offered(
            "master",
            "Agreed finish",
            "M1; empty: the one the cast names",
            offered.agreed(screen.studio),
            offered.agreed_for(screen.studio, id),
        ),
        Field("held_on", "On", "2026-03-14 or today", "today"),
    ]
    form = Form(
        f"Approval of {_called(screen, id)}",
        fields,
        lambda v: record_approval(screen.studio, matching_forms.approval_form(v, id)),
    )
    screen.ask(form, lambda row: _kept(screen, f"{row.id}: {row.answer}, {row.who}."))


def _page(screen: Base, id: str) -> None:
    from patina.bench.paper.approving import write_page

    fields = [
        Field("file", "File", "approval.html", str(Path.home() / f"approval-{id}.html")),
        Field("master", "Agreed finish", "M1; empty: the one the cast names"),
    ]

    def write(values: Mapping[str, str]) -> Path:
        path = Path(values["file"]).expanduser()
        return write_page(screen.studio, id, path, master=values["master"] or None)

    screen.ask(
        Form(f"A page for the client of {_called(screen, id)}", fields, write),
        lambda path: _kept(screen, f"Written to {path}."),
    )


DOINGS: dict[str, Callable[[Base, str], None]] = {
    "map": _show_map,
    "series": show_series,
    "predict": _predict,
    "reproduce": _reproduce,
    "causes": _causes,
    "card": _card,
    "fact": _fact,
    "hold": _hold,
    "holder": _holder,
    "due": _due,
    "agreed": show_agreed,
    "zone": _zone,
    "terms": _terms,
    "concede": _concede,
    "approve": _approve,
    "page": _page,
}
