"""A workbench that is served for the tests, and plain questions to it."""

from __future__ import annotations

import http.client
import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import uvicorn

from fiddlehead.web.app import build
from fiddlehead.web.guard import Door
from fiddlehead.web.server import door_of, listen
from fiddlehead.web.workbench import Workbench


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def json(self) -> Any:
        """The body as JSON."""
        return json.loads(self.body)


@dataclass(frozen=True)
class Served:
    """A running workbench."""

    port: int
    workbench: Workbench
    door: Door

    def __call__(
        self, method: str, path: str, body: Any = None, headers: dict[str, str] | None = None
    ) -> Answer:
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        data = body if isinstance(body, bytes | None) else json.dumps(body).encode()
        line.request(method, path, data, {"Host": f"127.0.0.1:{self.port}", **(headers or {})})
        answer = line.getresponse()
        told = Answer(answer.status, {k.lower(): v for k, v in answer.getheaders()}, answer.read())
        line.close()
        return told

    def get(self, path: str, **headers: str) -> Answer:
        """GET an address."""
        return self("GET", path, headers=headers)

    def post(self, path: str, body: Any = None, **headers: str) -> Answer:
        """POST a JSON body."""
        return self("POST", path, {} if body is None else body, headers)


@contextmanager
def served(workbench: Workbench, host: str = "127.0.0.1") -> Iterator[Served]:
    """Serve a workbench from a thread of this process."""
    place = listen("127.0.0.1", 0)
    port = place.getsockname()[1]
    door = door_of(host, port)
    app = build(workbench, door)
    server = uvicorn.Server(uvicorn.Config(app, log_level="critical", access_log=False))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [place]}, daemon=True)
    thread.start()
    while not server.started:
        assert thread.is_alive()
        thread.join(0.01)
    try:
        yield Served(port, workbench, door)
    finally:
        server.should_exit = True
        thread.join(10)
        place.close()
