"""The addresses of the workbench. Each answers with JSON, packed arrays, or a file."""

from __future__ import annotations

import json
import mimetypes
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

import anyio
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from fiddlehead.errors import FiddleheadError, InputError
from fiddlehead.web.guard import Door, Guard
from fiddlehead.web.workbench import Workbench

STATIC = Path(__file__).parent / "static"
LARGEST_UPLOAD = 64_000_000
"""Bytes of a file."""
LARGEST_QUESTION = 1_000_000
"""Bytes of a JSON body."""
PUMP_S = 0.5

for _ending in (".js", ".mjs"):  # some systems know these as plain text; a page then stays blank
    mimetypes.add_type("text/javascript", _ending)

Handler = Callable[[Request], Awaitable[Response]]


async def body_of(request: Request) -> dict[str, Any]:
    """The JSON object of a request.

    Raises
    ------
    InputError : too long, or no JSON object
    """
    if int(request.headers.get("content-length") or 0) > LARGEST_QUESTION:
        raise HTTPException(413)
    raw = await request.body()
    if len(raw) > LARGEST_QUESTION:
        raise HTTPException(413)
    try:
        asked = json.loads(raw or b"{}")
    except ValueError as error:
        raise InputError("this request is no JSON") from error
    if not isinstance(asked, dict):
        raise InputError("this request is no JSON object")
    return asked


def asking(work: Callable[[dict[str, Any]], Any]) -> Handler:
    """A handler that gives the request's JSON (or its query) to ``work``, off the event loop."""

    async def handler(request: Request) -> Response:
        asked = dict(request.query_params) if request.method == "GET" else await body_of(request)
        asked |= request.path_params
        answer = await run_in_threadpool(work, asked)
        if isinstance(answer, Response):
            return answer
        if isinstance(answer, bytes):
            return Response(answer, media_type="application/octet-stream")
        return JSONResponse(answer)

    return handler


def build(workbench: Workbench, door: Door) -> Guard:
    """The whole application for one project folder."""

    async def upload(request: Request) -> Response:
        data = await request.body()
        names = request.path_params
        told = await run_in_threadpool(workbench.upload, names["drawer"], names["name"], data)
        return JSONResponse(told)

    def post(path: str, work: Callable[[dict[str, Any]], Any]) -> Route:
        return Route(f"/api/{path}", asking(work), methods=["POST"])

    def get(path: str, work: Callable[[dict[str, Any]], Any]) -> Route:
        return Route(f"/api/{path}", asking(work), methods=["GET"])

    routes = [
        Route("/", lambda request: FileResponse(STATIC / "index.html")),
        Mount("/static", StaticFiles(directory=STATIC)),
        get("boot", workbench.boot),
        get("state", workbench.state),
        get("project", workbench.project),
        post("begin", workbench.begin),
        post("try", workbench.try_changes),
        post("shape", workbench.shape),
        post("design", workbench.design),
        post("change", workbench.change),
        post("undo", workbench.undo),
        post("redo", workbench.redo),
        get("results", lambda a: workbench.shelf.results(a)),
        get("summary", lambda a: workbench.shelf.summary(a)),
        get("scene", lambda a: workbench.shelf.scene(a)),
        get("table", lambda a: workbench.shelf.table(a)),
        post("keep", lambda a: workbench.shelf.keep(a)),
        get("preview", workbench.preview),
        get("object", workbench.object_shape),
        post("jobs", workbench.start),
        post("jobs/{id}/cancel", workbench.cancel),
        post("jobs/{id}/forget", workbench.forget),
        Route("/api/upload/{drawer}/{name}", upload, methods=["PUT"]),
        Route("/files/{name:path}", asking(lambda a: _file(workbench, a)), methods=["GET"]),
        Route("/zip/{place:path}", asking(lambda a: _archive(workbench, a)), methods=["GET"]),
    ]

    @asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        async with anyio.create_task_group() as tasks:
            tasks.start_soon(_pump, workbench)
            yield
            tasks.cancel_scope.cancel()

    app = Starlette(
        routes=routes,
        lifespan=life,
        exception_handlers={FiddleheadError: _told, Exception: _unexpected},
        max_body_size=LARGEST_UPLOAD,
    )
    return Guard(app, door)


async def _pump(workbench: Workbench) -> None:
    """Start waiting jobs, also while no page is open; first load what the page will ask for."""
    await run_in_threadpool(lambda: workbench.shelf)
    while True:
        await run_in_threadpool(workbench.pump)
        await anyio.sleep(PUMP_S)


def _told(request: Request, error: Exception) -> Response:
    assert isinstance(error, FiddleheadError)
    return JSONResponse(error.fields(), status_code=422)


def _unexpected(request: Request, error: Exception) -> Response:
    fields = InputError(
        "the workbench stopped on something it did not expect",
        found=type(error).__name__,
        remedy="The details stand in the window where fiddlehead serve runs.",
    ).fields()
    return JSONResponse(fields, status_code=500)


def _file(workbench: Workbench, asked: dict[str, Any]) -> Response:
    """A file of the project; ``?save`` hands it over to be saved."""
    path = workbench.shelf.file(asked["name"])
    disposition = "attachment" if "save" in asked else "inline"
    return FileResponse(path, filename=path.name, content_disposition_type=disposition)


def _archive(workbench: Workbench, asked: dict[str, Any]) -> Response:
    name, data = workbench.shelf.archive(asked["place"])
    headers = {"content-disposition": f"attachment; filename*=utf-8''{quote(name)}"}
    return Response(data, media_type="application/zip", headers=headers)
