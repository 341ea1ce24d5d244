"""Substances added in a studio: the catalogue's value as a document and back; and settings."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.errors import Damaged
from patina.records.tables.first import SettingRow, SubstanceRow

if TYPE_CHECKING:
    from patina.chemistry.substances import Substance


def substance_document(substance: Substance) -> dict[str, Any]:
    """The whole substance as dictionaries and lists."""
    document = asdict(substance)
    document["tags"] = sorted(document["tags"])
    return document


def substance_from(document: dict[str, Any]) -> Substance:
    """The substance of a document. Raises Damaged."""
    from patina.chemistry.substances import (
        AcuteToxicityEstimate,
        EmittedGas,
        Grade,
        HazardClass,
        SpecificLimit,
        Substance,
    )

    parts = {
        "hazards": HazardClass,
        "limits": SpecificLimit,
        "ates": AcuteToxicityEstimate,
        "gases": EmittedGas,
        "grades": Grade,
    }
    try:
        values = dict(document)
        for name, kind in parts.items():
            values[name] = tuple(kind(**item) for item in values.get(name, ()))
        values["other_names"] = tuple(values["other_names"])
        values["euh"] = tuple(values["euh"])
        values["tags"] = frozenset(values["tags"])
        return Substance(**values)
    except (KeyError, TypeError) as trouble:
        raise Damaged(
            f"A stored substance cannot be read: {trouble}.", "Run patina check and restore the last good backup."
        ) from trouble


def added_substances(session: Session) -> tuple[Substance, ...]:
    """The substances added in this studio, oldest first."""
    return tuple(substance_from(d) for d in session.scalars(select(SubstanceRow.document).order_by(SubstanceRow.id)))


def put_substance(session: Session, substance: Substance) -> None:
    """Add a substance, or replace the one of that key; the log keeps what it was."""
    row = session.scalars(select(SubstanceRow).where(SubstanceRow.key == substance.key)).one_or_none()
    if row is None:
        row = SubstanceRow(key=substance.key)
        session.add(row)
    row.document = substance_document(substance)
    session.flush()


def setting(session: Session, name: str) -> str:
    """A setting of the studio, empty where it was never set."""
    row = session.get(SettingRow, name)
    return "" if row is None else row.value


def put_setting(session: Session, name: str, value: str) -> None:
    """Set a setting of the studio."""
    row = session.get(SettingRow, name)
    if row is None:
        session.add(SettingRow(name=name, value=value))
    else:
        row.value = value
    session.flush()
