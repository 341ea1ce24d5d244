"""The screens in a browser: the same screens, this machine alone, nothing from elsewhere."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import Request, build_opener

import pytest
from browser import CHROMIUM, browser
from PIL import Image

from patina.bench.studio import Studio
from patina.errors import Refused
from tui.serving import check_door

TOKEN = "quay-heron-lamp-1934"


def _free_port() -> int:
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return int(door.getsockname()[1])


@pytest.fixture
def address(request: pytest.FixtureRequest, studio: Studio) -> Iterator[str]:
    """Where a studio is served; with a token where the test asks for one."""
    where, port = studio.where, _free_port()
    studio.close()
    env = {**os.environ, "PATINA_STUDIO": where}
    if getattr(request, "param", None):
        env["PATINA_TOKEN"] = request.param
    command = [sys.executable, "-m", "patina.cli", "serve", "--port", str(port)]
    running = subprocess.Popen(command, env=env, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    try:
        assert running.stdout is not None
        assert f":{port}/" in running.stdout.readline()
        for _ in range(200):
            with socket.socket() as door:
                if door.connect_ex(("127.0.0.1", port)) == 0:
                    break
            time.sleep(0.05)
        yield f"http://127.0.0.1:{port}/"
    finally:
        running.send_signal(signal.SIGINT)
        running.wait(30)


def _status(url: str, **headers: str) -> int:
    try:
        return int(build_opener().open(Request(url, headers=headers), timeout=10).status)
    except HTTPError as refused:
        return refused.code


@pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine")
async def test_the_screens_work_in_a_browser(address: str, tmp_path: Path) -> None:
    """The page draws the finishes, answers keys, and asks no other address for anything."""
    async with browser(tmp_path / "profile") as page:
        await page.go(address)
        await page.until("Finishes")
        await page.click(600, 400)
        page.frames.clear()
        await page.key("3")
        await page.until("QT-2")
        await page.key("?")
        await page.until("Keys of Tiles")
        picture = Image.open(BytesIO(await page.picture())).convert("RGB")
        outside = [r for r in page.requests if not r.startswith((address, address.replace("http", "ws"), "data:"))]
        assert not outside
        assert not page.faults
    colours = picture.getcolors(1_000_000) or []
    assert len(colours) > 20  # text was really drawn


def test_other_names_and_other_sites_stay_outside(address: str) -> None:
    """A name that is not this machine, another site's page and a bare socket are turned away."""
    assert _status(address) == 200
    assert _status(address, Host="studio.example") == 403
    assert _status(address, Origin="http://studio.example") == 403
    assert _status(address + "ws") == 403


@pytest.mark.parametrize("address", [TOKEN], indirect=True)
def test_with_a_token_nobody_comes_in_without_it(address: str) -> None:
    """The page opens with the token alone, which moves from the address into a cookie."""
    assert _status(address) == 403
    assert _status(address + "?token=quay-heron-lamp-1935") == 403
    assert _status(address, Cookie=f"patina_token={TOKEN}") == 200
    assert _status(address + "ws", Origin=address.rstrip("/")) == 403


@pytest.mark.parametrize(("host", "token"), [("0.0.0.0", None), ("192.0.2.7", None), ("127.0.0.1", "short")])
def test_an_unsafe_door_is_refused(host: str, token: str | None) -> None:
    """Another address without a token, and a token that is easily guessed, are refused with what to do."""
    with pytest.raises(Refused):
        check_door(host, token)
