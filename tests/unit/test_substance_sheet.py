"""Substances from a safety data sheet: what is read, what is refused, what stays unknown.

The sheet of sodium hydroxide carries the harmonised classification and specific limits of CLP Annex VI
(index no. 011-002-00-6): Skin Corr. 1A H314 from 5 %, 1B from 2 to below 5 %, irritant from 0.5 to below 2 %.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from patina.bench import upkeep
from patina.bench.recipes import finishes, releases
from patina.bench.recipes.drafts import recipe_of_text
from patina.bench.safe.safety import safety
from patina.bench.shelves import shelf, substances
from patina.bench.shelves.substance_fields import PLACES, fields_of, substance_form
from patina.bench.shelves.substance_file import read_substance_text
from patina.bench.studio import Studio, open_studio
from patina.chemistry.substances import catalogue
from patina.entries import NewLot
from patina.errors import BadQuantity, Incomplete, Refused, UnknownSubstance
from patina.safety.tag_offers import known_tags, offered_tags

LYE = """\
patina_substance = 1
name = "drain lye, prills"
other_names = ["lye prills"]

[sheet]
supplier = "Marsh Lane Chemicals"
product = "DL-2"
date = 2025-02-03
cas = "1310-73-2"

[hazards]
basis = "harmonised"
classes = ["Skin Corr. 1A H314", "Met. Corr. 1 H290"]
limits = ["Skin Corr. 1A H314 from 5 %", "Skin Corr. 1B H314 from 2 % below 5 %",
          "Skin Irrit. 2 H315 from 0.5 % below 2 %", "Eye Irrit. 2 H319 from 0.5 % below 2 %"]

[composition]
formula = "NaOH"
molar_mass = "40.00 g/mol"
assay = "98 %"

[properties]
form = "solid"
solubility = "1090 g/L"

[reactions]
tags = ["base", "strong base"]
gives_off = []
"""
RECIPE = """\
patina_recipe = 1
name = "Lye bath"
finish = "cleaned"
alloys = ["C87300"]
provenance = "own tiles"
[[solution]]
name = "lye"
solvent = "distilled water"
volume_is = "made up to"
[[solution.ingredient]]
substance = "lye prills"
strength = "{strength}"
[[step]]
do = "apply"
solution = "lye"
method = "cold brush"
coverage = "40 mL/m2"
"""


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty studio."""
    where = tmp_path_factory.mktemp("substances") / "studio"
    open_studio(where).close()
    return where


@pytest.fixture
def studio(template: Path, tmp_path: Path) -> Iterator[Studio]:
    """A copy of it, open."""
    shutil.copytree(template, tmp_path / "studio")
    with open_studio(tmp_path / "studio") as opened:
        yield opened


def keep(studio: Studio, tmp_path: Path, text: str, **more: str) -> object:
    """Add the substance of a text through its file."""
    path = tmp_path / "substance.toml"
    path.write_text(text, encoding="utf-8")
    return substances.add_substance_file(studio, path, **more)


def test_a_sheet_is_read_whole(studio: Studio, tmp_path: Path) -> None:
    """Every field of the file is in the substance, with the sheet as its source."""
    sheet = keep(studio, tmp_path, LYE, by="Ada Ness")
    found = substances.substance_sheet(studio, "Lye Prills")
    assert sheet == found and found.own
    s = found.substance
    assert (s.key, s.cas, s.formula, s.molar_mass_g_mol, s.assay_pct) == (
        *("drain_lye_prills", "1310-73-2", "NaOH"),
        *(40.0, 98.0),
    )
    assert [(x.class_code, x.low_pct, x.high_pct) for x in s.limits[:2]] == [
        ("Skin Corr. 1A", 5.0, None),
        ("Skin Corr. 1B", 2.0, 5.0),
    ]
    assert s.source == "data sheet of Marsh Lane Chemicals, 2025-02-03" == s.hazards[0].source
    assert (found.sheets[0].dated, found.sheets[0].by) == (date(2025, 2, 3), "Ada Ness")
    assert any("gives off" in line for line in found.missing), "what nobody has said is listed as missing"
    assert upkeep.check(studio).ok


@pytest.mark.parametrize(
    ("strength", "statement"),
    [
        ("0.49 % w/w", None),
        ("0.5 % w/w", "H315"),
        ("1.99 % w/w", "H315"),
        ("2 % w/w", "H314"),
        ("4.9 % w/w", "H314"),
        ("5 % w/w", "H314"),
    ],
)
def test_it_is_used_in_recipes_at_once(studio: Studio, tmp_path: Path, strength: str, statement: str | None) -> None:
    """A recipe finds it by its other name, and its own limits decide the bath's class (CLP Annex VI)."""
    keep(studio, tmp_path, LYE)
    finishes.save_recipe(studio, recipe_of_text(studio, RECIPE.format(strength=strength)))
    (pot,) = safety(studio, "Lye bath").solutions
    codes = {c.class_code: c.h for c in pot.classes if c.h in ("H314", "H315")}
    assert (next(iter(codes.values()), None)) == statement
    if statement == "H314":
        assert ("Skin Corr. 1A" in codes) == (strength == "5 % w/w")


