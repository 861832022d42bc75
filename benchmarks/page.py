"""The workbench page against its targets: ``python -m benchmarks.page`` (needs a Chromium).

Measured in a headless Chromium that draws in software, so a graphics card only makes it faster:
start of the server, weight of the page, time to a coloured surface of 20,000 vertices, time from a
key on the pressure slider to drawn pixels, time from a typed size to the new drawing.
"""

from __future__ import annotations

import argparse
import dataclasses
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.record import RESULTS, ROOT, load_average, write_table
from fiddlehead.files import write_bytes, write_text
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.project.load import load_project
from fiddlehead.report.export.store import save_result
from fiddlehead.report.export.tables import bend_columns
from fiddlehead.report.export.tables import write_table as write_csv
from fiddlehead.report.results import write_result
from fiddlehead.report.surface import whole_surface
from fiddlehead.trials.records import BendResult, RunHistory, StrainPeaks

STEPS = 11
TARGETS = {
    "start_s": 0.5,
    "page_mb": 1.5,
    "coloured_s": 2.0,
    "slider_ms": 100.0,
    "drawing_ms": 200.0,
    "space_ms": 200.0,
}
FLAGS = (
    "--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--use-gl=angle", "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader", "--force-device-scale-factor=1",
)  # fmt: skip
DRAWN = """
async () => {
  const canvas = document.querySelector("main canvas");
  const pixels = () => { const gl = canvas.getContext("webgl2");
    gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4)); };
  const slider = document.querySelector("main input[type=range]");
  const took = [];
  for (let k = 0; k < 20; k++) {
    const frame = canvas.dataset.frame, start = performance.now();
    slider.dispatchEvent(new KeyboardEvent("keydown", {key: k < 10 ? "ArrowLeft" : "ArrowRight", bubbles: true}));
    while (canvas.dataset.frame === frame) await new Promise(requestAnimationFrame);
    pixels();
    took.push(performance.now() - start);
  }
  return took;
}"""  # noqa: E501
FOLLOWED = """
async () => {
  const field = [...document.querySelectorAll(".field")].find(f => f.querySelector("label").textContent === "Pitch");
  const box = field.querySelector("input"), canvas = document.querySelector("main canvas");
  const pause = () => new Promise(requestAnimationFrame);
  const drawn = [], space = [];
  for (const pitch of ["11.2", "11.4", "11.6", "11.8", "12", "11"]) {
    const before = canvas.dataset.frame, start = performance.now();
    box.value = pitch;
    box.dispatchEvent(new InputEvent("input", {bubbles: true}));
    const wanted = `pitch ${pitch}`;
    while (!document.querySelector(".section svg").getAttribute("aria-label").includes(`${wanted},`)) await pause();
    drawn.push(performance.now() - start);
    while (canvas.dataset.frame === before) await pause();
    space.push(performance.now() - start);
    await new Promise(r => setTimeout(r, 300));
  }
  return [drawn, space];
}"""  # noqa: E501


def made_up_bend(times: int) -> BendResult:
    """The demo finger finely divided and rolled up by hand: as large as a result, not computed."""
    finger = load_project(ROOT / "examples/greenware").finger
    mesh = build_mesh(finger, MeshSettings().refined(times))
    x, y = mesh.points[:, 0], mesh.points[:, 1]
    shape, strain = [], []
    for share in np.linspace(1e-6, 1.0, STEPS):
        curve = share / finger.length_mm
        rolled = np.stack([(1 / curve + y) * np.sin(curve * x), (1 / curve + y) * np.cos(curve * x)
                           - 1 / curve, mesh.points[:, 2]], 1)  # fmt: skip
        shape.append(rolled - mesh.points)
        strain.append(share * 0.2 * np.abs(np.sin(x) * np.cos(y)))
    zeros, places = np.zeros(STEPS), ("somewhere",) * STEPS
    return BendResult(
        pressure_mpa=np.linspace(0.0, 0.15, STEPS),
        tip_angle_deg=np.linspace(0.0, 57.3, STEPS),
        chord_angle_deg=zeros,
        tip_path_mm=np.zeros((STEPS, 2)),
        cavity_volume_mm3=zeros,
        strain_energy_mj=zeros,
        smallest_gap_mm=zeros,
        strain=StrainPeaks(
            peak=zeros,
            p95=zeros,
            place_mm=np.zeros((STEPS, 3)),
            region=places,
            in_plane=zeros,
            across_layers=zeros,
            across_layers_region=places,
            smallest=zeros,
        ),
        displacement_mm=np.asarray(shape),
        node_strain=np.asarray(strain),
        mesh=dataclasses.replace(mesh, template=None),
        history=RunHistory(
            outcome="complete",
            reason="",
            pressure_reached_mpa=0.15,
            solves=0,
            solves_at_step=np.zeros(STEPS, int),
            cuts=0,
            tolerance=0.0,
            elapsed_s=0.0,
            batch=1,
            unknowns=0,
        ),
    )


