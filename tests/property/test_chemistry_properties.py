"""Rules that hold for every amount: reading inverts showing, and no grams appear or vanish."""

from __future__ import annotations

import math

from hypothesis import given, settings
from hypothesis import strategies as st

from patina import units
from patina.chemistry.concentration import grams_per_litre
from patina.chemistry.density import density_of
from patina.chemistry.hydrates import convert_g, same_salt
from patina.chemistry.solution import Application, from_stock, mixing_order, volume_ml
from patina.chemistry.strength import BASES, Strength, parse_strength, show_strength
from patina.chemistry.substances import catalogue
from patina.chemistry.weighing import round_to_step, weigh
from patina.errors import CannotConvert, PatinaError

settings.register_profile("bench", deadline=None)  # the first amount with an odd unit imports pint
settings.load_profile("bench")

c = catalogue()
SUBSTANCES = sorted(c.substances.values(), key=lambda s: s.key)
substances = st.sampled_from(SUBSTANCES)
amounts = st.floats(1e-3, 1e5, allow_nan=False)
families = st.sampled_from(
    [c.forms_of(b) for b in sorted({s.base or "" for s in SUBSTANCES}) if len(c.forms_of(b)) > 1]
)


@given(st.sampled_from(BASES), st.floats(1e-6, 1.0), st.sampled_from(["", "weight", "volume"]))
def test_a_strength_shown_reads_back(basis, value, by):
    """For every basis and value; parts keep by weight or by volume."""
    strength = Strength("x", basis, value, by if basis.startswith("parts") else "")
    again = parse_strength(show_strength(strength))
    assert (again.basis, again.by) == (strength.basis, strength.by)
    assert math.isclose(again.value, value, rel_tol=1e-9)


@settings(max_examples=300)
@given(st.text(max_size=25))
def test_any_text_is_read_or_refused_by_name(text):
    """No words, however odd, bring anything but a value or a trouble with a name."""
    for read in (
        parse_strength,
        units.area_m2,
        units.volume_ml,
        units.mass_g,
        units.temperature_c,
        units.number,
        c.find,
    ):
        try:
            read(text)
        except PatinaError as trouble:
            assert trouble.what
            assert trouble.remedy


_NUMBERS = "0 1 20 -5 1,234 1:20 ½ nan e9 . , "
_WORDS = "g mL L oz gal US imp % w/v w/w v/v / per part parts in to by volume weight M mol"
_piece = st.sampled_from((_NUMBERS + _WORDS).split(" "))


@settings(max_examples=400)
@given(st.lists(_piece, max_size=7))
def test_words_of_strengths_in_any_order_are_read_or_refused(pieces):
    """What is read lies within its bounds: above zero and not absurd."""
    try:
        strength = parse_strength(" ".join(pieces))
    except PatinaError:
        return
    assert strength.basis in BASES
    assert 0 < strength.value <= 5000


@given(families, amounts, st.data())
def test_there_and_back_between_forms_keeps_the_grams(forms, amount, data):
    """Converting to another form and back is the identity; moles of the base salt are the same."""
    a, b = data.draw(st.sampled_from(forms)), data.draw(st.sampled_from(forms))
    if not same_salt(a, b):
        return
    there = convert_g(amount, a, b)
    assert math.isclose(convert_g(there, b, a), amount, rel_tol=1e-12)
    if a.active_molar_mass_g_mol and b.active_molar_mass_g_mol:
        assert math.isclose(amount / a.active_molar_mass_g_mol, there / b.active_molar_mass_g_mol, rel_tol=1e-12)


@given(amounts, st.sampled_from([0.001, 0.01, 0.1, 0.5, 1.0, 5.0]))
def test_rounding_is_within_half_a_step(amount, step):
    """And lands on a multiple of the step."""
    rounded = round_to_step(amount, step)
    assert abs(rounded - amount) <= step / 2 * (1 + 1e-9)
    assert math.isclose(rounded / step, round(rounded / step), abs_tol=1e-6)


