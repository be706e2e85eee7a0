"""Faults of the page: its server killed in the middle of a save, several browsers and two servers on one recipe, its
folder or disk gone, a phone that drops off in the middle of asking.
"""

from __future__ import annotations

import os
import random
import re
import shutil
import signal
import socket
import sqlite3
import tempfile
import threading
import time
import tomllib
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, NamedTuple

import httpx

from billet.base.units import Kind, read
from tests.faults.campaigns import RECIPE, small_disk
from tests.faults.programs import Figure, apart, ended

FILE = "knife.toml"
MICRON = 1e-6


class Served(NamedTuple):
    """A page being served: the program, its pipe, its address and key."""

    child: int
    pipe: int
    address: str
    key: str

    def client(self) -> httpx.Client:
        """A browser that has been let in."""
        client = httpx.Client(base_url=self.address, timeout=30)
        client.get("/", params={"token": self.key})
        return client

    def kill(self) -> None:
        """End it without a word."""
        os.kill(self.child, signal.SIGKILL)
        os.close(self.pipe)
        os.waitpid(self.child, 0)


@contextmanager
def served_to(folder: Path) -> Iterator[tuple[Served, httpx.Client]]:
    """A server and a browser that is let in, both ended afterwards."""
    served = serve(folder)
    client = served.client()
    try:
        yield served, client
    finally:
        client.close()
        served.kill()


def serve(folder: Path) -> Served:
    """A page's server in a program of its own."""

    def work(tell: Callable[[bytes], None]) -> int:
        from render.page.serve import serve as page

        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
        page(folder, 0, phone=False, browser=False, say=lambda text: tell(f"{text}\n".encode()))
        return 0

    child, pipe = apart(work)
    told = b""
    while b"\n" not in told:
        told += os.read(pipe, 4096)
    found = re.search(r"(http://[\d.:]+)/\?token=(\S+)", told.decode())
    assert found is not None
    return Served(child, pipe, found[1], found[2])


@contextmanager
def a_folder() -> Iterator[Path]:
    """A folder with one recipe."""
    with tempfile.TemporaryDirectory(prefix="page-") as name:
        (Path(name) / FILE).write_text(RECIPE)
        yield Path(name)


def offset(number: int) -> dict[str, Any]:
    """The edit that writes a number into the recipe."""
    return {"op": "set", "path": ["blade", "offset"], "value": f"{number / 1000:.3f} mm"}


def number_in(text: str) -> int:
    """The number an edit has written, 0 before the first."""
    told = tomllib.loads(text)["blade"].get("offset")
    return 0 if told is None else round(read(told, Kind.LENGTH, "offset", signed=True) / MICRON)


def texts_kept(folder: Path) -> list[int]:
    """The numbers of all texts that undo keeps."""
    with sqlite3.connect(folder / ".billet-undo.sqlite") as kept:
        return [number_in(text) for (text,) in kept.execute("select text from texts where file = ?", (FILE,))]


def saves(client: httpx.Client, acknowledged: list[int], first: int, until: Callable[[], bool], step: int = 1) -> None:
    """Save one number after another, entering each that was acknowledged."""
    number = first
    with suppress(httpx.HTTPError):
        while not until():
            seen = client.get("/api/knife", params={"file": FILE}).json()
            answer = client.post(
                "/api/edit", json={"file": FILE, "version": seen["version"], "edits": [offset(number)]}
            )
            if answer.status_code == 200:
                acknowledged.append(number)
                number += step


def killed_in_a_save(count: int) -> Figure:
    """The server killed at random while a browser saves without pause: the recipe is whole, holds the last acknowledged
    save or the one after, and undo knows every acknowledged one.
    """
    faults, moments, first, total = [], random.Random(5), 1, 0
    with a_folder() as folder:
        for _ in range(count):
            served, acknowledged, stop = serve(folder), [], threading.Event()
            client = served.client()
            worker = threading.Thread(target=saves, args=(client, acknowledged, first, stop.is_set))
            worker.start()
            while not acknowledged and worker.is_alive():
                time.sleep(0.002)
            time.sleep(moments.uniform(0, 0.25))
            served.kill()
            stop.set()
            worker.join()
            client.close()
            try:
                stands = number_in((folder / FILE).read_text())
            except (OSError, ValueError, KeyError):
                faults.append("the recipe is torn or gone")
                (folder / FILE).write_text(RECIPE)
                continue
            last = acknowledged[-1] if acknowledged else first - 1
            total += len(acknowledged)
            if stands not in (last, last + 1):
                faults.append("the recipe does not hold what was acknowledged last")
            missing = set(acknowledged) - set(texts_kept(folder))
            faults += ["undo does not know an acknowledged save"] * len(missing)
            first = stands + 1
    return Figure("page server killed in a save", count, tuple(faults), f"{total} saves acknowledged")


