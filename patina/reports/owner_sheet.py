"""What the owner of a cast is given: the finish, its readings, how it is cared for, when it is looked at again."""

from __future__ import annotations

from collections.abc import Sequence

from patina.reports import figures
from patina.reports.colour_words import (
    COLOUR_NOTE,
    ColourOf,
    NearOnly,
    Picture,
    always_exact,
    photographs,
    readings_table,
    swatch,
)
from patina.reports.document import (
    Block,
    Caution,
    Cell,
    Column,
    Document,
    Facts,
    Heading,
    Items,
    Paragraph,
    Signatures,
    Swatch,
    Swatches,
    Table,
    cells,
)
from patina.reports.finish_record import NOT_WRITTEN, agreed_swatch, fact, verdict_block
from patina.sheets.access import HandoverRow, OwnerRecipe, OwnerSheet, TransferSheet

CARE_CAUTION = (
    "Do not clean with household cleaners, metal polish or water under pressure: they take the finish off. Where a "
    "green powder or white bloom appears, touch nothing and ask."
)


def owner_document(
    sheet: OwnerSheet,
    *,
    colour_of: ColourOf,
    near_only: NearOnly = always_exact,
    pictures: Sequence[Picture] = (),
) -> Document:
    """The owner's sheet. Quantities that the sheet does not hold are said to be held by the studio."""
    row = sheet.cast.row
    blocks: list[Block] = [Swatches(_swatches(sheet, colour_of, near_only)), COLOUR_NOTE]
    if sheet.verdict is not None:
        blocks.append(verdict_block(sheet.verdict))
    blocks += [Heading("Care"), *_care(sheet)]
    if sheet.cast.treatments:
        blocks += [Heading("What was done"), _done(sheet)]
    if sheet.recipes:
        blocks.append(Heading("How the finish was made"))
        for recipe in sheet.recipes:
            blocks += _recipe(recipe)
    if sheet.cast.readings:
        blocks += [Heading("Readings"), *readings_table(sheet.cast.readings, colour_of)]
    if pictures:
        blocks += [Heading("Photographs"), *photographs(pictures)]
    blocks += [
        Caution(sheet.caution, level="caution") if sheet.caution else Caution(CARE_CAUTION, level="caution"),
        Signatures((("for the studio", "", ""), ("received by the owner", "", ""))),
    ]
    return Document(
        kind="Owner's sheet",
        title=sheet.title,
        subtitle=" · ".join(w for w in (sheet.maker, sheet.edition or row.number, sheet.finish) if w),
        record=row.id,
        made_on=sheet.made_on,
        facts=_facts(sheet),
        blocks=tuple(blocks),
        qr=(f"cast {row.id}", sheet.title, row.number, figures.day(sheet.made_on)),
        footer=", ".join(w for w in (sheet.studio, figures.day(sheet.made_on)) if w),
    )


def _facts(sheet: OwnerSheet) -> tuple[tuple[str, str], ...]:
    cast, row = sheet.cast, sheet.cast.row
    surface = "" if cast.area_m2 is None else figures.area(cast.area_m2)
    return (
        fact("number", row.number),
        fact("alloy", row.alloy),
        fact("cast on", figures.day(cast.cast_on)),
        fact("surface", surface),
        fact("owner", row.owner),
        fact("place", row.place),
        fact("next check", figures.day(sheet.care.next_check)),
        fact("recipes shown", sheet.shown),
    )


def _swatches(sheet: OwnerSheet, colour_of: ColourOf, near_only: NearOnly) -> tuple[Swatch, ...]:
    cast = sheet.cast
    tones = cast.readings[0].parts if cast.readings else ()
    mine = swatch("this cast", cast.row.lab, colour_of, tones=tones, near_only=near_only)
    return (mine,) if sheet.agreed is None else (agreed_swatch(sheet.agreed, colour_of, near_only), mine)


def _care(sheet: OwnerSheet) -> list[Block]:
    care = sheet.care
    blocks: list[Block] = [Paragraph(care.care or f"Care is {NOT_WRITTEN}: ask the studio.", size="large")]
    facts = (
        fact("on the finish", care.wax),
        fact("next check", figures.day(care.next_check)),
        fact("whom to ask", care.ask),
    )
    return [*blocks, Facts(facts, 3), Caution(CARE_CAUTION, level="mind")]


