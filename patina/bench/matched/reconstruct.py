"""A vague card and a colour: plausible settings ranked by what this house's tiles say, and the tiles to make."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from patina.bench.readings.comparing import NamedColour, colour_of
from patina.bench.recipes import household
from patina.errors import BadQuantity, NotFound, PatinaError, Refused
from patina.matching.card import Card, read_card
from patina.recipe import Recipe
from patina.sheets.reconstruction import LadderRow, MeantRow, RankedRow, ReconstructionSheet, TriedRow

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.chemistry.substances import Catalogue, Substance
    from patina.matching.tile_model import MadeTile, Setting
    from patina.records.matched.settings_made import TileMade

Meaning = tuple[float, float] | tuple[str, ...] | str | float
# Where the card is silent and there are no tiles either.
_SILENT = {"passes": (2.0, 12.0), "surface_c": (20.0, 110.0), "strength_g_per_l": (5.0, 300.0)}
_MOST_CANDIDATES = 400
_MOST_WORDS = 5
_LONGEST_LADDER = 6
_SHOWN = 12
# What sours or sweetens a bath is not what colours.
_HELPERS = frozenset({"acid", "strong acid", "base", "strong base", "wax", "solvent"})
_NAMES = {
    "strength_g_per_l": ("strength", " g/L"),
    "passes": ("passes", " passes"),
    "surface_c": ("metal", " °C"),
    "method": ("method", ""),
    "chemical": ("chemical", ""),
}
# A tile this near to the target counts as it.
_MET_DE = 2.0


def reconstruct(
    studio: Studio,
    card: str,
    target: str,
    *,
    chemical: str = "",
    alloy: str = "",
    tried: Sequence[str] = (),
    levels: int = 3,
    volume_ml: float | None = None,
) -> ReconstructionSheet:
    """Which settings may have made a colour, and which tiles tell them apart soonest.

    card: as written ("2 spoons medium, few coats, hot"). target: the colour, "L,a,b" or an id. chemical:
    the substance that works, by any of its names, empty for those of the tiles. alloy: only tiles of
    it. tried: tiles made for this card already; those that missed rule their setting out. levels: values
    taken from each interval, 2 to 6. volume_ml: what a measure of the card ("2 spoons") goes into, where the card
    does not say; left out, a jar to a litre is assumed, and said. Works with no tiles, and says then that
    nothing is known.
    Raises BadQuantity, NotFound, UnknownSubstance, Refused for a card that says nothing.
    """
    if not 2 <= levels <= 6:
        raise BadQuantity(f"{levels} levels cannot be ranked.", "Take 2 to 6.", field="levels")
    known = studio.catalogue()
    read = read_card(card, known.names())
    if volume_ml is not None and not 1 <= volume_ml <= 1e6:
        raise BadQuantity(f"{volume_ml:g} mL is no volume to mix in.", "Give 1 mL to 1000 L.", field="volume")
    if not read.meant and not read.measures:
        raise Refused(
            f"Nothing of '{card}' says how strong, how often, how hot or how.",
            "Write for example: medium, few coats, hot; or figures: 30 g/L, 3 coats, 90 °C.",
            field="card",
        )
    goal = colour_of(studio, target)
    made = _tiles(studio, known, goal, alloy)
    cautions: list[str] = []
    if not chemical and (chemical := household.named(known, read)):
        cautions.append(f"'{chemical}' is taken for what works, since the card names it.")
    if chemical:
        name = known.find(chemical).name
        made = [m for m in made if m.values.get("chemical") == name]
        cautions += [] if made else [f"No tile of {name} was read; nothing is known of it."]
    space, meant = _space(read, made, chemical)
    spooned = household.read_measures(known, read, _works(known, chemical, made), volume_ml)
    cautions += spooned.cautions
    if spooned.readings:
        space.pop("strength_g_per_l", None)
        meant = [m for m in meant if m.factor != "strength_g_per_l"]
    meant = [*spooned.rows(_NAMES["strength_g_per_l"][0]), *meant]
    settings = _settings(space, levels, cautions, spooned)
    made = [m for m in made if m.tile != (goal.tile or "")]
    model_tiles = [_made_tile(m, tuple(settings[0].values)) for m in made]
    return _sheet(studio, card, goal, read, meant, settings, model_tiles, made, tried, cautions, spooned)


def _works(known: Catalogue, chemical: str, made: Sequence[TileMade]) -> Substance | None:
    """The substance whose strength is meant: as named, else the one of most tiles here, else unknown."""
    if chemical:
        return known.find(chemical)
    names = Counter(str(m.values["chemical"]) for m in made if "chemical" in m.values).most_common(1)
    return known.find(names[0][0]) if names else None


def _tiles(studio: Studio, known: Catalogue, goal: NamedColour, alloy: str) -> list[TileMade]:
    from patina.bench.matched.rack import alloy_key
    from patina.records.matched.settings_made import tiles_made

    with studio.store.view() as session:
        made = tiles_made(session, lambda r: of_recipe(known, r), goal.lab.illuminant, goal.lab.observer)
    if alloy:
        made = [m for m in made if alloy_key(str(m.values["alloy"])) == alloy_key(alloy)]
    same = [m for m in made if m.wax_state == goal.wax_state]
    return same if goal.wax_state != "not stated" and same else made


def of_recipe(known: Catalogue, recipe: Recipe) -> Mapping[str, float | str]:
    """What colour may depend on, of a recipe: strength of the strongest substance in g/L (acids and bases
    stand back), passes, temperature in the middle of its window, method, and the substance."""
    found: dict[str, float | str] = {}
    applied = [s for s in recipe.steps if s.do == "apply"]
    if not applied:
        return found
    found["passes"] = float(sum(s.passes for s in applied))
    windows = [s.surface_temperature_c for s in applied if s.surface_temperature_c is not None]
    if windows:
        found["surface_c"] = sum((w[0] + w[1]) / 2 for w in windows) / len(windows)
    methods = [s.method for s in applied if s.method]
    if methods:
        found["method"] = methods[0]
    strongest = _strongest(known, recipe, [s.solution for s in applied if s.solution])
    if strongest is not None:
        found["chemical"], found["strength_g_per_l"] = strongest
    return found


def _strongest(known: Catalogue, recipe: Recipe, solutions: Sequence[str]) -> tuple[str, float] | None:
    from patina.chemistry.strength import grams_per_litre

    found: list[tuple[bool, float, str]] = []
    for name in dict.fromkeys(solutions):
        solution = recipe.solution(name)
        for ingredient in solution.ingredients:
            try:
                substance = known.get(ingredient.substance)
                strength, _ = grams_per_litre(ingredient.strength, substance, volume_is=solution.volume_is)
            except PatinaError:
                continue  # a strength by weight of an unknown density tells nothing here
            found.append(
                (bool(substance.tags & household.COLOURING) or not substance.tags & _HELPERS, strength, substance.name)
            )
    if not found:
        return None
    _, strength, name = max(found)
    return name, strength


def _space(read: Card, made: Sequence[TileMade], chemical: str) -> tuple[dict[str, Meaning], list[MeantRow]]:
    """What each factor may have been: as the card says, else as this house's tiles were made."""
    space: dict[str, Meaning] = {}
    meant: list[MeantRow] = []
    said = {m.factor: m for m in read.meant}
    for factor in ("strength_g_per_l", "passes", "surface_c"):
        if factor in said:
            m = said[factor]
            space[factor] = (m.low, m.high) if m.high > m.low else m.low
            meant.append(MeantRow(factor, _NAMES[factor][0], m.said, _interval(factor, m.low, m.high)))
            continue
        seen = [float(t.values[factor]) for t in made if factor in t.values]
        if seen and max(seen) > min(seen):
            space[factor] = (min(seen), max(seen))
            meant.append(
                MeantRow(
                    factor,
                    _NAMES[factor][0],
                    "not said; as tiles here were made",
                    _interval(factor, min(seen), max(seen)),
                )
            )
        elif not made:
            space[factor] = _SILENT[factor]
            meant.append(MeantRow(factor, _NAMES[factor][0], "not said", _interval(factor, *_SILENT[factor])))
    for factor in ("method", "chemical"):
        words = _words(said[factor].word if factor in said else "", [t.values.get(factor) for t in made])
        if factor == "chemical" and chemical:
            continue
        if words and (factor in said or len(words) > 1):
            space[factor] = words[0] if len(words) == 1 else words
            origin = said[factor].said if factor in said else "not said; as tiles here were made"
            meant.append(MeantRow(factor, _NAMES[factor][0], origin, ", ".join(words)))
    return space, meant


