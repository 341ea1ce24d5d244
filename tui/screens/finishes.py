"""Finishes: recipes, and what they look like."""

from __future__ import annotations

from pathlib import Path
from time import sleep
from typing import TYPE_CHECKING, Any, ClassVar

from patina.bench.recipes import finishes
from patina.errors import PatinaError
from tui import actions
from tui import format as show
from tui.screens.place import Place, Shelfful, shades
from tui.screens.recipe_words import history_words, recipe_words
from tui.widgets.prose import Prose, ProseView
from tui.widgets.record_list import Line

if TYPE_CHECKING:
    from patina.sheets import RecipeRow, RecipeSheet

NOTES_PAUSE_S = 0.1  # whoever goes on through the list at once need not wait for notes
EMPTY = """No finishes yet.
Press n to write the first one, i to take in a recipe file, or a to take in the recipes that come with the program."""


class Finishes(Place):
    """Recipes to choose from, with the sheet of one."""

    WHERE = PLACE = "finishes"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("finishes")

    def shelves(self) -> tuple[Shelfful, ...]:
        """One list: the recipes."""
        return (
            Shelfful(
                "finishes",
                lambda text: finishes.list_recipes(self.studio, text),
                recipe_line,
                self._read,
                self._tell,
                EMPTY,
                lambda most, text: finishes.list_recipes(self.studio, text, limit=most),
            ),
        )

    def _read(self, id: str) -> tuple[RecipeSheet, dict[str, str]]:
        return self._with_names(finishes.recipe_sheet(self.studio, id))

    def _with_names(self, sheet: RecipeSheet) -> tuple[RecipeSheet, dict[str, str]]:
        known = self.studio.catalogue()
        keys = {i.substance for s in sheet.recipe.solutions for i in s.ingredients} | {
            s.solvent for s in sheet.recipe.solutions
        }
        return sheet, {key: known.get(key).name for key in keys}

    def _tell(self, read: tuple[RecipeSheet, dict[str, str]]) -> Prose:
        return recipe_words(*read)

    def first_minute(self) -> None:
        """An empty studio: ask where to begin. One that only has no recipe yet has begun already."""
        from tui.dialogs.first_minute import holds_nothing, open_doors

        if self.is_current and holds_nothing(self.studio):
            open_doors(self)

    def show_sheet(self, sheet: Any) -> None:
        """The recipe at once, its safety notes as soon as they are worked out."""
        super().show_sheet(sheet)
        self.work(
            "Working out the safety notes",
            lambda: self._notes(sheet),
            lambda notes: self._add(sheet, notes),
            lambda trouble: self._add(sheet, untold(trouble)),
            quiet=True,
            key="safety",
        )

    def _notes(self, sheet: Any) -> Prose | None:
        """The notes of a sheet; None where it was left again at once. For a thread."""
        from tui.screens.release_words import released_and_safe

        sleep(NOTES_PAUSE_S)
        return released_and_safe(self.studio, sheet[0]) if sheet is self.sheet else None

    def _add(self, sheet: Any, notes: Prose | None) -> None:
        if notes is not None and sheet is self.sheet:
            whole = self._tell(sheet).heading("Safety, as mixed").extend(notes).extend(history_words(sheet[0]))
            self.query_one("#words", ProseView).show(whole)

    # -- actions -----------------------------------------------------------------------------------

    def action_mix(self) -> None:
        """To the bench with this recipe."""
        if (id := self.chosen_or_say("a finish")) is not None:
            self.patina.wanted = id
            self.patina.go("bench")
            self.patina.call_after_refresh(self.patina._hand_over)

    def action_safety(self) -> None:
        """The safety page: why each statement is made, the release, the air."""
        from tui.screens.safety import SafetyPage

        if self.has_sheet("a finish"):
            self.app.push_screen(SafetyPage(self.sheet[0]), lambda _: self.show_sheet(self.sheet))

    def action_start_tile(self) -> None:
        """A test tile of this recipe."""
        from tui.dialogs.records import tile_form

        if self.has_sheet("a finish"):
            recipe: RecipeSheet = self.sheet[0]
            self.ask(tile_form(self.studio, recipe=recipe), lambda tile: self.patina.open_record(tile.row.id))

    def action_new(self) -> None:
        """Write a new recipe: a few questions, then its text; or on with a text that was not saved."""
        from tui.dialogs.recipe_form import recipe_form
        from tui.screens.recipe_text import RecipeText, kept_back

        def write(text: str) -> None:
            self.app.push_screen(RecipeText(text, None), self._saved)

        if begun := kept_back(self.studio, None).read():
            write(begun["text"])
        else:
            self.ask(recipe_form(self.studio), write)

    def action_edit(self) -> None:
        """Edit the recipe's text."""
        from patina.bench.recipes.drafts import text_of_recipe
        from tui.screens.recipe_text import RecipeText

        if self.has_sheet("a finish"):
            recipe: RecipeSheet = self.sheet[0]
            text = text_of_recipe(self.studio, recipe.recipe)
            self.app.push_screen(RecipeText(text, recipe), self._saved)

    def _saved(self, id: str | None) -> None:
        if id is not None:
            self._showing = None
            self.load(keep=id)

    def action_take_in(self) -> None:
        """Take in a recipe file."""
        from tui.dialogs.path import AskPath

        self.ask(AskPath("Take in a recipe file or an archive bundle", (".toml", ".zip")), self._import)

    def _import(self, path: Path) -> None:
        from patina.bench.paper.archive import is_bundle
        from tui.dialogs.archive import take_in

        if is_bundle(path):
            take_in(self, path, self.action_read_again)
            return

        def done(names: tuple[str, ...]) -> None:
            self.said(f"Taken in: {', '.join(names)}.")
            self.action_read_again()

        self.work("Taking in the file", lambda: finishes.import_files(self.studio, [path]), done)

    def action_starters(self) -> None:
        """Take in the recipes that come with the program."""

        def done(names: tuple[str, ...]) -> None:
            self.said(f"{show.times(len(names), 'recipe')} taken in." if names else "They are all here already.")
            self.action_read_again()

        self.work("Taking in the starter recipes", lambda: finishes.add_starters(self.studio), done)

    def action_export(self) -> None:
        """Write the revision that is shown, or all recipes, into a file."""
        from tui.dialogs.exporting import ask_export

        if not self.sheet:
            ask_export(self, None)
            return
        recipe: RecipeSheet = self.sheet[0]
        ask_export(self, recipe.id, recipe.recipe.name, recipe.revision)

    def action_withhold(self) -> None:
        """Withhold the quantities of the recipe, or show them again."""
        from tui.dialogs.people import withhold_form

        if self.has_sheet("a finish"):
            recipe: RecipeSheet = self.sheet[0]

            def done(words: str) -> None:
                self.said(words)
                self._saved(recipe.id)

            self.ask(withhold_form(self, recipe), done)

    def action_drafts(self) -> None:
        """Texts that met another's revision."""
        from tui.dialogs.conflict import show_drafts

        show_drafts(self, self._saved)

    def action_history(self) -> None:
        """Look at an older revision."""
        from tui.dialogs.choose import Choose

        if not self.has_sheet("a finish"):
            return
        sheet: RecipeSheet = self.sheet[0]
        options = [
            (str(r.number), f"{r.number:>3}  {show.moment(r.made_at)}  {r.by}  {r.reason}")
            for r in sorted(sheet.revisions, key=lambda r: -r.number)
        ]
        self.ask(
            Choose(f"Revisions of {sheet.recipe.name}", options, chosen=str(sheet.revision)),
            lambda number: self._look_at(sheet.id, int(number)),
        )

    def _look_at(self, id: str, number: int) -> None:
        self.work(
            f"Reading revision {number}",
            lambda: self._with_names(finishes.recipe_sheet(self.studio, id, number)),
            lambda sheet: self._shown(self.current, sheet),
            quiet=True,
            key="sheet",
        )


def recipe_line(row: RecipeRow) -> Line:
    """A recipe as the list shows it."""
    tiles = show.times(row.tiles, "tile") if row.tiles else "no tile"
    return Line(
        row.id,
        row.name,
        f"{row.id}  {row.finish}",
        shades(row.colours),
        tiles,
    )


def untold(trouble: PatinaError) -> Prose:
    """Safety notes that could not be worked out: said, never left out."""
    return (
        Prose()
        .heading("Safety")
        .caution(f"The safety notes could not be worked out: {trouble.what} {trouble.remedy}", grave=True)
    )
