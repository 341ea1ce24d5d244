"""The work at the torch, line by line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patina.errors import Refused
from tui.lines.plain import plain_line
from tui.screens import torch_words as words

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets import WorkSheet

WORDS = (
    "p: a pass is done. t 95: the metal is at 95. v 430: 430 mL left in the pot. n WORDS: a note. "
    "b: take the newest thing back. s or z: next step or zone. ?: how it stands. x: leave; the work stays open."
)


class Torch:
    """One open work. sheet: as it stands."""

    def __init__(self, studio: Studio, id: str):
        from patina.bench.torch.work import work_sheet

        self.studio = studio
        self.sheet: WorkSheet = work_sheet(studio, id)

    def stands(self) -> list[str]:
        """Step, zone, passes, pot and metal in words."""
        title = f"{words.step_title(self.sheet)}, zone {self.sheet.zone}"
        figures = [" ".join(part for part in given if part) for given in (
            words.pass_figures(self.sheet), words.pot_figures(self.sheet), words.metal_figures(self.sheet)
        )]  # fmt: skip
        return [plain_line(line) for line in (title, *figures, words.next_hint(self.sheet)) if line.strip()]

    def say(self, line: str) -> list[str]:
        """Do what a line says and tell what is on disk. Raises PatinaError; nothing is written then."""
        word, _, rest = line.strip().partition(" ")
        if word == "?":
            return self.stands()
        self.sheet = self._deed(word, rest.strip())
        last = self.sheet.events[-1]
        return [plain_line(f"On disk: {words.event_line(last)}"), *self.stands()[:2]]

    def _deed(self, word: str, rest: str) -> WorkSheet:
        from patina.bench.torch import heat, work, work_forms

        studio, which, seen = self.studio, self.sheet.row.id, self.sheet.seq
        if word == "p":
            return work.pass_done(studio, which, seen=seen)
        if word == "b":
            return work.go_back(studio, which, seen=seen)
        if word == "n":
            return work.write_note(studio, which, rest, seen=seen)
        if word == "t":
            return heat.read_temperature(studio, which, heat.temperature_typed(rest, self.sheet), seen=seen)
        if word == "v":
            return work.volume_left(studio, which, work_forms.volume_typed(rest), seen=seen)
        if word in ("s", "z"):
            return self._onward(word, seen)
        raise Refused(f"'{word}' is no word at the torch.", WORDS)

    def _onward(self, word: str, seen: int) -> WorkSheet:
        from patina.bench.torch import work

        sheet = self.sheet
        if word == "s":
            return work.move_to(self.studio, sheet.row.id, step=sheet.step + 1, zone=sheet.zone, seen=seen)
        zone = sheet.zones[(sheet.zone_at + 1) % len(sheet.zones)].name
        return work.move_to(self.studio, sheet.row.id, step=sheet.step, zone=zone, seen=seen)
