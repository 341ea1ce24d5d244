"""Exports by keys: a record in a form that others read, and every record of a kind as a table."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from patina.sheets.named import named
from tui.dialogs.choose import Choose
from tui.dialogs.path import AskPath

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from tui.screens.base import Base

# place: the kinds of record whose table is written there, with the words of the choice
TABLES: dict[str, tuple[tuple[str, str], ...]] = {
    "finishes": (("recipes", "All recipes as a table (CSV)"),),
    "tiles": (("tiles", "All tiles as a table (CSV)"), ("readings", "All readings as a table (CSV)")),
    "casts": (
        ("casts", "All casts as a table (CSV)"),
        ("pieces", "All pieces as a table (CSV)"),
        ("treatments", "All that was done to casts as a table (CSV)"),
    ),
    "shelf": (("lots", "All lots as a table (CSV)"),),
}
_MUSEUM = ("C", "W", "CT")  # letters of the records that museums' own forms are written of


def ask_export(screen: Base, record: str | None, called: str = "", revision: int | None = None) -> None:
    """Offer what can be written: of the chosen record, and of the place. record: its id, None without one;
    called: its name. revision: which one of a recipe, None for the latest."""
    letter = (record or "").rstrip("0123456789")
    options, name = [], named(record, called)
    if record is not None and letter == "R":
        options.append((_id("recipe", record, str(revision or "")), f"{name} as a recipe file (TOML)"))
    if record is not None and letter in _MUSEUM:
        options += [
            (_id("linked", record), f"{name} as Linked Art (JSON-LD)"),
            (_id("spectrum", record), f"{name} as Spectrum's groups (CSV)"),
        ]
    options += [(_id("table", kind), words) for kind, words in TABLES.get(screen.WHERE, ())]
    screen.ask(Choose("Export", options), lambda chosen: _where_to(screen, chosen))


def _id(*parts: str) -> str:
    """Of a choice: what is written, of what."""
    return " ".join(filter(None, parts))


def _where_to(screen: Base, chosen: str) -> None:
    what, _, of = chosen.partition(" ")
    ending = {"recipe": ".toml", "linked": ".jsonld"}.get(what, ".csv")
    value = str(Path.cwd() / (_file_name(screen.studio, what, of) + ending))
    dialog = AskPath("Write to which file?", (ending,), value=value, must_exist=False)

    def write(path: Path) -> None:
        screen.work("Writing", lambda: _WRITE[what](screen.studio, of, path), lambda to: screen.said(f"Written: {to}"))

    screen.ask(dialog, write)


def _file_name(studio: Studio, what: str, of: str) -> str:
    if what == "recipe":
        from patina.bench.recipes.finishes import recipe_sheet

        return re.sub(r"[\s/\\]+", "-", recipe_sheet(studio, of.split()[0]).recipe.name.lower())
    return {"table": of, "linked": f"{of}-linked-art", "spectrum": f"{of}-spectrum"}[what]


def _recipe(studio: Studio, which: str, path: Path) -> Path:
    from patina.bench.recipes.finishes import export_recipe

    id, _, revision = which.partition(" ")
    return _whole(path, export_recipe(studio, id, int(revision) if revision else None))


def _linked(studio: Studio, which: str, path: Path) -> Path:
    from patina.bench.paper.archive_exports import export_linked_art

    return _whole(path, json.dumps(export_linked_art(studio, which), indent=1, ensure_ascii=False) + "\n")


def _spectrum(studio: Studio, which: str, path: Path) -> Path:
    from patina.bench.paper.archive_exports import export_spectrum

    return _whole(path, export_spectrum(studio, which))


def _table(studio: Studio, kind: str, path: Path) -> Path:
    from patina.bench.bringing.bring_out import write_table

    return write_table(studio, kind, path)


def _whole(path: Path, text: str) -> Path:
    from patina.bench.saving import write_whole

    return write_whole(path, text.encode("utf-8"))


_WRITE: dict[str, Callable[[Studio, str, Path], Path]] = {
    "recipe": _recipe,
    "linked": _linked,
    "spectrum": _spectrum,
    "table": _table,
}