@settings(max_examples=200)
@given(
    substances,
    st.floats(0.1, 200),
    st.floats(10, 20_000),
    st.sampled_from([None, 20.0, 55.0, 98.0]),
    st.sampled_from([0.01, 0.1, 1.0]),
)
def test_what_is_weighed_holds_what_was_asked(substance, grams, volume, assay, step):
    """Amount × assay (× density) over the volume is the strength asked; achieved and error_pct say the same."""
    try:
        w = weigh(substance, Strength("x", "g_per_l", grams), volume, have_assay_pct=assay, step_g=step)
    except CannotConvert:
        return
    from patina.chemistry.density import as_sold_density_g_ml

    share = (assay or substance.assay_pct or 100) / 100
    sold_g = w.amount * (as_sold_density_g_ml(substance, assay or substance.assay_pct) if w.unit == "mL" else 1)
    assert math.isclose(sold_g * share / volume * 1000, grams, rel_tol=1e-9)
    assert math.isclose(w.achieved_g_per_l, grams * (1 + w.error_pct / 100), rel_tol=1e-9, abs_tol=1e-12)
    on_the_balance = not substance.is_liquid or "weigh_liquid" in {warning.code for warning in w.warnings}
    assert (w.unit == "g") == on_the_balance


@given(st.floats(1, 500), st.floats(0.001, 1), st.floats(1, 1e5))
def test_thinning_a_stock_keeps_the_solute(stock, part, volume):
    """Grams in the stock taken are grams in the working solution; the volumes add up."""
    wanted = stock * part
    stock_ml, water_ml, _ = from_stock(stock, wanted, volume)
    assert math.isclose(stock_ml * stock, wanted * volume, rel_tol=1e-9)
    assert math.isclose(stock_ml + water_ml, volume, rel_tol=1e-9)


@given(
    st.floats(0.01, 100),
    st.floats(1, 3),
    st.floats(1, 500),
    st.integers(1, 20),
    st.floats(0.1, 1),
    st.floats(0, 1),
    st.floats(0, 500),
)
def test_splitting_the_passes_over_two_steps_changes_nothing(area, texture, coverage, passes, transfer, reserve, dead):
    """One step of 2n passes needs what two steps of n passes need; more area never needs less."""
    one, _ = volume_ml([Application(coverage, 2 * passes, transfer)], area, texture, reserve, dead)
    two, _ = volume_ml([Application(coverage, passes, transfer)] * 2, area, texture, reserve, dead)
    assert math.isclose(one, two, rel_tol=1e-9)
    more, _ = volume_ml(
        [Application(coverage, 2 * passes, transfer)], area * 1.5 if area < 60 else area, texture, reserve, dead
    )
    assert more >= one


@settings(max_examples=150)
@given(substances, st.floats(0.1, 30), st.sampled_from(["made up to", "added to"]))
def test_weight_per_cent_is_a_share_of_the_weight(substance, pct, volume_is):
    """% w/w, turned to grams per litre and back by the density or the masses, is the same per cent."""
    try:
        grams, _ = grams_per_litre(Strength("x", "pct_ww", pct), substance, volume_is=volume_is)
    except PatinaError:
        return
    if volume_is == "made up to":
        total = 1000 * density_of({substance: grams})[0]
    else:
        carried = grams / ((substance.assay_pct or 100) / 100) if substance.is_liquid else grams
        total = 998.204 + carried
    assert math.isclose(100 * grams / total, pct, rel_tol=1e-5)


@settings(max_examples=150)
@given(st.lists(substances, max_size=5, unique_by=lambda s: s.key))
def test_no_order_ever_puts_sulphide_and_acid_together(ingredients):
    """Any pot that holds a sulphide and an acid or acid salt has no order, only the refusal."""
    lines = mixing_order(ingredients, c.get("water"))
    tags = [s.tags for s in ingredients]
    if any("sulphide" in t for t in tags) and any(t & {"acid", "acid salt"} for t in tags):
        assert lines[0].startswith("Do not mix this")
        assert not any(line.startswith(("Put", "Make up")) for line in lines)
