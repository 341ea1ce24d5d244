"""The work on a piece: beginning it, the passes as they are done, and going back.

Each deed here is one small transaction that is on disk before it returns; what it returns shows what
was written. ``seen`` is the number of the last event that the person had before the eyes: where
another program has written since, nothing is written and Changed says what is new.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from patina.bench.entry_rules import Rules
from patina.bench.pots.pot_rules import may_be_used
from patina.bench.readings.tiles import target_of
from patina.bench.studio import Studio
from patina.bench.torch.work_kept import keep_what_was_done
from patina.entries import NewWork
from patina.errors import BadQuantity, NotFound, Refused
from patina.records.recipes.recipes import find_recipe, find_revision
from patina.records.studio.unit import unit
from patina.records.tables.first import RevisionTable, TileTable
from patina.records.tables.ids import fetch
from patina.records.tables.pieces import CastTable
from patina.records.tables.shelf import BatchTable
from patina.records.tables.work import WorkEventTable, WorkTable
from patina.records.torch import work as works
from patina.records.torch.work import Stamp
from patina.records.torch.work_state import NOT_TAKEN_BACK, State, state_of
from patina.sheets import WorkRow, WorkSheet

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

LONGEST_NOTE = 2000
BREAK_S = 300.0


def list_works(studio: Studio, open_only: bool = True) -> tuple[WorkRow, ...]:
    """Works, newest first. open_only: leave out those that are ended."""
    with studio.store.view() as session:
        return works.work_rows(session, WorkTable.ended_at.is_(None) if open_only else None)


def work_sheet(studio: Studio, which: str) -> WorkSheet:
    """A work with all that happened. Raises NotFound."""
    with studio.store.view() as session:
        return works.work_sheet(session, fetch(session, WorkTable, which, field="work"))


def last_number(studio: Studio, which: str) -> int:
    """Number of the newest event of a work: a quick look whether somebody else wrote. Raises NotFound."""
    with studio.store.view() as session:
        return works.last_number(session, fetch(session, WorkTable, which, field="work"))


def start_work(studio: Studio, entry: NewWork) -> WorkSheet:
    """Begin the work on a tile or a cast by a recipe.

    Raises Incomplete, NotFound, and Refused where a work is open on the piece, the recipe has no
    steps, or the pot is empty, past its time, or of another recipe.
    """
    _in_order(entry)
    who = studio.who(entry.done_by)
    with unit(studio.store, "start work", by=who) as deed:
        session = deed.session
        target = _target(session, entry.target)
        revision = find_revision(session, find_recipe(session, entry.recipe), entry.revision)
        recipe = works.recipe_from(revision.document)
        if not recipe.steps:
            raise Refused(f"'{recipe.name}' has no steps.", "Write its steps in Finishes first.", field="recipe")
        zones = entry.zones or ((works.WHOLE, target.area_m2 if isinstance(target, CastTable) else None),)
        row = works.add_work(
            session,
            entry,
            target=target,
            revision=revision,
            zones=zones,
            texture=entry.texture or recipe.texture,
            by=who,
        )
        if entry.batch:
            _name_pot(session, row, entry.batch, state_of(works.events_of(session, row)), entry.though_old, who)
        sheet = works.work_sheet(session, row)
        deed.commit()
    return sheet


def _target(session: Session, which: str) -> TileTable | CastTable:
    try:
        return target_of(session, which)
    except NotFound as trouble:
        trouble.field = "target"
        raise


def _in_order(entry: NewWork) -> None:
    rules = Rules()
    rules.need(entry.target, "target", "The tile or cast")
    rules.need(entry.recipe, "recipe", "The recipe")
    rules.short(entry.note, "note", LONGEST_NOTE)
    rules.short(entry.tool, "tool", 200)
    rules.short(entry.place, "place", 400)
    rules.within(entry.air_c, "air", -45, 60, "°C")
    rules.within(entry.air_rh_pct, "humidity", 1, 100, "%")
    rules.within(entry.texture, "texture", 1, 10)
    names = [name.strip() for name, _ in entry.zones]
    if any(not n or len(n) > 200 for n in names) or len({n.casefold() for n in names}) < len(names):
        rules.troubles.append(
            Refused("Two zones have one name, or one has none.", "Name each zone once.", field="zones")
        )
    for _, area in entry.zones:
        rules.above_zero(area, "zones", 1e5, "m²")
    rules.among(entry.thermometer.kind, "thermometer", ("contact", "infrared"))
    rules.among(entry.thermometer.unit, "thermometer", ("°C", "°F"))
    rules.within(entry.thermometer.setting, "thermometer", 0.01, 1.0)
    if not entry.thermometer.low_c < entry.thermometer.high_c:
        rules.troubles.append(
            BadQuantity("The thermometer's range has no width.", "Give lowest, then highest.", field="thermometer")
        )
    rules.done()


# -- what happens at the torch ---------------------------------------------------------------------

Fill = Callable[["Session", WorkTable, State, str], dict[str, Any]]


def record(
    studio: Studio,
    which: str,
    kind: str,
    fill: Fill,
    *,
    seen: int | None,
    by: str,
    why: str = "",
    stamp: Stamp | None = None,
) -> WorkSheet:
    """Write down one thing that happened: ``fill`` says what belongs to it, or refuses.

    stamp: the id it was given where it was done. What is on record under that id is not written again.
    """
    with unit(studio.store, f"work: {kind}", by=studio.who(by), why=why) as deed:
        row = fetch(deed.session, WorkTable, which, field="work")
        if stamp is not None and works.event_stamped(deed.session, stamp.uid) is not None:
            return works.work_sheet(deed.session, row)
        events = works.events_of(deed.session, row)
        works.require_seen(events, seen)
        state = state_of(events)
        if row.ended_at is not None:
            if stamp is None or stamp.at is None:
                raise Refused(f"{row.public_id} was ended.", "Take it up again first.")
            row.ended_at = None  # it was done, whatever others took for the end
            works.add_event(deed.session, row, "resume", by=deed.by, step=state.step, zone=state.zone)
        if stamp is not None and stamp.step is not None:
            state.step, state.zone = stamp.step, stamp.zone or state.zone
        given = {"step": state.step, "zone": state.zone, **fill(deed.session, row, state, deed.by)}
        works.add_event(deed.session, row, kind, by=deed.by, stamp=stamp, **given)
        sheet = works.work_sheet(deed.session, row)
        deed.commit()
    return sheet


def pass_done(
    studio: Studio,
    which: str,
    *,
    left_ml: float | None = None,
    seen: int | None = None,
    by: str = "",
    stamp: Stamp | None = None,
) -> WorkSheet:
    """One pass more of this step in this zone (or the step done, where it has no passes).

    left_ml: in the pot after it, None where nobody looked. A pass over the pot's time, or beyond
    what the recipe asks for, is written down all the same: it was done. Raises Changed, NotFound, Refused.
    """

    def fill(session: Session, row: WorkTable, state: State, who: str) -> dict[str, Any]:
        number = state.passes.get((state.step, state.zone), 0) + 1
        level = {} if left_ml is None else _level(session, row, state, left_ml, who)
        pot = works.pot_of(session, state, _solution(session, row, state))
        return {"pass_number": number, "batch_id": None if pot is None else pot.id, **level}

    return record(studio, which, "pass", fill, seen=seen, by=by, stamp=stamp)


def volume_left(
    studio: Studio, which: str, left_ml: float, *, seen: int | None = None, by: str = "", stamp: Stamp | None = None
) -> WorkSheet:
    """What the pot holds now; what is gone since the last figure is taken off the batch.

    left_ml: in mL. Raises BadQuantity, Changed, Refused where no pot is named or it would hold more than before.
    """

    def fill(session: Session, row: WorkTable, state: State, who: str) -> dict[str, Any]:
        return _level(session, row, state, left_ml, who)

    return record(studio, which, "level", fill, seen=seen, by=by, stamp=stamp)


def _level(session: Session, row: WorkTable, state: State, left_ml: float, who: str) -> dict[str, Any]:
    if not 0.0 <= left_ml < 1e7:
        raise BadQuantity(f"{left_ml:g} mL cannot be left.", "Give zero or more.", field="left")
    solution = _solution(session, row, state)
    if solution is None:
        raise Refused("This step takes nothing from a pot.", "Go to the step that does.", field="left")
    pot = works.pot_of(session, state, solution)
    if pot is None:
        raise Refused(f"No pot of '{solution}' is named.", "Name the pot that is worked from first.", field="left")
    used = works.take_level(session, row, pot, left_ml, by=who)
    return {"batch_id": pot.id, "left_ml": left_ml, "used_ml": used}


def _solution(session: Session, row: WorkTable, state: State) -> str | None:
    return works.recipe_of(session, row)[1].steps[state.step - 1].solution


def write_note(
    studio: Studio, which: str, text: str, *, seen: int | None = None, by: str = "", stamp: Stamp | None = None
) -> WorkSheet:
    """A note at this step and zone. Raises Refused for an empty or overlong one."""
    note = text.strip()
    if not note or len(note) > LONGEST_NOTE:
        raise Refused("The note is empty or too long.", f"Write 1 to {LONGEST_NOTE} characters.", field="note")
    return record(studio, which, "note", lambda *_: {"note": note}, seen=seen, by=by, stamp=stamp)


def move_to(
    studio: Studio,
    which: str,
    *,
    step: int | None = None,
    zone: str | None = None,
    seen: int | None = None,
    by: str = "",
    stamp: Stamp | None = None,
) -> WorkSheet:
    """Go to a step (from 1) or zone. Raises Refused where there is none."""

    def fill(session: Session, row: WorkTable, state: State, _who: str) -> dict[str, Any]:
        recipe = works.recipe_of(session, row)[1]
        to_step, to_zone = step or state.step, zone or state.zone
        if not 1 <= to_step <= len(recipe.steps):
            raise Refused(f"There is no step {to_step}.", f"The steps go from 1 to {len(recipe.steps)}.")
        if to_zone not in {name for name, _ in row.zones}:
            raise Refused(f"There is no zone '{to_zone}'.", f"The zones: {', '.join(n for n, _ in row.zones)}.")
        return {"step": to_step, "zone": to_zone}

    return record(studio, which, "move", fill, seen=seen, by=by, stamp=stamp)


def use_pot(studio: Studio, which: str, batch: str, *, though_old: str = "", seen: int | None = None) -> WorkSheet:
    """Work from this pot from now on. though_old: why, where its time is over or it was mixed for test
    tiles only. Raises NotFound, and Refused for a pot on whose clock hangs an explosion, whatever is said."""

    def fill(session: Session, row: WorkTable, state: State, _who: str) -> dict[str, Any]:
        return _pot(session, row, batch, though_old)

    return record(studio, which, "pot", fill, seen=seen, by="", why=though_old.strip())


def _name_pot(session: Session, row: WorkTable, batch: str, state: State, though_old: str, who: str) -> None:
    given = {"step": state.step, "zone": state.zone, **_pot(session, row, batch, though_old)}
    works.add_event(session, row, "pot", by=who, **given)


def _pot(session: Session, row: WorkTable, which: str, though_old: str) -> dict[str, Any]:
    pot = fetch(session, BatchTable, which, field="batch")
    revision, recipe = works.recipe_of(session, row)
    made_by = session.get_one(RevisionTable, pot.revision_id)
    if made_by.recipe_id != revision.recipe_id or all(s.name != pot.solution for s in recipe.solutions):
        raise Refused(
            f"{pot.public_id} ({pot.solution}) was mixed by another recipe.",
            f"Name a pot of {' or '.join(s.name for s in recipe.solutions)}.",
            field="batch",
        )
    if pot.left_ml <= 0:
        raise Refused(f"{pot.public_id} is empty.", "Mix another, or name the pot that is used.", field="batch")
    may_be_used(session, pot)
    if row.cast_id is not None and works.for_tiles(session, pot) and not though_old.strip():
        raise Refused(
            f"{pot.public_id} was mixed for test tiles only.",
            "Have the recipe released and mix for work on pieces, or write why it is used all the same.",
            field="batch",
        )
    if pot.use_until is not None and pot.use_until < datetime.now(UTC) and not though_old.strip():
        raise Refused(
            f"The time of {pot.public_id} was over at {pot.use_until:%Y-%m-%d %H:%M} UTC.",
            "Try it on a strip or a tile and write why it is used all the same, or mix another.",
            field="batch",
        )
    return {"batch_id": pot.id, "left_ml": pot.left_ml, "note": though_old.strip()}


def go_back(
    studio: Studio,
    which: str,
    *,
    seen: int | None = None,
    by: str = "",
    stamp: Stamp | None = None,
    taken: str | None = None,
) -> WorkSheet:
    """Take back the newest thing that stands. It stays on record, with who took it back.

    taken: what to take back instead, as its id (E12) or the id of its stamp. Raises NotFound, and Refused
    where nothing is left to take back or that was taken back before.
    """

    def fill(session: Session, row: WorkTable, state: State, who: str) -> dict[str, Any]:
        if taken is None and state.last_id is None:
            raise Refused("There is nothing to take back.", "The work has only begun.")
        if taken is None:
            event = session.get_one(WorkEventTable, state.last_id)
        else:
            event = works.event_stamped(session, taken) or fetch(session, WorkEventTable, taken)
            if event.work_id != row.id or event.id in state.gone or event.kind in NOT_TAKEN_BACK:
                raise Refused(f"{event.public_id} cannot be taken back, or was before.", "Look at the log of the work.")
        works.give_back(session, row, event, by=who)
        return {"step": event.step, "zone": event.zone, "batch_id": event.batch_id, "cancels_id": event.id}

    return record(studio, which, "back", fill, seen=seen, by=by, stamp=stamp)


# -- breaks and the end ----------------------------------------------------------------------------


def take_up(studio: Studio, which: str, *, by: str = "") -> WorkSheet:
    """Go on with a work where it was; a break of five minutes or more, or its end, is written down."""
    with unit(studio.store, "work: resume", by=studio.who(by)) as deed:
        row = fetch(deed.session, WorkTable, which, field="work")
        events = works.events_of(deed.session, row)
        state = state_of(events)
        paused = (datetime.now(UTC) - events[-1].at).total_seconds() > BREAK_S
        if paused or row.ended_at is not None:
            row.ended_at = None
            works.add_event(deed.session, row, "resume", by=deed.by, step=state.step, zone=state.zone)
            deed.commit()
        return works.work_sheet(deed.session, row)


def end_work(studio: Studio, which: str, *, seen: int | None = None, by: str = "") -> WorkSheet:
    """The work is done. On a cast it is also put on record as a treatment, on a tile as how it was made.

    Raises Changed, NotFound, Refused where it was ended before.
    """
    with unit(studio.store, "work: end", by=studio.who(by)) as deed:
        session = deed.session
        row = fetch(session, WorkTable, which, field="work")
        events = works.events_of(session, row)
        works.require_seen(events, seen)
        if row.ended_at is not None:
            raise Refused(f"{row.public_id} was ended before.", "Take it up again to add to it.")
        state = state_of(events)
        works.add_event(session, row, "end", by=deed.by, step=state.step, zone=state.zone)
        row.ended_at = datetime.now(UTC)
        session.flush()
        sheet = works.work_sheet(session, row)
        keep_what_was_done(session, row, sheet, state)
        deed.commit()
    return sheet