def _words(said: str, seen: Sequence[float | str | None]) -> tuple[str, ...]:
    if said:
        return (said,)
    count = Counter(str(w) for w in seen if w is not None)
    return tuple(w for w, _ in count.most_common(_MOST_WORDS))


def _interval(factor: str, low: float, high: float) -> str:
    unit = "" if factor == "passes" else _NAMES[factor][1]
    return f"{low:g} to {high:g}{unit}" if high > low else f"{low:g}{unit}"


def _settings(
    space: Mapping[str, Meaning], levels: int, cautions: list[str], spooned: household.Spooned
) -> tuple[Setting, ...]:
    """The candidates, with fewer levels or fewer words where there would be too many."""
    from patina.matching.ladder import candidates
    from patina.matching.tile_model import Setting

    for n in range(levels, 1, -1):
        strengths = spooned.strengths(n)
        count = max(1, len(strengths)) * math.prod(
            1 if isinstance(v, str | float) else n if isinstance(v[0], float) else len(v) for v in space.values()
        )
        if count <= _MOST_CANDIDATES:
            if n < levels:
                cautions.append(f"{n} values of each interval are ranked: the card leaves much open.")
            others = candidates(space, n) if space else (Setting({}),)
            if not strengths:
                return _whole_passes(others)
            return _whole_passes([Setting({"strength_g_per_l": s, **o.values}) for s in strengths for o in others])
    raise BadQuantity("The card leaves too much open to be ranked.", "Name the chemical or the method.", field="card")


