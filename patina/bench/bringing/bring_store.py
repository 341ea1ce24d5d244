"""What a row of an old table becomes, and its keeping within one transaction: a record, or a trouble and no change."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from patina.bench import forms
from patina.bench.bringing.bring_rows import RowRead
from patina.bench.entry_rules import piece_in_order, reading_in_order
from patina.entries import NewCast, NewLot, NewPiece, NewReading, NewTile, NewTreatment
from patina.errors import BadQuantity, NotFound, Refused
from patina.records.finding.record_words import revision_words
from patina.records.matched import masters
from patina.records.pieces import brought, casts
from patina.records.readings import readings, tiles
from patina.records.shelves import shelf
from patina.records.tables.ids import letter_of

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.chemistry.substances import Catalogue

Fields = dict[str, str]


def as_fields(row: RowRead, names: tuple[str, ...]) -> Fields:
    """The row as a form takes it; what its cells said besides goes into the note."""
    fields = {name: row.text(name) for name in names if row.text(name)}
    if row.notes and "note" in names:
        fields["note"] = "; ".join(p for p in (fields.get("note", ""), *dict.fromkeys(row.notes)) if p)
    return fields


def _spread(row: RowRead) -> tuple[float, float, float] | None:
    """The spread of a reading where all three of its axes have one; none at all is no spread."""
    from patina.units import number

    said = [row.text(f"sd_{axis}") for axis in "Lab"]
    if not any(said):
        return None
    if not all(said):
        raise BadQuantity("The row gives a spread for some of L*, a*, b* alone.", "Give all three, or none.")
    low, middle, high = (number(text, "sd_L") for text in said)
    return low, middle, high


class Keeper:
    """Keeps rows of one kind in a session. by: who does it, where a row does not say. make_pieces: a
    cast of a piece that is not here makes the piece as well."""

    def __init__(self, session: Session, catalogue: Catalogue, by: str, *, make_pieces: bool = False):
        self.session, self.catalogue, self.by, self.make_pieces = session, catalogue, by, make_pieces
        self.marks = brought.marks(session)
        self.titles = brought.titles(session)

    def keep(self, kind: str, row: RowRead) -> tuple[str, str, Fields]:
        """The id and the name of the record that a row became, and its fields. Raises PatinaError."""
        keep = {
            "tiles": self.tile,
            "readings": self.reading,
            "lots": self.lot,
            "pieces": self.piece,
            "casts": self.cast,
            "treatments": self.treatment,
        }[kind]
        return keep(row)

    def tile(self, row: RowRead) -> tuple[str, str, Fields]:
        """A test tile. A mark that another tile bears already is refused: it could not be told from that one."""
        from patina.bench.readings.tiles import made_with

        fields = as_fields(row, forms.TILE_FIELDS)
        entry: NewTile = forms.tile_form({"made_by": self.by, **fields})
        there = self.marks.get(entry.engraved)
        if there:
            raise Refused(f"A tile marked '{entry.engraved}' is here already ({there}).", "Mark this one otherwise.")
        revision_id, batch_id = made_with(self.session, entry)
        made = tiles.add_tile(
            self.session,
            entry,
            revision_id=revision_id,
            batch_id=batch_id,
            words=revision_words(self.session, revision_id),
        )
        self.marks[entry.engraved] = made.public_id
        return made.public_id, entry.engraved, fields

    def reading(self, row: RowRead) -> tuple[str, str, Fields]:
        """A colour reading of a tile or a cast that is here."""
        from patina.bench.readings.tiles import target_of

        fields = as_fields(row, forms.READING_FIELDS)
        tile, cast = row.text("tile"), row.text("cast")
        if bool(tile) == bool(cast):
            raise BadQuantity("A reading belongs to one tile or one cast.", "Name the one it was taken of.")
        entry: NewReading = forms.reading_form({"read_by": self.by, **fields})
        entry = reading_in_order(replace(entry, sd=_spread(row), source=row.text("source") or "typed"))
        if cast and letter_of(cast) != "C":
            raise NotFound(f"'{cast}' is no id of a cast.", "Write it like C3.", field="cast")
        owner = target_of(self.session, tile or cast)
        made = readings.add_reading(self.session, owner, entry, None)
        return made.public_id, f"{owner.public_id} {entry.L:g}, {entry.a:g}, {entry.b:g}", fields

    def lot(self, row: RowRead) -> tuple[str, str, Fields]:
        """A lot on the shelf."""
        fields = as_fields(row, tuple(f for f in forms.LOT_FIELDS if f != "amount"))
        fields["amount"] = row.text("amount")
        entry: NewLot = forms.lot_form(fields)
        substance = self.catalogue.find(entry.substance, field="substance")
        words = [*substance.other_names, substance.cas or "", substance.formula]
        made = shelf.add_lot(self.session, entry, key=substance.key, name=substance.name, words=words, by=self.by)
        return made.public_id, substance.name, {**fields, "substance": substance.name}

    def piece(self, row: RowRead) -> tuple[str, str, Fields]:
        """A work."""
        fields = as_fields(row, forms.PIECE_FIELDS)
        entry: NewPiece = forms.piece_form(fields)
        return self._piece(entry), entry.title, fields

    def _piece(self, entry: NewPiece) -> str:
        there = self.titles.get(entry.title.casefold())
        if there:
            raise Refused(f"'{entry.title}' is here already ({there}).", "Give this one another title.", field="title")
        made = casts.add_piece(self.session, entry).public_id
        self.titles[entry.title.casefold()] = made
        return made

    def cast(self, row: RowRead) -> tuple[str, str, Fields]:
        """A cast of a piece that is here; of one that is not, where it is said once that pieces are to be made."""
        fields = as_fields(row, forms.CAST_FIELDS)
        entry: NewCast = forms.cast_form(fields)
        if self.make_pieces and entry.piece.casefold() not in self.titles and letter_of(entry.piece) is None:
            self._piece(piece_in_order(NewPiece(entry.piece)))
        piece = casts.find_piece(self.session, entry.piece)
        master = None if entry.master is None else masters.find_master(self.session, entry.master).id
        made = casts.add_cast(self.session, entry, piece, master)
        return made.public_id, f"{piece.title} {entry.number}".strip(), fields

    def treatment(self, row: RowRead) -> tuple[str, str, Fields]:
        """A dated action on a cast, named by its id or by its piece and number."""
        from patina.bench.readings.tiles import made_with

        fields = as_fields(row, forms.TREATMENT_FIELDS)
        cast = brought.cast_named(self.session, row.text("cast"), row.text("number"))
        entry: NewTreatment = forms.treatment_form({"done_by": self.by, **fields, "cast": cast.public_id})
        revision_id, batch_id = made_with(self.session, entry)
        made = casts.add_treatment(self.session, entry, cast, revision_id=revision_id, batch_id=batch_id)
        return made.public_id, f"{cast.public_id} {entry.did}"[:80], fields
