"""The owner's sheet of a cast, what was handed to whom, and what goes over when a foundry changes."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.recipes.people_words import recipe_lines
from patina.bench.studio import Studio
from patina.errors import BadQuantity, Refused
from patina.records.access import safety as access_safety
from patina.records.access import withheld as access_withheld
from patina.records.people import handovers
from patina.records.recipes import recipes
from patina.records.studio.unit import unit
from patina.records.tables.ids import fetch
from patina.records.tables.pieces import CastTable, PieceTable
from patina.records.tables.recipe_json import recipe_from
from patina.sheets.access import WITHHELD, HandoverRow, OwnerCare, OwnerRecipe, OwnerSheet

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.chemistry.substances import Catalogue
    from patina.recipe import Recipe
    from patina.records.tables.first import RevisionTable
    from patina.safety.values import SafetySheet
    from patina.sheets import CastSheet, TreatmentRow
    from patina.sheets.history import SealSheet

# how much of a recipe the owner is shown
SHOWN = {
    "quantities": "full, where the studio does not withhold it",
    "steps": "substances and steps, without quantities",
    "nothing": "not shown; the studio keeps them with the record of this cast",
}
LONGEST_CARE = 20_000
OWNER_CAUTION = (
    "What stands here is how the finish was made and measured. Chemicals and heat are for people trained in them: "
    "whoever repairs this finish follows the safety data sheets and the rules of the place."
)


def owner_sheet(studio: Studio, cast: str, *, show: str = "steps", made_on: date | None = None) -> OwnerSheet:
    """All that the owner of a cast is given.

    show: "quantities" (a recipe that is withheld shows none all the same, unless it is open to the role "client" or
    to the owner by name), "steps" or "nothing". Safety notes by solution are always there. Raises NotFound,
    BadQuantity.
    """
    from patina.bench.matched.agreed import agreed_sheet
    from patina.bench.matched.matching import judge
    from patina.bench.pieces.casts import cast_sheet

    if show not in SHOWN:
        raise BadQuantity(f"'{show}' is no way to show a recipe.", f"Use one of: {', '.join(SHOWN)}.", field="show")
    sheet = cast_sheet(studio, cast)
    agreed = agreed_sheet(studio, sheet.row.master).master if sheet.row.master else None
    verdict = judge(studio, agreed.id, sheet.row.id) if agreed is not None and sheet.readings else None
    known = studio.catalogue()
    with studio.store.view() as session:
        row = fetch(session, CastTable, sheet.row.id)
        piece, used = session.get_one(PieceTable, row.piece_id), _used(sheet)
        held = access_withheld.withheld_from(session, sheet.row.owner, "client")
        shown = [_recipe(session, known, id, number, show, held) for id, number in used]
        care = handovers.care_of(session, row)
        hidden = {(r.id, r.revision) for r in shown if r.withheld}
    finish = shown[-1].finish if shown else ""
    return OwnerSheet(
        cast=_cast_for(sheet, hidden, show),
        title=piece.title,
        maker=piece.maker,
        edition=_edition(sheet.row.number, piece.edition),
        finish=agreed.name if agreed is not None and not finish else finish,
        agreed=agreed,
        verdict=verdict,
        recipes=tuple(shown),
        care=care,
        shown=SHOWN[show],
        studio=studio.setting("studio_name"),
        made_on=made_on or date.today(),
        caution=OWNER_CAUTION,
    )


def _used(sheet: CastSheet) -> list[tuple[str, int]]:
    used = [(t.recipe_id, t.revision) for t in sheet.treatments if t.recipe_id and t.revision]
    return [(id, number) for id, number in dict.fromkeys(used) if id is not None and number is not None]


def _edition(number: str, edition: int | None) -> str:
    return number if not edition or "/" in number else f"{number} of {edition}".strip()


def _recipe(
    session: Session, known: Catalogue, id: str, number: int, show: str, held: access_withheld.Withheld
) -> OwnerRecipe:
    from patina.bench.access import safety_seen

    row = recipes.find_recipe(session, id)
    frozen = recipes.find_revision(session, row, number)
    here = recipe_from(frozen.document)
    withheld = show != "quantities" or held.of(row.id, number) or access_safety.is_withheld(here)
    safety = _safety(safety_seen(session, known, frozen))
    if show == "nothing":
        return OwnerRecipe(id, WITHHELD, number, _open(frozen.finish), True, None, (), safety)
    recipe = _without(frozen) if withheld else here
    return OwnerRecipe(id, row.name, number, recipe.finish, withheld, recipe, recipe_lines(recipe, known), safety)


def _without(frozen: RevisionTable) -> Recipe:
    return recipe_from(access_withheld.masked(frozen.document))


def _open(text: str) -> str:
    return access_withheld.without_amounts(text)


def _safety(notes: SafetySheet) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """Classes and warnings by solution: no figure of how strong it is stands in them."""
    return tuple(
        (
            pot.name,
            pot.signal_word or "",
            (
                *(f"{c.h} {c.text}" for c in pot.classes if c.on_label),
                *(f"{s.class_code} {s.text}" for s in pot.supplemental),
                *(f"{u.class_code}: not decided" for u in pot.undecided),
            ),
        )
        for pot in notes.solutions
    )


def _cast_for(sheet: CastSheet, hidden: set[tuple[str, int]], show: str) -> CastSheet:
    from dataclasses import replace

    def shown(t: TreatmentRow) -> TreatmentRow:
        if (t.recipe_id, t.revision) not in hidden:
            return t
        recipe = WITHHELD if show == "nothing" else t.recipe
        done = () if show == "nothing" else tuple(_open(line) for line in t.as_done)
        return replace(t, did=_open(t.did), note=_open(t.note), as_done=done, recipe=recipe)

    treated = replace(sheet, treatments=tuple(shown(t) for t in sheet.treatments))
    return without_amounts(treated) if hidden else treated


def without_amounts(sheet: CastSheet) -> CastSheet:
    """A cast whose notes, and those of its readings and photographs, tell no amounts of a recipe."""
    from dataclasses import replace

    return replace(
        sheet,
        note=_open(sheet.note),
        treatments=tuple(replace(t, did=_open(t.did), note=_open(t.note)) for t in sheet.treatments),
        readings=tuple(replace(r, note=_open(r.note)) for r in sheet.readings),
        photographs=tuple(replace(p, note=_open(p.note)) for p in sheet.photographs),
    )


def seal_without_amounts(seal: SealSheet) -> SealSheet:
    """How a record was signed off, with words that tell no amounts of a recipe."""
    from dataclasses import replace

    added = tuple(replace(a, words=_open(a.words), why=_open(a.why)) for a in seal.amendments)
    return replace(seal, statement=_open(seal.statement), amendments=added)


def write_care(studio: Studio, cast: str, care: OwnerCare, *, by: str = "") -> OwnerCare:
    """What the owner of a cast is told from now on; an empty text or None leaves what stood there.

    Raises NotFound; BadQuantity for a text that is too long; Refused where nothing is said.
    """
    for field, said, most in (("care", care.care, LONGEST_CARE), ("wax", care.wax, 400), ("ask", care.ask, 400)):
        if len(said.strip()) > most:
            raise BadQuantity("The text is too long.", f"Write up to {most} characters.", field=field)
    with unit(studio.store, "write care", by=studio.who(by)) as work:
        row = fetch(work.session, CastTable, cast, "cast")
        before = handovers.care_of(work.session, row)
        now = OwnerCare(
            care.care.strip() or before.care,
            care.wax.strip() or before.wax,
            care.next_check or before.next_check,
            care.ask.strip() or before.ask,
        )
        if now == before:
            raise Refused("Nothing new was said of the care.", "Give the care, the wax, the next check or whom to ask.")
        handovers.write_care(work.session, row, now, by=work.by)
        work.commit()
    return now


def care_of(studio: Studio, cast: str) -> OwnerCare:
    """What the owner of a cast is told. Raises NotFound."""
    with studio.store.view() as session:
        return handovers.care_of(session, fetch(session, CastTable, cast, "cast"))


def print_owner_sheet(studio: Studio, cast: str, path: Path, *, show: str = "steps") -> tuple[Path, ...]:
    """The owner's sheet on paper (.pdf, .svg, .png) or as a page (.html). Raises NotFound, BadQuantity, Refused."""
    from patina.bench.paper.print_pictures import pictures
    from patina.bench.paper.printing import photographs_to_print
    from patina.bench.readings.showing import near_only, screen_colour
    from patina.reports.owner_sheet import owner_document
    from patina.reports.publish import publish

    sheet = owner_sheet(studio, cast, show=show)
    photographs = pictures(studio, photographs_to_print(sheet.cast.photographs, sheet.cast.readings))
    document = owner_document(sheet, colour_of=screen_colour, near_only=near_only, pictures=photographs)
    return publish(document, path)


def given(studio: Studio, *, record: str = "", to: str = "", out: bool = False) -> tuple[HandoverRow, ...]:
    """What was given to whom, newest first. out: loans and licences that have not ended."""
    with studio.store.view() as session:
        return handovers.handover_rows(session, record=record.strip().upper(), to=to.strip(), out=out)