def test_unknown_hazards_are_an_answer_and_block_a_release(studio: Studio, tmp_path: Path) -> None:
    """It can be used for tiles; its recipe is never released, and the bath is undecided, not harmless."""
    text = LYE.replace('basis = "harmonised"', 'basis = "unknown"')
    text = "\n".join(line for line in text.splitlines() if "Corr." not in line and "Irrit." not in line)
    sheet = keep(studio, tmp_path, text)
    assert sheet.missing[0].startswith("its hazards")  # type: ignore[attr-defined]
    finishes.save_recipe(studio, recipe_of_text(studio, RECIPE.format(strength="5 g/L")))
    with pytest.raises(Refused, match="no hazard information"):
        releases.release(studio, "Lye bath", by="Ada Ness")
    notes = safety(studio, "Lye bath")
    assert not notes.complete and notes.solutions[0].undecided


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("patina_substance = 1", "", "patina_substance"),
        ("[reactions]", "[reaction]", "key has no meaning"),
        ('cas = "1310-73-2"', 'cas = "1310-73-3"', "line 9, sheet.cas"),
        ("date = 2025-02-03", "date = 2999-01-01", "line 8, sheet.date"),
        ("date = 2025-02-03", "", "sheet.date"),
        ('supplier = "Marsh Lane Chemicals"', "", "line 5, sheet.supplier"),
        ('Skin Corr. 1A H314", "Met', 'Skin Corr. 1A H318", "Met', "no class Skin Corr. 1A with H318"),
        ('basis = "harmonised"', 'basis = "none"', "hazards are written all the same"),
        ('basis = "harmonised"', 'basis = "guessed"', "'guessed' is not known"),
        ("from 2 % below 5 %", "from 5 % below 2 %", "ends before it begins"),
        ('assay = "98 %"', "assay = 98", "line 20, composition.assay"),
        ('assay = "98 %"', 'assay = "120 %"', "composition.assay"),
        ('form = "solid"', 'form = "lump"', "'lump' is not known"),
        ('molar_mass = "40.00 g/mol"', 'molar_mass = "40 g"', "no molar mass"),
        ('tags = ["base", "strong base"]', "", "'tags' is missing"),
        ('tags = ["base", "strong base"]', 'tags = ["basse"]', "no reaction tag"),
        ("gives_off = []", 'gives_off = ["unicorn gas: acid"]', "no gas that is known"),
        ("gives_off = []", 'gives_off = ["ammonia: moonlight"]', "what sets it free"),
        ('name = "drain lye, prills"', 'name = "sodium hydroxide"', "already the name of"),
        ('other_names = ["lye prills"]', 'other_names = ["Silver Nitrate"]', "already the name of silver nitrate"),
        ('other_names = ["lye prills"]', 'other_names = "lye"', "must be a list"),
        ('name = "drain lye, prills"', 'name = "drain \\u001b[31m"', "cannot be shown"),
        ('name = "drain lye, prills"', f'name = "{"x" * 121}"', "longer than 120"),
    ],
)
def test_a_file_with_anything_wrong_is_refused_whole(
    studio: Studio, tmp_path: Path, old: str, new: str, said: str
) -> None:
    """The key is named, and nothing is kept."""
    assert old in LYE
    with pytest.raises(Refused) as trouble:
        keep(studio, tmp_path, LYE.replace(old, new))
    assert said in trouble.value.what
    assert trouble.value.remedy
    assert len(studio.catalogue()) == len(catalogue())


def test_all_troubles_are_told_at_once() -> None:
    """A form says everything that is wrong, each beside its field."""
    with pytest.raises(Incomplete) as trouble:
        substance_form({"name": "x", "assay": "lots", "classes": "H314"}, catalogue(), date.today())
    fields = {t.field for t in trouble.value.troubles}
    assert {"assay", "classes", "supplier", "date", "basis", "form", "tags"} <= fields


@pytest.mark.parametrize("text", ["", "not toml [", "patina_substance = true", 'x = "\\u0000"'])
def test_what_is_no_substance_file(text: str) -> None:
    """Anything else is refused in words."""
    with pytest.raises(Refused):
        read_substance_text(text, catalogue(), date.today())


@pytest.mark.parametrize(
    ("formula", "classes", "follows"),
    [
        ("AgNO3", ("Ox. Sol. 2",), {"silver", "nitrate", "oxidiser"}),
        ("K2Cr2O7", (), {"chromate", "oxidiser"}),
        ("Na2S.9H2O", (), {"sulphide", "base"}),
        ("Na2S2O3.5H2O", (), {"thiosulphate", "reducer"}),
        ("CuSO4.5H2O", (), {"copper", "sulphate"}),
        ("NaClO", (), {"hypochlorite", "oxidiser", "strong oxidiser"}),
        ("NaCl", (), {"chloride"}),
        ("C2H6O", ("Flam. Liq. 2",), {"flammable"}),
        ("", ("Skin Corr. 1B",), set()),
    ],
)
def test_tags_are_offered_where_they_follow(formula: str, classes: tuple[str, ...], follows: set[str]) -> None:
    """From the formula and the class; whether a corrosive is acid or base does not follow and is asked."""
    assert set(offered_tags(formula, classes)) == follows


