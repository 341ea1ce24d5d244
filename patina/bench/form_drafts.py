"""What somebody began to type and did not save: kept on this machine until it is put on record.

A draft is its writer's own: it lies beside the journal of the torch, is no part of the studio or its
log, and is gone once the record is written.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from patina.bench.saving import write_whole
from patina.bench.studio import Studio
from patina.errors import StudioTrouble


def folder_of(studio: Studio) -> Path:
    """Where the drafts for a studio lie on this machine."""
    from platformdirs import user_data_path

    own = hashlib.sha256(str(studio.where).encode()).hexdigest()[:12]
    return user_data_path("patina", appauthor=False) / "drafts" / own


@dataclass(frozen=True, slots=True)
class FormDraft:
    """The draft of one form of a studio. key: names the form, and the record where it belongs to one."""

    studio: Studio
    key: str

    @property
    def last(self) -> FormDraft:
        """What was saved last in forms of this kind, to be offered the next time."""
        return FormDraft(self.studio, f"{self.key.split('-')[0]}-last")

    @property
    def _file(self) -> Path:
        return folder_of(self.studio) / f"{re.sub(r'[^A-Za-z0-9-]+', '-', self.key)}.json"

    def read(self) -> dict[str, str]:
        """What was kept, by field; empty where nothing was, or where it cannot be read any more."""
        try:
            said = json.loads(self._file.read_bytes())
        except (OSError, ValueError):
            return {}
        return {str(k): str(v) for k, v in said.items()} if isinstance(said, dict) else {}

    def keep(self, fields: Mapping[str, str]) -> None:
        """Keep what stands in the form; nothing but empty fields drops it. Raises StudioTrouble."""
        said = {name: text for name, text in fields.items() if text.strip()}
        if not said:
            self.drop()
            return
        try:
            self._file.parent.mkdir(parents=True, exist_ok=True)
        except OSError as trouble:
            raise StudioTrouble(
                f"The draft cannot be kept in {self._file.parent}: {trouble.strerror}.",
                "Put it on record now, or make room.",
            ) from trouble
        write_whole(self._file, json.dumps(said, ensure_ascii=False).encode())

    def drop(self) -> None:
        """Forget it. Raises StudioTrouble where it cannot be put away."""
        try:
            self._file.unlink(missing_ok=True)
        except OSError as trouble:
            raise StudioTrouble(
                f"The draft cannot be put away: {trouble.strerror}.", "It does no harm; the record itself is kept."
            ) from trouble
