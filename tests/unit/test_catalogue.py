"""The catalogue: found by any name, sound in itself, every row with a source that resolves."""

from __future__ import annotations

import csv
import re
import shutil
import subprocess
import sys

import pytest

from patina.chemistry.catalogue_files import FILES, read_catalogue
from patina.chemistry.substances import cas_is_sound, catalogue
from patina.datafile import data_path
from patina.errors import BadData, NotFound, UnknownSubstance
from patina.sources import bibliography

OWN_FILES = (
    *FILES,
    "units.csv",
    "hazard_statements.csv",
    "precautionary_statements.csv",
    "pictograms.csv",
    "pictogram_names.csv",
    "density_coefficients.csv",
    "density_volumes.csv",
    "mixing_order.csv",
    "mixing_never.csv",
    "old_measures.csv",
)


def rows(name: str) -> list[dict[str, str]]:
    lines = [
        line for line in data_path(name).read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")
    ]
    return list(csv.DictReader(lines))


@pytest.mark.parametrize(
    ("asked", "key"),
    [
        ("liver of sulphur", "liver_of_sulphur"),
        ("Liver of Sulfur", "liver_of_sulphur"),
        ("potassium polysulfide", "liver_of_sulphur"),
        ("blue vitriol", "cupric_sulfate_5h2o"),
        ("sal ammoniac", "ammonium_chloride"),
        ("Sal-Ammoniac", "ammonium_chloride"),
        ("spirits of hartshorn", "ammonia_solution"),
        ("butter of antimony", "antimony_trichloride"),
        ("lunar caustic", "silver_nitrate"),
        ("sugar of lead", "lead_acetate_3h2o"),
        ("aqua fortis", "nitric_acid"),
        ("oil of vitriol", "sulfuric_acid"),
        ("muriatic acid", "hydrochloric_acid"),
        ("spirits of salt", "hydrochloric_acid"),
        ("verdigris", "cupric_acetate_basic"),
        ("hypo", "sodium_thiosulfate_5h2o"),
        ("bichrome", "potassium_dichromate"),
        ("CuSO4·5H2O", "cupric_sulfate_5h2o"),
        ("10031-43-3", "cupric_nitrate_3h2o"),
        ("copper (II) nitrate", "cupric_nitrate_3h2o"),
        ("nitric_acid", "nitric_acid"),
    ],
)
def test_a_substance_is_found_by_any_of_its_names(asked, key):
    """Names, old trade names, formulas, CAS numbers and keys lead to it; spelling of sulph- does not matter."""
    assert catalogue().find(asked).key == key


def test_an_unknown_name_is_refused_with_what_comes_close():
    """The refusal names near substances, and says so when a CAS number's check digit is wrong."""
    with pytest.raises(UnknownSubstance) as trouble:
        catalogue().find("cupric nitrat", "substance")
    assert "cupric nitrate trihydrate" in trouble.value.near
    with pytest.raises(UnknownSubstance) as trouble:
        catalogue().find("7732-18-4")
    assert "check digit" in trouble.value.remedy
    with pytest.raises(UnknownSubstance):
        catalogue().find("")
    with pytest.raises(NotFound):
        catalogue().get("unobtainium")


def test_search_and_forms():
    """Searching holds every word; the forms of a salt are its hydrates and solutions."""
    assert {s.key for s in catalogue().search("chloride ferric")} >= {"ferric_chloride_6h2o", "ferric_chloride_anh"}
    assert catalogue().search("") == []
    assert {s.waters for s in catalogue().forms_of("copper_ii_nitrate")} == {2.5, 3.0, 6.0}


def test_adding_a_substance_makes_another_catalogue():
    """The packaged catalogue stays what it was."""
    from dataclasses import replace

    own = replace(
        catalogue().get("nitric_acid"), key="own_acid", name="own acid", other_names=("acid of the house",), cas=None
    )
    bigger = catalogue().with_added(own)
    assert bigger.find("acid of the house").key == "own_acid"
    assert len(bigger) == len(catalogue()) + 1
    with pytest.raises(UnknownSubstance):
        catalogue().find("acid of the house")


@pytest.mark.parametrize("name", OWN_FILES)
def test_every_row_has_a_source_that_resolves(name):
    """No fact without a source, and every source key is in the bibliography."""
    known = bibliography().keys()
    table = rows(name)
    assert table
    for row in table:
        assert row["source"], row
        for column, value in row.items():
            if column == "source" or column.endswith("_source"):
                assert not value or set(value.split(";")) <= known, (row, column)


def test_keys_in_brackets_resolve():
    """Where a note cites, the key it cites is in the bibliography."""
    cited = {
        key
        for row in rows("substances.csv")
        for text in row.values()
        for key in re.findall(r"\[([A-Z][A-Z0-9-]+)\]", text)
    }
    assert "ASTA" in cited
    assert cited <= bibliography().keys()


