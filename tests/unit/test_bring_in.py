"""Old tables become records: nothing is supposed, every row is in or listed, and nothing comes in twice."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from patina.bench.bringing.bring_in import bring, plan
from patina.bench.bringing.bring_mapping import (
    mapping_of_text,
    mapping_text,
    read_mapping,
    save_mapping,
    saved_mapping,
    saved_mappings,
)
from patina.bench.bringing.bring_out import own_mapping, refused_csv, table_csv, write_refused, write_table
from patina.bench.bringing.bring_questions import answered, remapped
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.recipes.releases import release_state
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.bench.upkeep import check
from patina.demo.old_table import add_old_table
from patina.entries import NewCast, NewLot, NewPiece, NewReading, NewTile, NewTreatment
from patina.errors import BadSpreadsheet, NotFound, PatinaError, Refused
from patina.sheets.bringing import KINDS, BroughtSheet, MappedColumn, TableMapping

CARDS = """\
Old cards,,,,,,,
Name,Alloy,Ferric nitrate g/L,Cupric nitrate,Method,Passes,Temp,Notes
Red brown,C87300,100,,torch,4,80-95 °C,first try
Green,do.,,5 %,cold brush,3 x,,"two lines
here"
Parts,C87300,1:20,,dance,2,hot,
Spoon,C87300,5 g/L (weak),½ tsp,spray,,,
Total,,105,,,9,,
"""
CARD_ANSWERS = (
    ("", "solvent", "distilled water"),
    ("", "volume_is", "made up to"),
    ("Cupric nitrate", "word %", "% w/v"),
    ("Cupric nitrate", "volume", "1 L"),
    ("Cupric nitrate", "old words", "middle"),
    ("Ferric nitrate g/L", "word :", "part in"),
    ("Method", "value dance", "stipple"),
    ("Temp", "unreadable", "note"),
)


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty studio, to be copied."""
    where = tmp_path_factory.mktemp("bring") / "studio"
    open_studio(where).close()
    return where


@pytest.fixture
def studio(empty: Path, tmp_path: Path) -> Iterator[Studio]:
    """An empty studio."""
    with open_studio(shutil.copytree(empty, tmp_path / "studio")) as opened:
        yield opened


def _file(tmp_path: Path, text: str, name: str = "old.csv") -> Path:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def _answered(mapping: TableMapping, answers: tuple[tuple[str, str, str], ...]) -> TableMapping:
    for heading, about, answer in answers:
        mapping = answered(mapping, heading, about, answer)
    return mapping


def _brought(studio: Studio, path: Path, *answers: tuple[str, str, str], kind: str = "") -> BroughtSheet:
    mapping = _answered(plan(studio, path, kind=kind).mapping, answers)
    return bring(studio, path, mapping)


def test_nothing_is_brought_in_while_something_is_open(studio: Studio, tmp_path: Path) -> None:
    """Each question is asked once for its column, and names its cells; until then nothing is kept."""
    path = _file(tmp_path, CARDS)
    planned = plan(studio, path)
    asked = {(q.heading, q.about): q for q in planned.questions}
    assert asked["Ferric nitrate g/L", "unit"].answer == "g/L", "the heading says it, and it is shown"
    assert asked["Cupric nitrate", "word %"].cells == ("5 %",)
    assert ("% w/v", "5 % w/v = 50 g/L") in asked["Cupric nitrate", "word %"].options
    assert ("part in", "1 part in 20 = 5 %") in asked["Ferric nitrate g/L", "word :"].options
    assert ("part to", "1 part to 20 = 4.76 %") in asked["Ferric nitrate g/L", "word :"].options
    with pytest.raises(Refused, match="open"):
        bring(studio, path, planned.mapping)
    assert finishes.count_recipes(studio) == 0