def test_what_is_offered_agrees_with_the_catalogue() -> None:
    """For three substances in four of the program's own catalogue every offered tag is one it has."""
    own = [s for s in catalogue().substances.values() if s.formula and " " not in s.formula]
    agree = [s for s in own if set(offered_tags(s.formula, ())) <= s.tags]
    assert len(own) > 40 and len(agree) >= 0.75 * len(own)
    assert all(set(offered_tags(s.formula, ())) <= known_tags() for s in own)


def test_missing_tags_are_asked_with_what_follows(studio: Studio, tmp_path: Path) -> None:
    """The refusal names the tags that follow from formula and classes."""
    with pytest.raises(Refused) as trouble:
        keep(studio, tmp_path, LYE.replace('tags = ["base", "strong base"]', ""))
    assert "base; strong base" in trouble.value.remedy


def test_a_renewed_sheet_takes_the_place_of_the_old(studio: Studio, tmp_path: Path) -> None:
    """Under the same key; what it was stays in the log, and both sheets stay on record."""
    keep(studio, tmp_path, LYE)
    newer = LYE.replace("2025-02-03", "2025-06-05").replace("98 %", "99 %")
    with pytest.raises(Refused, match="already the name"):
        keep(studio, tmp_path, newer)
    sheet = keep(studio, tmp_path, newer, renew="lye prills")
    assert sheet.substance.assay_pct == 99.0  # type: ignore[attr-defined]
    assert [r.dated.month for r in sheet.sheets] == [6, 2]  # type: ignore[attr-defined]
    with pytest.raises(Refused, match="program's catalogue"):
        keep(studio, tmp_path, newer, renew="silver nitrate")
    assert upkeep.check(studio).ok


def test_fields_are_written_back_as_they_were(studio: Studio, tmp_path: Path) -> None:
    """What a form shows for renewing gives the same substance again."""
    keep(studio, tmp_path, LYE)
    sheet = substances.substance_sheet(studio, "lye prills")
    fields = fields_of(sheet.substance, sheet.sheets[0]) | {"date": "2025-02-03"}
    assert set(fields) <= set(PLACES)
    again = substance_form(fields, studio.catalogue(), date.today(), replaces=sheet.substance.key)
    assert again.substance == sheet.substance


def test_old_data_ask_to_be_checked(studio: Studio, tmp_path: Path) -> None:
    """Older than the studio's age, or on the shelf without a sheet; comparing with a new sheet quiets it."""
    old = (date.today() - timedelta(days=365 * 4)).isoformat()
    keep(studio, tmp_path, LYE.replace("2025-02-03", old))
    shelf.add_lot(studio, NewLot("silver nitrate", 25.0))
    shelf.add_lot(studio, NewLot("distilled water", 5000.0, "mL"))
    asked = {row.name: row.check for row in substances.stale_substances(studio)}
    assert set(asked) == {"drain lye, prills", "silver nitrate"}
    assert old in asked["drain lye, prills"] and "no data sheet" in asked["silver nitrate"]
    substances.set_age_years(studio, 5)
    assert {row.name for row in substances.stale_substances(studio)} == {"silver nitrate"}
    today = date.today().isoformat()
    substances.sheet_checked(studio, "silver nitrate", today, "Marsh Lane Chemicals", by="Ada Ness")
    assert substances.stale_substances(studio) == ()
    for years in (0.0, -1.0, 101.0, float("nan")):
        with pytest.raises(BadQuantity):
            substances.set_age_years(studio, years)


@pytest.mark.parametrize(("dated", "supplier"), [("2999-01-01", "M"), ("yesterday", "M"), ("2025-01-01", " ")])
def test_what_is_no_check(studio: Studio, dated: str, supplier: str) -> None:
    """A date to come, no date, no supplier: nothing is written down."""
    with pytest.raises((BadQuantity, Refused)):
        substances.sheet_checked(studio, "silver nitrate", dated, supplier)
    with pytest.raises(UnknownSubstance):
        substances.sheet_checked(studio, "kryptonite", "2025-01-01", "M")
    assert substances.substance_sheet(studio, "silver nitrate").sheets == ()


def test_the_list_says_what_is_unknown(studio: Studio) -> None:
    """Every substance with its signal word; a search finds by any name."""
    rows = substances.list_substances(studio)
    assert len(rows) == len(catalogue())
    (silver,) = substances.list_substances(studio, "lunar caustic")
    assert (silver.name, silver.signal_word, silver.own, silver.sheet_dated) == (
        "silver nitrate",
        "Danger",
        False,
        None,
    )
