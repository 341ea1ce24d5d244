"""What must not meet is found by what substances are, and only where it is there."""

from __future__ import annotations

from dataclasses import replace

import pytest

from patina.chemistry.substances import catalogue
from patina.errors import BadData
from patina.safety.reactions import (
    LEVELS,
    SCOPES,
    Group,
    Member,
    dangers_between,
    dangers_with,
    dangers_within,
    group_of,
    rules,
)
from patina.safety.tagwords import matcher, tags_named
from patina.sources import bibliography

SURROUNDINGS = {
    "moist air",
    "paper and cloth",
    "base metal tools",
    "water poured in",
    "damp air later",
    "copper metal",
    "acetylene",
    "hot metal",
    "warm metal",
}
MADE_IN_THE_POT = {"ammoniacal copper"}
OTHER_THINGS = {"hypochlorite", "mercury", "glycol", "tin metal", "drying oil", "turpentine", "strong oxidiser"}


def pot(*keys: str) -> Group:
    return group_of("pot", [catalogue().get(k) for k in keys])


def found(*keys: str) -> dict[str, str]:
    """Rule to level in one pot."""
    return {d.rule: d.level for d in dangers_within(pot(*keys))}


@pytest.mark.parametrize(
    ("keys", "rule", "level"),
    [
        (("liver_of_sulphur", "acetic_acid"), "sulphide_acid", "critical"),
        (("sodium_sulfide_9h2o", "ferric_chloride_6h2o"), "sulphide_acid", "critical"),
        (("barium_sulfide", "hydrochloric_acid"), "sulphide_acid", "critical"),
        (("potassium_sulfide", "bismuth_nitrate_5h2o"), "sulphide_acid", "critical"),
        (("liver_of_sulphur", "nitric_acid"), "sulphide_nitric", "critical"),
        (("liver_of_sulphur", "potassium_permanganate"), "sulphide_oxidiser", "critical"),
        (("silver_nitrate", "ammonia_solution"), "silver_ammonia", "critical"),
        (("silver_nitrate", "oxalic_acid_2h2o"), "silver_oxalate", "critical"),
        (("cupric_nitrate_3h2o", "ammonium_chloride"), "copper_nitrate_ammonium", "critical"),
        (("cupric_nitrate_2_5h2o", "ammonia_solution"), "copper_nitrate_ammonia", "critical"),
        (("cupric_nitrate_3h2o", "isopropanol"), "nitrate_fuel", "critical"),
        (("nitric_acid", "ethanol"), "nitric_fuel", "critical"),
        (("potassium_permanganate", "acetone"), "permanganate_fuel", "critical"),
        (("potassium_permanganate", "hydrochloric_acid"), "permanganate_hcl", "critical"),
        (("potassium_permanganate", "sulfuric_acid"), "permanganate_sulphuric", "critical"),
        (("potassium_dichromate", "ethanol"), "chromate_fuel", "critical"),
        (("potassium_dichromate", "hydrochloric_acid"), "permanganate_hcl", "critical"),
        (("hydrogen_peroxide", "acetone"), "peroxide_solvent", "critical"),
        (("hydrogen_peroxide", "cupric_sulfate_5h2o"), "peroxide_metal", "critical"),
        (("hydrogen_peroxide", "acetic_acid"), "peroxide_acetic", "serious"),
        (("selenium_dioxide", "stannous_chloride_2h2o"), "selenium_reducer", "critical"),
        (("ammonium_chloride", "sodium_hydroxide"), "ammonium_base", "serious"),
        (("ammonia_solution", "hydrochloric_acid"), "ammonia_acid", "serious"),
        (("sodium_thiosulfate_5h2o", "acetic_acid"), "thiosulphate_acid", "serious"),
        (("ferric_nitrate_9h2o", "stannous_chloride_2h2o"), "iron_nitrate_reducer", "critical"),
        (("potassium_ferrocyanide", "sulfuric_acid"), "ferrocyanide_acid", "critical"),
    ],
)
def test_dangers_in_one_pot(keys: tuple[str, ...], rule: str, level: str) -> None:
    """The incompatible pairs of the trade, in either order."""
    assert found(*keys).get(rule) == level
    assert found(*reversed(keys)).get(rule) == level


@pytest.mark.parametrize(
    "keys",
    [
        ("water",),
        ("water", "distilled_water"),
        ("liver_of_sulphur", "water"),
        ("cupric_nitrate_3h2o", "cupric_nitrate_2_5h2o"),
        ("liver_of_sulphur", "sodium_bicarbonate"),
        ("sodium_chloride", "cupric_sulfate_5h2o"),
        ("ammonium_sulfide_solution",),
        ("silver_nitrate", "sodium_chloride"),
        ("nitric_acid", "ferric_nitrate_9h2o"),
        ("acetic_acid", "acetic_vinegar"),
    ],
)
def test_no_false_alarm(keys: tuple[str, ...]) -> None:
    """Water alone, two hydrates of one salt, one substance with itself, and harmless neighbours give none."""
    assert not found(*keys)


