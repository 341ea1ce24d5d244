"""Every trouble a person can meet, with what happened and what to do.

Each class is one kind of trouble. A screen shows ``title`` as the heading, ``what`` and ``remedy``
as sentences; the command line prints the same three. Nothing here formats for a terminal.
"""

from __future__ import annotations

from collections.abc import Sequence


class PatinaError(Exception):
    """A trouble that has a name.

    title: a few words, no full stop. what: one sentence on what happened. remedy: one sentence on
    what to do about it. field: the form field or file key it belongs to, if one does.
    """

    title = "Something is wrong"

    def __init__(self, what: str, remedy: str, *, title: str | None = None, field: str | None = None):
        super().__init__(f"{what} {remedy}")
        self.what = what
        self.remedy = remedy
        self.field = field
        if title is not None:
            self.title = title

    def as_json(self) -> dict[str, str]:
        """The three texts, as ``--json`` prints them on stderr."""
        return {"title": self.title, "what": self.what, "remedy": self.remedy}


class BadQuantity(PatinaError):
    """A number or unit that cannot be read, or can be read in two ways."""

    title = "That amount cannot be used"


class AmbiguousQuantity(BadQuantity):
    """An amount that a careful person would ask about; ``readings`` are the ways to read it."""

    title = "That amount can be read in two ways"

    def __init__(self, what: str, remedy: str, *, readings: Sequence[str] = (), field: str | None = None):
        super().__init__(what, remedy, field=field)
        self.readings = tuple(readings)


class BadRecipeFile(PatinaError):
    """A recipe file that is refused whole."""

    title = "The recipe file was not taken in"


class BadSpreadsheet(PatinaError):
    """A CSV or XLSX file, or a mapping for it, that is refused whole."""

    title = "The table was not taken in"


class BadData(PatinaError):
    """One of the program's own data files is malformed; names file, row and column."""

    title = "A data file is damaged"


class UnknownSubstance(PatinaError):
    """A substance the catalogue does not hold; ``near`` are names that come close."""

    title = "Unknown substance"

    def __init__(self, what: str, remedy: str, *, near: Sequence[str] = (), field: str | None = None):
        super().__init__(what, remedy, field=field)
        self.near = tuple(near)


class CannotConvert(PatinaError):
    """Two substances or strengths that cannot be turned into each other."""

    title = "That cannot be converted"


class NotFound(PatinaError):
    """A record, file or name that is not there."""

    title = "Not found"


class Refused(PatinaError):
    """A deed that would be wrong or unsafe, and was not done."""

    title = "Not done"


class ShortStock(Refused):
    """The shelf does not hold enough."""

    title = "Not enough on the shelf"


class Changed(PatinaError):
    """Somebody else saved the same record in the meantime."""

    title = "The record has changed"


class BadPhotograph(PatinaError):
    """A photograph that cannot be opened or must not be measured."""

    title = "The photograph cannot be measured"


class NoChart(BadPhotograph):
    """No colour chart was found in the photograph."""

    title = "No chart in the photograph"


class BadChart(BadPhotograph):
    """A chart was found but does not serve: covered, copied, faded, clipped or doubled."""

    title = "The chart in the photograph does not serve"


class NotComparable(PatinaError):
    """Two readings whose illuminant, observer or formula differ."""

    title = "These readings cannot be compared"


class BadMesh(PatinaError):
    """A mesh file that cannot be read or has no unit."""

    title = "The mesh cannot be measured"


class StudioTrouble(PatinaError):
    """The studio folder or database cannot be opened, is locked, full or read-only."""

    title = "The studio cannot be opened"


class Unreachable(StudioTrouble):
    """The server of the studio does not answer, or the connection to it was lost."""

    title = "The database cannot be reached"


class Contended(StudioTrouble):
    """Two deeds came at the same moment and the database let one of them give way; it can be done again."""

    title = "Not saved yet"


class Damaged(PatinaError):
    """A stored file or record is not what it was."""

    title = "Damaged record"


class Incomplete(PatinaError):
    """A form with several mistakes; ``troubles`` says all that is wrong at once."""

    title = "Some fields need another look"

    def __init__(self, troubles: Sequence[PatinaError]):
        self.troubles = tuple(troubles)
        super().__init__(" ".join(t.what for t in troubles), " ".join(dict.fromkeys(t.remedy for t in troubles)))


class NotAllowed(Refused):
    """A deed or a look that the role of whoever is at work does not allow."""

    title = "Not for this role"


class Withheld(NotAllowed):
    """Quantities of a recipe that are held by the studio and not shown to whoever is at work."""

    title = "Held by the studio"


class Conflict(Changed):
    """Somebody else revised the same recipe first; ``draft`` is the id under which the other text is kept."""

    title = "Somebody else was here first"

    def __init__(self, what: str, remedy: str, *, draft: str):
        super().__init__(what, remedy)
        self.draft = draft
