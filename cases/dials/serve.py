"""The page served to this machine alone.

Only the loopback is bound. A request is answered if it was meant for this server by name, comes
from a page of its own where it says from where, and carries the token that the address of the page
was given with. No page may ask anything of another host. Of files it hands out what a run has left
in the case's own results, and nothing else.
"""

from __future__ import annotations

import hmac
import secrets
import socket
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs

from cases.base.faults import RunError

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

COOKIE = "hoopclock"
HOW_TO_GET_IT = 'The page is an extra: pip install "hoopclock[page]"'
POLICY = (
    "default-src 'self' 'unsafe-inline' 'unsafe-eval' data: blob:; connect-src 'self' ws://{host}; "
    "frame-ancestors 'none'; form-action 'none'"
)


class Guard:
    """What lets in only the pages of this server, on this machine, with its token.

    Parameters
    ----------
    app : callable
        By the interface for asynchronous servers.
    port : int
    token : str
    """

    def __init__(self, app: App, port: int, token: str) -> None:
        self.app, self.token = app, token
        self.hosts = (f"127.0.0.1:{port}", f"localhost:{port}")

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = {name.decode("latin-1"): of.decode("latin-1") for name, of in scope["headers"]}
        host, origin = headers.get("host", ""), headers.get("origin")
        if host not in self.hosts or origin not in (None, f"http://{host}"):
            await _refuse(scope, send)
            return
        asked = parse_qs(scope["query_string"].decode("latin-1")).get("token", [""])[0]
        if scope["type"] == "http" and scope["path"] == "/" and self._right(asked):
            cookie = f"{COOKIE}={self.token}; HttpOnly; SameSite=Strict; Path=/"
            await _respond(send, 303, [(b"location", b"/"), (b"set-cookie", cookie.encode())])
            return
        if not self._right(_cookie(headers.get("cookie", ""))):
            await _refuse(scope, send)
            return

        async def sent(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                policy = POLICY.format(host=host).encode()
                message["headers"] = [
                    *message.get("headers", ()), (b"content-security-policy", policy),
                    (b"x-content-type-options", b"nosniff"), (b"referrer-policy", b"no-referrer"),
                ]  # fmt: skip
            await send(message)

        await self.app(scope, receive, sent)

    def _right(self, token: str) -> bool:
        return hmac.compare_digest(token.encode(), self.token.encode())


def _cookie(header: str) -> str:
    try:
        found = SimpleCookie(header).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found else ""


async def _refuse(scope: Scope, send: Send) -> None:
    if scope["type"] == "websocket":
        await send({"type": "websocket.close", "code": 1008})
    else:
        words = b"Open the address that hoopclock page printed: it carries the token."
        await _respond(send, 403, [(b"content-type", b"text/plain")], words)


async def _respond(
    send: Send, status: int, headers: list[tuple[bytes, bytes]], body: bytes = b""
) -> None:
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


def file_within(folder: Path, name: str) -> Path | None:
    """A file of a folder; None where there is none, or the name leads out of it."""
    root = folder.resolve()
    try:
        path = (root / name).resolve(strict=True)
    except (OSError, ValueError):
        return None
    return path if path.is_relative_to(root) and path.is_file() else None


def serve(path: Path, *, browser: bool) -> None:
    """Serve the page of a case until the command is ended.

    Parameters
    ----------
    path : Path
        Of the case file.
    browser : bool
        Whether to open the page.

    Raises
    ------
    RunError
        Where what shows the page is not installed.
    """
    try:
        import nicegui
        import uvicorn
    except ImportError:
        raise RunError(HOW_TO_GET_IT) from None
    assert nicegui
    from cases.dials.desk import Desk
    from cases.dials.page import app_of

    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.bind(("127.0.0.1", 0))
    listening.listen()  # so that whoever opens the address at once waits
    port, token = listening.getsockname()[1], secrets.token_urlsafe(24)
    address = f"http://127.0.0.1:{port}/?token={token}"
    desk = Desk(path)
    app = Guard(app_of(desk, address if browser else ""), port, token)
    print(f"Open {address}\nIt is for this machine alone. Ctrl-C ends it.", flush=True)
    server = uvicorn.Server(
        uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=1, access_log=False)
    )
    try:
        server.run(sockets=[listening])
    except KeyboardInterrupt:  # the way to end it
        pass
    finally:
        desk.close()
