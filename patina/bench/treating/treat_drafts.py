"""Parts of a treatment that are being written, kept as one types; nothing is lost before it is put on record."""

from __future__ import annotations

from collections.abc import Mapping

from patina.bench.form_drafts import FormDraft
from patina.bench.studio import Studio
from patina.bench.treating.treat import fields_of


def _draft(studio: Studio, treatment: str, kind: str) -> FormDraft:
    return FormDraft(studio, f"{treatment}-{kind}")


def keep_draft(studio: Studio, treatment: str, kind: str, fields: Mapping[str, str]) -> None:
    """Keep what stands in the form of a kind of part; nothing but empty fields drops the draft.

    Raises StudioTrouble where this machine cannot keep it.
    """
    _draft(studio, treatment, kind).keep(fields)


def draft_of(studio: Studio, treatment: str, kind: str) -> dict[str, str]:
    """What was kept of a form, by field; empty where nothing was, or where it cannot be read any more."""
    known = fields_of(kind)
    return {name: value for name, value in _draft(studio, treatment, kind).read().items() if name in known}


def drop_draft(studio: Studio, treatment: str, kind: str) -> None:
    """Forget what was kept of a form."""
    _draft(studio, treatment, kind).drop()