def test_cards_become_recipes(studio: Studio, tmp_path: Path) -> None:
    """One row for each: strengths by the column's substance, a window of temperatures, remarks kept, dittos read."""
    came = _brought(studio, _file(tmp_path, CARDS), *CARD_ANSWERS)
    assert [b.name for b in came.brought] == ["Red brown", "Green", "Parts", "Spoon"]
    assert [r.reason for r in came.refused] == ["'Total': a row of totals is no record."]
    red = finishes.recipe_sheet(studio, "Red brown").recipe
    assert red.solutions[0].ingredients[0].strength.value == 100.0
    assert red.steps[0].surface_temperature_c == (80.0, 95.0)
    assert (red.steps[0].passes, red.steps[0].method) == (4, "torch")
    assert red.provenance == "brought in from old.csv"
    green = finishes.recipe_sheet(studio, "Green").recipe
    assert green.alloys == red.alloys
    assert green.solutions[0].ingredients[0].strength.basis == "pct_wv"
    parts = finishes.recipe_sheet(studio, "Parts").recipe
    assert parts.solutions[0].ingredients[0].strength.value == pytest.approx(0.05)
    assert parts.steps[0].surface_temperature_c is None
    assert "Temp: hot" in parts.steps[0].note
    spoon = finishes.recipe_sheet(studio, "Spoon").recipe
    assert "weak" in spoon.steps[0].note
    assert "1/2 tsp" in spoon.steps[0].note, "the old words stay beside the figure chosen for them"
    assert check(studio).ok


def test_brought_in_recipes_are_drafts(studio: Studio, tmp_path: Path) -> None:
    """Safety applies as to a typed recipe: nobody has released it."""
    _brought(studio, _file(tmp_path, CARDS), *CARD_ANSWERS)
    assert release_state(studio, "Red brown").state == "draft"


def test_rows_of_ingredients_and_steps_make_one_recipe(studio: Studio, tmp_path: Path) -> None:
    """Rows without a name belong to the name above; solutions, ingredients and steps keep their order."""
    text = (
        "Rezept;Legierung;Bad;Chemikalie;Konzentration;Schritt;Methode;Bemerkung\n"
        "Grün;C83600;Beize;cupric nitrate;20 g/L;;;\n"
        ";;Beize;ammonium chloride;10 g/L;;;\n"
        ";;Beize;;;auftragen;Pinsel;dünn\n"
        ";;;;;spülen;;\n"
    )
    answers = (("", "solvent", "distilled water"), ("", "volume_is", "made up to"))
    came = _brought(studio, _file(tmp_path, text), *answers)
    assert [b.rows for b in came.brought] == [(2, 3, 4, 5)]
    recipe = finishes.recipe_sheet(studio, "Grün").recipe
    assert [i.strength.as_written for i in recipe.solutions[0].ingredients] == ["20 g/L", "10 g/L"]
    assert [(s.do, s.solution, s.method) for s in recipe.steps] == [
        ("apply", "Beize", "cold brush"),
        ("rinse", None, None),
    ]


def test_ingredients_in_one_cell(studio: Studio, tmp_path: Path) -> None:
    """ "ferric nitrate 100 g/L; 5 g/L cupric nitrate" is read both ways round."""
    text = "Name,Alloy,Ingredients\nMix,C87300,ferric nitrate 100 g/L; 5 g/L cupric nitrate\n"
    _brought(studio, _file(tmp_path, text), ("", "solvent", "water"), ("", "volume_is", "added to"))
    found = finishes.recipe_sheet(studio, "Mix").recipe.solutions[0]
    assert [i.strength.value for i in found.ingredients] == [100.0, 5.0]
    assert found.volume_is == "added to"


def test_the_same_file_twice_makes_nothing_twice(studio: Studio, tmp_path: Path) -> None:
    """Rows are known again by their content, also from another file and after the columns were moved."""
    path = _file(tmp_path, "Chemical,Qty\nferric nitrate,500 g\nferric nitrate,500 g\nnitric acid,1 L\n")
    first = _brought(studio, path)
    assert [b.record for b in first.brought] == ["L1", "L2"]
    assert "the same as row 2" in first.refused[0].reason
    again = _brought(studio, _file(tmp_path, "Qty,Chemical,More\n1 L,nitric acid,x\n2 L,nitric acid,y\n", "b.csv"))
    assert [(r.rows, r.here) for r in again.refused] == [((2,), True)]
    assert "old.csv, row 4, as L2" in again.refused[0].reason
    assert [b.record for b in again.brought] == ["L3"]