def test_a_name_decides_nothing() -> None:
    """The same tags under invented names give the same dangers; the same names without tags give none."""
    sulphide = replace(catalogue().get("liver_of_sulphur"), key="x", base="x", name="Harmless brown")
    acid = replace(catalogue().get("acetic_acid"), key="y", base="y", name="Nice smell")
    assert {d.rule for d in dangers_within(group_of("p", [sulphide, acid]))} == {"sulphide_acid"}
    blank = replace(catalogue().get("liver_of_sulphur"), tags=frozenset())
    assert not dangers_within(group_of("p", [blank, catalogue().get("acetic_acid")]))


def test_silver_with_ammonia_starts_a_clock_of_the_same_day() -> None:
    """Fulminating silver: critical, discard within the day, and say how."""
    danger = next(d for d in dangers_within(pot("silver_nitrate", "ammonia_solution")) if d.rule == "silver_ammonia")
    assert danger.level == "critical" and danger.discard_within_h is not None and danger.discard_within_h <= 24
    assert "same day" in danger.instead and "salt" in danger.instead


def test_ammonia_set_free_in_the_pot_counts_as_ammonia() -> None:
    """Sal ammoniac with caustic makes ammonia, which with silver is fulminating silver."""
    assert found("silver_nitrate", "ammonium_chloride", "sodium_hydroxide")["silver_ammonia"] == "critical"
    assert "silver_ammonia" not in found("silver_nitrate", "ammonium_chloride")


def test_a_third_thing_must_be_near_where_the_rule_says_so() -> None:
    """Silver nitrate and alcohol alone are no fulminate; with nitric acid they are."""
    assert "silver_alcohol" not in found("silver_nitrate", "ethanol")
    assert found("silver_nitrate", "ethanol", "nitric_acid")["silver_alcohol"] == "critical"


def test_between_open_batches_and_lots_and_waste() -> None:
    """The same pair between two batches, on a shelf (milder, bottles are closed) and in one waste container."""
    one, other = group_of("B1", [catalogue().get("liver_of_sulphur")]), group_of("B2", [catalogue().get("acetic_acid")])
    assert [d.level for d in dangers_between((one, other), "bench")] == ["critical"]
    assert [d.level for d in dangers_between((one, other), "shelf")] == ["serious"]
    assert [d.level for d in dangers_between((one, other), "waste")] == ["critical"]
    assert dangers_between((one, other), "bench")[0].between == ("liver of sulphur (B1)", "acetic acid (B2)")
    assert not dangers_between((one,), "bench")
    assert not dangers_between((one, one), "bench")


def test_a_pair_inside_one_pot_is_not_repeated_between_pots() -> None:
    """What stands in a pot together is said once."""
    both = group_of("a", [catalogue().get("liver_of_sulphur"), catalogue().get("acetic_acid")])
    other = group_of("b", [catalogue().get("acetic_acid")])
    assert not dangers_between((both, other), "pots")


def test_strength_decides_where_the_rule_says_so() -> None:
    """Nitric acid on bronze: critical from 5 %, serious below."""
    acid = catalogue().get("nitric_acid")
    bronze = (Member("bronze", "bronze", frozenset({"copper metal"})),)
    for pct, level in ((5.0, "critical"), (4.9, "serious")):
        one = Group("pot", (Member(acid.key, acid.name, acid.tags, pct),))
        assert [d.level for d in dangers_with(one, bronze, "heat")] == [level]


def test_every_rule_has_a_source_and_can_be_met() -> None:
    """No rule without source, remedy and consequence, and each tag belongs to something that exists."""
    known = {t for s in catalogue().substances.values() for t in s.tags}
    known |= SURROUNDINGS | MADE_IN_THE_POT | OTHER_THINGS
    for rule in rules():
        assert rule.source in bibliography(), rule.key
        assert rule.consequence and rule.instead
        assert rule.level in LEVELS and set(rule.scopes) <= set(SCOPES)
        named = tags_named(rule.a) | tags_named(rule.b) | (tags_named(rule.near) if rule.near else frozenset())
        assert named <= known, rule.key
    assert len({r.key for r in rules()}) == len(rules())


def test_expressions_with_a_hole_are_refused() -> None:
    """An empty part would match everything."""
    for bad in ("acid |", "& acid", "acid & !", ""):
        with pytest.raises(ValueError, match="empty part"):
            matcher(bad)


def test_a_malformed_rule_is_refused_by_row_and_column(tmp_path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    """A level that does not exist names file, row and column."""
    from patina import datafile
    from patina.safety import reactions

    copy = tmp_path / "reactions.csv"
    original = datafile.data_path("reactions.csv").read_text(encoding="utf-8")
    copy.write_text(original.replace(",critical,serious,", ",deadly,serious,", 1), encoding="utf-8")
    monkeypatch.setattr(datafile, "data_path", lambda name: tmp_path / name)
    reactions.rules.cache_clear()
    try:
        with pytest.raises(BadData, match=r"reactions\.csv, row \d+, column 'level'"):
            reactions.rules()
    finally:
        reactions.rules.cache_clear()
