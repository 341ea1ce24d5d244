"""What a studio remembers of itself: its chart's edition, its name, who works there."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.colour.values import EDITIONS
from patina.errors import BadQuantity, NotFound, Refused
from patina.language import LANGUAGES, MEASURES, Reader, read_as, reader

if TYPE_CHECKING:
    from patina.bench.studio import Studio

LONGEST = 200
_READING = ("language", "decimal", "measures")


@dataclass(frozen=True, slots=True)
class Setting:
    """A setting as a person knows it. value: empty where it was never set. choices: empty for free words."""

    name: str
    value: str
    meaning: str
    choices: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The four fields by name."""
        return {"name": self.name, "value": self.value, "meaning": self.meaning, "choices": list(self.choices)}


# name -> (key in the studio, meaning, choices)
_KNOWN: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "chart-edition": (
        "chart_edition",
        "edition of the studio's 24-patch chart (printed on its back), where a reading does not state one",
        EDITIONS,
    ),
    "photographs": (
        "photographs",
        "folder or address (s3://bucket/prefix) that holds the photographs; setting it copies them there first",
        (),
    ),
    "backup-days": ("backup_days", "a backup is wanted every so many days; screens remind; empty for none", ()),
    "decimal": ("decimal", "decimal mark of what is shown; empty: that of the language", (".", ",")),
    "language": ("language", "language of screens and answers; PATINA_LANGUAGE stands above it", tuple(LANGUAGES)),
    "measures": ("measures", "US puts °F and ounces in front of °C, g and mL", MEASURES),
    "rights": ("rights", "who may do what with records; stands in every archive bundle", ()),
    "studio-name": ("studio_name", "stands on labels and sheets", ()),
    "who": ("who", "stands beside what is put on record", ()),
}


def read_as_here(studio: Studio | None) -> Reader:
    """Show everything from now on as this studio's settings say, or as PATINA_LANGUAGE says of the language."""
    return _read_as(studio.settings(*_READING) if studio else dict.fromkeys(_READING, ""))


def _read_as(said: dict[str, str]) -> Reader:
    return read_as(os.environ.get("PATINA_LANGUAGE", "").strip() or said["language"], said["decimal"], said["measures"])


def read_as_named(where: str | None) -> Reader:
    """Show everything as PATINA_LANGUAGE or the studio that is named says, without opening it.

    For what is said before a studio is open: help, and a command that was not understood. A choice that was made
    already stays. A studio on a server is not asked.
    """
    from patina.bench.places import place_of
    from patina.records.studio.peek import settings_of_folder

    if reader() != Reader():
        return reader()
    said = dict.fromkeys(_READING, "")
    place = place_of(where)
    if "://" not in place:
        said = settings_of_folder(Path(place), _READING)
    try:
        return _read_as(said)
    except Refused:  # help is not refused because of a language that nobody knows
        return read_as()


def list_settings(studio: Studio) -> tuple[Setting, ...]:
    """Every setting with its value, by name."""
    return tuple(setting_of(studio, name) for name in sorted(_KNOWN))


def setting_of(studio: Studio, name: str) -> Setting:
    """One setting. Raises NotFound for a name that is none."""
    key, meaning, choices = _known(name)
    return Setting(name, studio.setting(key), meaning, choices)


def change_setting(studio: Studio, name: str, value: str) -> Setting:
    """Set a setting of the studio. Raises NotFound for its name, BadQuantity for its value."""
    key, _, choices = _known(name)
    value = value.strip()
    if choices and value not in choices:
        raise BadQuantity(f"'{value}' is no {name}.", f"Use one of: {', '.join(choices)}.", field=name)
    if len(value) > LONGEST or not value.isprintable():
        raise BadQuantity(f"That is no {name}.", f"Write up to {LONGEST} characters on one line.", field=name)
    if name == "backup-days":
        from patina.bench.backups import change_backup_days

        if value and not value.isdecimal():
            raise BadQuantity(f"'{value}' is no number of days.", "Give 1 to 3650, or 0 for none.", field=name)
        change_backup_days(studio, int(value or 0))
        return setting_of(studio, name)
    if name == "photographs":
        from patina.bench.photo_places import move_photographs

        move_photographs(studio, value)
        return setting_of(studio, name)
    studio.set_setting(key, value)
    return setting_of(studio, name)


def chart_edition(studio: Studio, stated: str = "unknown") -> str:
    """The edition to read a chart by: the one stated, else the studio's own, else "unknown"."""
    if stated != "unknown":
        return stated
    kept = studio.setting("chart_edition")
    return kept if kept in EDITIONS else "unknown"


def _known(name: str) -> tuple[str, str, tuple[str, ...]]:
    known = _KNOWN.get(name)
    if known is None:
        raise NotFound(f"There is no setting '{name}'.", f"Use one of: {', '.join(sorted(_KNOWN))}.")
    return known