def test_refused_rows_are_mended_and_brought_in_again(studio: Studio, tmp_path: Path) -> None:
    """The list carries the reason, is safe for spreadsheets, and goes through the same mapping."""
    path = _file(tmp_path, "Mark,Alloy,Wall (mm),Notes\nA1,C87300,5,=x\nA1,C87300,6,=y\n,C87300,7,\n")
    mapping = plan(studio, path).mapping
    came = bring(studio, path, mapping)
    assert [b.name for b in came.brought] == ["A1"]
    text = refused_csv(came)
    assert "'=y" in text
    assert "is here already" in text
    mended = text.replace("A1,C87300,6", "A2,C87300,6").replace(",C87300,7", "A3,C87300,7", 1)
    again = bring(studio, _file(tmp_path, mended, "mended.csv"), mapping)
    assert [b.name for b in again.brought] == ["A2", "A3"]
    assert tiles.tile_sheet(studio, "A2").note == "=y"
    with pytest.raises(Refused, match="No row"):
        write_refused(again, tmp_path / "none.csv")


def test_a_stop_in_the_middle_keeps_nothing(studio: Studio, tmp_path: Path) -> None:
    """One file is one transaction."""
    path = _file(tmp_path, "Mark,Alloy\n" + "".join(f"S{n},C87300\n" for n in range(50)))
    mapping = plan(studio, path).mapping

    def stop(done: int, of: int) -> None:
        assert of == 50
        if done == 30:
            raise Refused("Stopped.", "Begin again.")

    with pytest.raises(Refused, match="Stopped"):
        bring(studio, path, mapping, progress=stop)
    assert not tiles.list_tiles(studio)
    assert len(bring(studio, path, mapping).brought) == 50


def test_tiles_readings_casts_and_treatments(studio: Studio, tmp_path: Path) -> None:
    """What rows name is looked up: a recipe by an answer, a tile by its mark, a cast by its title."""
    text = "Nr.;Legierung;Wandstärke (mm);Datum;Gewachst;Rezept\nA1;C87300;5;14.3.2019;ja;Nix\n"
    _brought(studio, _file(tmp_path, text, "t.csv"), ("Rezept", "missing", "note"))
    sheet = tiles.tile_sheet(studio, "A1")
    assert (sheet.wall_mm, sheet.row.wax_state, sheet.note) == (5.0, "waxed", "Rezept: Nix")
    readings = "Tile,L*,a*,b*,Date\nA1,27.1,6.5,9,2019-04-03\nA9,1,2,3,\n"
    came = _brought(studio, _file(tmp_path, readings, "r.csv"))
    assert (len(came.brought), "no tile 'A9'" in came.refused[0].reason) == (1, True)
    text = "Title,No.,Weight\nCormorant,1/3,96\n"
    _brought(studio, _file(tmp_path, text, "c.csv"), ("Title", "missing", "make"), ("Weight", "unit", "kg"))
    assert casts.cast_sheet(studio, "C1").mass_g == 96_000.0
    text = "Werk,Nummer,Datum,Massnahme\nCormorant,1/3,2019-01-02,gewachst\nCormorant,2/3,2019-01-02,gewachst\n"
    came = _brought(studio, _file(tmp_path, text, "m.csv"))
    assert casts.cast_sheet(studio, "C1").treatments[0].done_on == date(2019, 1, 2)
    assert "no cast 2/3" in came.refused[0].reason
    assert check(studio).ok


