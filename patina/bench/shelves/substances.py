"""Substances: added from a safety data sheet, shown with what is not known of them, asked to be checked again."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.studio import Studio
from patina.errors import BadQuantity, NotFound, Refused
from patina.records.shelves import sheets_read
from patina.records.studio.unit import unit
from patina.records.tables.substance_json import added_substances, put_substance
from patina.sheets.safety import SheetRow, SubstanceRow, SubstanceSheet

if TYPE_CHECKING:
    from patina.bench.shelves.substance_fields import NewSheet
    from patina.chemistry.substances import Substance

AGE_SETTING = "substance_data_years"
USUAL_AGE_YEARS = 3.0


def add_substance_file(studio: Studio, path: Path, *, by: str = "", renew: str = "") -> SubstanceSheet:
    """Add the substance of a file (see ``substance_file``); it can be used in recipes at once.

    renew: a substance of this studio whose data the file takes the place of; what it was stays in the log.
    Raises Refused naming lines and keys, UnknownSubstance.
    """
    from patina.bench.shelves.substance_file import read_substance

    replaces = _own_key(studio, renew)
    return _keep(studio, read_substance(Path(path), studio.catalogue(), date.today(), replaces=replaces), by)


def add_substance_fields(studio: Studio, fields: Mapping[str, str], *, by: str = "", renew: str = "") -> SubstanceSheet:
    """The same from the fields of a form. Raises Incomplete, each trouble with its field."""
    from patina.bench.shelves.substance_fields import substance_form

    replaces = _own_key(studio, renew)
    return _keep(studio, substance_form(fields, studio.catalogue(), date.today(), replaces=replaces), by)


def _own_key(studio: Studio, which: str) -> str:
    if not which:
        return ""
    substance = studio.catalogue().find(which)
    if substance.key not in _own_keys(studio):
        raise Refused(
            f"{substance.name} belongs to the program's catalogue and is not altered.",
            "Add the supplier's product under a name of its own.",
        )
    return substance.key


def _own_keys(studio: Studio) -> set[str]:
    with studio.store.view() as session:
        return {s.key for s in added_substances(session)}


def _keep(studio: Studio, new: NewSheet, by: str) -> SubstanceSheet:
    who = studio.who(by)
    with unit(studio.store, "add substance", by=who, why=new.substance.source) as work:
        put_substance(work.session, new.substance)
        sheets_read.add_sheet(
            work.session,
            new.substance.key,
            supplier=new.supplier,
            product=new.product,
            dated=new.dated,
            read_on=date.today(),
            by=who,
            note="",
        )
        work.commit()
    studio.forget()
    return substance_sheet(studio, new.substance.key)


def sheet_checked(
    studio: Studio, which: str, dated: str, supplier: str, *, product: str = "", note: str = "", by: str = ""
) -> SubstanceSheet:
    """Write down that the data of a substance were compared with a supplier's sheet of a date and still hold.

    dated: "2026-03-14". Raises UnknownSubstance, BadQuantity, and Refused without a supplier.
    """
    from patina.bench.shelves.substance_values import day

    substance = studio.catalogue().find(which)
    if not supplier.strip():
        raise Refused("It is not said whose data sheet it is.", "Name the supplier.", field="supplier")
    on = day(dated.strip(), date.today())
    who = studio.who(by)
    with unit(studio.store, "data sheet read", by=who, why=note.strip()) as work:
        sheets_read.add_sheet(
            work.session,
            substance.key,
            supplier=supplier.strip(),
            product=product.strip(),
            dated=on,
            read_on=date.today(),
            by=who,
            note=note.strip(),
        )
        work.commit()
    return substance_sheet(studio, substance.key)


def substance_sheet(studio: Studio, which: str) -> SubstanceSheet:
    """A substance of the studio's catalogue with what is not known of it. Raises UnknownSubstance."""
    from patina.bench.shelves.hazards import hazards_of

    known = studio.catalogue()
    substance = known.find(which)
    with studio.store.view() as session:
        own = substance.key in {s.key for s in added_substances(session)}
        sheets = sheets_read.sheets_read(session, date.today(), substance.key).get(substance.key, ())
    told = hazards_of(studio, substance.key)
    return SubstanceSheet(
        substance,
        own,
        told.statements,
        told.basis,
        sheets,
        missing_of(substance, sheets),
        _cautions(substance) if own else (),
    )


