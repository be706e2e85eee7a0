"""The page as an application: addresses, answers, and the door in front of them."""

from __future__ import annotations

import asyncio
import json
import os
import time
from collections.abc import Awaitable, Callable, Mapping
from contextlib import asynccontextmanager
from importlib.resources import files
from pathlib import PurePath
from typing import Any

from anyio import from_thread
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from billet.base.errors import InputError
from billet.base.plain_data import depth, finite
from render.page.guard import Guard, Keys
from render.page.history import ChangedOutsideError
from render.page.house import House
from render.page.wishes import Drawn

_KINDS = {
    ".html": "text/html",
    ".css": "text/css",
    ".js": "text/javascript",
    ".svg": "image/svg+xml",
    ".txt": "text/plain",
    ".jpg": "image/jpeg",
}
_DEEPEST = 40  # tables and lists in one another; an edit has half a dozen
_WAIT_S, _LOOK_S = 3.0, 0.4  # a watcher waits so long, for a browser keeps few lines to one place, and looks so often
Asked = Callable[[Mapping[str, Any]], Any]
Endpoint = Callable[[Request], Awaitable[Response]]
Stopping = Callable[[], bool]


def application(house: House, keys: Keys, stopping: Stopping = lambda: False) -> Starlette:
    """The application of one folder; once it is stopping nobody waits in it any longer."""

    @asynccontextmanager
    async def life(_: Starlette) -> Any:
        yield
        house.close()

    gets = {
        "folder": house.listing, "knife": house.knife, "forms": house.forms, "shapes": house.shapes, "filmstrip": house.strip,
        "where": house.where, "holds": house.holds, "fire": house.fire, "bench": house.bench, "plan": house.planned,
    }  # fmt: skip
    posts = {
        "knives": house.create, "edit": house.edit, "text": house.text, "undo": house.undo, "redo": house.redo,
        "note": house.note, "stations": house.stations, "plan": house.plan, "plan/stop": house.stop_plan,
        "plan/take": house.take_plan,
    }  # fmt: skip
    routes = [
        Route("/", _page),
        Route("/static/{name:path}", _static),
        Route("/api/draw", _drawn(house.draw, given_up=True)),
        Route("/api/solid", _drawn(house.solid)),
        Route("/api/plan/picture", _drawn(house.plan_picture)),
        Route("/api/watch", _watch(house, stopping)),
        *(Route(f"/api/{name}", _get(ask), methods=["GET"]) for name, ask in gets.items()),
        *(Route(f"/api/{name}", _post(ask), methods=["POST"]) for name, ask in posts.items()),
    ]
    handlers: Any = {HTTPException: _lost, Exception: _broken}
    app = Starlette(routes=routes, lifespan=life, exception_handlers=handlers)
    app.add_middleware(Guard, keys=keys)
    return app


def _get(ask: Asked) -> Endpoint:
    async def endpoint(request: Request) -> Response:
        return await _answered(ask, dict(request.query_params))

    return endpoint


def _post(ask: Asked) -> Endpoint:
    async def endpoint(request: Request) -> Response:
        try:
            data = json.loads(await request.body())
            json.dumps(data, ensure_ascii=False).encode()  # half of a letter is none
        except (ValueError, RecursionError):
            return _errors(400, "This is not JSON.")
        except ClientDisconnect:
            return _errors(413, "Too much was sent.")
        if depth(data) > _DEEPEST:
            return _errors(400, "This is nested too deep to be an answer; send plain values.")
        if not isinstance(data, dict):
            return _errors(400, "Wanted a JSON object.")
        return await _answered(ask, data)

    return endpoint


async def _answered(ask: Asked, asked: Mapping[str, Any]) -> Response:
    try:
        return JSONResponse(finite(await run_in_threadpool(ask, asked)))
    except _REFUSED as error:
        return _refused(error)


def _drawn(ask: Callable[..., Drawn | None], *, given_up: bool = False) -> Endpoint:
    """A picture; ``given_up`` lets whoever draws ask, when its turn comes, whether it is still waited for."""

    async def endpoint(request: Request) -> Response:
        begun = time.perf_counter()
        more = (lambda: from_thread.run(request.is_disconnected),) if given_up else ()
        try:
            drawn = await run_in_threadpool(ask, dict(request.query_params), *more)
        except _REFUSED as error:
            return _refused(error)
        if drawn is None:
            return Response(status_code=204)
        took = f"{1e3 * (time.perf_counter() - begun):.1f}"
        headers = {"X-Places": json.dumps(list(drawn.places)), "X-Took-Ms": took}
        return Response(drawn.data, media_type=drawn.kind, headers=headers)

    return endpoint


def _watch(house: House, stopping: Stopping) -> Endpoint:
    async def endpoint(request: Request) -> Response:
        asked = dict(request.query_params)
        until = time.monotonic() + _WAIT_S
        try:
            while (now := await run_in_threadpool(house.standing, asked)).items() <= asked.items():
                if stopping() or time.monotonic() > until or await request.is_disconnected():
                    break
                await asyncio.sleep(_LOOK_S)
        except _REFUSED as error:
            return _refused(error)
        return JSONResponse(now)

    return endpoint


async def _page(_: Request) -> Response:
    return _file("index.html")


async def _static(request: Request) -> Response:
    return _file(request.path_params["name"])


def _file(name: str) -> Response:
    """A file of the page; names only, two rooms deep at most."""
    parts = name.split("/")
    suffix = "." + parts[-1].rpartition(".")[2]
    if len(parts) > 2 or any(not p or p.startswith(".") or "\\" in p for p in parts) or suffix not in _KINDS:
        return _errors(404, "There is no such file.")
    try:
        found = files("render.page").joinpath("static", *parts).read_bytes()
    except (OSError, ValueError):
        return _errors(404, "There is no such file.")
    return Response(found, media_type=_KINDS[suffix])


_REFUSED = (InputError, OSError, RecursionError)


def _refused(error: Exception) -> Response:
    """What was asked cannot be: of a file that the system keeps back, its name and the system's reason."""
    if isinstance(error, OSError):
        name = PurePath(os.fsdecode(error.filename)).name if isinstance(error.filename, str | bytes) else "a file"
        said = f"{name}: cannot be read or written ({error.strerror or error}); check who may use it and its folder"
        return _errors(422, said)
    if isinstance(error, RecursionError):
        return _errors(422, "This is nested too deep to be read; a recipe holds tables in tables a few times at most.")
    return _errors(409 if isinstance(error, ChangedOutsideError) else 422, str(error))


async def _lost(_: Request, error: Exception) -> Response:
    status = getattr(error, "status_code", 500)
    return _errors(status, "There is nothing at this address." if status == 404 else "This cannot be asked here.")


async def _broken(_: Request, error: Exception) -> Response:
    return _errors(500, f"The program made a mistake ({type(error).__name__}); nothing was written. Try another way.")


def _errors(status: int, message: str) -> Response:
    return JSONResponse({"errors": [{"path": None, "message": line} for line in message.split("\n")]}, status)