def test_amounts_with_their_unit_in_a_column_of_its_own(studio: Studio, tmp_path: Path) -> None:
    """ "500" beside "g"; the troy ounce is that of NIST Handbook 44."""
    text = "Chemical,Qty,Unit\nferric nitrate,500,g\nsilver nitrate,2,oz t\n"
    _brought(studio, _file(tmp_path, text))
    found = {lot.substance: (lot.amount, lot.unit) for lot in shelf.list_lots(studio)}
    assert found["silver nitrate"] == (pytest.approx(62.2069536), "g")


def test_a_mapping_is_kept_and_written(studio: Studio, tmp_path: Path) -> None:
    """Under a name in the studio and as TOML; both read back the same; a new file of that shape needs no questions."""
    path = _file(tmp_path, CARDS)
    mapping = replace(_answered(plan(studio, path).mapping, CARD_ANSWERS), name="cards", header_row=2)
    save_mapping(studio, mapping)
    assert saved_mappings(studio) == ("cards",)
    assert saved_mapping(studio, "cards") == mapping
    file = _file(tmp_path, mapping_text(mapping), "cards.toml")
    assert read_mapping(file) == mapping
    other = _file(tmp_path, CARDS.replace("Old cards", "").replace("Red brown", "Rust"), "b.csv")
    assert not plan(studio, other, mapping).open
    with pytest.raises(NotFound, match="Kept here: cards"):
        saved_mapping(studio, "others")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("x = ", "not TOML"),
        ("kind = 'lots'", "no mapping of version"),
        ("patina_mapping = 1\nkind = 'cats'", "kind 'cats'"),
        ("patina_mapping = 1\nkind = 'lots'\nxx = 1", "'xx' has no meaning"),
        ("patina_mapping = 1\nkind = 'lots'\ncolumn = 1", "list of tables"),
        ("patina_mapping = 1\nkind = 'lots'\n[[column]]\nheading = 'a'\nfield = 'wall'", "no field 'wall'"),
        ("patina_mapping = 1\nkind = 'lots'\n[[column]]\nheading = 'a'\nanswers = 1", "texts in quotation marks"),
        ("patina_mapping = 1\nkind = 'lots'\nheader_row = 0", "whole number"),
    ],
)
def test_a_mapping_that_says_something_else_is_refused(text: str, said: str) -> None:
    """By its key."""
    with pytest.raises(BadSpreadsheet, match=said):
        mapping_of_text(text)


def test_a_mapping_of_nothing_is_refused(studio: Studio, tmp_path: Path) -> None:
    """A table none of whose columns means anything is not brought in as empty records."""
    path = _file(tmp_path, "foo,bar\n1,2\n")
    with pytest.raises(BadSpreadsheet, match="mapped"):
        bring(studio, path, TableMapping("tiles", (MappedColumn("foo"), MappedColumn("bar"))))


def test_another_field_drops_the_old_answers(studio: Studio, tmp_path: Path) -> None:
    """What was said of a wall thickness is not kept for a size."""
    path = _file(tmp_path, "Mark,Alloy,Wall (mm)\nA1,C87300,5\n")
    mapping = plan(studio, path).mapping
    assert mapping.columns[2].answers == {"unit": "mm"}
    changed = remapped(mapping, "Wall (mm)", "size")
    assert (changed.columns[2].field, changed.columns[2].answers) == ("size", {})


def _stocked(studio: Studio) -> None:
    """One of every kind, with words that a spreadsheet or a reader of tables could take for something else."""
    finishes.add_starters(studio)
    tiles.start_tile(studio, NewTile("=1+1", "Cu 90, Sn 10", wall_mm=4.7625, note="total", as_done=("a", "b")))
    tiles.start_tile(studio, NewTile('"', "C87300", recipe="R1", revision=1, made_on=date(2019, 4, 3), note="-5 °C"))
    reading = NewReading(27.123456789, -6.5, 9.0, sd=(0.1, 0.2, 0.3), n=5, uncertainty_de00=0.6, source="instrument")
    tiles.add_reading(studio, "T1", reading)
    casts.add_piece(studio, NewPiece("Cormorant", "@maker", 3, 812.5, "do."))
    casts.add_cast(studio, NewCast("W1", "1/3", "C87300", 96_000.0, 5.0, 1.8, cast_on=date(2020, 1, 2)))
    casts.add_treatment(studio, NewTreatment("C1", "waxed; twice", area_m2=0.1, done_by="x", done_on=date(2020, 1, 3)))
    shelf.add_lot(studio, NewLot("nitric acid", 1000.0, "mL", assay_pct=65.3, note='line\nbreak, and "quotes"'))


