"""An invented workshop's old cards as a spreadsheet file in the demo studio's folder, to try bringing them in.

The file has what such files have: a title above the headings, ditto marks, a row of totals, spoons, per cent of
nobody knows what, remarks in cells of figures. A mapping for it is kept in the studio, with every question answered.
"""

from __future__ import annotations

from pathlib import Path

from patina.bench.bringing.bring_in import plan
from patina.bench.bringing.bring_mapping import save_mapping
from patina.bench.bringing.bring_questions import answered
from patina.bench.saving import write_whole
from patina.bench.studio import Studio

FILE = "old cards.csv"
MAPPING = "old cards"
CARDS = """\
Hollowmere Yard: cards from the tin box (invented);;;;;;;
Name;Alloy;Ferric nitrate g/L;Cupric nitrate;Method;Coats;Temp;Remarks
Tin box brown;C87300;12,5;;flame;4;80-95 °C;even, a little red
Tin box amber;do.;25 (weak);;flame;3 light;ca. 90 °C;
Quay green;C83600;;5 %;cold;6;;"leave overnight
between coats"
Quay green, strong;do.;;1:10;cold;6;;
Spoon green;C83600;;2 tsp;dabbed;2-3;;from the old hand's own words
Weathered;C87300;8;20 g/L;spray;5;hot;
Total;;45,5;;;26;;
"""
ANSWERS = (
    ("", "solvent", "distilled water"),
    ("", "volume_is", "made up to"),
    ("Cupric nitrate", "word %", "% w/v"),
    ("Cupric nitrate", "word :", "part in"),
    ("Cupric nitrate", "volume", "1 L"),
    ("Cupric nitrate", "old words", "middle"),
    ("Method", "value dabbed", "stipple"),
    ("Coats", "range", "high"),
    ("Temp", "unreadable", "note"),
)


def add_old_table(studio: Studio, folder: Path) -> Path:
    """Write the cards into the folder, and keep a mapping for them; nothing of them is brought in."""
    from dataclasses import replace

    path = write_whole(folder / FILE, CARDS.encode("utf-8-sig"))
    mapping = plan(studio, path).mapping
    for heading, about, answer in ANSWERS:
        mapping = answered(mapping, heading, about, answer)
    save_mapping(studio, replace(mapping, name=MAPPING))
    return path
