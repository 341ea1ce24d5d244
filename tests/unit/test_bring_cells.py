"""Single cells and headings of old tables, read as people wrote them."""

from __future__ import annotations

import pytest

from patina.bench.bringing.bring_cells import Ask, Column, read_cell
from patina.bench.bringing.bring_fields import guessed_columns, guessed_kind
from patina.errors import BadQuantity


@pytest.mark.parametrize(
    ("reads", "written", "answers", "text"),
    [
        ("length", "5 mm (thin)", {}, "5 mm"),
        ("length", "3/16 in", {}, "3/16 in"),
        ("length", "ca. 5", {"unit": "mm"}, "5 mm"),
        ("amount", "1,234 g", {"comma": "thousands"}, "1234 g"),
        ("amount", "1,234 g", {"comma": "decimal"}, "1.234 g"),
        ("amount", "2 oz", {"word oz": "oz t"}, "2 oz t"),
        ("strength", "5 %", {"word %": "% w/w"}, "5 % w/w"),
        ("strength", "1:20", {"word :": "part to"}, "1 part to 20"),
        ("strength", "2 oz/gal", {"word oz/gal": "oz/imp gal"}, "2 oz/imp gal"),
        ("strength", "5-10 g/L", {"range": "middle"}, "7.5 g/L"),
        ("strength", "1 part to 20", {}, "1 part to 20"),
        ("window", "80-95 °C", {}, "80 °C | 95 °C"),
        ("window", "176 to 203", {"unit": "°F"}, "176 °F | 203 °F"),
        ("whole", "3 light coats", {}, "3"),
        ("day", "3/4/2019", {"dates": "day-month"}, "2019-04-03"),
        ("day", "3/4/2019", {"dates": "month-day"}, "2019-03-04"),
        ("day", "25.3.98", {"century": "1900"}, "1998-03-25"),
        ("day", "14. März 2019", {}, "2019-03-14"),
        ("day", "14 mars 2019", {}, "2019-03-14"),
        ("day", "March 14, 2019", {}, "2019-03-14"),
        ("moment", "3.4.2019 2:05 pm", {"dates": "day-month"}, "2019-04-03T14:05:00"),
        ("length", "?", {}, ""),
        ("percent", "0.98", {"unit": "of 1"}, "98 %"),
        ("percent", "98", {"unit": "%"}, "98 %"),
    ],
)
def test_cells_as_people_write_them(reads: str, written: str, answers: dict[str, str], text: str) -> None:
    """A unit, an order, a century that is not written comes from an answer, and from nowhere else."""
    column = Column("heading", reads, answers)
    assert read_cell(column, written).text == text
    if answers:
        with pytest.raises(Ask):
            read_cell(Column("heading", reads, {}), written)


@pytest.mark.parametrize(
    ("reads", "written"),
    [("day", "Mar 2019"), ("day", "31.2.2019"), ("day", "43921"), ("window", "hot"), ("whole", "2.5"), ("number", "x")],
)
def test_cells_that_cannot_be_read(reads: str, written: str) -> None:
    """A month alone is no day, and a spreadsheet's number of a day is not guessed at."""
    with pytest.raises(BadQuantity):
        read_cell(Column("heading", reads, {}), written)


def test_a_point_in_a_column_of_decimal_commas_is_asked_about() -> None:
    """1.234 in a column that writes 1,5 can be one thousand two hundred."""
    with pytest.raises(Ask):
        read_cell(Column("heading", "amount", {"unit": "g"}, comma_cells=True), "1.234")
    assert read_cell(Column("heading", "amount", {"unit": "g"}), "1.234").text == "1.234 g"


@pytest.mark.parametrize(
    ("headings", "kind"),
    [
        (("Name", "Alloy", "Ferric nitrate g/L", "Passes"), "recipes"),
        (("Rezept", "Chemikalie", "Konzentration", "Legierung"), "recipes"),
        (("Nr.", "Legierung", "Wandstärke (mm)", "Datum"), "tiles"),
        (("Tile", "L*", "a*", "b*"), "readings"),
        (("Produit", "Quantité", "Fournisseur"), "lots"),
        (("Title", "Artist", "Edition"), "pieces"),
        (("Title", "No.", "Weight", "Alloy"), "casts"),
        (("Werk", "Datum", "Massnahme"), "treatments"),
    ],
)
def test_the_kind_is_guessed_from_the_headings(headings: tuple[str, ...], kind: str) -> None:
    """English, German and French words of the trade."""
    assert guessed_kind(headings, {"ferric nitrate": "ferric nitrate nonahydrate"}) == kind


def test_a_heading_that_names_a_substance_is_a_column_of_its_strengths() -> None:
    """And two columns of strengths do not take each other's place."""
    names = {"ferric nitrate": "ferric nitrate nonahydrate"}
    columns = guessed_columns("recipes", ("Ferric nitrate: g/L", "Substance", "g/L"), names)
    assert [(c.field, c.substance) for c in columns] == [
        ("strength", "ferric nitrate nonahydrate"),
        ("substance", ""),
        ("strength", ""),
    ]
