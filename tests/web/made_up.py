"""A project with a made-up bending result, and a command that stands in for real work."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from fiddlehead.files import write_text
from fiddlehead.material.card import MaterialCard
from fiddlehead.material.card_file import write_card
from fiddlehead.report.export.store import save_result
from fiddlehead.report.export.tables import bend_columns, write_table
from fiddlehead.report.results import write_result
from fiddlehead.web.jobs import Tool
from tests.cli.command import SMALL
from tests.report.made_up import made_up_bend

WORKER = """
import os, sys, time
folder, words = sys.argv[1], sys.argv[2:]
def put(name, text=""):
    open(os.path.join(folder, name), "w").write(text)
put("alive")
for step in range(1, 61):
    print(f"step {step} of 60", file=sys.stderr, flush=True)
    os.utime(os.path.join(folder, "alive"))
    if os.path.exists(os.path.join(folder, "cancel")):
        put("ended", "130")
        sys.exit(130)
    if words[0] == "fit" or (words[0] == "solid" and step == 3):
        break
    time.sleep(0.05)
if words[0] == "solid":
    put("ended", "2")
    print('{"errors": [{"message": "no solid"}]}')
else:
    print('{"summary": ["done"]}')
    put("ended", "0")
"""
ENDINGS = {0: "done", 2: "the input is wrong", 130: "cancelled"}
FLAGS = {
    "fit": frozenset({"--results", "--json"}),
    "bend": frozenset({"--mesh", "--pressure-kpa", "--json"}),
    "block": frozenset({"--mesh", "--json"}),
    "solid": frozenset({"--json"}),
    "experiment analyse": frozenset({"--sheet", "--json"}),
}


def stand_in(folder: Path) -> Tool:
    """A tool whose jobs count to sixty in 3 s; ``fit`` ends at once, ``solid`` fails."""
    worker = write_text(folder / "worker.py", WORKER)
    return Tool((sys.executable, str(worker)), FLAGS, ENDINGS)


def made_up_project(folder: Path) -> Path:
    """A small project with a card and a bending result that nobody computed."""
    write_text(folder / "fiddlehead.toml", SMALL)
    card = MaterialCard(
        name="made up", law_name="neo_hookean", constants={"mu_mpa": 2.0}, shear_modulus_mpa=2.0,
        origin="constants", date="2026-11-25",
    )  # fmt: skip
    write_card(folder / "results/material/card.toml", card)
    result = made_up_bend()

    def fill(place: Path) -> None:
        save_result(place, "bend", result, {"project": {"name": "small"}, "date": "2026-11-25"})
        write_table(place / "bend.csv", bend_columns(result))

    write_result(folder / "results/bend", fill, "bend", "0" * 64, ())
    write_result(folder / "results/study", _study, "study", "0" * 64, ())
    return folder


def _study(place: Path) -> None:
    """Three designs of a study that was never run; the second has no angle."""
    write_text(
        place / "ranking.csv",
        "number,status,pitch_mm,working_pressure_kpa,tip_angle_deg,key\n"
        "4,complete,8.5,50,31.2,a\n7,failed,9,60,,b\n9,complete,9.5,55,35.5,c\n",
    )


def cube_stl(edge: float = 10.0) -> bytes:
    """A cube as binary STL, normals outwards."""
    corners = edge * np.array([[x, y, z] for z in (0, 1) for y in (0, 1) for x in (0, 1)], float)
    quads = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    faces = [f for a, b, c, d in quads for f in ((a, b, c), (a, c, d))]
    rows = b"".join(
        np.concatenate([np.zeros(3), corners[list(f)].ravel()]).astype("<f4").tobytes() + b"\0\0"
        for f in faces
    )
    return b"\0" * 80 + len(faces).to_bytes(4, "little") + rows
