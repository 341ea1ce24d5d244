"""What must hold of any mixture: worse never gets milder by more of it, order and lots do not matter, water thins."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from patina.chemistry.substances import catalogue
from patina.safety.mixture import Component, MixtureClass, classify
from patina.safety.rules import REGIMES

KEYS = sorted(key for key, s in catalogue().substances.items() if s.hazards)
PURE = 100.0
NONE = 99

parts = st.lists(
    st.tuples(st.sampled_from(KEYS), st.floats(0.001, 30, allow_nan=False)),
    min_size=1,
    max_size=5,
    unique_by=lambda p: p[0],
).filter(lambda ps: sum(pct for _, pct in ps) <= PURE)
regimes = st.sampled_from(REGIMES)
phs = st.one_of(st.none(), st.floats(0, 14))


def result(mixture: list[tuple[str, float]], regime: str, ph: float | None = None) -> MixtureClass:
    return classify([Component(catalogue().get(k), pct) for k, pct in mixture], regime=regime, ph=ph)


def severity(found: MixtureClass) -> dict[str, int]:
    """Worst rank of each family, what is open counted as reached (0 is the worst)."""
    worst: dict[str, int] = {}
    for item in (*found.found, *found.covered, *found.open):
        worst[item.family] = min(worst.get(item.family, NONE), item.rank)
    return worst


def settled(found: MixtureClass) -> dict[str, int]:
    """Worst rank of each family that is settled."""
    worst: dict[str, int] = {}
    for item in (*found.found, *found.covered):
        worst[item.family] = min(worst.get(item.family, NONE), item.rank)
    return worst


def shown(found: MixtureClass) -> tuple[object, ...]:
    return found.found, found.covered, found.euh, found.open, found.notes


@settings(max_examples=150, deadline=None)
@given(parts, regimes, phs, st.randoms(use_true_random=False))
def test_order_of_ingredients_changes_nothing(mixture, regime, ph, random) -> None:  # type: ignore[no-untyped-def]
    """The same ingredients in another order give the same classes, statements, reasons and open questions."""
    shuffled = list(mixture)
    random.shuffle(shuffled)
    assert shown(result(mixture, regime, ph)) == shown(result(shuffled, regime, ph))


@settings(max_examples=150, deadline=None)
@given(parts, regimes, phs, st.floats(0.05, 0.95))
def test_splitting_an_ingredient_in_two_lots_changes_nothing(mixture, regime, ph, share) -> None:  # type: ignore[no-untyped-def]
    """An ingredient weighed from two lots counts as one."""
    key, pct = mixture[0]
    split = [(key, pct * share), (key, pct - pct * share), *mixture[1:]]
    whole, halves = result(mixture, regime, ph), result(split, regime, ph)
    assert [f[:2] for f in whole.codes] == [f[:2] for f in halves.codes]
    assert {(o.family, o.code) for o in whole.open} == {(o.family, o.code) for o in halves.open}
    assert [e.code for e in whole.euh] == [e.code for e in halves.euh]


@settings(max_examples=250, deadline=None)
@given(parts, regimes, st.floats(1.0, 3.0))
def test_more_of_a_hazardous_ingredient_never_lowers_a_class(mixture, regime, factor) -> None:  # type: ignore[no-untyped-def]
    """More of one ingredient in place of water: every family stays at least as severe."""
    key, pct = mixture[0]
    more = min(pct * factor, PURE - sum(p for _, p in mixture[1:]))
    before, after = result(mixture, regime), result([(key, more), *mixture[1:]], regime)
    worse = severity(after)
    for family, rank in severity(before).items():
        assert worse.get(family, NONE) <= rank or _decided(after, family, before)
    for family, rank in settled(before).items():
        assert worse.get(family, NONE) <= rank


def _decided(after: MixtureClass, family: str, before: MixtureClass) -> bool:
    """An open question may be closed by more of something: the pH no longer matters once the bath is corrosive."""
    return family == "skin" and any(f.h == "H314" for f in after.found)


@settings(max_examples=250, deadline=None)
@given(parts, regimes, st.floats(0.02, 1.0))
def test_water_only_dilutes(mixture, regime, factor) -> None:  # type: ignore[no-untyped-def]
    """Adding water makes no class more severe and settles none that was not there."""
    before, after = result(mixture, regime), result([(k, pct * factor) for k, pct in mixture], regime)
    milder = severity(before)
    for family, rank in settled(after).items():
        assert milder.get(family, NONE) <= rank
    assert {e.code for e in after.euh} - {"EUH208"} <= {e.code for e in before.euh}


@settings(max_examples=100, deadline=None)
@given(parts, phs)
def test_a_stronger_class_leaves_its_milder_ones_out(mixture, ph) -> None:  # type: ignore[no-untyped-def]
    """One class per family, and no eye class beside a corrosive one."""
    found = result(mixture, "CLP", ph)
    families = [f.family for f in found.found if f.family not in ("Repr.", "STOT SE", "STOT RE")]
    assert len(families) == len(set(families))
    if any(f.h == "H314" for f in found.found):
        assert not any(f.family == "eye" for f in found.found)
