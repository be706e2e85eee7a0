"""The door of the page: who may ask, from where, and how much.

Nothing is answered without the key that `billet open` makes at every start. The browser gets it once, in the address it
is opened with, and keeps it as a cookie that scripts cannot read and that other sites cannot send along with a question of
theirs; only a link of theirs that is followed brings it. Cookies know no port, so the port is part of its name: two
folders opened at once do not lock each other out.
"""

from __future__ import annotations

import hmac
import secrets
from dataclasses import dataclass, field

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

_DAY_S = 86_400  # a telephone whose browser was closed meanwhile is still let in; the key is good for this run alone
LARGEST = 2_500_000  # bytes of what is sent in; a recipe has at most 2,000,000
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self' blob:; "
    "font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cache-control": "no-store",
    "cross-origin-resource-policy": "same-origin",
}


def cookie_of(host: str) -> str:
    """What the cookie of a host, "127.0.0.1:8000", is called."""
    return f"billet_key_{host.rpartition(':')[2]}"


def fresh_key() -> str:
    """A key nobody guesses."""
    return secrets.token_urlsafe(24)


@dataclass
class Keys:
    """The key of this run, the hosts it answers under, and the code that pairs one telephone."""

    key: str = field(default_factory=fresh_key)
    hosts: frozenset[str] = frozenset()
    pairing: str | None = None

    def fits(self, given: str | None) -> bool:
        """Whether this is the key of this run."""
        return given is not None and hmac.compare_digest(given.encode(), self.key.encode())

    def pairs(self, given: str | None) -> bool:
        """Whether this is the pairing code; it is good once."""
        good = (
            self.pairing is not None
            and given is not None
            and hmac.compare_digest(given.encode(), self.pairing.encode())
        )
        if good:
            self.pairing = None
        return good


class Guard:
    """Turns away foreign hosts, foreign pages, callers without the key, and what is too large."""

    def __init__(self, app: ASGIApp, keys: Keys) -> None:
        self.app, self.keys = app, keys

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        refused = self._refused(scope)
        answer = refused if refused is not None else self._welcome(scope)
        if answer is not None:
            await answer(scope, receive, _with_headers(send))
            return
        await self.app(scope, _bounded(receive), _with_headers(send))

    def _refused(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        host, origin = headers.get("host", ""), headers.get("origin")
        if host not in self.keys.hosts:
            return _no(403, "This page answers only under the address that `billet open` printed.")
        if origin is not None and origin != f"http://{host}":
            return _no(403, "Another page asked; only this page itself may.")
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > LARGEST:
            return _no(413, f"Too much was sent; at most {LARGEST} bytes are taken.")
        if scope["method"] == "POST" and not headers.get("content-type", "").startswith("application/json"):
            return _no(415, "Send application/json.")
        return None

    def _welcome(self, scope: Scope) -> Response | None:
        """The first visit with the key in the address becomes a cookie; later visits bring it."""
        asked = Request(scope)
        cookie = cookie_of(asked.headers["host"])
        if self.keys.fits(asked.cookies.get(cookie)):
            return None
        if scope["method"] != "GET" or scope["path"] != "/":
            return _no(403, _KEYLESS)
        given = asked.query_params
        if self.keys.fits(given.get("token")) or self.keys.pairs(given.get("pair")):
            welcome = RedirectResponse("/", 303)
            welcome.set_cookie(cookie, self.keys.key, httponly=True, samesite="lax", path="/", max_age=_DAY_S)
            return welcome
        return _told(_SPENT if "pair" in given else _OLD if "token" in given else _KEYLESS)


_KEYLESS = "The key is missing; open the whole address that `billet open` printed."
_OLD = "This address is of an earlier start; open the one that `billet open` printed last."
_SPENT = "This code was used already, or is of an earlier start; stop `billet open --phone` and start it again for a new one."


def _told(words: str) -> Response:
    """A refusal that is read by a person, in a browser's own plain dress."""
    head = '<!doctype html><html lang="en"><meta name="viewport" content="width=device-width"><title>billet</title>'
    return HTMLResponse(f"{head}<h1>billet</h1><p>{words}</p>", 403)


def _no(status: int, message: str) -> Response:
    return JSONResponse({"errors": [{"path": None, "message": message}]}, status)


def _bounded(receive: Receive) -> Receive:
    """The body, cut off where more comes than was announced or is taken."""
    taken = 0

    async def bounded() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > LARGEST:
            return {"type": "http.disconnect"}
        return message

    return bounded


def _with_headers(send: Send) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            own = {name for name, _ in message["headers"]}
            extra = [(k.encode(), v.encode()) for k, v in HEADERS.items() if k.encode() not in own]
            message["headers"] = [*message["headers"], *extra]
        await send(message)

    return sent