def test_what_is_written_out_comes_in_the_same(studio: Studio, tmp_path: Path) -> None:
    """Every kind, written as a table, brought into an empty studio, written again: the same bytes."""
    _stocked(studio)
    with open_studio(tmp_path / "other") as other:
        for kind in ("recipes", "tiles", "pieces", "casts", "readings", "lots", "treatments"):
            path = write_table(studio, kind, tmp_path / f"{kind}.csv")
            came = bring(other, path, own_mapping(kind))
            assert not came.refused, kind
            assert table_csv(other, kind) == table_csv(studio, kind), kind
            guessed = plan(other, path)
            assert (guessed.mapping.kind, guessed.open) == (kind, ()), "its headings are the names of fields"
        for row in finishes.list_recipes(studio):
            here = finishes.recipe_sheet(studio, row.name).recipe
            assert finishes.recipe_sheet(other, row.name).recipe == here
        assert check(other).ok
    assert set(KINDS) == {"recipes", "tiles", "pieces", "casts", "readings", "lots", "treatments"}


def test_a_recipe_that_contradicts_itself_is_listed(studio: Studio, tmp_path: Path) -> None:
    """Two rows of one recipe that name different alloys, a strength of nothing, a substance without one."""
    text = (
        "Name,Alloy,Chemical,Strength\nOne,C87300,ferric nitrate,5 g/L\nOne,C83600,cupric nitrate,5 g/L\n"
        "Two,C87300,,5 g/L\nThree,C87300,ferric nitrate,\nFour,C87300,ferric nitrate,0 g/L\n"
    )
    came = _brought(studio, _file(tmp_path, text), ("", "solvent", "water"), ("", "volume_is", "made up to"))
    assert not came.brought
    said = {r.rows[0]: r.reason for r in came.refused}
    assert "row 2 says 'C87300', row 3 'C83600'" in said[2]
    assert "strength of nothing" in said[4]
    assert "no strength" in said[5]
    assert "zero" in said[6]


def test_troubles_have_a_remedy(studio: Studio, tmp_path: Path) -> None:
    """A sheet, a row or a kind that is not there."""
    path = _file(tmp_path, CARDS)
    for how in ({"kind": "cats"}, {"header_row": 99}):
        with pytest.raises(PatinaError) as trouble:
            plan(studio, path, **how)  # type: ignore[arg-type]
        assert trouble.value.remedy


def test_the_demo_offers_old_cards_to_try(studio: Studio, tmp_path: Path) -> None:
    """Its file lies beside the records, its mapping leaves nothing open, and every card comes in."""
    path = add_old_table(studio, tmp_path)
    assert plan(studio, path).open, "without the mapping a person is asked"
    mapping = saved_mapping(studio, "old cards")
    assert not plan(studio, path, mapping).open
    came = bring(studio, path, mapping)
    assert len(came.brought) == 6
    assert [r.reason for r in came.refused] == ["'Total': a row of totals is no record."]


def test_the_mapping_in_the_readme_is_one() -> None:
    """The example reads, and what it says of its keys is so."""
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    example = readme.split("```ini\n")[1].split("```")[0]
    mapping = mapping_of_text(example)
    assert mapping.every == {"solvent": "distilled water", "volume_is": "made up to"}
    assert mapping.columns[0].answers == {"unit": "g/L", "word :": "part in"}
    assert mapping.columns[1].field == ""
