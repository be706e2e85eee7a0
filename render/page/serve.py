"""The page on its own little server: this machine alone, or the local network too when a telephone is asked for."""

from __future__ import annotations

import logging
import os
import secrets
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from types import FrameType
from zlib import crc32

import segno
import uvicorn

from billet.base.console import shows
from billet.base.errors import InputError
from render.page.app import application
from render.page.guard import Keys
from render.page.house import House
from render.page.patience import ACCEPTED, Patient

LOOPBACK = "127.0.0.1"
_WAITING = 128  # lines that stand before the door
_PORTS = (61_000, 65_536)  # belong to nobody (RFC 6335, section 6), and Linux takes none of them by itself
_GRACE_S = 2  # what is being answered at Ctrl-C has so long to end
Say = Callable[[str], None]


def house_of(place: Path) -> House:
    """The folder, or the folder of a knife that is opened at once. Raises InputError."""
    if place.is_dir():
        return House(place)
    if not place.is_file():
        raise InputError(
            f"{place}: there is no such folder or recipe; `billet new {place.name}` writes a starter recipe"
        )
    house = House(place.parent)
    house.folder.path(place.name)
    house.opened = place.name
    return house


def serve(place: Path, port: int, *, phone: bool, browser: bool, say: Say) -> None:
    """Serve until it is stopped. Raises InputError where the port is taken or no network is found for a telephone."""
    house, keys, stop = house_of(place), Keys(), threading.Event()
    listening = _listen("0.0.0.0" if phone else LOOPBACK, port, place)
    port = listening.getsockname()[1]
    hosts = {f"{LOOPBACK}:{port}", f"localhost:{port}"}
    own = f"http://{LOOPBACK}:{port}/?token={keys.key}"
    if phone:
        address = _own_address()
        hosts.add(f"{address}:{port}")
        keys.pairing = secrets.token_urlsafe(9)
        _show_code(f"http://{address}:{port}/?pair={keys.pairing}", say)
    keys.hosts = frozenset(hosts)
    say(f"The page: {own}")
    say("It answers this machine alone. Ctrl-C stops it." if not phone else "Ctrl-C stops it.")
    if browser:
        threading.Timer(0.8, webbrowser.open, (own,)).start()
    config = uvicorn.Config(
        application(house, keys, stop.is_set),
        http=Patient,
        backlog=ACCEPTED,
        log_level="warning",
        access_log=False,
        timeout_graceful_shutdown=_GRACE_S,
        server_header=False,
    )
    with suppress(KeyboardInterrupt):  # raised again once all is closed
        _Server(config, stop).run(sockets=[listening])
    say("The page has stopped; `billet open` opens it again.")


def leave() -> None:
    """End the program at once where a drawing that nobody waits for any more would hold it; files are written whole or
    not at all.
    """
    busy = [one for one in threading.enumerate() if one is not threading.main_thread() and not one.daemon]
    for one in busy:
        one.join(0.1 / len(busy))
    if any(one.is_alive() for one in busy):
        sys.stdout.flush()
        os._exit(0)


class _Server(uvicorn.Server):
    """The server; Ctrl-C is told at once to whoever waits, and what is then cut short is no fault to be printed."""

    def __init__(self, config: uvicorn.Config, stop: threading.Event) -> None:
        super().__init__(config)
        self._stop = stop

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin to take lines, few in one go, and let as many wait as before."""
        await super().startup(sockets)
        for one in sockets or ():
            one.listen(_WAITING)

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Begin to stop."""
        self._stop.set()
        logging.getLogger("uvicorn.error").setLevel(logging.CRITICAL)
        super().handle_exit(sig, frame)


def _listen(host: str, port: int, place: Path) -> socket.socket:
    """A socket that listens: at the port asked for, or at the folder's own, so that a window left open finds the page again
    after it was stopped and started; at a free one where that is taken. Raises InputError.
    """
    if port == 0:
        folder = place if place.is_dir() else place.parent
        own = _PORTS[0] + crc32(str(folder.resolve()).encode()) % (_PORTS[1] - _PORTS[0])
        with suppress(InputError):
            return _listening(host, own)
    return _listening(host, port)


def _listening(host: str, port: int) -> socket.socket:
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind((host, port))
        found.listen(_WAITING)  # who comes before the server is ready waits
    except OSError as error:
        found.close()
        raise InputError(
            f"--port: {port} cannot be used ({error.strerror}); leave it out and a free one is taken"
        ) from None
    return found


def _own_address() -> str:
    """This machine's address on the local network. Raises InputError where there is none.

    Nothing is sent: a datagram socket only asks the system which way it would go (RFC 5737 address, never reached).
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
            return str(probe.getsockname()[0])
        except OSError:
            raise InputError("--phone: this machine has no local network; join the one your telephone is in") from None


def _show_code(address: str, say: Say) -> None:
    say("Everybody in this local network can reach the page while it runs; the code lets one telephone in, once.")
    say("What passes between them is not encrypted: use a network of your own.")
    code = segno.make(address, error="m", micro=False)
    rows = _half_blocks([[bool(v) for v in line] for line in code.matrix])
    if not shows("".join(rows)):
        say(f"This console cannot show the code; type into the telephone: {address}")
        return
    for row in rows:
        say(row)
    say(f"Scan it, or type: {address}")


def _half_blocks(matrix: list[list[bool]]) -> list[str]:
    """A code as text, two rows a line, light on dark terminals and dark on light ones alike: modules are drawn as blanks."""
    wide = len(matrix[0]) + 4
    blank = [False] * wide
    rows = [blank, blank, *([False, False, *line, False, False] for line in matrix), blank, blank]
    rows += [blank] if len(rows) % 2 else []
    signs = {(False, False): "█", (True, False): "▄", (False, True): "▀", (True, True): " "}
    return [
        "".join(signs[a, b] for a, b in zip(up, down, strict=True))
        for up, down in zip(rows[::2], rows[1::2], strict=True)
    ]
