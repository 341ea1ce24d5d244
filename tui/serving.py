"""The same screens in a browser on this machine.

Only this machine may come in unless a token is set. A page of another site cannot reach the
screens: the address asked for and the origin of the socket are compared with the server's own.
"""

from __future__ import annotations

import asyncio
import hmac
import ipaddress
import os
import shlex
import sys
from collections.abc import Awaitable, Callable
from pathlib import Path
from string import Template
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from patina.errors import Refused

if TYPE_CHECKING:
    from aiohttp import web

PAGE = Path(__file__).parent / "web" / "index.html"
COOKIE = "patina_token"
SHORTEST_TOKEN = 16
_RULES = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; "
    "font-src 'self'; connect-src 'self' ws: wss:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
Handler = Callable[["web.Request"], Awaitable["web.StreamResponse"]]


def is_loopback(host: str) -> bool:
    """Whether a host name or address means this machine alone.

    >>> is_loopback("localhost"), is_loopback("127.0.0.1"), is_loopback("::1"), is_loopback("0.0.0.0")
    (True, True, True, False)
    """
    if host.casefold() == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def check_door(host: str, token: str | None) -> None:
    """Raises Refused where other machines could come in without a token, or with one that is easily guessed."""
    if token is not None and len(token) < SHORTEST_TOKEN:
        raise Refused(
            f"A token of {len(token)} characters is easily guessed.", f"Give at least {SHORTEST_TOKEN} characters."
        )
    if token is None and not is_loopback(host):
        raise Refused(
            f"At '{host}' other machines could open this studio.",
            "Leave --host out, or set a token in PATINA_TOKEN. Without TLS in front of it a token can be overheard: "
            "an ssh tunnel to this machine is safer.",
        )


def serve(where: str, *, host: str = "127.0.0.1", port: int = 8023, token: str | None = None) -> None:
    """Serve the screens of a studio until Ctrl+C. where: a folder or a database URL, which other users
    of this machine do not get to see. Raises Refused for an unsafe door or a port in use."""
    check_door(host, token)
    from aiohttp import web

    os.environ["PATINA_STUDIO"] = where
    os.environ.pop("PATINA_TOKEN", None)
    app = make_app(host, port, token)
    try:
        web.run_app(app, host=host, port=port, print=lambda *_: None, loop=asyncio.new_event_loop())
    except OSError as trouble:
        raise Refused(
            f"Port {port} of {host} cannot be used: {trouble.strerror or 'it is taken'}.",
            "Give another one with --port.",
        ) from None


def make_app(host: str, port: int, token: str | None) -> Awaitable[web.Application]:
    """The web application, to be run by aiohttp; each browser gets a program of its own, which finds
    the studio in the environment."""
    from aiohttp import web
    from textual_serve.server import Server

    command = shlex.join([sys.executable, "-m", "patina.cli"])  # the studio is named in the environment

    class Door(Server):
        """The screens behind this house's own page and door."""

        async def on_startup(self, app: web.Application) -> None:
            """Nothing is printed: the command has said where to look."""

        async def handle_index(self, request: web.Request) -> web.Response:
            """The page that holds the screens."""
            way = "wss" if request.secure else "ws"
            size = request.query.get("fontsize", "16")
            page = Template(PAGE.read_text("utf-8")).substitute(
                socket=f"{way}://{request.host}/ws", size=size if size.isdigit() and len(size) < 3 else "16"
            )
            return web.Response(text=page, content_type="text/html", headers={"Content-Security-Policy": _RULES})

        async def _make_app(self) -> web.Application:
            app = await super()._make_app()
            app.middlewares.append(_door(token))
            return app

    return Door(command, host=host, port=port, title="patina")._make_app()


def _door(token: str | None) -> Any:
    from aiohttp import web

    @web.middleware
    async def door(request: web.Request, handler: Handler) -> web.StreamResponse:
        asked = urlsplit(f"//{request.host}").hostname or ""
        if token is None and not is_loopback(asked):
            raise web.HTTPForbidden(text="This studio opens on this machine alone.")
        origin = request.headers.get("Origin")
        if origin is not None and urlsplit(origin).netloc != request.host:
            raise web.HTTPForbidden(text="Another site's page may not open this studio.")
        if request.path == "/ws" and origin is None:
            raise web.HTTPForbidden(text="The screens are opened from their own page.")
        if token is not None:
            given = request.query.get("token")
            if given is not None and hmac.compare_digest(given.encode(), token.encode()):
                answer = web.HTTPFound("/")
                answer.set_cookie(COOKIE, token, httponly=True, samesite="Strict", secure=request.secure)
                raise answer
            if not hmac.compare_digest(request.cookies.get(COOKIE, "").encode(), token.encode()):
                raise web.HTTPForbidden(text="Open the page with ?token= and the token of this studio.")
        return await handler(request)

    return door