def _done(sheet: OwnerSheet) -> Block:
    columns = (Column("when", "24mm"), Column("what was done", "1fr"), Column("by", "34mm"))
    return Table(
        columns,
        tuple(
            (
                Cell(strong=figures.day(t.done_on) or "undated"),
                Cell(t.did, small=tuple(w for w in (t.zone, t.recipe, *t.as_done, t.note) if w)),
                Cell(t.done_by),
            )
            for t in sheet.cast.treatments
        ),
    )


def _recipe(recipe: OwnerRecipe) -> list[Block]:
    number = f", revision {recipe.revision}" if recipe.revision else ""
    blocks: list[Block] = [Heading(f"{recipe.name}{number}", 3)]
    if recipe.finish:
        blocks.append(Paragraph(recipe.finish))
    if recipe.lines:
        blocks.append(Items(recipe.lines))
    if recipe.withheld:
        blocks.append(Caution("Quantities are held by the studio; it keeps them with the record of this cast."))
    if recipe.safety:
        columns = (Column("solution", "44mm"), Column("signal word", "26mm"), Column("what it does", "1fr"))
        rows = tuple(
            (
                Cell(strong=name),
                Cell(word or _no_word(statements)),
                Cell(small=statements or ("no class follows from the data",)),
            )
            for name, word, statements in recipe.safety
        )
        blocks.append(Table(columns, rows, "What the solutions are, while they are wet and at the torch"))
    return blocks


def _no_word(statements: Sequence[str]) -> str:
    return "not decided" if any("not decided" in s for s in statements) else "none"


def transfer_document(sheet: TransferSheet, *, studio: str = "") -> Document:
    """What is out of the house and what would go over, for a change of foundry or an estate."""
    blocks: list[Block] = []
    for heading, given in (
        ("Tiles on loan", sheet.loans),
        ("Recipes licensed", sheet.licences),
        ("Files given", sheet.files),
    ):
        blocks += [Heading(heading), *_given(given)]
    tiles = (Column("tile"), Column("name", "1fr"), Column("held by", "1fr"), Column("where", "1fr"))
    held = tuple(cells(*row) for row in sheet.held)
    if held:
        blocks += [Heading("Agreed finishes and who holds their tiles"), Table(tiles, held)]
    columns = (Column("recipe"), Column("name", "1fr"), Column("quantities"))
    recipes = tuple(cells(id, name, "withheld" if withheld else "shown") for id, name, withheld in sheet.recipes)
    if recipes:
        blocks += [Heading("Recipes"), Table(columns, recipes)]
    blocks.append(Signatures((("handed over by", "", ""), ("received by", "", ""))))
    return Document(
        kind="Transfer list",
        title=sheet.to or "All that is out of the house",
        subtitle=studio,
        record="transfer list",
        made_on=sheet.made_on,
        facts=(("made on", figures.day(sheet.made_on)),),
        blocks=tuple(blocks),
        footer=", ".join(w for w in (studio, figures.day(sheet.made_on)) if w),
    )


def _given(rows: Sequence[HandoverRow]) -> tuple[Block, ...]:
    if not rows:
        return (Paragraph("Nothing."),)
    columns = (
        Column("record", "18mm"),
        Column("what", "1fr"),
        Column("to", "38mm"),
        Column("given", "24mm"),
        Column("back by", "24mm"),
    )
    return (
        Table(
            columns,
            tuple(
                (
                    Cell(strong=r.record),
                    Cell(r.what, small=tuple(w for w in (r.terms, r.file_name, *_hash(r), r.note) if w)),
                    Cell(r.to, small=(r.as_what,) if r.as_what else ()),
                    Cell(figures.day(r.given_on)),
                    Cell(figures.day(r.came_back) if r.came_back else figures.day(r.back_by) or "no date"),
                )
                for r in rows
            ),
        ),
    )


def _hash(row: HandoverRow) -> tuple[str, ...]:
    """The hash in two halves, since it has no place to break a line at."""
    return (f"SHA-256 {row.sha256[:32]}", row.sha256[32:]) if row.sha256 else ()
