"""What is printed into an archive bundle: the reports of its casts, treatments, tiles and recipes, and recipe files."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.studio import Studio
from patina.errors import PatinaError

if TYPE_CHECKING:
    from patina.records.archive.choice import Choice

# A studio's tiles are thousands: each is in the tables, and printed where the bundle is about it.
MOST_TILES = 100


def _words_and_sources(studio: Studio, _id: str, path: Path) -> Any:
    """What terms, scales and triggers of a conservator's record mean, and the codes and standards it names."""
    from datetime import date

    from patina.bench.treating.treat_words import list_scales, list_terms, list_triggers
    from patina.conservation.completeness import asks
    from patina.reports.publish import publish
    from patina.reports.vocabulary import vocabulary_document
    from patina.sources import bibliography

    terms, scales, triggers = list_terms(), list_scales(), list_triggers()
    used = (
        [s for t in terms for s in (t.source, t.id_source)] + [s.source for s in scales] + [t.source for t in triggers]
    )
    used += [key for ask in asks() for key in ask.asked_by]
    keys = {key.strip() for words in used for key in words.replace(",", ";").split(";") if key.strip()}
    sources = [source for key, source in bibliography().items() if key in keys]
    words = vocabulary_document(
        terms, scales, triggers, asks(), sources, made_on=date.today(), studio=studio.setting("studio_name")
    )
    return publish(words, path)


class Prints:
    """Prints into a folder what belongs to the rows of a bundle. trouble: what could not be printed, and why."""

    def __init__(self, studio: Studio, *, for_owner: bool, progress: Callable[[str], None]):
        self.studio, self.for_owner, self.progress = studio, for_owner, progress
        self.trouble: list[str] = []
        self._made: dict[str, Path] = {}

    def __call__(self, choice: Choice, folder: Path) -> dict[str, Path]:
        """The files by their place under data."""
        from patina.bench.paper import print_reports, printing

        self._made = {}
        hidden = self.for_owner or bool(choice.withheld)
        for id in self._own(choice, "cast_piece", "C"):
            self._print(folder, f"printed/finish-record-{id}.pdf", self._cast, id, hidden)
        for id in self._own(choice, "conservation", "CT"):
            self._print(folder, f"printed/treatment-{id}.pdf", print_reports.treatment_report, id)
        if any(name.startswith("printed/treatment-") for name in self._made):
            self._print(folder, "printed/words-and-sources.pdf", _words_and_sources, "")
        for id in [] if hidden else self._own(choice, "piece", "W"):
            self._print(folder, f"printed/series-{id}.pdf", print_reports.series_report, id)
        tiles = [] if hidden else self._own(choice, "tile", "T")
        for id in tiles if len(tiles) <= MOST_TILES else []:
            self._print(folder, f"printed/tile-{id}.pdf", printing.tile_record, id)
        if len(tiles) > MOST_TILES:
            self.trouble.append(f"{len(tiles)} tiles: not printed, their rows stand in data/tables")
        for id, number in self._revisions(choice):
            self._recipe(folder, id, number)
        return self._made

    def _own(self, choice: Choice, table: str, letter: str) -> list[str]:
        """Ids of the rows of a table that the bundle is about."""
        if not choice.whole:
            return [f"{letter}{i}" for i in sorted(choice.own.get(table, ()))]
        from patina.records.archive.choice import ids_of

        with self.studio.store.view() as session:
            return [f"{letter}{i}" for i in ids_of(session, table)]

    def _revisions(self, choice: Choice) -> list[tuple[str, int]]:
        if not choice.whole:
            rows = choice.rows.get("revision", {}).values()
            return sorted((f"R{r['recipe_id']}", r["number"]) for r in rows)
        from patina.bench.recipes.finishes import list_recipes

        return [(r.id, n) for r in list_recipes(self.studio) for n in range(1, r.revision + 1)]

    def _cast(self, studio: Studio, id: str, path: Path, hidden: bool) -> Any:
        from patina.bench.paper.owner import print_owner_sheet
        from patina.bench.paper.printing import finish_record

        if self.for_owner:
            return print_owner_sheet(studio, id, path, show="steps")
        return finish_record(studio, id, path, show_recipes=not hidden)

    def _print(self, folder: Path, name: str, write: Callable[..., Any], id: str, *more: Any) -> None:
        self.progress(f"printing {Path(name).stem}")
        path = folder / Path(name).name
        try:
            write(self.studio, id, path, *more)
        except PatinaError as trouble:
            self.trouble.append(f"{Path(name).name}: {trouble.what}")
        else:
            self._made[name] = path

    def _recipe(self, folder: Path, id: str, number: int) -> None:
        """A revision as a file that people write, and on paper."""
        from patina.bench.recipes.finishes import export_recipe, recipe_sheet
        from patina.bench.recipes.people_words import recipe_lines
        from patina.reports.publish import publish
        from patina.reports.recipe_page import recipe_document

        self.progress(f"printing recipe {id} revision {number}")
        try:
            text = export_recipe(self.studio, id, number)
            sheet = recipe_sheet(self.studio, id, number)
            lines = recipe_lines(sheet.recipe, self.studio.catalogue())
            paper = folder / f"recipe-{id}-{number}.pdf"
            publish(recipe_document(sheet, lines, studio=self.studio.setting("studio_name")), paper)
        except PatinaError as trouble:
            self.trouble.append(f"recipe {id} revision {number}: {trouble.what}")
            return
        plain = folder / f"{id}-{number}.toml"
        plain.write_text(text, encoding="utf-8")
        self._made[f"recipes/{plain.name}"] = plain
        self._made[f"printed/{paper.name}"] = paper
