"""The server's life: a place to listen, the address to open, and an orderly end."""

from __future__ import annotations

import secrets
import socket
from collections.abc import Callable

import uvicorn

from fiddlehead.errors import InputError
from fiddlehead.web.app import STATIC, build
from fiddlehead.web.guard import Door
from fiddlehead.web.workbench import Workbench

LOOPBACK = ("127.0.0.1", "::1", "localhost")


def listen(host: str, port: int) -> socket.socket:
    """A socket that listens; with port 0 any free one.

    Raises
    ------
    InputError : the address is taken, or none of this machine's
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    place = socket.socket(family, socket.SOCK_STREAM)
    try:
        place.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        place.bind((host, port))
    except OSError as error:
        place.close()
        raise InputError(
            "cannot listen there",
            found=f"{host} port {port}: {error.strerror or error}",
            remedy="Is another workbench open? Choose another port, or 0 for any free one.",
        ) from error
    return place


def door_of(host: str, port: int) -> Door:
    """Loopback needs no token and answers to its own names only; elsewhere a token is made."""
    if host in LOOPBACK:
        return Door(frozenset(f"{name}:{port}" for name in ("127.0.0.1", "localhost", "[::1]")))
    return Door(frozenset(), secrets.token_urlsafe(24))


def serve(workbench: Workbench, host: str, port: int, ready: Callable[[str, bool], object]) -> None:
    """Serve until interrupted.

    Parameters
    ----------
    ready : told the address to open, and whether it can be reached from other machines

    Raises
    ------
    InputError : cannot listen there, or the page was never built
    """
    if not (STATIC / "vendor" / "preact.js").is_file():
        raise InputError(
            "this installation came without the page's libraries",
            where=str(STATIC / "vendor"),
            remedy="Install again with a network connection: pip install . (or make serve).",
        )
    place = listen(host, port)
    at = place.getsockname()[1]
    door = door_of(host, at)
    shown = f"[{host}]" if ":" in host else host
    address = f"http://{shown}:{at}/" + (f"?token={door.token}" if door.token else "")

    class Announced(uvicorn.Server):
        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            ready(address, bool(door.token))

    settings = uvicorn.Config(
        build(workbench, door),
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=2,
        lifespan="on",
    )
    Announced(settings).run(sockets=[place])
