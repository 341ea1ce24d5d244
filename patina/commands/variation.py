"""`patina variation`: within a cast, between casts, and the gauge."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from patina.commands.common import common, say, the_studio

if TYPE_CHECKING:
    from patina.matching.three_sources import Share
    from patina.sheets.variation import VariationSheet


@click.command()
@click.argument("piece")
@click.option("--zone", default=None, help="Only areas of that name, or whose name begins with it; else all.")
@common
def variation(piece: str, zone: str | None, studio: str | None, as_json: bool) -> None:
    """How far readings of PIECE (its title or id) differ within a cast, between casts, and by the gauge.

    The gauge is told by repeats: single readings of one cast or tile with the same area name, by the same
    instrument, in the same state, on the same day.
    """
    from patina.bench.matched.variation import variation as deed

    with the_studio(studio) as opened:
        sheet = deed(opened, piece, zone=zone)
    say(as_json, variation_json(sheet), "" if as_json else variation_text(sheet))


def variation_json(sheet: VariationSheet) -> dict[str, Any]:
    """The variation as JSON has it; null is not known."""
    return {
        "piece": sheet.piece.title,
        "zone": sheet.zone,
        "state": sheet.state,
        "casts": sheet.casts,
        "spots": sheet.spots,
        "repeat_sets": sheet.repeat_sets,
        "repeats": sheet.repeats,
        "instruments": list(sheet.instruments),
        "components": [
            {"of": c.component, "gauge": _share(c.gauge), "within": _share(c.within), "between": _share(c.between)}
            for c in sheet.components
        ],
        "words": list(sheet.words),
    }


def _share(share: Share) -> dict[str, Any]:
    return {"sd": share.sd, "df": share.df, "words": share.words}


def variation_text(sheet: VariationSheet) -> str:
    """The variation for a person."""
    return "\n".join((f"{sheet.piece.title}: {sheet.zone or 'all areas'}, {sheet.state}", *sheet.words))
