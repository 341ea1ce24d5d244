"""What a treatment record lacks, in words: who asks for it, and where it is written down."""

from __future__ import annotations

import re
from dataclasses import dataclass

from patina.conservation.completeness import Missing
from patina.conservation.kinds import KINDS, Kind
from patina.sheets.treatment import Completeness

_ID = re.compile(r"\b([A-Z]{2})[1-9][0-9]*\b")


@dataclass(frozen=True, slots=True)
class Fill:
    """Where something that is missing is written down. command: what is typed, VALUE standing for what a person
    knows; key: the key in the treatment; section: where the key works, empty where it works everywhere in it."""

    command: str
    key: str
    section: str

    @property
    def on_screen(self) -> str:
        """As the screen says it."""
        if self.section:
            return f"{self.key} in the section {self.section.capitalize()}"
        return {"S": "S signs the record off", "m": "m draws a zone on a photograph"}[self.key]


def fill_of(treatment: str, missing: Missing) -> Fill | None:
    """Where something that is missing is written down; None where it stands outside the treatment."""
    where, _, field = missing.ask.fill.partition(":")
    name, _, value = field.partition("=")
    said = f'"{name}={value or "VALUE"}"' if " " in value else f"{name}={value or 'VALUE'}"
    if where == "seal":
        return Fill(f"patina seal {treatment}", "S", "")
    if where == "head":
        return Fill(f"patina treatment set {treatment} {said}", "e", KINDS[0].within)
    kind = next((kind for kind in KINDS if kind.name == where), None)
    if kind is None:
        return None
    there = _named(kind, missing.detail)
    if there and field and kind.name != "proposal":
        return Fill(f"patina treatment correct {there} {said} --reason WHY", "e", kind.within)
    if kind.name == "zone":
        return Fill(f"patina treatment write {treatment} zone", "m", "")
    command = f"patina treatment write {treatment} {where}"
    return Fill(f"{command} {said}" if field else command, "n", kind.within)


def _named(kind: Kind, detail: str) -> str:
    """The first part of that kind that the detail names; empty where it names none."""
    return next((found[0] for found in _ID.finditer(detail) if found[1] == kind.letters), "")


def completeness_lines(found: Completeness, treatment: str) -> list[str]:
    """What is missing for one purpose, each with who asks for it and the command that writes it down."""
    if found.complete:
        return [f"As a {found.purpose}: complete, {found.asked} of {found.asked}."]
    lines = [f"As a {found.purpose}: {found.asked - len(found.missing)} of {found.asked}; missing:"]
    for missing in found.missing:
        lines.append(f"  {missing.ask.wanted} (asked for by: {missing.ask.clause})")
        lines += [f"    {missing.detail}", f"    {missing.ask.do}"]
        if fill := fill_of(treatment, missing):
            lines.append(f"    {fill.command}")
    return lines
