"""A code read by a scanner that types opens its record, whatever stands in the code besides."""

from __future__ import annotations

import re
from collections.abc import Callable

import cv2
import numpy as np
import pytest
from PIL import Image
from screens_driver import Running

from patina.bench.studio import Studio
from patina.bench.treating import treat
from patina.reports.typeset import qr_svg


@pytest.mark.parametrize("code", ["tile T1\nQT-1\nSlipway brown\n2026-03-02", "t1"])
async def test_a_scanned_code_opens_its_record(running: Callable[..., Running], code: str) -> None:
    """All characters of the code are taken in; none of them works as a key of a screen."""
    async with running((120, 36)) as driver:
        await driver.until_text("Slipway brown")
        await driver.hold_keys("!" + code + "\n")
        await driver.until(lambda: driver.app.current_mode == "tiles")
        await driver.until(lambda: getattr(getattr(driver.app.screen, "sheet", None), "row", None) is not None)
        await driver.until(lambda: driver.app.screen.sheet.row.id == "T1")
        assert not driver.app.screen.is_modal


async def test_the_code_of_a_treatment_report_opens_the_treatment(
    running: Callable[..., Running], studio: Studio
) -> None:
    """Ids of two letters are ids too."""
    treat.begin_treatment(studio, {"cast": "C1", "name": "New wax"})
    async with running((120, 36)) as driver:
        await driver.until_text("Slipway brown")
        await driver.hold_keys("!treatment CT1\nQuay seal\nQT 1\n")
        await driver.until(lambda: driver.app.current_mode == "casts")
        await driver.until(lambda: getattr(getattr(driver.app.screen, "sheet", None), "id", None) == "CT1")


async def test_a_code_without_an_id_is_told(running: Callable[..., Running]) -> None:
    """Somebody else's code does nothing but say so, and keys work again after it."""
    async with running((120, 36)) as driver:
        await driver.until_text("Slipway brown")
        await driver.hold_keys("!4006381333931\n")
        await driver.until(lambda: any("holds no id" in n.message for n in driver.app._notifications))
        await driver.pilot.pause(0.3)
        await driver.press("3")
        await driver.until(lambda: driver.app.current_mode == "tiles")


async def test_an_exclamation_mark_can_be_typed_in_a_field(running: Callable[..., Running]) -> None:
    """In a field it is a character like others."""
    async with running((120, 36)) as driver:
        await driver.until_text("Slipway brown")
        await driver.press("slash")
        await driver.write("a!b")
        await driver.until(lambda: driver.app.screen.query_one("#search").value == "a!b")


def test_the_printed_code_begins_with_the_mark() -> None:
    """What a QR reader takes from the printed code is the mark, the kind and the id. Referee: OpenCV's detector."""
    svg = qr_svg("batch B12", "Harbour brown")
    path = re.search(r'class="qrline"[^>]* d="([^"]+)"', svg)
    size = int(re.search(r'viewBox="0 0 (\d+)', svg)[1])  # type: ignore[index]
    assert path is not None
    picture = np.full((size, size), 255, np.uint8)
    x = y = 0.0
    for command, numbers in re.findall(r"([Mmh])([^Mmh]*)", path[1]):
        values = [float(v) for v in re.findall(r"-?[\d.]+", numbers)]
        if command == "M":
            x, y = values
        elif command == "m":
            x, y = x + values[0], y + values[1]
        else:
            picture[int(y), int(x) : int(x + values[0])] = 0
            x += values[0]
    large = np.asarray(Image.fromarray(picture).resize((size * 8, size * 8), Image.Resampling.NEAREST))
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(large)
    assert text == "!batch B12\nHarbour brown"
