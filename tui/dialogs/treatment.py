"""Forms of a treatment: made from what each field says of itself, and kept as one goes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from textual import on
from textual.app import ComposeResult
from textual.widgets import Input

from patina.bench.treating import treat
from patina.bench.treating.treat_care import hand_on_care
from patina.bench.treating.treat_drafts import draft_of, drop_draft, keep_draft
from patina.bench.treating.treat_photographs import with_photograph
from patina.bench.treating.treat_words import list_terms, list_triggers
from patina.errors import Incomplete, PatinaError, Refused
from patina.language import shown
from patina.sheets.care_words import care_of_words, reason_ended, reason_taken_over
from patina.sheets.treatment_words import id_meanings
from tui import format as show
from tui.dialogs.form import Field, FieldInput, Form
from tui.screens.treatment_choices import CALLED
from tui.widgets.words import Static

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets.treatment import CareRow, TreatmentSheet, WrittenPart

KEPT = "✓ kept as you go"


class GoingForm(Form):
    """A form that keeps what stands in it whenever a field is left. keep: gets the field that was left and all
    fields, and says in a word what became of it; troubles are said beside the field and keep nothing of it.
    kept: what is said of that before anything was typed."""

    def __init__(
        self,
        heading: str,
        fields: Sequence[Field],
        submit: Callable[[Mapping[str, str]], Any],
        keep: Callable[[str, Mapping[str, str]], str],
        *,
        before: str = "",
        kept: str = "",
    ) -> None:
        super().__init__(heading, fields, submit, before=before)
        self._keep = keep
        self._kept = kept
        self._last = {f.key: f.value.strip() for f in fields}

    def body(self) -> ComposeResult:
        """The fields, and whether they are kept."""
        yield from super().body()
        yield Static(self._kept, id="kept", classes="field-hint", markup=False)

    @on(Input.Blurred)
    def _left(self, event: Input.Blurred) -> None:
        if isinstance(event.input, FieldInput):
            self.keep_field(event.input)

    def keep_field(self, field: FieldInput) -> None:
        """Keep one field, if it says something else than before."""
        key, value = field.field.key, field.meant
        if value == self._last[key] or self.app.screen is not self:  # put on record already, or left
            return
        said = self.query_one(f"#trouble-{key}", Static)
        try:
            words = self._keep(key, self.values)
        except PatinaError as trouble:
            first = trouble.troubles[0] if isinstance(trouble, Incomplete) else trouble
            said.update(f"▲ {first.what} {first.remedy}")
            said.add_class("-said")
            field.add_class("-wrong")
            self.query_one("#kept", Static).update("▲ This field is not kept yet.")
            return
        self._last[key] = value
        said.remove_class("-said")
        field.remove_class("-wrong")
        self.query_one("#kept", Static).update(words)

    def action_leave(self) -> None:
        """Leave; what stands in the field is kept first."""
        if isinstance(self.focused, FieldInput):
            self.keep_field(self.focused)
        super().action_leave()


def head_form(studio: Studio, sheet: TreatmentSheet) -> GoingForm:
    """The head of a treatment; every field goes on record as it is left. The answer is the sheet."""
    shown = treat.head_as_typed(sheet)
    fields = [
        Field(name, said.label, said.hint, shown[name])
        for name, said in treat.fields_of_head().items()
        if name != "cast"
    ]

    def keep(key: str, values: Mapping[str, str]) -> str:
        treat.change_head(studio, sheet.id, {key: values[key]})
        return f"{KEPT}: {key.replace('_', ' ')}"

    return GoingForm(
        f"{sheet.id} {sheet.record.head.name}",
        fields,
        lambda values: treat.change_head(studio, sheet.id, values),
        keep,
        kept="Each field goes on record when you leave it.",
    )


# What a treatment says of the object, which is as a rule what the last one said.
OF_THE_OBJECT = ("accession", "measurements", "marks", "made_when", "site", "owner", "legal_status", "alloy_known_by")


def begin_form(studio: Studio, cast: str, name: str) -> Form:
    """Begin a treatment of a cast. The answer is its sheet."""
    known = treat.fields_of_head()
    wanted = ("name", "accession", "purpose", "documenter", "started_on")
    first = {"documenter": studio.who(), "started_on": "today"}
    last = next(iter(treat.list_treatments(studio, cast=cast)), None)
    same = {} if last is None else treat.head_as_typed(treat.treatment_sheet(studio, last.id))
    same = {n: same[n] for n in OF_THE_OBJECT if same.get(n)}
    fields = [Field(n, known[n].label, known[n].hint, first.get(n) or same.get(n, "")) for n in wanted]
    before = "All else is written afterwards, section by section."
    if last is not None and same:
        before = f"What identifies the object stands there as in {last.id}. {before}"
    return Form(
        f"Begin a treatment of {name}",
        fields,
        lambda values: treat.begin_treatment(studio, {**same, **values, "cast": cast}),
        before=before,
    )


def part_fields(
    studio: Studio, kind: str, values: Mapping[str, str], sheet: TreatmentSheet, known: Sequence[str] = ()
) -> list[Field]:
    """The fields of a kind of part with what stands in them, and words to choose from. known: fields that are
    filled already, which stand last."""
    fields = [
        Field(
            name,
            f"{said.label}{' *' if said.needed else ''}",
            said.hint or said.unit,
            values.get(name, ""),
            *_offered(studio, said, sheet),
        )
        for name, said in treat.fields_of(kind).items()
    ]
    return sorted(fields, key=lambda field: field.key in known)


Offered = tuple[tuple[str, ...], tuple[tuple[str, str], ...], bool]


def _offered(studio: Studio, said: Any, sheet: TreatmentSheet) -> Offered:
    """Words to choose from, what they stand for, and whether several may be given."""
    many = said.how == "lines"
    if said.how == "term":
        known = {term.name: f"{term.group}: {term.note}" for term in list_terms()}
    elif said.how == "trigger":
        known = {trigger.name: trigger.note for trigger in list_triggers()}
    elif said.how == "id" and said.to == "lot":
        from patina.bench.shelves.shelf import list_lots

        known = {
            lot.id: f"{lot.substance} {lot.lot_number}, {show.plain(lot.left)} {lot.unit} left"
            for lot in list_lots(studio)
            if lot.left > 0
        }
    elif said.to:
        known = id_meanings(sheet, said.to)
    else:
        return tuple(said.choices), (), many
    return tuple(known), tuple(known.items()), many


# What a part has in common with the last of its kind, as a rule; nothing that is measured anew each time.
LIKE_LAST = {
    "patch": ("place", "tool", "area_cm2", "strength_unit", "map"),
    "bath-reading": ("bath", "volume_ml"),
    "image": ("light", "position", "in_frame"),
    "layer": ("area_m2",),
    "proposal": ("aim", "steps", "alternatives", "retreatability", "risks", "reference_appearance", "hours_low",
                 "hours_high", "visits", "cost"),
}  # fmt: skip


def _like_last(sheet: TreatmentSheet, kind: str) -> tuple[dict[str, str], str]:
    """What stands in a new part of a kind because it stood in the last, and what is said of that."""
    parts = [kept for k, kept in sheet.record.all_parts() if k.name == kind]
    versions = [p.number for p in sheet.record.proposals]
    newest = {"proposal": str(max(versions))} if kind == "action" and versions else {}
    if not parts or kind not in LIKE_LAST:
        return newest, ""
    last = max(parts, key=lambda kept: kept.at)
    typed = treat.part_as_typed(sheet, last.id)
    found = {name: typed[name] for name in LIKE_LAST[kind] if typed[name]}
    return found, f"Some of it stands here as in {last.id}." if found else ""


def _only_one(sheet: TreatmentSheet, kind: str) -> dict[str, str]:
    """What a part must belong to, where there is only one thing that it can be."""
    found: dict[str, str] = {}
    for name, said in treat.fields_of(kind).items():
        parts = [kept.id for k, kept in sheet.record.all_parts() if k.name == said.to]
        if said.needed and len(parts) == 1:
            found[name] = parts[0]
    return found


def write_form(studio: Studio, sheet: TreatmentSheet, kind: str, given: Mapping[str, str] | None = None) -> GoingForm:
    """Write a part. What is typed is kept as a draft until it is put on record. given: fields that are known
    already. The answer is the written part."""
    draft = draft_of(studio, sheet.id, kind)
    known = treat.fields_of(kind)
    who = studio.who() or sheet.record.head.documenter
    first = {"by": who, "on": "today", "seen_by": who, "seen_on": "today", "drafted_by": who}
    like, words = _like_last(sheet, kind)
    values = {**{k: v for k, v in first.items() if k in known}, **_only_one(sheet, kind), **like, **draft}
    values |= given or {}

    def keep(_key: str, typed: Mapping[str, str]) -> str:
        keep_draft(studio, sheet.id, kind, typed)
        return f"{KEPT} as a draft; Ctrl+S puts it on record"

    def write(typed: Mapping[str, str]) -> WrittenPart:
        written = treat.write_part(studio, sheet.id, kind, with_photograph(studio, sheet.id, kind, typed))
        drop_draft(studio, sheet.id, kind)
        return written

    before = "A draft was kept when this form was last left; it stands below." if draft else words
    return GoingForm(
        f"{sheet.id}: {'the zone that was drawn' if 'polygons' in (given or {}) else CALLED[kind]}",
        part_fields(studio, kind, values, sheet, tuple(given or ())),
        write,
        keep,
        before=before,
        kept="Kept as a draft as you go; Ctrl+S puts it on record.",
    )


def correct_form(studio: Studio, sheet: TreatmentSheet, part: str, given: Mapping[str, str] | None = None) -> Form:
    """Correct a part, with the reason. The answer is the part that stands in its place."""
    kind = next(k for k, kept in sheet.record.all_parts() if kept.id == part)
    values = {**treat.part_as_typed(sheet, part), **(given or {})}
    fields = [*part_fields(studio, kind.name, values, sheet), Field("why-corrected", "Reason *", "why it is corrected")]

    def write(typed: Mapping[str, str]) -> WrittenPart:
        said = dict(typed)
        reason = said.pop("why-corrected")
        return treat.correct_part(studio, part, said, reason)

    return Form(f"Correct {part}; what it was stays on record", fields, write)


def take_back_form(studio: Studio, part: str) -> Form:
    """Take a part back, with the reason. The answer is the sheet."""
    fields = [Field("reason", "Reason", "why it is taken back")]
    return Form(f"Take {part} back", fields, lambda typed: treat.withdraw_part(studio, part, typed["reason"]))


TAKE_OVER, END, LEAVE = "take over", "end", "leave"


def _what_becomes(row: CareRow, sheet: TreatmentSheet) -> tuple[tuple[str, str], ...]:
    """What each way means for a point of care, told beneath its field."""
    return (
        (TAKE_OVER, f"goes on in the schedule of {sheet.id}"),
        (END, "is looked at no more"),
        (LEAVE, f"goes on reminding: {row.status.why}"),
    )


def earlier_care_form(studio: Studio, sheet: TreatmentSheet, yes: str = "") -> Form:
    """Asks of each point of care of earlier treatments whether this one takes it over, ends it or leaves it. The
    answer is the sheet. yes: what the button does, where something else follows."""
    signed = sheet.record.signed_off is not None
    ways = (END, LEAVE) if signed else (TAKE_OVER, END, LEAVE)
    rows = {row.status.item.id: row for row in sheet.earlier_care}
    points = [
        Field(id, care_of_words(row), ", ".join(ways), LEAVE, ways, _what_becomes(row, sheet))
        for id, row in rows.items()
    ]
    more = [
        Field("why", "Why", "empty: the two treatments are named"),
        Field("by", "By", "name", studio.who() or sheet.record.head.documenter),
    ]

    def hand_on(values: Mapping[str, str]) -> TreatmentSheet:
        said = {id: values[id] or LEAVE for id in rows}
        if wrong := [Refused(f"'{way}' is none of the ways.", f"Choose one of: {', '.join(ways)}.", field=id)
                     for id, way in said.items() if way not in ways]:  # fmt: skip
            raise Incomplete(wrong)

        def reasons(way: str, words: Callable[[CareRow, TreatmentSheet], str]) -> dict[str, str]:
            return {id: values["why"] or shown(words(rows[id], sheet)) for id in rows if said[id] == way}

        taken, ended = reasons(TAKE_OVER, reason_taken_over), reasons(END, reason_ended)
        if not taken and not ended:
            return sheet
        return hand_on_care(studio, sheet.id, take_over=taken, end=ended, by=values["by"])

    before = f"These points still remind, though {sheet.id} came later. The earlier record is added to, not edited."
    if signed:
        before = f"{before} {sheet.id} is signed off, so nothing is taken over any more."
    return Form(f"Care of earlier treatments: {sheet.id}", [*points, *more], hand_on, before=before, yes=yes)
