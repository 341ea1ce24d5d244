"""What every place can do with the past of its records: history, undo, signing off, amendments."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from patina.sheets.named import named
from tui.screens.going import Going

if TYPE_CHECKING:
    from patina.sheets.history import DeedRow, SealSheet, UndoSheet
    from patina.sheets.upkeep import BackupDue
    from tui.widgets.prose import Prose

SIGNED = ("R", "M", "C", "CT")  # letters of the records that are signed off
AMENDED_WHEN_SIGNED = ("M", "C", "CT")  # of these, those that are edited as long as they are not


def _letters(id: str) -> str:
    """What kind of record an id is of: CT of CT1."""
    return id.rstrip("0123456789").upper()


class Keeping(Going):
    """A screen with a chosen record that has a history. signed: how the record that is shown was signed off."""

    signed: SealSheet | None = None

    def action_read_again(self) -> None:
        """Read the list again."""
        raise NotImplementedError

    def remind(self) -> None:
        """Say once, when the screens are opened, that a backup is due."""
        from patina.bench.backups import backup_due

        def tell(told: BackupDue) -> None:
            if told.due:
                self.notify(f"{told.said} K makes one.", title="A backup is due", severity="warning", timeout=10)

        self.work("Looking at the last backup", lambda: backup_due(self.studio), tell, quiet=True, key="backup")

    def seal_of(self, id: str) -> SealSheet | None:
        """How a record was signed off; None for kinds that are not. For a thread."""
        from patina.bench.sealing import seal_of

        return seal_of(self.studio, id) if _letters(id) in SIGNED else None

    def with_seal(self, prose: Prose) -> Prose:
        """The words of a sheet, with how it was signed off below them."""
        if self.signed is None or not (self.signed.sealed or self.signed.amendments):
            return prose
        from tui.screens.history_words import seal_words

        return prose.extend(seal_words(self.signed))

    def action_archive(self) -> None:
        """Archive bundles: of the chosen record, of the studio, and those of others."""
        from tui.dialogs.archive import ask_archive

        ask_archive(self, self.standing_on, self.action_read_again, self.called)

    def action_keep_safe(self) -> None:
        """The last backup, a new one, the proof of the studio, the reminder."""
        from tui.dialogs.safekeeping import ask_safe

        ask_safe(self)

    def action_export(self) -> None:
        """Write the chosen record in a form that others read, or a whole list as a table."""
        from tui.dialogs.exporting import ask_export

        ask_export(self, self.standing_on, self.called)

    def action_past(self) -> None:
        """Who changed what of the chosen record; without one, of the studio."""
        from patina.bench.history import deeds_on

        id = self.standing_on or ""
        heading = f"History of {named(id, self.called)}" if id else "History of the studio"
        self.work(
            "Reading the log of changes",
            lambda: deeds_on(self.studio, id),
            lambda deeds: self._told(heading, deeds),
            key="past",
        )

    def _told(self, heading: str, deeds: tuple[DeedRow, ...]) -> None:
        from tui.dialogs.history import History

        if deeds:
            self.ask(History(heading, deeds), self._wanted)
        else:
            self.said("Nothing is in the log yet.")

    def _wanted(self, answer: tuple[str, Any]) -> None:
        from patina.bench.history import undo
        from tui.dialogs.history import withdraw_form

        what, which = answer
        if what == "undo":
            self.work("Taking back", lambda: undo(self.studio, change=which), self._undone, key="undo")
        else:
            self.ask(withdraw_form(self.studio, which), lambda id: self._changed(f"Withdrawn: {id}."))

    def action_undo(self) -> None:
        """Take the last deed back."""
        from patina.bench.history import undo

        self.work("Taking back", lambda: undo(self.studio), self._undone, key="undo")

    def action_redo(self) -> None:
        """Take the last undo back."""
        from patina.bench.history import undo

        self.work("Putting back", lambda: undo(self.studio, redo=True), self._undone, key="undo")

    def _undone(self, sheet: UndoSheet) -> None:
        self._changed(sheet.words)

    def _changed(self, words: str) -> None:
        self.said(words)
        self.action_read_again()

    def action_sign_off(self) -> None:
        """Sign the chosen record off."""
        from tui.dialogs.history import seal_form

        id = self.standing_on
        if id is None or _letters(id) not in SIGNED:
            self.said("Recipes, agreed finishes, casts and treatments are signed off; choose one first.")
            return
        if self.signed is not None and self.signed.sealed and _letters(id) != "R":
            self.said(f"{id} was signed off by {self.signed.by}: A adds to it.")
            return
        words = {"R": "latest revision", "M": "agreed finish", "C": "finish record", "CT": "treatment record"}
        form = seal_form(self.studio, id, words[_letters(id)], self.still_open())
        self.ask(form, lambda seal: self._changed(f"{seal.record} is signed off."))

    def still_open(self) -> str:
        """What a person should know before signing the chosen record off; empty where there is nothing."""
        return ""

    def action_amend(self) -> None:
        """Add to a record that was signed off."""
        from tui.dialogs.history import amend_form

        id = self.standing_on
        if id is None:
            self.said("Choose a record first.")
            return
        if _letters(id) in AMENDED_WHEN_SIGNED and self.signed is not None and not self.signed.sealed:
            self.said(f"{id} is not signed off and may still be written in. S signs it off.")
            return
        self.ask(amend_form(self.studio, id), lambda seal: self._changed(f"{seal.record} is amended."))