def missing_of(substance: Substance, sheets: tuple[SheetRow, ...] = ()) -> tuple[str, ...]:
    """What is not known of a substance, each with what hangs on it."""
    s = substance
    liquid = s.form in ("liquid", "solution")
    codes = [h.code for h in s.hazards]
    asked = (
        (s.hazard_basis == "unknown", "its hazards: a recipe with it cannot be released"),
        (s.cas is None, "CAS number"),
        (not s.formula, "formula: grams of gas and moles cannot be worked out"),
        (s.molar_mass_g_mol is None, "molar mass: strengths in mol/L cannot be weighed"),
        (liquid and s.density_g_ml is None, "density: strengths by volume cannot be weighed"),
        (liquid and s.assay_pct is None, "assay: how much of what it is named after is in it"),
        (s.solubility_g_per_l is None and not s.solubility_note, "solubility: too strong a solution is not noticed"),
        (
            any(c.startswith("Acute Tox.") for c in codes) and not s.ates,
            "acute toxicity estimates: the point of each category is taken instead",
        ),
        (
            any(c == "Aquatic Acute 1" for c in codes) and s.m_acute is None,
            "M-factor (acute): the bath's class for water life stays undecided",
        ),
        (
            any(c == "Aquatic Chronic 1" for c in codes) and s.m_chronic is None,
            "M-factor (chronic): the bath's class for water life stays undecided",
        ),
        (not s.tags, "what it is to a reaction: dangers with other substances are not seen"),
        (not s.gases and "water" not in s.tags, "what it gives off: not known, which is not nothing"),
        (not sheets, "a supplier's data sheet on record in this studio"),
    )
    return tuple(words for missing, words in asked if missing)


def _cautions(substance: Substance) -> tuple[str, ...]:
    from patina.safety.tag_offers import offered_tags

    said = []
    left = [t for t in offered_tags(substance.formula, [h.code for h in substance.hazards]) if t not in substance.tags]
    if left and substance.tags:
        said.append(f"By its formula or classes it would also be: {', '.join(left)}. Its tags do not say so.")
    corrosive = any(h.code.startswith("Skin Corr.") for h in substance.hazards)
    if corrosive and not substance.tags & {"acid", "strong acid", "acid salt", "base", "strong base"}:
        said.append("It is corrosive, and nobody has said whether it is an acid or a base.")
    return tuple(said)


def list_substances(studio: Studio, search: str = "") -> tuple[SubstanceRow, ...]:
    """Substances in order of name; search: every word must stand in names, formula or CAS number."""
    from patina.bench.shelves.shelf import signal_word

    known = studio.catalogue()
    found = known.search(search) if search.strip() else list(known.substances.values())
    own = _own_keys(studio)
    checks = {key: words for key, (words, _) in _stale(studio).items()}
    with studio.store.view() as session:
        sheets = sheets_read.sheets_read(session, date.today())
    return tuple(
        SubstanceRow(
            s.key,
            s.name,
            s.cas,
            s.key in own,
            s.hazard_basis,
            signal_word(s),
            s.source,
            sheets[s.key][0].dated if s.key in sheets else None,
            checks.get(s.key, ""),
        )
        for s in sorted(found, key=lambda s: s.name.casefold())
    )


def stale_substances(studio: Studio) -> tuple[SubstanceRow, ...]:
    """Substances whose data ask to be checked: added here or standing on the shelf, with a data sheet older than
    the studio's age (setting ``substance_data_years``, 3 years where none is set) or with none on record."""
    return tuple(row for row in list_substances(studio) if row.check)


def age_years(studio: Studio) -> float:
    """From which age on data ask to be checked, in years. Raises BadQuantity for a setting that is no number."""
    written = studio.setting(AGE_SETTING)
    if not written:
        return USUAL_AGE_YEARS
    try:
        return _years(written)
    except ValueError:
        raise BadQuantity(
            f"The setting '{AGE_SETTING}' is '{written}', which is no number of years.", "Set it anew, such as 3."
        ) from None


def set_age_years(studio: Studio, years: float) -> None:
    """From which age on data ask to be checked. years: above 0, at most 100. Raises BadQuantity."""
    try:
        value = _years(str(years))
    except ValueError:
        raise BadQuantity(f"{years} years cannot be.", "Give more than 0 and at most 100.", field="years") from None
    studio.set_setting(AGE_SETTING, f"{value:g}")


def _years(written: str) -> float:
    value = float(written)
    if not 0 < value <= 100:
        raise ValueError(written)
    return value


def _stale(studio: Studio) -> dict[str, tuple[str, float | None]]:
    """By key: why it asks to be checked, and its age in years."""
    from patina.bench.shelves.shelf import list_lots

    limit = age_years(studio)
    with studio.store.view() as session:
        sheets = sheets_read.sheets_read(session, date.today())
    on_shelf = {lot.substance_key for lot in list_lots(studio) if lot.state != "spent"}
    found: dict[str, tuple[str, float | None]] = {}
    for key in sorted(_own_keys(studio) | on_shelf | set(sheets)):
        try:
            if "water" in studio.catalogue().get(key).tags:
                continue
        except NotFound:
            continue
        rows = sheets.get(key, ())
        if not rows:
            found[key] = ("no data sheet of the supplier is on record", None)
        elif rows[0].age_years > limit:
            words = f"the data sheet is of {rows[0].dated.isoformat()}, {rows[0].age_years:.1f} years old"
            found[key] = (words, rows[0].age_years)
    return found
