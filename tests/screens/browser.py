"""A headless Chromium, driven through its own debugging door (Chrome DevTools Protocol)."""

from __future__ import annotations

import asyncio
import base64
import os
import re
import shlex
import shutil
import subprocess
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import aiohttp

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = shlex.split(
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync --remote-debugging-port=0 --window-size=1200,800"
)
_ESCAPES = re.compile(r"\x1b(?:\[[0-9;?<>=]*[ -/]*[@-~]|\][^\x07]*\x07|[=>])")


class Browser:
    """One page. requests: every address it asked for. frames: what came through its web sockets, as text."""

    def __init__(self, socket: aiohttp.ClientWebSocketResponse):
        self._socket = socket
        self._waiting: dict[int, asyncio.Future[Any]] = {}
        self._n = 0
        self.requests: list[str] = []
        self.frames: list[str] = []
        self.faults: list[str] = []

    async def listen(self) -> None:
        """Take in what the browser says, until it is closed."""
        async for message in self._socket:
            said = message.json()
            if "id" in said:
                self._waiting.pop(said["id"]).set_result(said.get("result", said.get("error")))
                continue
            self._event(said["method"], said["params"])

    def _event(self, method: str, params: dict[str, Any]) -> None:
        if method in ("Network.requestWillBeSent", "Network.webSocketCreated"):
            self.requests.append(params["request"]["url"] if "request" in params else params["url"])
        elif method == "Network.webSocketFrameReceived":
            frame = params["response"]
            text = frame["payloadData"]
            if frame["opcode"] == 2:
                text = base64.b64decode(text).decode("utf-8", "replace")
            self.frames.append(text)
        elif method == "Runtime.exceptionThrown":
            self.faults.append(str(params["exceptionDetails"].get("exception", params)))

    async def call(self, method: str, **params: Any) -> Any:
        """Ask the browser for something."""
        self._n += 1
        answer = self._waiting[self._n] = asyncio.get_running_loop().create_future()
        await self._socket.send_json({"id": self._n, "method": method, "params": params})
        return await asyncio.wait_for(answer, 30)

    async def go(self, address: str) -> None:
        """Open an address."""
        for part in ("Page", "Network", "Runtime"):
            await self.call(f"{part}.enable")
        await self.call("Page.navigate", url=address)

    async def click(self, x: float, y: float) -> None:
        """Click at a place of the page, in pixels."""
        for kind in ("mousePressed", "mouseReleased"):
            await self.call("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    async def key(self, character: str) -> None:
        """Press the key of a character."""
        code = ord(character.upper())
        await self.call(
            "Input.dispatchKeyEvent", type="keyDown", key=character, text=character, windowsVirtualKeyCode=code
        )
        await self.call("Input.dispatchKeyEvent", type="keyUp", key=character, windowsVirtualKeyCode=code)

    def shown(self) -> str:
        """All text that the terminal in the page was told to draw, without its control codes."""
        return _ESCAPES.sub("", "".join(self.frames))

    async def until(self, words: str, seconds: float = 40.0) -> None:
        """Wait until words were drawn; fails when they never are."""
        end = time.monotonic() + seconds
        while words not in self.shown():
            assert time.monotonic() < end, f"'{words}' was never drawn: {self.shown()[-800:]}"
            await asyncio.sleep(0.1)

    async def picture(self) -> bytes:
        """The page as a PNG."""
        return base64.b64decode((await self.call("Page.captureScreenshot"))["data"])


@asynccontextmanager
async def browser(profile: Path) -> AsyncIterator[Browser]:
    """A browser with an empty profile in a folder."""
    assert CHROMIUM is not None
    command = [CHROMIUM, *FLAGS, f"--user-data-dir={profile}", "about:blank"]
    running = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env={**os.environ})
    try:
        port = await _port(profile / "DevToolsActivePort")
        async with aiohttp.ClientSession() as session:
            async with session.get(f"http://127.0.0.1:{port}/json") as answer:
                page = next(p for p in await answer.json() if p["type"] == "page")
            async with session.ws_connect(page["webSocketDebuggerUrl"], max_msg_size=0) as socket:
                opened = Browser(socket)
                listening = asyncio.create_task(opened.listen())
                yield opened
                listening.cancel()
    finally:
        running.kill()
        running.wait()


async def _port(file: Path) -> int:
    for _ in range(300):
        if file.exists() and (lines := file.read_text().splitlines()):
            return int(lines[0])
        await asyncio.sleep(0.1)
    raise AssertionError("the browser did not start")
