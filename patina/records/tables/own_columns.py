"""Which columns hold what people write in their own words; all others hold the program's words, also those it
offers to choose from, figures and hashes.

What comes out of such a column, or goes into it, is told to ``patina.own_words``, so that it is never translated.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import MetaData, String, Table, event
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator

from patina.own_words import meet

OWN: dict[str, str] = {
    "recipe": "name",
    "revision": "finish made_by",
    "tile": "engraved preparation size made_by note",
    "photograph_use": "name note added_by",
    "reading": "area instrument read_by note",
    "master": "name zone light agreed_by holders note",
    "piece": "title maker note",
    "cast_piece": "number owner place note",
    "treatment": "zone done_by note",
    "lot": "supplier grade lot_number place note",
    "batch": "solution made_by note",
    "batch_use": "used_by",
    "lot_movement": "moved_by",
    "strip_check": "checked_by note",
    "exposure": "person task note written_by",
    "waste": "drum logged_by note",
    "danger_answer": "reason answered_by",
    "recipe_release": "released_by note",
    "recipe_draft": "reason made_by",
    "person": "name contact note",
    "work": "tool done_by place note",
    "work_event": "done_by zone note",
    "master_zone": "zone agreed_with",
    "tile_holding": "holder place written_by note",
    "approval": "who place light remarks written_by",
    "concession": "zone reason agreed_by written_by",
    "owner_care": "care wax ask written_by",
    "handover": "given_to terms file_name note written_by",
    "making_fact": "value written_by",
    "amendment": "words why amended_by",
    "seal": "sealed_by",
    "withholding": "why written_by",
    "reading_withdrawal": "why withdrawn_by",
    "sheet_read": "supplier product read_by note",
    "reading_how": "taken_by",
    "taken_bundle": "file_name taken_by",
    "brought_row": "file_name sheet",
    "conservation": "name accession measurements marks made_when site owner legal_status purpose reference_appearance "
    "alloy_known_by documenter state_after result limits recommendations health_and_waste note",
    "conservation_person": "name role affiliation",
    "conservation_authority": "who capacity in_writing scope",
    "conservation_statement": "text place method circumstances done_by",
    "conservation_map": "view seen_by circumstances",
    "conservation_zone": "name note",
    "conservation_proposal": "aim retreatability risks reference_appearance cost drafted_by why",
    "conservation_patch": "place agent tool result done_by",
    "conservation_action": "done_by did zone how tool agent result deviation deviation_why",
    "conservation_material": "name supplier batch_number left_words zone kept",
    "conservation_sample": "what place purpose label kept result done_by",
    "conservation_bath": "name solution note",
    "conservation_bath_reading": "done_by",
    "conservation_layer": "product batch_number application zone done_by",
    "conservation_image": "view position done_by note",
    "conservation_care": "task responsible",
    "conservation_care_visit": "done_by finding done",
    "conservation_care_end": "done_by why",
    "conservation_signature": "who capacity how",
    "conservation_copy": "given_to receipt",
}
# of these: what something or somebody is called
NAMES: dict[str, str] = {
    "recipe": "name",
    "tile": "engraved",
    "master": "name",
    "piece": "title maker",
    "cast_piece": "number owner place",
    "lot": "supplier lot_number place",
    "batch": "solution",
    "person": "name",
    "work": "place",
    "tile_holding": "holder",
    "handover": "given_to",
    "conservation": "name owner site",
    "conservation_person": "name",
    "conservation_bath": "name",
}
_PART = ("written_by", "reason")  # of every part of a conservator's record


class OwnWords(TypeDecorator[str]):
    """Text in a person's own words."""

    impl = String
    cache_ok = True

    def __init__(self, plain: Any = None, length: int | None = None, name: bool = False) -> None:
        super().__init__(length)
        self.name = name
        if plain is not None:
            self.impl = plain

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | None:
        """To the database."""
        if value is not None:
            meet(value, name=self.name)
        return value

    def process_result_value(self, value: str | None, dialect: Dialect) -> str | None:
        """From the database."""
        if value is not None:
            meet(value, name=self.name)
        return value


def own_columns(table: str) -> frozenset[str]:
    """The columns of a table that hold a person's own words."""
    names = OWN.get(table, "").split()
    return frozenset((*names, *_PART) if table.startswith("conservation_") else names)


@event.listens_for(Table, "after_parent_attach")
def _told(table: Table, parent: object) -> None:
    """Let such columns tell of what passes through them."""
    own = own_columns(table.name)
    if own and isinstance(parent, MetaData):
        for column in table.columns:
            if column.name in own and isinstance(column.type, String):
                column.type = OwnWords(column.type, name=column.name in NAMES.get(table.name, "").split())
