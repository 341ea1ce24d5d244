"""`patina substance`: adding a substance from its safety data sheet, and what is on record of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from patina.commands.common import common, say, table, the_studio
from patina.commands.help_words import Group

if TYPE_CHECKING:
    from patina.sheets import SubstanceSheet


@click.group(cls=Group)
def substance() -> None:
    """Substances of the studio, with what is not known of them."""


@substance.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--renew", default="", metavar="NAME", help="A substance of this studio whose data FILE renews.")
@click.option("--by", default="", metavar="NAME", help="Who read the data sheet.")
@common
def add(file: Path, renew: str, by: str, studio: str | None, as_json: bool) -> None:
    """Add the substance of FILE (see 'patina substance format')."""
    from patina.bench.shelves.substances import add_substance_file

    with the_studio(studio) as opened:
        sheet = add_substance_file(opened, file, by=by, renew=renew)
    say(as_json, sheet.as_json(), f"Added.\n{_text(sheet)}")


@substance.command()
@click.argument("name")
@common
def show(name: str, studio: str | None, as_json: bool) -> None:
    """What is on record of NAME, and what is not known."""
    from patina.bench.shelves.substances import substance_sheet

    with the_studio(studio) as opened:
        sheet = substance_sheet(opened, name)
    say(as_json, sheet.as_json(), _text(sheet))


@substance.command("format")
@common
def format_(studio: str | None, as_json: bool) -> None:
    """An example of the file, to be filled in from a data sheet."""
    from patina.bench.shelves.substance_file import EXAMPLE, FORMAT_WORDS

    say(as_json, {"example": EXAMPLE, "words": FORMAT_WORDS}, f"{EXAMPLE}\n# {FORMAT_WORDS}", as_it_is=True)


@substance.command()
@click.argument("name")
@click.option("--dated", required=True, metavar="2026-03-14", help="The date on the data sheet.")
@click.option("--supplier", required=True, help="Whose data sheet it is.")
@click.option("--by", default="", metavar="NAME", help="Who compared it.")
@click.option("--note", default="", help="What was found.")
@common
def checked(name: str, dated: str, supplier: str, by: str, note: str, studio: str | None, as_json: bool) -> None:
    """Write down that the data of NAME were compared with a supplier's sheet and still hold."""
    from patina.bench.shelves.substances import sheet_checked

    with the_studio(studio) as opened:
        sheet = sheet_checked(opened, name, dated, supplier, by=by, note=note)
    say(as_json, sheet.as_json(), _text(sheet))


@substance.command()
@click.option("--years", type=float, help="From now on ask from this age on.")
@common
def stale(years: float | None, studio: str | None, as_json: bool) -> None:
    """Substances whose data ask to be checked."""
    from patina.bench.shelves.substances import set_age_years, stale_substances

    with the_studio(studio) as opened:
        if years is not None:
            set_age_years(opened, years)
        rows = stale_substances(opened)
    items = [
        {"name": r.name, "cas": r.cas, "dated": r.sheet_dated.isoformat() if r.sheet_dated else None, "why": r.check}
        for r in rows
    ]
    text = table([(r.name, r.check) for r in rows], ("substance", "why")) if rows else "Nothing asks to be checked."
    say(as_json, {"items": items}, text)


def _text(sheet: SubstanceSheet) -> str:
    s = sheet.substance

    def known(value: object, unit: str = "") -> str:
        return "unknown" if value in (None, "") else f"{value} {unit}".strip()

    lines = [f"{s.name} ({known(s.formula)}), CAS {known(s.cas)}"]
    lines.append(f"  form {known(s.form)}, molar mass {known(s.molar_mass_g_mol, 'g/mol')}")
    lines.append(f"  assay {known(s.assay_pct, '%')}, density {known(s.density_g_ml, 'g/mL')}")
    lines.append(f"  soluble {known(s.solubility_g_per_l, 'g/L')} {s.solubility_note}".rstrip())
    lines += [f"  {statement}" for statement in sheet.statements]
    lines.append(f"  {sheet.basis}")
    lines.append(f"  to a reaction: {', '.join(sorted(s.tags)) or 'unknown'}")
    lines += [f"  data sheet of {r.supplier}, {r.dated} ({r.age_years:.1f} years old)" for r in sheet.sheets]
    lines += [f"? not known: {words}" for words in sheet.missing] + [f"! {words}" for words in sheet.cautions]
    return "\n".join([*lines, f"  source: {s.source}", sheet.caution])
