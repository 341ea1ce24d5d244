"""The exposure log: per person and shift what was used, how long, with which extraction and respirator.

Rows are added and never altered; a mistake is corrected by another row that names it. They are kept as long as the
studio decides (40 years where it has not), and nothing is taken out before.

Source: [CMD_2004_37] for the 40 years
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from patina.bench.entry_rules import LONGEST_NOTE, Rules
from patina.bench.studio import Studio
from patina.entries import NewExposure
from patina.errors import BadQuantity, Refused
from patina.records.recipes.recipes import find_recipe, find_revision
from patina.records.studio.unit import unit
from patina.records.tables.first import RevisionTable
from patina.records.tables.ids import fetch
from patina.records.tables.recipe_json import recipe_from
from patina.records.tables.safety import ExposureTable
from patina.records.tables.shelf import BatchTable
from patina.records.torch import exposures
from patina.records.torch.work_queries import batch_contents
from patina.sheets.safety import ExposureRow

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.chemistry.substances import Catalogue

YEARS_SETTING = "exposure_years"
USUAL_YEARS = 40
FEWEST_YEARS, MOST_YEARS = 1, 200
LONGEST_SHIFT_MIN = 24 * 60.0
EXPOSURE_FIELDS = (
    *("person", "on", "shift", "recipe", "revision", "batch", "substances", "task", "minutes"),
    *("extraction", "flow", "respirator", "note", "corrects"),
)


def add_exposure(studio: Studio, entry: NewExposure, *, by: str = "") -> ExposureRow:
    """Put an exposure on record. Raises Incomplete, NotFound, UnknownSubstance, Refused."""
    checked = _in_order(entry)
    on = checked.on or date.today()
    known = studio.catalogue()
    who = studio.who(by)
    with unit(studio.store, "log exposure", by=who) as work:
        session = work.session
        batch = fetch(session, BatchTable, checked.batch, field="batch") if checked.batch else None
        revision = _revision(session, checked, batch)
        keys = _used(session, checked, revision, batch, known)
        corrects = fetch(session, ExposureTable, checked.corrects, field="corrects") if checked.corrects else None
        row = exposures.add_exposure(
            session,
            checked,
            on=on,
            keys=keys,
            names=[known.get(key).name for key in keys],
            revision=revision,
            batch=batch,
            keep_until=years_on(on, keep_years(studio)),
            corrects=corrects,
            by=who,
        )
        (shown,) = exposures.exposure_rows(session, only=row.id)
        work.commit()
    return shown


def _in_order(entry: NewExposure) -> NewExposure:
    rules = Rules()
    rules.need(entry.person, "person", "The person's name")
    rules.short(entry.person, "person", 200)
    rules.short(entry.shift, "shift", 80)
    rules.short(entry.extraction, "extraction", 200)
    rules.short(entry.respirator, "respirator", 400)
    rules.above_zero(entry.minutes, "minutes", LONGEST_SHIFT_MIN, "min")
    rules.within(entry.flow_m3_h, "flow", 0.0, 1e6, "m³/h")
    rules.short(entry.task, "task", LONGEST_NOTE)
    rules.short(entry.note, "note", LONGEST_NOTE)
    if not (entry.recipe or entry.batch or entry.substances):
        rules.troubles.append(
            Refused("It is not said what was used.", "Name the recipe, the pot or the substances.", field="substances")
        )
    if entry.revision is not None and not entry.recipe:
        rules.troubles.append(Refused("A revision was given without its recipe.", "Name the recipe.", field="recipe"))
    if entry.on is not None and entry.on > date.today() + timedelta(days=1):
        rules.troubles.append(Refused("The work lies in the future.", "Correct its date.", field="on"))
    rules.done()
    return replace(entry, person=" ".join(entry.person.split()), shift=entry.shift.strip(), task=entry.task.strip())


def _revision(session: Session, entry: NewExposure, batch: BatchTable | None) -> RevisionTable | None:
    named = find_revision(session, find_recipe(session, entry.recipe), entry.revision) if entry.recipe else None
    if batch is None:
        return named
    own = session.get_one(RevisionTable, batch.revision_id)
    if named is not None and named.recipe_id != own.recipe_id:
        raise Refused(
            f"Pot {batch.public_id} was not mixed by '{entry.recipe}'.", "Name one of the two.", field="batch"
        )
    return own


def _used(
    session: Session, entry: NewExposure, revision: RevisionTable | None, batch: BatchTable | None, known: Catalogue
) -> list[str]:
    """Keys of what the person worked with: what is named, what was in the pot, else what the recipe uses."""
    keys = [known.find(name, field="substances").key for name in entry.substances]
    if batch is not None:
        keys += batch_contents(session, batch)
    elif revision is not None:
        recipe = recipe_from(revision.document)
        keys += [i.substance for s in recipe.solutions for i in s.ingredients]
    found = [key for key in dict.fromkeys(keys) if "water" not in known.get(key).tags]
    return found or list(dict.fromkeys(keys))


def list_exposures(
    studio: Studio, *, person: str = "", since: date | None = None, until: date | None = None
) -> tuple[ExposureRow, ...]:
    """Exposures, the oldest day first. Rows that another row corrects are among them and say so."""
    with studio.store.view() as session:
        return exposures.exposure_rows(session, person=person, since=since, until=until)


def keep_years(studio: Studio) -> int:
    """How many years an exposure is kept. Raises BadQuantity for a setting that is no number."""
    written = studio.setting(YEARS_SETTING)
    if not written:
        return USUAL_YEARS
    if not written.isdecimal() or not FEWEST_YEARS <= int(written) <= MOST_YEARS:
        raise BadQuantity(f"The setting '{YEARS_SETTING}' is '{written}'.", "Set it anew, such as 40.")
    return int(written)


def set_keep_years(studio: Studio, years: int) -> None:
    """How many years an exposure is kept from now on; rows already written keep the longer of both times."""
    if not FEWEST_YEARS <= years <= MOST_YEARS:
        raise BadQuantity(
            f"{years} years cannot be.", f"Give {FEWEST_YEARS} to {MOST_YEARS}; law may ask for 40.", field="years"
        )
    studio.set_setting(YEARS_SETTING, str(years))


def years_on(day: date, years: int) -> date:
    """The same day so many years on; the 29th of February becomes the 1st of March.

    >>> years_on(date(2024, 2, 29), 1), years_on(date(2026, 3, 2), 40)
    (datetime.date(2025, 3, 1), datetime.date(2066, 3, 2))
    """
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return date(day.year + years, 3, 1)


def take_out_old(studio: Studio, *, by: str = "", today: date | None = None) -> int:
    """Take out the exposures whose time is over, both by the rule when they were written and by today's.

    today: the day to reckon from, this machine's where none is given. Returns how many were taken out; the log of
    changes keeps what they said. Raises Refused for a day to come.
    """
    day = today or date.today()
    if day > date.today():
        raise Refused("That day is to come.", "Nothing is taken out before its time.")
    years = keep_years(studio)
    who = studio.who(by)
    with unit(studio.store, "take out old exposures", by=who) as work:
        count = exposures.take_out(work.session, lambda row: max(row.keep_until, years_on(row.on, years)) < day)
        work.commit()
    return count


def exposure_form(fields: Mapping[str, str]) -> NewExposure:
    """An exposure from EXPOSURE_FIELDS as typed: on "2026-03-14" or "today", minutes "45" or "1.5 h", flow "600 m3/h",
    substances parted by semicolons. Raises Incomplete."""
    from patina.bench.forms import _day, _Form, _whole
    from patina.bench.safe.air_words import flow_m3_h

    form = _Form(fields, EXPOSURE_FIELDS)
    words = {f: form.text(f) for f in ("person", "shift", "task", "extraction", "respirator", "note")}
    values = {
        **words,
        "on": form.value("on", _day),
        "minutes": form.needed("minutes", _minutes, "How long"),
        "recipe": form.text("recipe") or None,
        "revision": form.value("revision", _whole),
        "batch": form.text("batch") or None,
        "substances": tuple(s.strip() for s in form.text("substances").split(";") if s.strip()),
        "flow_m3_h": form.value("flow", flow_m3_h),
        "corrects": form.text("corrects") or None,
    }
    return form.entry(NewExposure, _in_order, values, {"person": "", "minutes": 1.0})


def _minutes(text: str, field: str) -> float:
    from patina.units import duration_h, split_quantity

    figure, word = split_quantity(text, field)
    return duration_h(text, field) * 60 if word else figure