def _whole_passes(settings: Sequence[Setting]) -> tuple[Setting, ...]:
    """Nobody makes 2.8 passes: whole numbers, each setting once."""
    from patina.matching.tile_model import Setting

    found: dict[tuple[tuple[str, float | str], ...], Setting] = {}
    for setting in settings:
        values = dict(setting.values)
        if isinstance(passes := values.get("passes"), float | int):
            values["passes"] = float(max(1, round(passes)))
        found.setdefault(tuple(values.items()), Setting(values))
    return tuple(found.values())


def setting_words(values: Mapping[str, float | str]) -> str:
    """A setting as a person reads it.

    >>> setting_words({"strength_g_per_l": 30.0, "passes": 3.0, "surface_c": 95.0, "method": "torch"})
    '30 g/L, 3 passes, 95 °C, torch'
    """
    return ", ".join(
        value if isinstance(value, str) else f"{value:g}{_NAMES.get(key, ('', ' ' + key))[1]}"
        for key, value in values.items()
    )


def _made_tile(made: TileMade, keys: Sequence[str]) -> MadeTile:
    from patina.matching.tile_model import MadeTile, Setting

    return MadeTile(Setting({k: made.values[k] for k in keys if k in made.values}), made.lab)


def _sheet(
    studio: Studio,
    card: str,
    goal: NamedColour,
    read: Card,
    meant: Sequence[MeantRow],
    settings: Sequence[Setting],
    tiles: Sequence[MadeTile],
    made: Sequence[TileMade],
    tried: Sequence[str],
    cautions: list[str],
    spooned: household.Spooned,
) -> ReconstructionSheet:
    from patina.matching.ladder import rank
    from patina.matching.tile_model import TileModel

    model = TileModel(tiles, settings)
    sd = 1.0 if goal.uncertainty_de00 is None else max(goal.uncertainty_de00 / 2, 0.2)
    tried_rows, out = _tried(tried, goal, settings, made)
    left = [s for s in settings if s not in out]
    ranked = rank(model, left or settings, goal.lab, sd)
    bits = -sum(r.chance * math.log2(r.chance) for r in ranked if r.chance > 0)
    met = [t for t in tried_rows if t.met]
    if met:
        cautions.append(f"{met[0].tile} meets the target (ΔE00 {met[0].delta_e:.1f}): it was got so.")
    inside, error = model.left_out()
    return ReconstructionSheet(
        card=card,
        target=goal.lab,
        target_name=goal.name,
        meant=tuple(meant),
        left=(*read.left, *spooned.left),
        tiles=len(tiles),
        knows=model.words(),
        inside=None if math.isnan(inside) else inside,
        error=None if math.isnan(error) else error,
        candidates=len(settings),
        ranked=tuple(
            RankedRow(
                setting_words(r.setting.values),
                r.setting.values,
                r.chance,
                r.lab,
                r.half_width,
                spooned.as_measured(r.setting.values),
            )
            for r in ranked[:_SHOWN]
        ),
        unknown_bits=bits,
        ladder=() if met else _ladder(model, settings, goal, sd, out, bits),
        tried=tried_rows,
        cautions=tuple(cautions),
        inside_range=None if math.isnan(inside) else model.left_out_range(),
    )


