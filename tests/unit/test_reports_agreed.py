"""The paper of an agreed finish: what was agreed, in figures and blocks, who holds what, what was conceded."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pypdf
from report_samples import DAY, master_sheet

from patina.colour.lab import srgb_hex
from patina.colour.values import Lab, Part
from patina.reports.agreed_finish import agreed_document
from patina.reports.document import Group, Swatches
from patina.reports.finish_record import NOT_WRITTEN, SEALED
from patina.reports.publish import publish
from patina.sheets.matching import AgreedSheet, ApprovalRow, ConcessionRow, HoldingRow, ZoneRow

FACE = ZoneRow(
    "face",
    Lab(28.0, 6.2, 9.1),
    n=3,
    light_limit=Lab(30.0, 6.0, 9.0),
    dark_limit=Lab(25.5, 6.4, 9.2),
    parts=(Part(Lab(26.0, 6.0, 8.5), 0.7), Part(Lab(33.0, 7.0, 11.0), 0.3)),
    fixed_u=0.6,
    tile="T1",
    light_tile="T2",
    dark_tile="T3",
    grain_mm=2.4,
    tile_name="HM-1",
    light_tile_name="HM-2",
    dark_tile_name="HM-3",
)
HELD = HoldingRow(
    "T1", "HM-1", "Ilse", "master", "dark", "drawer 2", date(2026, 1, 5), date(2026, 3, 1), True, "", 0.4, "read twice"
)
CONCEDED = ConcessionRow("C4", "back", 3.4, "fail: too light", "stands in shade", "Ilse", DAY, "Heron 4/9")
SEEN = ApprovalRow(
    "A1",
    "M1",
    "C2",
    "Ilse",
    "client",
    "yard",
    "D65 booth",
    "waxed",
    "in hand",
    "approved",
    "as the tile",
    DAY,
    "Maren",
    datetime(2026, 3, 14, 9, 0, tzinfo=UTC),
    "Heron 2/9",
)


def agreed_sheet() -> AgreedSheet:
    own = ZoneRow("whole", Lab(28.46, 6.0, 9.0), tile="T1", tile_name="HM-1")
    return AgreedSheet(master_sheet(), (own, FACE), "as new", 4.0, (HELD,), (CONCEDED,), (SEEN,))


def text_of(path: Path) -> str:
    pages = pypdf.PdfReader(path).pages
    return " ".join(" ".join(page.extract_text().replace("\u202f", " ").split()) for page in pages)


def test_everything_that_was_agreed_is_on_paper(tmp_path: Path) -> None:
    """Zones with tiles, limits, tolerances, light, states, who agreed, holders, checks, concessions, approvals."""
    path = tmp_path / "agreed.pdf"
    publish(agreed_document(agreed_sheet(), made_on=DAY, colour_of=srgb_hex, studio="Quay Foundry"), path)
    text = text_of(path)
    agreed = master_sheet()
    for expected in (
        "Agreed finish",
        agreed.name,
        agreed.light,
        agreed.agreed_by,
        "to look as new",
        "limit ΔE",
        "2 (CIEDE2000)",
        "limit of tones",
        "Zone: face",
        "T1 HM-1",
        "T2 HM-2",
        "T3 HM-3",
        "L* 30.0 a* 6.0 b* 9.0",
        "L* 25.5 a* 6.4 b* 9.2",
        "mean of 3 readings",
        "± 0.6 ΔE00 that stays (95 %)",
        "grain of the mottle 2.4 mm",
        "70 %",
        "drawer 2",
        "kept dark",
        "2026-03-01",
        "due",
        "read twice",
        "Heron 4/9",
        "ΔE 3.4",
        "stands in shade",
        "Heron 2/9",
        "as the tile",
        "Quay Foundry",
        "the figures count",
    ):
        assert expected.casefold() in text.casefold(), expected


def test_limits_stand_on_either_side_of_what_was_agreed() -> None:
    """Lightest first: light limit, agreed colour, dark limit, each with its own block."""
    document = agreed_document(agreed_sheet(), made_on=DAY, colour_of=srgb_hex)
    group = [b for b in document.blocks if isinstance(b, Group)][1]
    (swatches,) = [b for b in group.blocks if isinstance(b, Swatches)]
    assert [s.name for s in swatches.items] == ["light limit", "as agreed", "dark limit"]
    assert [s.hex for s in swatches.items] == [
        srgb_hex(lab) for lab in (FACE.light_limit, FACE.lab, FACE.dark_limit) if lab
    ]
    assert len(swatches.items[1].tones) == 2


def test_what_nobody_wrote_down_says_so() -> None:
    """No holder, no light, nobody who agreed: said, and never left out; the signature is a line to write on."""
    bare = replace(master_sheet(), light="", agreed_by="", agreed_on=None, next_check=None, holders="", recipe_id=None)
    sheet = AgreedSheet(bare, (ZoneRow("whole", bare.lab),), "as new", None, (), (), ())
    document = agreed_document(sheet, made_on=DAY, colour_of=srgb_hex)
    facts = dict(document.facts)
    assert facts["viewed in"] == facts["agreed by"] == facts["agreed on"] == facts["next check"] == NOT_WRITTEN
    assert f"Who holds a tile is {NOT_WRITTEN}." in str(document)
    assert "Taken although outside" not in str(document) and "Approvals" not in str(document)


def test_the_recipe_can_be_sealed() -> None:
    """For a reader who is not to know the recipe its name is left out."""
    sheet = agreed_sheet()
    named = replace(sheet, master=replace(sheet.master, recipe_id="R5", recipe="Slip wash"))
    assert "R5 Slip wash" in str(agreed_document(named, made_on=DAY, colour_of=srgb_hex))
    told = str(agreed_document(named, made_on=DAY, colour_of=srgb_hex, show_recipe=False))
    assert "Slip wash" not in told and SEALED in told
