"""How strong a pot still is by strip checks, and where leftovers and rinse water go."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from patina.bench.studio import Studio
from patina.errors import BadQuantity, NotFound, Refused
from patina.records.shelves.batches import use_batch
from patina.records.studio.unit import unit
from patina.records.tables.ids import fetch
from patina.records.tables.shelf import BatchTable
from patina.records.tables.work import WorkTable
from patina.records.torch import work_queries
from patina.sheets import DrumRow, StripSheet

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.records.tables.work import WasteTable
    from patina.safety.reactions import Group
    from patina.safety.values import Danger

CURVE_POINTS = 25


def strip_check(
    studio: Studio, batch: str, seconds: float, *, temperature_c: float | None = None, note: str = "", by: str = ""
) -> StripSheet:
    """Write down how many seconds a clean copper strip took to brown in a pot, and what that says.

    temperature_c: of the pot. Raises BadQuantity, NotFound, and Refused where the clock of this machine
    stands before the time the pot was mixed.
    """
    if not 0.0 < seconds < 86_400:
        raise BadQuantity(f"{seconds:g} s cannot be.", "Give the seconds until the strip is brown.", field="seconds")
    if temperature_c is not None and not 0 <= temperature_c <= 110:
        raise BadQuantity(f"A pot of {temperature_c:g} °C cannot be.", "Give 0 to 110 °C.", field="temperature")
    who = studio.who(by)
    with unit(studio.store, "strip check", by=who) as deed:
        row = fetch(deed.session, BatchTable, batch, field="batch")
        age_h = (datetime.now(UTC) - row.made_at).total_seconds() / 3600
        if age_h < 0:
            raise Refused(
                f"By the clock of this machine {row.public_id} is not mixed yet ({row.made_at:%Y-%m-%d %H:%M} UTC).",
                "Set the clock right and check again.",
                field="batch",
            )
        work_queries.add_strip_check(
            deed.session, row, age_h=age_h, seconds=seconds, temperature_c=temperature_c, by=who, note=note.strip()
        )
        sheet = _strips(deed.session, row)
        deed.commit()
    return sheet


def strip_sheet(studio: Studio, batch: str) -> StripSheet:
    """The strip checks of a pot and what they say of it now. Raises NotFound."""
    with studio.store.view() as session:
        return _strips(session, fetch(session, BatchTable, batch, field="batch"))


def _strips(session: Session, row: BatchTable) -> StripSheet:
    from patina.chemistry.potency import StripCheck, potency

    checks = work_queries.strip_checks(session, row)
    age_h = max((datetime.now(UTC) - row.made_at).total_seconds() / 3600, 0.0)
    asked = [StripCheck(c.age_h, c.seconds) for c in checks]
    found = potency(asked, age_h)
    curve: tuple[tuple[float, float], ...] = ()
    if found.spread_factor is not None or found.doubling_h is not None:
        end = max([age_h, *(c.age_h for c in checks)])
        ages = [end * n / CURVE_POINTS for n in range(CURVE_POINTS + 1)]
        curve = tuple((age, potency(asked, age).seconds_now or 0.0) for age in ages)
    return StripSheet(
        row.public_id,
        tuple((c.age_h, c.seconds, c.temperature_c, c.at, c.by) for c in checks),
        age_h,
        found.advice,
        found.why,
        found.doubling_h,
        found.spread_factor,
        curve,
        row.solution,
    )


def log_waste(
    studio: Studio,
    drum: str,
    what: str,
    amount: float,
    unit_of: str = "mL",
    *,
    batch: str | None = None,
    work: str | None = None,
    substances: Sequence[str] = (),
    note: str = "",
    by: str = "",
) -> DrumRow:
    """Put leftovers, rinse water or rags into a drum and on record.

    amount: in unit_of, "mL" or "g". batch: a pot it is poured from, which then holds that much less;
    what is in the pot is known. substances: names, for anything else. Raises BadQuantity, NotFound,
    UnknownSubstance, and Refused, before anything is written, where it must never share that drum.
    """
    if unit_of not in ("mL", "g") or not 0.0 < amount < 1e9:
        raise BadQuantity(f"{amount:g} {unit_of} cannot be.", "Give mL or g above zero.", field="amount")
    name = " ".join(drum.split())
    if not name or len(name) > 200 or not what.strip():
        raise Refused("The drum or what goes into it is not named.", "Name both.", field="drum")
    known = studio.catalogue()
    who = studio.who(by)
    with unit(studio.store, "log waste", by=who, why=what.strip()) as deed:
        keys = [known.find(s, field="substances").key for s in substances]
        pot = None if batch is None else fetch(deed.session, BatchTable, batch, field="batch")
        if pot is not None:
            keys += work_queries.batch_contents(deed.session, pot)
        if not keys:
            raise Refused(
                "It is not said what is in it, so nobody can tell what it must not meet.",
                "Name the pot, or its substances.",
                field="substances",
            )
        standing = work_queries.waste_in(deed.session)
        drum_name = next((d for d in standing if d.casefold() == name.casefold()), name)
        _may_share(studio, drum_name, standing.get(drum_name, []), what.strip(), keys)
        if pot is not None:
            if unit_of != "mL":
                raise Refused("A pot is emptied in mL.", "Give the millilitres.", field="amount")
            use_batch(deed.session, pot, amount, why=f"waste, {drum_name}", by=who)
        job = None if work is None else fetch(deed.session, WorkTable, work, field="work")
        work_queries.add_waste(
            deed.session,
            drum=drum_name,
            what=what.strip(),
            amount=amount,
            unit=unit_of,
            substances=sorted(set(keys)),
            batch_id=None if pot is None else pot.id,
            work_id=None if job is None else job.id,
            by=who,
            note=note.strip(),
        )
        row = _drum(studio, drum_name, work_queries.waste_in(deed.session)[drum_name])
        deed.commit()
    return row


def empty_drum(studio: Studio, drum: str, note: str, *, by: str = "") -> DrumRow:
    """A drum was fetched, with what is written about it (carrier, paper). Raises NotFound, Refused."""
    if not note.strip():
        raise Refused("It is not said who fetched it.", "Name the carrier or its paper.", field="note")
    who = studio.who(by)
    with unit(studio.store, "drum fetched", by=who, why=note.strip()) as deed:
        standing = work_queries.waste_in(deed.session)
        name = next((d for d in standing if d.casefold() == " ".join(drum.split()).casefold()), drum)
        if not standing.get(name):
            filled = ", ".join(d for d, rows in standing.items() if rows)
            raise NotFound(f"Nothing stands in a drum '{name}'.", f"Drums: {filled or 'none'}.", field="drum")
        work_queries.add_waste(
            deed.session,
            drum=name,
            what="fetched",
            amount=0.0,
            unit="mL",
            substances=(),
            batch_id=None,
            work_id=None,
            by=who,
            note=note.strip(),
            emptied=True,
        )
        row = _drum(studio, name, (), work_queries.fetched_drums(deed.session)[name])
        deed.commit()
    return row


def list_drums(studio: Studio) -> tuple[DrumRow, ...]:
    """The drums that stand, with what is in each, what must never join it, and when it was fetched before."""
    with studio.store.view() as session:
        fetched = work_queries.fetched_drums(session)
        standing = sorted(work_queries.waste_in(session).items())
        return tuple(_drum(studio, name, rows, fetched.get(name, ())) for name, rows in standing)


def _group(studio: Studio, name: str, keys: Sequence[str]) -> Group:
    from patina.safety.reactions import group_of

    known = studio.catalogue()
    return group_of(name, [known.get(key) for key in dict.fromkeys(keys)])


def _may_share(studio: Studio, drum: str, inside: Sequence[WasteTable], what: str, keys: Sequence[str]) -> None:
    from patina.safety.reactions import dangers_between

    held = [key for row in inside for key in row.substances]
    found = dangers_between([_group(studio, drum, held), _group(studio, what, keys)], "waste")
    grave = [d for d in found if d.level in ("critical", "serious")]
    if grave:
        raise Refused(
            f"This must not go into '{drum}': {_meets(grave[0])}.",
            f"{grave[0].instead[:1].upper()}{grave[0].instead[1:]}. Take another drum.",
            field="drum",
            title="Must never share a drum",
        )


def _meets(danger: Danger) -> str:
    return f"{' and '.join(danger.between)} give {danger.consequence}"


def _drum(studio: Studio, name: str, rows: Sequence[WasteTable], fetched: Sequence[WasteTable] = ()) -> DrumRow:
    keys = tuple(dict.fromkeys(key for row in rows for key in row.substances))
    known = studio.catalogue()
    return DrumRow(
        name,
        sum(r.amount for r in rows if r.unit == "mL"),
        sum(r.amount for r in rows if r.unit == "g"),
        tuple(known.get(k).name for k in keys),
        tuple(f"{r.at:%Y-%m-%d} {r.what}, {r.amount:g} {r.unit}" for r in rows),
        _never_with(_group(studio, name, keys)),
        tuple(f"{r.at:%Y-%m-%d} {r.note}, {r.by}" if r.by else f"{r.at:%Y-%m-%d} {r.note}" for r in fetched),
    )


def _never_with(held: Group) -> tuple[str, ...]:
    """What must never join the drum: the other side of every waste rule that one side of matches."""
    from patina.safety.reactions import rules
    from patina.safety.tagwords import matcher

    found = []
    for rule in rules():
        if "waste" not in rule.scopes or rule.level == "caution":
            continue
        for mine, other in ((rule.a, rule.b), (rule.b, rule.a)):
            if any(matcher(mine)(m.tags) for m in held.members):
                words = (
                    other.replace(" | ", " or ")
                    .replace(" & !", " but not ")
                    .replace(" & ", " with ")
                    .replace("!", "not ")
                )
                found.append(f"{words}: {rule.consequence}")
    return tuple(dict.fromkeys(found))