def browsers(clients: int, servers: int, seconds: float) -> Figure:
    """Several browsers on one recipe, at one server or two: a save is refused or kept, and none is written over unseen."""
    faults: list[str] = []
    with a_folder() as folder:
        running = [serve(folder) for _ in range(servers)]
        until = time.monotonic() + seconds
        acknowledged: list[list[int]] = [[] for _ in range(clients)]
        threads = []
        for k in range(clients):
            client = running[k % servers].client()
            args = (client, acknowledged[k], k + 1, lambda: time.monotonic() > until, clients)
            threads.append(threading.Thread(target=saves, args=args))
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        for served in running:
            served.kill()
        everything = [number for one in acknowledged for number in one]
        kept = texts_kept(folder)
        faults += ["an acknowledged save is gone"] * len(set(everything) - set(kept))
        try:
            if number_in((folder / FILE).read_text()) not in {one[-1] for one in acknowledged if one}:
                faults.append("the recipe holds no browser's last save")
        except (OSError, ValueError, KeyError):
            faults.append("the recipe is torn or gone")
    name = f"{clients} browsers at {servers} server{'s' if servers > 1 else ''}"
    return Figure(name, len(everything), tuple(faults), f"each {', '.join(str(len(one)) for one in acknowledged)}")


def full_disk_under_the_page() -> Figure:
    """The disk fills while the page saves, and is emptied: refused in words, whole, and saving goes on afterwards."""
    faults: list[str] = []
    with small_disk(512) as disk:
        if disk is None:
            return Figure("full disk under the page", 0, (), "no disk can be made here")
        (disk / FILE).write_text(RECIPE)
        with served_to(disk) as (_, client):
            acknowledged: list[int] = []
            saves(client, acknowledged, 1, only(3))
            ballast = disk / "ballast"
            with ballast.open("wb", buffering=0) as out, suppress(OSError):
                while True:
                    out.write(b"x" * 512)
            faults += _refused(client, (4, 5, 6))
            if number_in((disk / FILE).read_text()) != 3:
                faults.append("the recipe is not what was acknowledged last")
            ballast.unlink()
            saves(client, acknowledged, 7, only(2))
            if acknowledged != [1, 2, 3, 7, 8] or not {1, 2, 3, 7, 8} <= set(texts_kept(disk)):
                faults.append(f"saving does not go on once there is room: {acknowledged}")
    return Figure("full disk under the page", 8, tuple(faults))


def only(times: int) -> Callable[[], bool]:
    """Tells to stop after so many times."""
    left = iter([False] * times)
    return lambda: next(left, True)


def _refused(client: httpx.Client, numbers: tuple[int, ...]) -> list[str]:
    """What is at fault with saves that cannot be written."""
    faults = []
    for number in numbers:
        seen = client.get("/api/knife", params={"file": FILE})
        if seen.status_code != 200:
            faults.append(f"looking is answered with {seen.status_code}: {seen.text[:120]}")
            continue
        asked = {"file": FILE, "version": seen.json()["version"], "edits": [offset(number)]}
        answer = client.post("/api/edit", json=asked)
        if answer.status_code == 200:
            faults.append("a save on a full disk was acknowledged")
        elif answer.status_code != 422:
            faults.append(f"a save on a full disk is answered with {answer.status_code}: {answer.text[:120]}")
    return faults


def folder_gone_under_the_page() -> Figure:
    """The folder of the page taken away and put back: refused in words, and saving goes on afterwards."""
    faults: list[str] = []
    with a_folder() as folder:
        served = serve(folder)
        client = served.client()
        acknowledged: list[int] = []
        saves(client, acknowledged, 1, only(1))
        seen = client.get("/api/knife", params={"file": FILE}).json()
        away = folder.with_name(folder.name + "-away")
        folder.rename(away)
        for ask in (
            lambda: client.get("/api/folder"), lambda: client.get("/api/knife", params={"file": FILE}),
            lambda: client.post("/api/edit", json={"file": FILE, "version": seen["version"], "edits": [offset(2)]}),
            lambda: client.post("/api/note", json={"file": FILE, "words": "after 1 thickness 12 mm"}),
        ):  # fmt: skip
            answer = ask()
            if answer.status_code >= 500:
                faults.append(f"answered with {answer.status_code}: {answer.text[:150]}")
        shutil.rmtree(folder, ignore_errors=True)
        away.rename(folder)
        saves(client, acknowledged, 3, only(1))
        if acknowledged != [1, 3]:
            faults.append(f"saving does not go on once it is back: {acknowledged}")
        client.close()
        served.kill()
    return Figure("folder gone under the page", 4, tuple(faults))


