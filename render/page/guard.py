"""The door of the page: who may ask, from where, and how much.

Nothing is answered without the key that `billet open` makes at every start. The browser gets it once, in the address it
is opened with, and keeps it as a cookie that scripts cannot read and that other sites cannot send along with a question of
theirs; only a link of theirs that is followed brings it. Cookies know no port, so the port is part of its name: two
folders opened at once do not lock each other out.

A telephone brings a code instead, which is good once. Following its link spends nothing, for programs that pass links on
look at them first; the button on the page that is shown there does.
"""

from __future__ import annotations

import hmac
import secrets
from base64 import b64encode
from dataclasses import dataclass, field
from hashlib import sha256
from html import escape
from urllib.parse import parse_qs

from starlette.datastructures import Headers
from starlette.requests import ClientDisconnect, Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

_DAY_S = 86_400  # a telephone whose browser was closed meanwhile is still let in; the key is good for this run alone
LARGEST = 2_500_000  # bytes of what is sent in; a recipe has at most 2,000,000
AT_ONCE = 200  # questions, half sent ones too; a browser asks six at most
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
_FORM = "application/x-www-form-urlencoded"
_LONGEST_FORM = 1000  # bytes; a code has a dozen


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

    def may_pair(self, given: str | None) -> bool:
        """Whether this is the pairing code, and still good."""
        return (
            self.pairing is not None
            and given is not None
            and hmac.compare_digest(given.encode(), self.pairing.encode())
        )

    def pairs(self, given: str | None) -> bool:
        """Whether this is the pairing code; it is good once."""
        good = self.may_pair(given)
        if good:
            self.pairing = None
        return good


class Guard:
    """Turns away foreign hosts, foreign pages, callers without the key, what is too large and what is too much at once."""

    def __init__(self, app: ASGIApp, keys: Keys) -> None:
        self.app, self.keys, self._inside = app, keys, 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        refused = self._refused(scope)
        answer = refused if refused is not None else await self._welcome(scope, receive)
        if answer is None and self._inside >= AT_ONCE:
            answer = _no(503, "Too much is asked at once; close some of the windows, or wait a moment and try again.")
            answer.headers["connection"] = "close"
        if answer is not None:
            await answer(scope, receive, _with_headers(send))
            return
        self._inside += 1
        try:
            await self.app(scope, _bounded(receive), _with_headers(send))
        finally:
            self._inside -= 1

    def _refused(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        host, origin = headers.get("host", ""), headers.get("origin")
        if host not in self.keys.hosts:
            return _no(403, "This page answers only under the address that `billet open` printed.")
        button = _is_button(scope)
        if origin not in (None, f"http://{host}", *(["null"] if button else [])):
            return _no(403, "Another page asked; only this page itself may.")
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > LARGEST:
            return _no(413, f"Too much was sent; at most {LARGEST} bytes are taken.")
        json = headers.get("content-type", "").startswith("application/json")
        if scope["method"] == "POST" and not json and not button:
            return _no(415, "Send application/json.")
        return None

    async def _welcome(self, scope: Scope, receive: Receive) -> Response | None:
        """The first visit with the key in the address, or the button of a telephone, becomes a cookie; later visits bring it."""
        asked = Request(scope, _bounded(receive, _LONGEST_FORM))
        known = self.keys.fits(asked.cookies.get(cookie_of(asked.headers["host"])))
        if _is_button(scope):
            return RedirectResponse("/", 303) if known else await self._paired(asked)
        if known:
            return None
        if scope["method"] != "GET" or scope["path"] != "/":
            return _no(403, _KEYLESS)
        given = asked.query_params
        if self.keys.fits(given.get("token")):
            return self._let_in(asked)
        if self.keys.may_pair(given.get("pair")):
            return _button(given["pair"])
        return _told(_SPENT if "pair" in given else _OLD if "token" in given else _KEYLESS)

    async def _paired(self, asked: Request) -> Response:
        """The code that the button sends lets one telephone in."""
        try:
            given = parse_qs((await asked.body()).decode("utf-8", "replace")).get("pair", [""])[0]
        except ClientDisconnect:
            return _no(413, "Too much was sent; only the code is taken here.")
        return self._let_in(asked) if self.keys.pairs(given) else _told(_SPENT)

    def _let_in(self, asked: Request) -> Response:
        welcome, cookie = RedirectResponse("/", 303), cookie_of(asked.headers["host"])
        welcome.set_cookie(cookie, self.keys.key, httponly=True, samesite="lax", path="/", max_age=_DAY_S)
        return welcome


def _is_button(scope: Scope) -> bool:
    """Whether the button that pairs a telephone was pressed. Browsers call a page that names no referrer "null" as its origin."""
    kind = Headers(scope=scope).get("content-type", "")
    return bool(scope["method"] == "POST" and scope["path"] == "/" and kind.startswith(_FORM))


_KEYLESS = "The key is missing; open the whole address that `billet open` printed."
_OLD = "This address is of an earlier start; open the one that `billet open` printed last."
_SPENT = "This code was used already, or is of an earlier start; stop `billet open --phone` and start it again for a new one."


_HEAD = '<!doctype html><html lang="en"><meta name="viewport" content="width=device-width"><title>billet</title>'
_LARGE = "button{font-size:1.5em;padding:.6em 1em}"  # for a thumb


def _told(words: str) -> Response:
    """A refusal that is read by a person, in a browser's own plain dress."""
    return HTMLResponse(f"{_HEAD}<h1>billet</h1><p>{words}</p>", 403)


def _button(code: str) -> Response:
    """The page that pairs a telephone when its one button is pressed; it alone may send a form, and to here alone."""
    form = (
        f'<form method="post" action="/"><input type="hidden" name="pair" value="{escape(code)}">'
        "<button>Open the page on this telephone</button></form>"
    )
    words = "<p>The code is good for one telephone, once.</p>"
    dress = b64encode(sha256(_LARGE.encode()).digest()).decode()
    policy = POLICY.replace("form-action 'none'", "form-action 'self'")
    policy = policy.replace("style-src 'self'", f"style-src 'sha256-{dress}'")
    page = f"{_HEAD}<style>{_LARGE}</style><h1>billet</h1>{form}{words}"
    return HTMLResponse(page, headers={"content-security-policy": policy})


def _no(status: int, message: str) -> Response:
    return JSONResponse({"errors": [{"path": None, "message": message}]}, status)


def _bounded(receive: Receive, most: int = LARGEST) -> Receive:
    """The body, cut off where more comes than was announced or is taken."""
    taken = 0

    async def bounded() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > most:
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
