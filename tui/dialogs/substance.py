"""A substance from its supplier's data sheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from tui.dialogs.form import Field, Form

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets import SubstanceSheet

FORMS = ("solid", "liquid", "solution", "gas", "paste")
BASES = ("supplier", "harmonised", "none", "unknown")
LABELS = (
    ("name", "1 Name", "as you will write it in recipes"),
    ("other_names", "  other names", "with ; between"),
    ("supplier", "  supplier", "who the sheet is from"),
    ("product", "  product", "as on the sheet"),
    ("date", "  sheet dated", "2026-03-14"),
    ("cas", "  CAS number", "1310-73-2"),
    ("basis", "2 Classified by", "supplier"),
    ("classes", "  classes", "Skin Corr. 1B H314; Acute Tox. 4 H302"),
    ("euh", "  EUH", "EUH031"),
    ("limits", "  own limits", "Skin Corr. 1B H314 from 5 % below 20 %"),
    ("ate", "  ATE", "oral 500 mg/kg"),
    ("m_acute", "  M acute", "10"),
    ("m_chronic", "  M chronic", "1"),
    ("formula", "3 Formula", "NaOH; empty for a mixture"),
    ("molar_mass", "  molar mass", "40.00 g/mol"),
    ("hydrate_of", "  hydrate of", "a substance of the catalogue"),
    ("assay", "  assay", "98 %"),
    ("form", "9 Form", "solid"),
    ("density", "  density", "1.2 g/mL"),
    ("solubility", "  solubility", "500 g/L, miscible or insoluble"),
    ("tags", "10 Reacts as", "acid; oxidiser … or none"),
    ("gives_off", "  gives off", "hydrogen sulphide: acid: any acid"),
    ("note", "Note", ""),
)
BEFORE = "The figures are the sheet's sections. What is left empty is unknown."


def substance_form(studio: Studio, sheet: SubstanceSheet | None = None) -> Form:
    """Add a substance, or renew one of the studio's own. The answer is its sheet."""
    from patina.bench.shelves import substances
    from patina.bench.shelves.substance_fields import fields_of

    old = {} if sheet is None else fields_of(sheet.substance, sheet.sheets[0] if sheet.sheets else None)
    choices = {"form": FORMS, "basis": BASES}
    fields = [Field(key, label, hint, old.get(key, ""), choices.get(key, ())) for key, label, hint in LABELS]
    renew = "" if sheet is None else sheet.substance.key
    heading = "A substance from its data sheet" if sheet is None else f"Renew {sheet.substance.name}"
    return Form(
        heading, fields, lambda values: substances.add_substance_fields(studio, values, renew=renew), before=BEFORE
    )


def check_form(studio: Studio, key: str) -> Form:
    """Check a substance against its supplier's newest data sheet: one of the studio's own is renewed with all its
    fields, one of the program's catalogue is compared. The answer is its sheet."""
    from patina.bench.shelves import substances

    sheet = substances.substance_sheet(studio, key)
    if sheet.own:
        return substance_form(studio, sheet)
    last = sheet.sheets[0] if sheet.sheets else None
    fields = [
        Field("supplier", "Supplier", "who the sheet is from", "" if last is None else last.supplier),
        Field("dated", "Sheet dated", "2026-03-14"),
        Field("note", "Found", "the classes are the same; or what differs"),
    ]
    told = "\n".join(sheet.statements) or "No hazard statement is on record."
    before = (
        f"On record here: {sheet.basis}\n{told}\nWhere the sheet says more, add the product as a substance of its own."
    )

    def keep(values: Mapping[str, str]) -> SubstanceSheet:
        return substances.sheet_checked(studio, key, values["dated"], values["supplier"], note=values["note"])

    return Form(f"{sheet.substance.name} against its data sheet", fields, keep, before=before)