def phone_drops_off(count: int) -> Figure:
    """Connections broken off at random bytes of a save, slow ones, and empty ones: the recipe is untouched or saved
    whole, and the next one is answered within a second.
    """
    faults, moments, slowest = [], random.Random(9), 0.0
    with a_folder() as folder:
        served = serve(folder)
        client = served.client()
        host, port = served.address.removeprefix("http://").split(":")
        cookie = "; ".join(f"{k}={v}" for k, v in client.cookies.items())
        held = []
        for k in range(count):
            seen = client.get("/api/knife", params={"file": FILE}).json()
            asked = client.build_request(
                "POST", "/api/edit", json={"file": FILE, "version": seen["version"], "edits": [offset(k + 1)]}
            )
            head = f"POST /api/edit HTTP/1.1\r\nhost: {host}:{port}\r\ncookie: {cookie}\r\ncontent-type: application/json\r\n"
            data = f"{head}content-length: {len(asked.content)}\r\n\r\n".encode() + asked.content
            phone = socket.create_connection((host, int(port)))
            phone.sendall(data[: moments.randrange(len(data) + 1)])
            if k % 10 == 9:
                held.append(phone)  # stays half open, as one that walked out of reach
            else:
                phone.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, b"\x01\x00\x00\x00\x00\x00\x00\x00")
                phone.close()
            begun = time.perf_counter()
            answer = client.get("/api/knife", params={"file": FILE})
            slowest = max(slowest, time.perf_counter() - begun)
            if answer.status_code != 200:
                faults.append(f"answered with {answer.status_code}")
            if number_in((folder / FILE).read_text()) not in range(k + 2):
                faults.append("the recipe holds what was never sent")
        if slowest > 1:
            faults.append(f"an answer took {slowest:.1f} s")
        acknowledged: list[int] = []
        saves(client, acknowledged, 999, only(1))
        if acknowledged != [999]:
            faults.append("saving does not go on")
        for phone in held:
            phone.close()
        client.close()
        served.kill()
    return Figure("phone drops off", count, tuple(faults), f"slowest answer beside it {1e3 * slowest:.0f} ms")


def programs_saving(programs: int, seconds: float) -> Figure:
    """Several programs saving one recipe through the page's own history as fast as they can: no two saves may both be
    written over the same text, and undo knows them all.
    """
    from render.page.history import ChangedOutsideError, History, version_of

    faults: list[str] = []
    with a_folder() as folder:
        path, start = folder / FILE, time.time() + 0.3

        def work(tell: Callable[[bytes], None], who: int) -> int:
            history, number = History(folder), who + 1
            while time.time() < start:
                time.sleep(0.0005)
            while time.time() < start + seconds:
                try:
                    text = history.text(path)
                    history.save(path, version_of(text), f"{RECIPE}# {number}\n")
                except ChangedOutsideError:
                    continue
                except Exception as error:
                    tell(f"! {type(error).__name__}: {error}\n".encode())
                    continue
                tell(f"{text.partition('# ')[2].strip() or 0} {number}\n".encode())
                number += programs
            return 0

        running = [apart(lambda tell, who=who: work(tell, who)) for who in range(programs)]
        lines = [line for one in running for line in ended(*one).told.decode().splitlines()]
        told = [line.split() for line in lines if not line.startswith("!")]
        faults += [line[2:].split("/")[0] for line in lines if line.startswith("!")]
        over = [before for before, _ in told]
        faults += ["a save was written over another unseen"] * (len(over) - len(set(over)))
        with sqlite3.connect(folder / ".billet-undo.sqlite") as kept:
            known = {text.partition("# ")[2].strip() for (text,) in kept.execute("select text from texts")}
        faults += ["undo does not know an acknowledged save"] * len({after for _, after in told} - known)
        if path.read_text().partition("# ")[2].strip() not in {after for _, after in told}:
            faults.append("the recipe holds nothing that was acknowledged")
    return Figure(f"{programs} programs saving one recipe", len(told), tuple(faults))


__all__ = [
    "browsers", "ended", "folder_gone_under_the_page", "full_disk_under_the_page", "killed_in_a_save", "phone_drops_off",
]  # fmt: skip