def _ladder(
    model: object, settings: Sequence[Setting], goal: NamedColour, sd: float, out: Sequence[Setting], bits: float
) -> tuple[LadderRow, ...]:
    """Tiles one after the other, each the one that tells most if those before it missed, until what is expected
    of them is as much as is unknown."""
    from patina.matching.ladder import next_tile, rank
    from patina.matching.tile_model import TileModel

    assert isinstance(model, TileModel)
    done, told = list(out), 0.0
    rows: list[LadderRow] = []
    while len(rows) < _LONGEST_LADDER and len(done) < len(settings) and (not rows or told < bits):
        step = next_tile(model, settings, goal.lab, target_sd=sd, made=done)
        left = [s for s in settings if s not in done]
        chance = next(r.chance for r in rank(model, left, goal.lab, sd) if r.setting == step.setting)
        rows.append(LadderRow(setting_words(step.setting.values), step.why, chance, step.information))
        told += max(step.information, 0.05)
        done.append(step.setting)
    return tuple(rows)


def _tried(
    tried: Sequence[str], goal: NamedColour, settings: Sequence[Setting], made: Sequence[TileMade]
) -> tuple[tuple[TriedRow, ...], list[Setting]]:
    """Tiles made for this card: whether they met the target, and the settings that are ruled out."""
    from patina.colour.difference import compare

    by_id = {m.tile: m for m in made}
    rows, out = [], []
    for which in tried:
        tile = by_id.get(which.strip().upper())
        if tile is None:
            raise NotFound(
                f"{which} is no tile of a recipe that was read.", "Give the id of a tile that was read.", field="tried"
            )
        nearest = min(settings, key=lambda s: _away(s, tile.values))
        difference = compare(goal.lab, tile.lab).delta_e
        met = difference <= _MET_DE
        rows.append(TriedRow(tile.tile, setting_words(nearest.values), difference, met, tile.engraved))
        if difference > _MET_DE:
            out.append(nearest)
    return tuple(rows), out


def _away(setting: Setting, values: Mapping[str, float | str]) -> float:
    """How far a tile was made from a setting: ratios of figures, 1 for another word."""
    total = 0.0
    for key, wanted in setting.values.items():
        was = values.get(key)
        if isinstance(wanted, str) or isinstance(was, str) or was is None:
            total += 0.0 if wanted == was else 1.0
        elif wanted > 0 and was > 0:
            total += abs(math.log(was / wanted))
    return total
