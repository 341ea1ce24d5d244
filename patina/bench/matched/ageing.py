"""Time and wax: the shifts and the ageing that a house's own tiles show, and what they foretell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING, Any

from patina.bench.matched.agreed import sheet_of
from patina.bench.readings.tiles import target_of
from patina.colour.difference import compare
from patina.colour.values import Lab
from patina.errors import BadQuantity, NotFound, Refused
from patina.matching.ageing import Aged, Course, Shift, as_delivered, fit_ageing, learn_shift, predict
from patina.records.finding.naming import name_of
from patina.records.matched import makings, masters_more
from patina.records.pieces.casts import cast_sheet
from patina.records.readings.readings import of_target, readings_of
from patina.records.tables.first import ReadingTable, TileTable
from patina.records.tables.ids import fetch, letter_of
from patina.records.tables.pieces import CastTable, MasterTable
from patina.sheets import ReadingRow
from patina.sheets.ageing import CourseRow, Foretold, PredictionSheet, ShiftRow

if TYPE_CHECKING:
    from patina.bench.studio import Studio

Vector = tuple[float, float, float]
# Longer apart and a pair shows ageing as well.
_LONGEST_PAIR_DAYS = 60
_COATS = {"waxed": "wax", "lacquered": "lacquer"}


@dataclass(frozen=True)
class _Piece:
    """What is foretold: the reading, its piece, its recipe, and the agreed finish where there is one."""

    name: str
    reading: ReadingRow
    earlier: tuple[ReadingRow, ...]
    recipe_id: int | None
    master: Any
    delivered_on: date | None
    called: str = ""


def foretell(
    studio: Studio, target: str, *, wax: str = "", warmth: str = "cold", kept: str = "", days: float | None = None
) -> PredictionSheet:
    """What a reading becomes when the piece is finished, and what an old piece was when it was delivered.

    target: a tile, cast or reading; of a piece its newest reading. wax: state foretold, empty for the
    agreed one, else waxed. warmth: as WARMTH. kept: which twins to take for the ageing (dark, shelf,
    outdoors), empty where only one kind was read. days: age of the piece at that reading, None takes
    it from its last treatment. Shifts are those of tiles of the same recipe; where none shows one,
    those of all recipes, and it is said. Raises NotFound, BadQuantity.
    """
    if days is not None and not 0 <= days < 1e6:
        raise BadQuantity(f"An age of {days:g} days cannot be.", "Count days from delivery.", field="days")
    with studio.store.view() as session:
        piece = _piece(session, target)
        rows = _tile_readings(session, piece.recipe_id)
        every = rows if piece.recipe_id is None else _tile_readings(session, None)
        twins = masters_more.twins(session)
    wanted_wax = wax or (piece.master.master.wax_state if piece.master else "") or "waxed"
    wanted_wax = "waxed" if wanted_wax == "not stated" else wanted_wax
    shifts, missing, cautions = _shifts(piece.reading, wanted_wax, warmth, rows, every)
    final = None
    if not missing:
        found = predict(piece.reading.lab, [s for s, _ in shifts], reading_sd=_sd_of(piece.reading, cautions))
        final = Foretold(found.lab, found.half_width, found.words)
    courses = _courses(rows, twins)
    delivered, told = _delivered(piece, courses, kept, days)
    agreed = None if piece.master is None else piece.master.zones[0].lab
    comparable = agreed is not None and final is not None and agreed.illuminant == final.lab.illuminant
    return PredictionSheet(
        target=piece.name,
        reading=piece.reading.id,
        lab=piece.reading.lab,
        was=f"{piece.reading.wax_state} and {piece.reading.warmth}",
        becomes=f"{wanted_wax} and {warmth}",
        shifts=tuple(row for _, row in shifts),
        final=final,
        missing=tuple(missing),
        master=None if piece.master is None else piece.master.master.id,
        master_lab=agreed,
        delta_e=compare(agreed, final.lab).delta_e if comparable and agreed and final else None,
        delivered=delivered,
        delivered_words=told,
        courses=tuple(row for row, _ in courses),
        cautions=tuple(cautions),
        master_name="" if piece.master is None else piece.master.master.name,
        target_name=piece.called,
    )


def _piece(session: Any, target: str) -> _Piece:
    if letter_of(target) == "D":
        row = fetch(session, ReadingTable, target)
        reading = readings_of(session, ReadingTable.id == row.id)[0]
        owner = session.get_one(TileTable, row.tile_id) if row.tile_id else session.get_one(CastTable, row.cast_id)
    else:
        owner = target_of(session, target)
        rows = readings_of(session, of_target(owner))
        if not rows:
            raise NotFound(f"{owner.public_id} has no reading yet.", "Add a reading to it first.")
        reading = rows[0]
    earlier = tuple(r for r in readings_of(session, of_target(owner)) if r.read_at < reading.read_at)
    if isinstance(owner, CastTable):
        made = makings.made_cast(session, owner, owner.number or owner.public_id)
        done = [t.done_on for t in cast_sheet(session, owner).treatments if t.done_on and "inspect" not in t.did]
        master = None if owner.master_id is None else sheet_of(session, session.get_one(MasterTable, owner.master_id))
        delivered = max(done, default=owner.cast_on)
        return _Piece(owner.public_id, reading, earlier, made.recipe_id, master, delivered, name_of(session, owner))
    made = makings.made_tile(session, owner)
    return _Piece(owner.public_id, reading, earlier, made.recipe_id, None, owner.made_on, owner.engraved)


def _tile_readings(session: Any, recipe_id: int | None) -> dict[int, list[ReadingRow]]:
    """Readings of tiles of a recipe (of all tiles for None) by number of the tile, oldest first."""
    rows = makings.readings_of_recipe(session, recipe_id)
    found: dict[int, list[ReadingRow]] = {}
    for row in sorted(rows, key=lambda r: (r.read_at, int(r.id[1:]))):
        found.setdefault(int((row.tile or "T0")[1:]), []).append(row)
    return found


def _shifts(
    reading: ReadingRow,
    wax: str,
    warmth: str,
    own: dict[int, list[ReadingRow]],
    every: dict[int, list[ReadingRow]],
) -> tuple[list[tuple[Shift, ShiftRow]], list[str], list[str]]:
    """The shifts a reading needs, in order; what was never seen; cautions."""
    needed: list[tuple[str, str]] = []
    missing: list[str] = []
    cautions: list[str] = []
    if reading.warmth != warmth:
        if (reading.warmth, warmth) == ("warm", "cold"):
            needed.append(("cooling", "cold"))
        elif reading.warmth == "not stated":
            cautions.append("Whether the metal was cold is not written down; it is taken as it stands.")
        else:
            missing.append(f"A cold reading cannot be turned into a {warmth} one.")
    if reading.wax_state != wax:
        if reading.wax_state == "unwaxed" and wax in _COATS:
            needed.append((_COATS[wax], wax))
        else:
            missing.append(f"From {reading.wax_state} to {wax} no shift is learnt.")
    found = []
    for of, goal in needed:
        pairs = _pairs(own, of, goal)
        is_own = bool(pairs)
        if not pairs:
            pairs = _pairs(every, of, goal)
        pairs = {t: p for t, p in pairs.items() if _alike(p[0], reading.lab)}
        if not pairs:
            missing.append(f"No tile was read before and after {_PAIRED[of]}; read some so.")
            continue
        if not is_own:
            cautions.append(f"No tile of this recipe shows the {of} shift; it is taken from tiles of other recipes.")
        shift = learn_shift(list(pairs.values()), of)
        tiles = tuple(f"T{t}" for t in pairs)
        found.append((shift, ShiftRow(of, shift.vector, shift.sd, tiles, is_own, shift.words)))
    return found, missing, cautions


_PAIRED = {"cooling": "cooling", "wax": "waxing", "lacquer": "lacquering"}


def _alike(one: Lab, other: Lab) -> bool:
    return (one.illuminant, one.observer) == (other.illuminant, other.observer)


def _pairs(by_tile: dict[int, list[ReadingRow]], of: str, goal: str) -> dict[int, tuple[Lab, Lab]]:
    """One pair (before, after) of each tile that shows a shift: the mean over its areas."""
    found: dict[int, tuple[Lab, Lab]] = {}
    for tile, rows in by_tile.items():
        pairs = [pair for same in _series(rows) if (pair := _pair(same, of, goal)) is not None]
        like = [p for p in pairs if _alike(p[0], pairs[0][0])]
        if like:
            found[tile] = (_mean([p[0] for p in like]), _mean([p[1] for p in like]))
    return found


def _series(rows: Sequence[ReadingRow]) -> list[list[ReadingRow]]:
    """Readings of one tile apart by area, geometry, kind of source, illuminant and observer."""
    found: dict[tuple[str, ...], list[ReadingRow]] = {}
    for r in rows:
        camera = "photograph" if r.source == "photograph" else ""
        key = (r.area.casefold(), r.geometry, camera, r.lab.illuminant, r.lab.observer)
        found.setdefault(key, []).append(r)
    return list(found.values())


def _pair(rows: Sequence[ReadingRow], of: str, goal: str) -> tuple[Lab, Lab] | None:
    before: ReadingRow | None = None
    for row in rows:
        if of == "cooling":
            if row.warmth == "warm":
                before = row
            elif row.warmth == "cold" and before is not None and row.wax_state == before.wax_state:
                return _near(before, row)
        elif row.wax_state == "unwaxed":
            before = row
        elif row.wax_state == goal and before is not None and row.warmth == before.warmth:
            return _near(before, row)
    return None


def _near(before: ReadingRow, after: ReadingRow) -> tuple[Lab, Lab] | None:
    return (before.lab, after.lab) if (after.read_at - before.read_at).days <= _LONGEST_PAIR_DAYS else None


def _mean(labs: Sequence[Lab]) -> Lab:
    n = len(labs)
    L, a, b = (sum(getattr(x, c) for x in labs) / n for c in ("L", "a", "b"))
    return Lab(L, a, b, labs[0].illuminant, labs[0].observer)


def _sd_of(reading: ReadingRow, cautions: list[str]) -> Vector:
    """Standard uncertainty of a reading in L*, a*, b*: half its stated ± in each, else from its scatter."""
    if reading.uncertainty_de00 is not None:
        half = reading.uncertainty_de00 / 2
        return half, half, half
    cautions.append(f"The uncertainty of {reading.id} is not known; the interval does not hold it.")
    if reading.sd is not None and reading.n > 1:
        root = reading.n**0.5
        return reading.sd[0] / root, reading.sd[1] / root, reading.sd[2] / root
    return 0.0, 0.0, 0.0


def _courses(by_tile: dict[int, list[ReadingRow]], twins: dict[int, str]) -> list[tuple[CourseRow, Course]]:
    """How tiles of the recipe aged, by where they were kept; places without three ages are left out."""
    aged: dict[str, list[Aged]] = {}
    for tile, rows in by_tile.items():
        cold = [r for r in rows if r.warmth != "warm"]
        for n, same in enumerate(_series(cold)):
            for state in dict.fromkeys(r.wax_state for r in same):
                read = [r for r in same if r.wax_state == state]
                first = read[0].read_at
                name = f"T{tile} {state} {n}"
                for r in read if len(read) > 1 and state not in ("unwaxed", "wet") else ():
                    days = (r.read_at - first).total_seconds() / 86400
                    aged.setdefault(twins.get(tile, "not stated"), []).append(
                        Aged(name, 0.0 if days < 0.5 else days, r.lab)
                    )
    found = []
    for kept, readings in aged.items():
        try:
            course = fit_ageing(readings)
        except Refused:
            continue
        found.append((_course_row(kept, course), course))
    return found


def _course_row(kept: str, course: Course) -> CourseRow:
    listed = ", ".join(f"{n} {v:+.1f}" for n, v in zip(("L*", "a*", "b*"), course.amount, strict=True))
    words = (
        f"{kept}: in the end {listed}, 63 % of it after {course.time_days:.0f} days ({course.low_days:.0f} to "
        f"{course.high_days:.0f}); {course.rests_on} up to "
        f"{course.longest_days:.0f} days."
    )
    return CourseRow(
        kept,
        course.twins,
        course.readings,
        course.longest_days,
        course.amount,
        course.time_days,
        course.low_days,
        course.high_days,
        words,
    )


def _delivered(
    piece: _Piece, courses: Sequence[tuple[CourseRow, Course]], kept: str, days: float | None
) -> tuple[Foretold | None, str]:
    """What the piece was when delivered: as it was read then, else worked back by the twins."""
    reading = piece.reading
    age = days
    if age is None:
        if piece.delivered_on is None:
            return None, "When it was finished is not on record; give its age in days."
        age = (reading.read_at - datetime.combine(piece.delivered_on, time(12), UTC)).total_seconds() / 86400
    same = [
        r
        for r in piece.earlier
        if (r.wax_state, r.warmth, r.area) == (reading.wax_state, reading.warmth, reading.area)
        and _alike(r.lab, reading.lab)
        and (piece.delivered_on is None or r.read_at.date() >= piece.delivered_on)
    ]
    if same:
        first = same[-1]
        return Foretold(
            first.lab, None, f"As read on {first.read_at:%Y-%m-%d} ({first.id}), not worked out."
        ), "as read"
    if age < 1:
        return None, "It was read when it was finished; this is as delivered."
    if not courses:
        return None, "Ageing is not known yet: read twins of this recipe at 24 h, 7 and 30 days, 6 and 12 months."
    fitting = [c for c in courses if c[0].kept == kept] if kept else list(courses)
    if len(fitting) != 1:
        known = ", ".join(c[0].kept for c in courses)
        return None, f"Twins were kept in several ways ({known}) or not so; say which ones the piece is like."
    sd = _sd_of(reading, [])
    found = as_delivered(reading.lab, age, fitting[0][1], reading_sd=sd)
    return Foretold(found.lab, found.half_width, found.words), f"worked back by twins kept {fitting[0][0].kept}"
