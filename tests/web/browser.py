"""A headless Chromium of this machine, and what every page is held to while a test drives it."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from fiddlehead.web.app import STATIC

ROOT = Path(__file__).resolve().parents[2]
FLAGS = [
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--use-gl=angle",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--force-device-scale-factor=1",
    "--font-render-hinting=none",
    "--hide-scrollbars",
]
READY_MS = 30_000


def chromium() -> str:
    """The browser's path, or a skip that says what is missing."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if not found:
        pytest.skip("no Chromium on this machine (apt-get install chromium)")
    if not (STATIC / "vendor/preact.js").is_file():
        pytest.skip("the page's libraries are not built (pip install -e .)")
    return found


def axe_source() -> str:
    """The accessibility checker, which comes with the page's libraries."""
    path = ROOT / "frontend/node_modules/axe-core/axe.min.js"
    if not path.is_file():
        pytest.skip("axe-core is not installed (npm ci in frontend/)")
    return path.read_text(encoding="utf-8")


@contextmanager
def serving(folder: Path, log: Path) -> Iterator[str]:
    """``fiddlehead serve`` as a process of its own; gives the address."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    words = ["serve", str(folder), "--port", str(port), "--no-open"]
    program = f"import sys; from fiddlehead.cli.main import main; sys.exit(main({words!r}))"
    with log.open("w") as said:
        server = subprocess.Popen(
            [sys.executable, "-c", program], stdout=said, stderr=said,
            env={**os.environ, "JAX_PLATFORMS": "cpu"}, start_new_session=True,
        )  # fmt: skip
    try:
        end = time.monotonic() + 30
        while True:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", port)) == 0:
                    break
            assert server.poll() is None, log.read_text()
            assert time.monotonic() < end, "the server does not listen"
            time.sleep(0.05)
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait(15)
        assert "Traceback" not in log.read_text(), log.read_text()


@contextmanager
def visiting(
    browser: Any, address: str, *, expected: str = "nothing", **wishes: Any
) -> Iterator[Any]:
    """A page that must not log an error, raise one, or ask any other address.

    ``expected`` stands in faults that belong to the test: the browser writes down every answer
    that refuses something, and the library for space that there is no WebGL.
    """
    faults: list[str] = []
    settings = {"viewport": {"width": 1366, "height": 860}, "reduced_motion": "reduce"}
    base = address.split("/#")[0]
    context = browser.new_context(**{**settings, **wishes}, accept_downloads=True)
    page = context.new_page()
    page.set_default_timeout(READY_MS)
    page.on("pageerror", lambda error: faults.append(f"page error: {error}"))
    page.on(
        "console",
        lambda said: (
            faults.append(f"console: {said.text} {said.location}") if said.type == "error" else None
        ),
    )
    page.on(
        "request",
        lambda asked: (
            None
            if asked.url.startswith((base, "data:", "blob:"))
            else faults.append(f"asked another address: {asked.url}")
        ),
    )
    page.goto(address)
    page.wait_for_selector("body[data-ready='1']")
    yield page
    context.close()
    faults = [one for one in faults if expected not in one]
    assert not faults, faults


def violations(page: Any, source: str) -> list[str]:
    """What the accessibility checker finds on the page as it stands."""
    page.evaluate(source)
    found = page.evaluate(
        "async () => (await axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', "
        "'wcag21aa']})).violations.map(v => v.id + ': ' + v.nodes.map(n => n.html.slice(0, 120) + "
        "' ' + n.failureSummary.slice(0, 200)).slice(0, 3).join(' | '))"
    )
    return list(found)