def project_with(folder: Path, times: int) -> int:
    """The demo project with such a result; returns the vertices of its surface on the page."""
    result = made_up_bend(times)
    toml = (ROOT / "examples/greenware/fiddlehead.toml").read_text(encoding="utf-8")
    write_text(folder / "fiddlehead.toml", toml)
    for path in (ROOT / "examples/greenware").rglob("*"):
        if path.suffix in (".csv", ".tsv", ".xlsx", ".jpg"):
            place = folder / path.relative_to(ROOT / "examples/greenware")
            write_bytes(place, path.read_bytes())

    def fill(place: Path) -> None:
        save_result(place, "bend", result, {"project": {"name": "made up"}, "date": ""})
        write_csv(place / "bend.csv", bend_columns(result))

    write_result(folder / "results/bend", fill, "bend", "", ())
    surface = whole_surface(result.mesh)
    return len(surface.node) + len(surface.faces)


@contextmanager
def serving(folder: Path, port: int) -> Iterator[float]:
    """The server as a process; gives the seconds from its start to its first answer."""
    words = ["serve", str(folder), "--port", str(port), "--no-open"]
    program = f"from fiddlehead.cli.main import main; main({words!r})"
    start = time.perf_counter()
    server = subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.DEVNULL)
    try:
        while True:
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{port}/") as answer:
                    answer.read()
                break
            except OSError:
                time.sleep(0.005)
        yield time.perf_counter() - start
    finally:
        server.terminate()
        server.wait(10)


def visit(browser: Any, address: str) -> tuple[dict[str, float], Any]:
    """A first visit to the page of results: bytes, and seconds to coloured pixels."""
    page = browser.new_context(viewport={"width": 1366, "height": 860}).new_page()
    weight = {"code": 0, "data": 0}

    def count(answer: Any) -> None:
        kind = "code" if "/api/" not in answer.url else "data"
        weight[kind] += int(answer.headers.get("content-length", 0))

    page.on("response", count)
    start = time.perf_counter()
    page.goto(f"{address}/#bend")
    page.locator("main canvas[data-frame][data-loaded]").first.wait_for(timeout=60_000)
    page.evaluate("""() => { const gl = document.querySelector("main canvas").getContext("webgl2");
        gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4)); }""")
    coloured = time.perf_counter() - start
    page.locator(".plot svg").first.wait_for()
    page.wait_for_timeout(500)
    return {"page_mb": weight["code"] / 1e6, "coloured_s": coloured}, page


def measure(repeats: int, port: int, times: int) -> dict[str, Any]:
    """Medians over some visits, each with a server and a browser profile of its own."""
    from playwright.sync_api import sync_playwright

    rows: list[dict[str, float]] = []
    with tempfile.TemporaryDirectory() as room, sync_playwright() as driver:
        vertices = project_with(Path(room), times)
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        for number in range(repeats):
            with serving(Path(room), port + number) as start_s:
                address = f"http://127.0.0.1:{port + number}"
                row, page = visit(browser, address)
                slider = statistics.median(page.evaluate(DRAWN))
                page.goto(f"{address}/#finger")
                page.locator(".section svg").wait_for()
                page.locator("main canvas[data-frame][data-loaded]").first.wait_for()
                page.wait_for_timeout(500)
                drawn, space = page.evaluate(FOLLOWED)
                rows.append({"start_s": start_s, **row, "slider_ms": slider,
                             "drawing_ms": statistics.median(drawn),
                             "space_ms": statistics.median(space)})  # fmt: skip
                page.context.close()
        browser.close()
    medians = {name: round(statistics.median(r[name] for r in rows), 3) for name in rows[0]}
    return {"vertices": vertices, **medians, "visits": repeats, "load_average": load_average()}


def main(words: Sequence[str] | None = None) -> int:
    """Measure, tell, and write ``page.csv``."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--port", type=int, default=8750)
    parser.add_argument("--quick", action="store_true", help="one visit, a small result")
    parser.add_argument("--results", type=Path, default=RESULTS)
    asked = parser.parse_args(words)
    repeats, times = (1, 1) if asked.quick else (asked.repeats, 2)
    row = measure(repeats, asked.port, times)
    for name, target in TARGETS.items():
        print(f"{name:<12} {row[name]:>8}   target {target:g}")
    print(f"vertices {row['vertices']}, load average {row['load_average']}")
    write_table(asked.results / "page.csv", [row], ["starlette", "uvicorn", "playwright", "numpy"])
    return 0


if __name__ == "__main__":
    sys.exit(main())
