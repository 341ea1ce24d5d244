"""Who works in the studio, what each may do, and what two of them changed at once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from patina.recipe import Recipe


@dataclass(frozen=True, slots=True)
class RoleRow:
    """A role. words: what it is. may: the groups of deeds it may do. sees_withheld: always sees withheld quantities."""

    role: str
    words: str
    may: tuple[str, ...]
    sees_withheld: bool

    def as_json(self) -> dict[str, Any]:
        """One entry of `patina people roles --json`."""
        return {"role": self.role, "words": self.words, "may": list(self.may), "sees_withheld": self.sees_withheld}


@dataclass(frozen=True, slots=True)
class PersonRow:
    """Somebody who works with the records. login: the name on the database server, else empty."""

    id: str
    name: str
    role: str
    login: str
    contact: str
    active: bool
    note: str
    version: int = 1

    def as_json(self) -> dict[str, Any]:
        """One entry of `patina people list --json`."""
        return {
            "id": self.id,
            "name": self.name,
            "role": self.role,
            "login": self.login,
            "contact": self.contact,
            "active": self.active,
            "note": self.note,
        }


@dataclass(frozen=True, slots=True)
class AccessSheet:
    """Who is at work here and what follows from it. name: empty where nobody said. role: empty where nobody is
    registered. how: how it is known. proved: whether the database vouches for it. said: in a sentence."""

    name: str
    role: str
    how: str
    proved: bool
    enforced: bool
    said: str

    def as_json(self) -> dict[str, Any]:
        """The document of `patina people me --json`."""
        return {
            "name": self.name,
            "role": self.role,
            "how": self.how,
            "proved": self.proved,
            "enforced": self.enforced,
            "said": self.said,
        }


@dataclass(frozen=True, slots=True)
class FieldDifference:
    """One field that two people have; before: as both began. who: "mine", "theirs" or "both" changed it.
    clash: both changed it, to different things. Texts as the recipe file writes them."""

    field: str
    before: str
    mine: str
    theirs: str
    who: str
    clash: bool

    def as_json(self) -> dict[str, Any]:
        """One entry of "differences"."""
        return {
            "field": self.field,
            "before": self.before,
            "mine": self.mine,
            "theirs": self.theirs,
            "changed_by": self.who,
            "clash": self.clash,
        }


@dataclass(frozen=True, slots=True)
class ConflictSheet:
    """A recipe text that met another's revision. draft: id of the text that is kept. merged: mine and theirs laid
    together, None where they clash. by, at (UTC), reason: of the revision that was there first."""

    draft: str
    recipe_id: str
    recipe: str
    based_on: int
    met: int
    by: str
    at: datetime
    reason: str
    my_reason: str
    mine: Recipe
    theirs: Recipe
    merged: Recipe | None
    differences: tuple[FieldDifference, ...]

    def as_json(self) -> dict[str, Any]:
        """The document of `patina drafts show --json`."""
        return {
            "draft": self.draft,
            "recipe_id": self.recipe_id,
            "recipe": self.recipe,
            "based_on": self.based_on,
            "met": self.met,
            "by": self.by,
            "at": self.at.isoformat(),
            "reason": self.reason,
            "my_reason": self.my_reason,
            "can_be_merged": self.merged is not None,
            "differences": [d.as_json() for d in self.differences],
        }


@dataclass(frozen=True, slots=True)
class DraftRow:
    """A recipe text that waits to be resolved."""

    id: str
    recipe_id: str
    recipe: str
    based_on: int
    met: int
    by: str
    at: datetime
    reason: str

    def as_json(self) -> dict[str, Any]:
        """One entry of `patina drafts list --json`."""
        return {
            "id": self.id,
            "recipe_id": self.recipe_id,
            "recipe": self.recipe,
            "based_on": self.based_on,
            "met": self.met,
            "by": self.by,
            "at": self.at.isoformat(),
            "reason": self.reason,
        }
