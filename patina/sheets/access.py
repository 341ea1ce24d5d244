"""Whose eyes a recipe is for, what was handed to whom, and what the owner of a cast is given."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from patina.sheets.casts import CastSheet

if TYPE_CHECKING:
    from patina.recipe import Recipe
    from patina.sheets.comparing import MasterSheet, VerdictSheet

WITHHELD = "held by the studio"
# what can be handed over
HANDED = (
    "owner's sheet",
    "finish record",
    "report",
    "archive bundle",
    "recipe licence",
    "tile on loan",
    "transfer list",
    "came back",
)


@dataclass(frozen=True, slots=True)
class WithheldRow:
    """A recipe whose quantities are withheld. revision: the one meant, None for all. open_to: roles and names of
    persons who may see them. at: UTC."""

    recipe_id: str
    recipe: str
    revision: int | None
    open_to: tuple[str, ...]
    why: str
    by: str
    at: datetime

    def as_json(self) -> dict[str, Any]:
        """One entry of `patina withheld --json`."""
        return {
            "recipe_id": self.recipe_id,
            "recipe": self.recipe,
            "revision": self.revision,
            "open_to": list(self.open_to),
            "why": self.why,
            "by": self.by,
            "at": self.at.isoformat(),
        }


@dataclass(frozen=True, slots=True)
class HandoverRow:
    """Something given to somebody. kind: one of HANDED. record: id of what it is or is of, empty for the whole
    studio; version: revision or version given. as_what: owner, foundry, estate, client ... sha256, size_bytes: of a
    file given, "" and None where there was none. back_by: day it is to be back, or the licence ends. came_back:
    the day it did, None while it is out."""

    id: str
    kind: str
    record: str
    version: int | None
    what: str
    to: str
    as_what: str
    terms: str
    file_name: str
    sha256: str
    size_bytes: int | None
    given_on: date
    back_by: date | None
    came_back: date | None
    note: str
    by: str

    @property
    def out(self) -> bool:
        """Whether it is a loan or a licence that has not ended."""
        return self.kind in ("tile on loan", "recipe licence") and self.came_back is None

    def as_json(self) -> dict[str, Any]:
        """One entry of `patina given --json`."""
        return {
            "id": self.id,
            "kind": self.kind,
            "record": self.record,
            "version": self.version,
            "what": self.what,
            "to": self.to,
            "as": self.as_what,
            "terms": self.terms,
            "file": self.file_name,
            "sha256": self.sha256,
            "size_bytes": self.size_bytes,
            "given_on": self.given_on.isoformat(),
            "back_by": None if self.back_by is None else self.back_by.isoformat(),
            "came_back": None if self.came_back is None else self.came_back.isoformat(),
            "out": self.out,
            "note": self.note,
            "by": self.by,
        }


@dataclass(frozen=True, slots=True)
class OwnerCare:
    """What the owner is told. wax: what lies on the finish and since when. ask: whom to ask, with where to reach
    them. Empty texts and None: nobody has written it down."""

    care: str = ""
    wax: str = ""
    next_check: date | None = None
    ask: str = ""


@dataclass(frozen=True, slots=True)
class OwnerRecipe:
    """A recipe used on the cast, as far as this reader may see it.

    withheld: its quantities are left out, and ``recipe`` has none. recipe: None where not even its steps are shown.
    safety: classes and warnings by solution, never left out: (solution, signal word, statements with their codes).
    """

    id: str
    name: str
    revision: int
    finish: str
    withheld: bool
    recipe: Recipe | None
    lines: tuple[str, ...] = ()
    safety: tuple[tuple[str, str, tuple[str, ...]], ...] = ()


@dataclass(frozen=True, slots=True)
class OwnerSheet:
    """All that the owner of a cast is given on paper.

    cast: with treatments and their notes as this reader may see them. finish: the look, in words. agreed, verdict:
    the agreed finish and how the cast stands to it, where there is one. shown: "full" or "without quantities".
    """

    cast: CastSheet
    title: str
    maker: str
    edition: str
    finish: str
    agreed: MasterSheet | None
    verdict: VerdictSheet | None
    recipes: tuple[OwnerRecipe, ...]
    care: OwnerCare
    shown: str
    studio: str
    made_on: date
    caution: str

    def as_json(self) -> dict[str, Any]:
        """The document of `patina owner --json`."""
        latest = self.cast.readings[0] if self.cast.readings else None
        return {
            "cast": self.cast.row.id,
            "title": self.title,
            "maker": self.maker,
            "edition": self.edition,
            "number": self.cast.row.number,
            "alloy": self.cast.row.alloy,
            "owner": self.cast.row.owner,
            "finish": self.finish,
            "agreed": None if self.agreed is None else self.agreed.id,
            "verdict": None if self.verdict is None else self.verdict.verdict,
            "lab": None if latest is None else [latest.lab.L, latest.lab.a, latest.lab.b],
            "shown": self.shown,
            "recipes": [_recipe_json(r) for r in self.recipes],
            "treatments": [
                {"on": None if t.done_on is None else t.done_on.isoformat(), "did": t.did, "by": t.done_by}
                for t in self.cast.treatments
            ],
            "care": self.care.care,
            "wax": self.care.wax,
            "next_check": None if self.care.next_check is None else self.care.next_check.isoformat(),
            "ask": self.care.ask,
            "caution": self.caution,
        }


def _recipe_json(one: OwnerRecipe) -> dict[str, Any]:
    return {
        "id": one.id,
        "name": one.name,
        "revision": one.revision,
        "finish": one.finish,
        "withheld": one.withheld,
        "lines": list(one.lines),
        "safety": [
            {"solution": name, "signal_word": word, "statements": list(statements)}
            for name, word, statements in one.safety
        ],
    }


@dataclass(frozen=True, slots=True)
class TransferSheet:
    """What is out of the house, for a change of foundry or an estate: tiles on loan, recipes licensed, files given;
    and what would go over: agreed finishes with their tiles, recipes by name. to: whom it is for, "" for all."""

    to: str
    made_on: date
    loans: tuple[HandoverRow, ...]
    licences: tuple[HandoverRow, ...]
    files: tuple[HandoverRow, ...]
    held: tuple[tuple[str, str, str, str], ...]
    recipes: tuple[tuple[str, str, bool], ...]

    def as_json(self) -> dict[str, Any]:
        """The document of `patina transfer-list --json`."""
        return {
            "to": self.to,
            "made_on": self.made_on.isoformat(),
            "tiles_on_loan": [r.as_json() for r in self.loans],
            "recipes_licensed": [r.as_json() for r in self.licences],
            "files_given": [r.as_json() for r in self.files],
            "tiles_held": [{"tile": t, "name": n, "holder": h, "place": p} for t, n, h, p in self.held],
            "recipes": [{"id": id, "name": name, "withheld": withheld} for id, name, withheld in self.recipes],
        }
