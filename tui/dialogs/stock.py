"""The forms of the shelf and of the pots: what comes in, what goes out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from patina.bench import forms
from patina.bench.finding.names import substance_names
from patina.bench.form_drafts import FormDraft
from patina.bench.pots import batches
from patina.bench.pots.pot_rules import PURPOSES
from patina.bench.recipes.releases import release_state
from patina.bench.shelves import shelf
from patina.entries import Weighed
from patina.errors import BadQuantity, Incomplete, PatinaError
from tui import format as show
from tui.dialogs.form import Field, Form
from tui.dialogs.offered import offered

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets import BatchSheet, LotRow, MixedSolution, MixSheet, WeighLine

WATERS = ("distilled", "deionised", "rain", "tap")


def _lot_fields(studio: Studio, value: Mapping[str, str]) -> list[Field]:
    def field(key: str, label: str, hint: str = "", choices: tuple[str, ...] = ()) -> Field:
        return Field(key, label, hint, value.get(key, ""), choices)

    return [
        field("substance", "Substance", "name or CAS number", substance_names(studio)),
        field("amount", "Amount", "500 g or 1 L"),
        field("assay", "Assay", "98 %, as the label says"),
        field("grade", "Grade", "technical, lump"),
        field("supplier", "Supplier"),
        field("lot_number", "Lot number", "as on the label"),
        field("opened_on", "Opened on", "2026-03-14 or today"),
        field("use_by", "Use by", "2027-03-14"),
        field("place", "Place", "acid cabinet"),
        field("price", "Price", "14.50"),
        field("currency", "Currency", "EUR"),
        field("note", "Note"),
    ]


def lot_form(studio: Studio) -> Form:
    """Put a lot on the shelf. The answer is its row."""
    draft = FormDraft(studio, "lot")
    return Form(
        "A lot",
        _lot_fields(studio, {}),
        lambda values: shelf.add_lot(studio, forms.lot_form(values)),
        draft=draft,
        remember=("supplier", "place"),
    )


def change_lot_form(studio: Studio, row: LotRow) -> Form:
    """Correct a lot. The answer is its row."""
    value = {
        "substance": row.substance,
        "amount": f"{row.amount!r} {row.unit}",
        "assay": "" if row.assay_pct is None else f"{row.assay_pct!r} %",
        "grade": row.grade,
        "supplier": row.supplier,
        "lot_number": row.lot_number,
        "opened_on": "" if row.opened_on is None else row.opened_on.isoformat(),
        "use_by": "" if row.use_by is None else row.use_by.isoformat(),
        "place": row.place,
        "price": "" if row.price is None else str(row.price),
        "currency": row.currency,
        "note": row.note,
    }

    def keep(values: Mapping[str, str]) -> LotRow:
        return shelf.change_lot(studio, row.id, forms.lot_form(values), row.version)

    return Form(f"Correct {row.id} {row.substance}", _lot_fields(studio, value), keep)


def take_form(studio: Studio, row: LotRow) -> Form:
    """Take from a lot. The answer is its row."""
    fields = [
        Field("amount", "Take", "12.5 g" if row.unit == "g" else "50 mL"),
        Field("why", "What for", "tile HM-13"),
    ]

    def keep(values: Mapping[str, str]) -> LotRow:
        amount, unit = forms.amount_and_unit(values["amount"])
        return shelf.take_from_lot(studio, row.id, amount, unit, values["why"])

    before = f"{show.amount(row.left, row.unit)} are left."
    return Form(f"Take from {row.id} {row.substance}", fields, keep, before=before)


def count_form(studio: Studio, row: LotRow) -> Form:
    """What a stock-take found in a lot. The answer is its row."""
    fields = [
        Field("amount", "Really left", "240 g" if row.unit == "g" else "300 mL; or 0"),
        Field("why", "Remark", "stock-take", "stock-take"),
    ]

    def keep(values: Mapping[str, str]) -> LotRow:
        if values["amount"].strip() == "0":
            return shelf.count_lot(studio, row.id, 0.0, row.unit, why=values["why"])
        amount, unit = forms.amount_and_unit(values["amount"])
        return shelf.count_lot(studio, row.id, amount, unit, why=values["why"])

    before = f"On record: {show.amount(row.left, row.unit)}."
    return Form(f"Count {row.id} {row.substance}", fields, keep, before=before)


def use_form(studio: Studio, sheet: BatchSheet) -> Form:
    """Use from an open pot, or put the rest to waste. The answer is its sheet."""
    fields = [
        Field("amount", "Used", "250 mL; or write: all to waste"),
        Field("why", "What for", "cast 1/9; or the waste drum"),
        Field("though_old", "Past its time?", "no", "no", ("no", "yes, tested on a tile")),
    ]

    def keep(values: Mapping[str, str]) -> BatchSheet:
        if values["amount"].casefold().startswith("all"):
            return batches.discard_batch(studio, sheet.id, values["why"])
        amount, unit = forms.amount_and_unit(values["amount"])
        if unit != "mL":
            raise BadQuantity(f"'{values['amount']}' is a weight.", "Give a volume: 250 mL.", field="amount")
        old = values["though_old"].casefold().startswith("y")
        return batches.use_from_batch(studio, sheet.id, amount, values["why"], though_old=old)

    before = f"{show.volume(sheet.left_ml)} are left; {show.time_left(sheet.use_until)}."
    return Form(f"Use from {sheet.id} {sheet.solution}", fields, keep, before=before)


def batch_form(studio: Studio, mix: MixSheet, pot: MixedSolution) -> Form:
    """Keep a pot as it was mixed. The answer is its sheet."""
    state = release_state(studio, mix.recipe_id or mix.recipe, mix.revision)
    fields: list[Field] = []
    for n, line in enumerate(pot.weigh):
        lots = [r for r in shelf.lots_of(studio, line.key) if r.substance_key == line.key and r.unit == line.unit]
        good = [r for r in lots if r.state != "expired" and r.left >= line.rounded]
        known = tuple((r.id, _lot_words(r)) for r in lots)
        weighed = f"{show.plain(line.rounded, 4)} {line.unit}"
        if line.missing:  # nobody has it yet, so nobody has weighed it
            fields.append(Field(f"weighed{n}", line.substance, f"{weighed} are missing on the shelf"))
        else:
            fields.append(Field(f"weighed{n}", line.substance, weighed, weighed))
        chosen = line.lot or "" if mix.from_shelf else good[0].id if good else ""
        fields.append(offered(f"lot{n}", "   from lot", "empty: not from the shelf", known, chosen))
    # what was released is the recipe's strength, no stronger one
    purpose = "work" if state.released and mix.strength <= 1 else "test tiles"
    fields += [
        Field("water", "Water", "distilled", WATERS[0], WATERS),
        Field("ph", "pH measured", "empty: not measured"),
        Field("temperature", "Temperature", "40 degC"),
        Field("made_by", "Mixed by", "", studio.who()),
        Field("purpose", "For", "work or test tiles", purpose, PURPOSES),
        Field("note", "Note", "", "; ".join(mix.deviations)),
    ]

    def keep(values: Mapping[str, str]) -> Any:
        return batches.mix_batch(studio, _batch_entry(mix, pot, values))

    heading = f"{pot.name}, {show.volume(pot.volume_ml)}: as really weighed"
    said = "Released." if state.released else "Not released: test tiles only."
    before = f"{said} What is taken from a lot leaves the shelf."
    return Form(heading, fields, keep, before=before)


def _lot_words(row: LotRow) -> str:
    """Which lot it is, how much is in it, and whether its time is over."""
    which = " ".join(w for w in (row.supplier, row.lot_number) if w)
    left = f"{show.amount(row.left, row.unit)} left"
    return ", ".join(w for w in (which, left, "expired" if row.state == "expired" else "") if w)


def _batch_entry(mix: MixSheet, pot: MixedSolution, values: Mapping[str, str]) -> Any:
    troubles: list[PatinaError] = []
    weighed = []
    for n, line in enumerate(pot.weigh):
        try:
            weighed.append(_weighed(line, values[f"weighed{n}"], values[f"lot{n}"], f"weighed{n}"))
        except PatinaError as trouble:
            troubles.append(trouble)
    common = {k: v for k, v in values.items() if not k.startswith(("weighed", "lot"))}
    named = {
        "recipe": mix.recipe_id or mix.recipe,
        "revision": str(mix.revision),
        "solution": pot.name,
        "volume": f"{pot.volume_ml!r} mL",
    }
    try:
        entry = forms.batch_form({**common, **named}, tuple(weighed))
    except Incomplete as more:
        raise Incomplete([*troubles, *more.troubles]) from None
    if troubles:
        raise Incomplete(troubles)
    return entry


def _weighed(line: WeighLine, text: str, lot: str, field: str) -> Weighed:
    if not text:
        raise BadQuantity(f"It is not said how much {line.substance} went in.", "Write it with its unit.", field=field)
    amount, unit = forms.amount_and_unit(text, field)
    if unit != line.unit:
        raise BadQuantity(
            f"{line.substance} is measured in {line.unit} here.", f"Write it in {line.unit}.", field=field
        )
    return Weighed(line.key, line.amount, amount, unit, lot or None)
