"""The nine hazard pictograms, drawn for this project after the standard's own description.

Each is a black symbol on white in a red frame, a square set on its point. The drawings lie in
``pictograms`` as SVG, 200 units wide. Source: [GHS_ANNEX_1] [CLP_TABLE_1_3]
"""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from patina.errors import NotFound

# Code: what the drawing shows.
SHOWS = {
    "GHS01": "exploding bomb",
    "GHS02": "flame",
    "GHS03": "flame over circle",
    "GHS04": "gas cylinder",
    "GHS05": "corrosion of a bar and a hand",
    "GHS06": "skull and crossbones",
    "GHS07": "exclamation mark",
    "GHS08": "health hazard: a person with a starburst on the chest",
    "GHS09": "environment: a bare tree and a dead fish",
}


def pictogram_path(code: str) -> Path:
    """The SVG file of a pictogram. Raises NotFound for a code that the standard does not know."""
    if code not in SHOWS:
        raise NotFound(f"There is no pictogram '{code}'.", f"The standard's pictograms are {', '.join(SHOWS)}.")
    return Path(str(files("patina").joinpath("reports", "pictograms", f"{code}.svg")))
