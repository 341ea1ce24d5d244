"""Frozen read models: everything that screens, reports and the command line receive.

Sheets hold values, never rows of the database, and compute nothing. Ids are the short ones a
person can type: R1 a recipe, T1 a tile, D1 a reading, M1 an agreed finish, C1 a cast, L1 a lot,
B1 a batch; a photograph is named by its SHA-256.

A name is fetched from its module when it is first asked for, so that the first screen pays only for
what it shows.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from patina.colour.difference import Difference
    from patina.colour.values import AreaReading, Caution, Lab, Part, PhotoReading
    from patina.recipe import Recipe
    from patina.safety.values import SafetySheet
    from patina.sheets.access import HandoverRow, OwnerCare, OwnerRecipe, OwnerSheet, TransferSheet, WithheldRow
    from patina.sheets.casts import CastRow, CastSheet, PieceRow, TreatmentRow
    from patina.sheets.change import ChangeSheet, PatchRow
    from patina.sheets.comparing import ComparisonSheet, MasterSheet, VerdictSheet
    from patina.sheets.finishes import RecipeRow, RecipeSheet, RevisionRow
    from patina.sheets.mixing import BatchSheet, MixedSolution, MixSheet, Shortage, WeighLine
    from patina.sheets.offline import JournalRow, ReplaySheet
    from patina.sheets.people import AccessSheet, ConflictSheet, DraftRow, FieldDifference, PersonRow, RoleRow
    from patina.sheets.rereading import RereadRow, RereadSheet
    from patina.sheets.safety import ExposureRow, RecipeRelease, SubstanceRow, SubstanceSheet
    from patina.sheets.shelf import LotRow, MovementRow
    from patina.sheets.shoot import FiledPhotograph, ShootSheet, UnfiledPhotograph
    from patina.sheets.tiles import Match, PhotographRow, ReadingRow, TileRow, TileSheet
    from patina.sheets.treatment import TreatmentHeadRow, TreatmentSheet
    from patina.sheets.upkeep import ChangeRow, CheckSheet, Found
    from patina.sheets.variation import VariationSheet
    from patina.sheets.work import (
        DrumRow,
        LearntLine,
        PotRow,
        ReleaseSheet,
        StripSheet,
        UseLine,
        WorkEvent,
        WorkRow,
        WorkSheet,
        WorkStep,
        ZoneRow,
    )

__all__ = [
    "AccessSheet",
    "AreaReading",
    "BatchSheet",
    "CastRow",
    "CastSheet",
    "Caution",
    "ChangeRow",
    "ChangeSheet",
    "CheckSheet",
    "ComparisonSheet",
    "ConflictSheet",
    "Difference",
    "DraftRow",
    "DrumRow",
    "ExposureRow",
    "FieldDifference",
    "FiledPhotograph",
    "Found",
    "HandoverRow",
    "JournalRow",
    "Lab",
    "LearntLine",
    "LotRow",
    "MasterSheet",
    "Match",
    "MixSheet",
    "MixedSolution",
    "MovementRow",
    "OwnerCare",
    "OwnerRecipe",
    "OwnerSheet",
    "Part",
    "PatchRow",
    "PersonRow",
    "PhotoReading",
    "PhotographRow",
    "PieceRow",
    "PotRow",
    "ReadingRow",
    "Recipe",
    "RecipeRelease",
    "RecipeRow",
    "RecipeSheet",
    "ReleaseSheet",
    "ReplaySheet",
    "RereadRow",
    "RereadSheet",
    "RevisionRow",
    "RoleRow",
    "SafetySheet",
    "ShootSheet",
    "Shortage",
    "StripSheet",
    "SubstanceRow",
    "SubstanceSheet",
    "TileRow",
    "TileSheet",
    "TransferSheet",
    "TreatmentHeadRow",
    "TreatmentRow",
    "TreatmentSheet",
    "UnfiledPhotograph",
    "UseLine",
    "VariationSheet",
    "VerdictSheet",
    "WeighLine",
    "WithheldRow",
    "WorkEvent",
    "WorkRow",
    "WorkSheet",
    "WorkStep",
    "ZoneRow",
]

# module -> the names that come from it
_HOMES = {
    "patina.colour.difference": "Difference",
    "patina.colour.values": "AreaReading Caution Lab Part PhotoReading",
    "patina.recipe": "Recipe",
    "patina.safety.values": "SafetySheet",
    "patina.sheets.access": "HandoverRow OwnerCare OwnerRecipe OwnerSheet TransferSheet WithheldRow",
    "patina.sheets.casts": "CastRow CastSheet PieceRow TreatmentRow",
    "patina.sheets.change": "ChangeSheet PatchRow",
    "patina.sheets.comparing": "ComparisonSheet MasterSheet VerdictSheet",
    "patina.sheets.finishes": "RecipeRow RecipeSheet RevisionRow",
    "patina.sheets.mixing": "BatchSheet MixedSolution MixSheet Shortage WeighLine",
    "patina.sheets.offline": "JournalRow ReplaySheet",
    "patina.sheets.people": "AccessSheet ConflictSheet DraftRow FieldDifference PersonRow RoleRow",
    "patina.sheets.rereading": "RereadRow RereadSheet",
    "patina.sheets.safety": "ExposureRow RecipeRelease SubstanceRow SubstanceSheet",
    "patina.sheets.shelf": "LotRow MovementRow",
    "patina.sheets.shoot": "FiledPhotograph ShootSheet UnfiledPhotograph",
    "patina.sheets.tiles": "Match PhotographRow ReadingRow TileRow TileSheet",
    "patina.sheets.treatment": "TreatmentHeadRow TreatmentSheet",
    "patina.sheets.upkeep": "ChangeRow CheckSheet Found",
    "patina.sheets.variation": "VariationSheet",
    "patina.sheets.work": "DrumRow LearntLine PotRow ReleaseSheet StripSheet UseLine "
    "WorkEvent WorkRow WorkSheet WorkStep ZoneRow",
}


def __getattr__(name: str) -> Any:
    for module, names in _HOMES.items():
        if name in names.split():
            value = getattr(import_module(module), name)
            globals()[name] = value
            return value
    raise AttributeError(f"module 'patina.sheets' has no attribute '{name}'")