def test_the_rooms_of_chemistry_are_light():
    """Units and chemistry bring no heavy library: they stand in the path to the first screen."""
    code = (
        "import sys, patina.units, patina.chemistry.weighing, patina.chemistry.solution, patina.chemistry.old_measures;"
        "from patina.chemistry.substances import catalogue; catalogue(); patina.units.area_m2('1.8 m2');"
        "print([m for m in ('numpy', 'scipy', 'pint', 'cv2', 'sqlalchemy', 'textual') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_figures_carry_their_own_source():
    """A density, a solubility, an M factor and a CAS number each name where they come from."""
    for row in rows("substances.csv"):
        for value, source in (
            ("density_g_ml", "density_source"),
            ("solubility_g_per_l", "solubility_source"),
            ("solubility_note", "solubility_source"),
            ("m_acute", "m_source"),
            ("m_chronic", "m_source"),
            ("cas", "cas_source"),
        ):
            assert not row[value] or row[source], (row["key"], value)


def test_the_catalogue_agrees_with_itself():
    """Units, bases, hazard bases and limits hold together; unknown is never no hazard."""
    statements = {row["code"] for row in rows("hazard_statements.csv")}
    labels = {(row["class_code"], row["h"]) for row in rows("pictograms.csv")}
    for s in catalogue().substances.values():
        assert s.base
        assert s.mixture or s.molar_mass_g_mol, s.key
        assert not s.is_liquid or (s.density_g_ml and s.assay_pct), s.key
        assert bool(s.hazards) == (s.hazard_basis in ("harmonised", "self-classification")), s.key
        assert s.hazards or s.hazard_note, s.key
        for hazard in s.hazards:
            assert hazard.h in statements
            assert (hazard.code, hazard.h[:4]) in labels, (s.key, hazard)
            assert hazard.route or not hazard.code.startswith("Acute"), (s.key, hazard)
        for limit in s.limits:
            assert 0 < limit.low_pct < (limit.high_pct or 100.1), (s.key, limit)
        assert set(s.euh) <= statements
        assert [g.assay_pct for g in s.grades] == sorted({g.assay_pct for g in s.grades})
        assert s.tags, s.key


def test_every_sulphide_is_known_to_give_hydrogen_sulphide_with_acid():
    """Also where the published entry prints no EUH031, as for sodium sulphide."""
    sulphides = [s for s in catalogue().substances.values() if "sulphide" in s.tags]
    assert len(sulphides) >= 6
    for s in sulphides:
        assert "EUH031" in s.euh, s.key
        assert any(g.gas == "hydrogen sulphide" and g.trigger == "acid" for g in s.gases), s.key


def test_a_hydrate_and_its_dry_salt_share_a_base():
    """Cupric sulphate has two harmonised entries for one solution; the base says they are one salt."""
    hydrate, dry = catalogue().find("blue vitriol"), catalogue().find("anhydrous copper sulphate")
    assert hydrate.base == dry.base
    assert "Eye Dam. 1" in {h.code for h in hydrate.hazards}
    assert {"Eye Irrit. 2", "Eye Dam. 1"} <= {h.code for h in dry.hazards}


def test_limits_that_count_an_ion_say_which():
    """Lead acetate's limits count lead, the dichromates' the chromate ion: shares from the molar masses."""
    lead, potash = catalogue().get("lead_acetate_3h2o"), catalogue().get("potassium_dichromate")
    assert lead.limit_ion == "lead"
    assert lead.limit_factor == pytest.approx(207.2 / lead.molar_mass_g_mol, abs=1e-4)
    assert potash.limit_ion == "chromate ion"
    assert potash.limit_factor == pytest.approx(2 * 115.99 / potash.molar_mass_g_mol, abs=2e-4)


def test_memory_stays_marked_as_memory():
    """Hazards that nobody looked up say so in their source."""
    nitrate = catalogue().get("cupric_nitrate_3h2o")
    assert nitrate.hazard_basis == "self-classification"
    assert {h.source for h in nitrate.hazards} == {"MEMORY"}


@pytest.mark.parametrize("cas", ["7732-18-5", "7647-01-0", "39365-88-3"])
def test_check_digits(cas):
    """A CAS number with one digit changed is not sound. Source: [CAS]"""
    assert cas_is_sound(cas)
    wrong = cas[:-1] + str((int(cas[-1]) + 1) % 10)
    assert not cas_is_sound(wrong)
    assert not cas_is_sound("water")


BROKEN = [
    ("substances.csv", ",7697-37-2,", ",7697-37-3,", "'cas'"),
    ("substances.csv", "nitric_acid,nitric acid,", "sulfuric_acid,nitric acid,", "stands twice"),
    ("substances.csv", ",1.3911,", ",heavy,", "'density_g_ml'"),
    ("substances.csv", ",1.3911,", ",-1.3911,", "'density_g_ml'"),
    ("substance_hazards.csv", "nitric_acid,Skin Corr. 1A,,H314,no", "nitric_acid,Skin Corr. 1A,,314,no", "'h'"),
    (
        "substance_hazards.csv",
        "nitric_acid,Skin Corr. 1A,,H314,no",
        "nitric_acid,Skin Corr. 1A,nose,H314,no",
        "'route'",
    ),
    ("substance_limits.csv", "nitric_acid,Skin Corr. 1A", "nitrous_acid,Skin Corr. 1A", "nitrous_acid"),
    ("substance_names.csv", "nitric_acid,aqua fortis", "nitric_acid,oil of vitriol", "stands twice"),
    ("substance_gases.csv", "nitric_acid,nitric acid,standing", "nitric_acid,nitric acid,sitting", "'trigger'"),
]


@pytest.mark.parametrize(("file", "old", "new", "says"), BROKEN)
def test_a_damaged_file_is_refused_by_name(tmp_path, file, old, new, says):
    """A wrong cell names file, row and column; a lost or doubled key names file and key."""
    for name in FILES:
        shutil.copy(data_path(name), tmp_path / name)
    whole = (tmp_path / file).read_text(encoding="utf-8")
    assert old in whole
    (tmp_path / file).write_text(whole.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(BadData) as trouble:
        read_catalogue(tmp_path)
    assert file in trouble.value.what
    assert says in trouble.value.what
