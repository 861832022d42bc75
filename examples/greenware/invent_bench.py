"""Invents the measurements in ``bench/``: no finger was printed and nothing was measured.

Three imagined fingers came out with walls 0.06 mm thicker and a material 6 % stiffer than drawn,
and differ by 3 %. Their curves are the program's own, with hysteresis, set, noise and the faults a
bench has: dropouts, a spike, a clock that was set back, a log in psi, one in absolute pressure, a
leak, a board printed too small, a telephone held upright, a hand before the marks. Same seed, same
numbers. Takes a minute or two; run from the top of the source tree:

    PYTHONPATH=. python examples/greenware/invent_bench.py
"""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
from PIL import Image

from fiddlehead.bench.photos.board import Board
from fiddlehead.bench.photos.image import as_jpeg
from fiddlehead.bench.spreadsheet import write_workbook
from fiddlehead.files import write_bytes, write_text
from fiddlehead.project.bench import marks_of
from fiddlehead.project.bench_section import CameraSection
from fiddlehead.project.load import Project, load_project
from fiddlehead.project.material import make_material
from fiddlehead.trials.bend import bend
from fiddlehead.trials.block import block
from fiddlehead.trials.records import BendResult, BlockResult

HERE = Path(__file__).parent
BENCH = HERE / "bench"
THICKER_MM, STIFFER = 0.06, 1.06
GAINS = {"A": 1.00, "B": 0.97, "C": 1.03}
TOP_KPA = 150.0
NOISE_DEG, HYSTERESIS_DEG, SET_DEG = 0.35, 4.5, 0.8
DRAW = np.random.default_rng(20261125)


def imagined(project: Project) -> tuple[BendResult, BlockResult]:
    """The finger as it is imagined to have come out of the printer.

    Pressures are divided by the stiffness: the shapes are then those of the stiffer material.
    """
    card = make_material(project, "").card
    walls = {
        name: getattr(project.finger, name) + THICKER_MM
        for name in ("wall_thickness_mm", "roof_thickness_mm", "side_wall_thickness_mm")
    }
    finger = dataclasses.replace(project.finger, **walls)
    pressures = np.array(project.pressures_mpa()) / STIFFER
    law, bulk = card.law(), card.bulk_modulus_mpa
    bent = bend(finger, law, bulk, pressures, mesh_settings=project.mesh)
    return bent, block(finger, law, bulk, pressures, mesh_settings=project.mesh)


def angles(bent: BendResult, pressure_kpa: np.ndarray) -> np.ndarray:
    """Tip angle at pressures of the imagined finger, degrees."""
    return np.interp(pressure_kpa, STIFFER * 1e3 * bent.pressure_mpa, bent.tip_angle_deg)


def cycles(bent: BendResult, gain: float, count: int = 3) -> tuple[np.ndarray, ...]:
    """Time, pressure and angle of slow triangles, 5 kPa/s, two readings a second, rest in front."""
    up = np.arange(0.0, TOP_KPA + 1.0, 2.5)
    down = up[::-1][1:]
    pressure, angle = [np.zeros(8)], [np.zeros(8)]
    for number in range(count):
        left = SET_DEG if number else 0.0
        share = down / TOP_KPA
        arch = HYSTERESIS_DEG * 4.0 * share * (1.0 - share) + SET_DEG * (1.0 - share)
        pressure += [up, down]
        angle += [gain * angles(bent, up) + left * (1 - up / TOP_KPA)]
        angle += [gain * angles(bent, down) + arch]
    p = np.concatenate(pressure)
    a = np.concatenate(angle)
    p = np.abs(p + 0.2 * DRAW.standard_normal(len(p)))
    return 0.5 * np.arange(len(p)), p, a + NOISE_DEG * DRAW.standard_normal(len(a))


def table(name: str, header: str, rows: list[str]) -> None:
    """One text file."""
    write_text(BENCH / name, "\n".join([header, *rows]) + "\n")


def bending_logs(bent: BendResult) -> None:
    """Three fingers, three instruments, three ways to write the same thing."""
    time, pressure, angle = cycles(bent, GAINS["A"])
    cells = [f"{value:.2f}" for value in angle]
    cells[100:103] = ["OVER"] * 3  # the sensor lost sight for a moment
    cells[250] = "-80.00"
    rows = [f"{t:.1f},{p / 100:.4f},{a}" for t, p, a in zip(time, pressure, cells, strict=True)]
    table("bend_A.csv", "# invented measurements\nt [s],P1 [bar],tip angle [deg]", rows)

    time, pressure, angle = cycles(bent, GAINS["B"])
    stamps = [f"10:{int(3 + t // 60):02d}:{t % 60:04.1f}".replace(".", ",") for t in time]
    rows = [
        f"{s}\t{p / 6.894757293168:.3f}\t{a:.2f}".replace(".", ",")
        for s, p, a in zip(stamps, pressure, angle, strict=True)
    ]
    rows += [row.replace("10:", "09:", 1) for row in rows[:20]]  # the clock was set back
    table("bend_B.tsv", "clock\tpressure psi\tangle", rows)

    time, pressure, angle = cycles(bent, GAINS["C"])
    head = ["Invented measurements, absolute pressure, open air 98.2 kPa"]
    path = write_workbook(BENCH / "bend_C.xlsx", "logger", head, ["s", "kPa abs", "deg tip"])
    append(path, zip(time, pressure + 98.2, angle, strict=True))


def append(path: Path, rows: object) -> None:
    """Numbers below the header of a workbook."""
    from openpyxl import load_workbook

    from fiddlehead.files import write_whole

    book = load_workbook(path)
    for row in rows:  # type: ignore[attr-defined]
        book.active.append([round(float(value), 3) for value in row])
    write_whole(path, book.save)


def forces(blocked: BlockResult) -> None:
    """Ramp and hold on three fingers, twice each, load cell in gram-force with an offset."""
    rows = []
    for finger, gain in GAINS.items():
        for run in (1, 2):
            time = np.arange(0.0, 32.0, 0.5)
            pressure = np.clip(10.0 * (time - 2.0), 0.0, TOP_KPA)
            force = np.interp(pressure, STIFFER * 1e3 * blocked.pressure_mpa, blocked.force_n)
            held = np.maximum(time - 17.0, 0.0)
            force = gain * STIFFER * force * (1.0 - 0.05 * (1.0 - np.exp(-held / 6.0)))
            grams = 1e3 * (force + 0.01 * DRAW.standard_normal(len(time))) / 9.80665 + 12.0
            rows += [
                f"{finger},{run},{t:.1f},{p:.2f},{g:.1f}"
                for t, p, g in zip(time, pressure, grams, strict=True)
            ]
    table("block.csv", "finger,run,time,pressure_kPa,load_gf", rows)


def decays() -> None:
    """A tight finger, and one that loses 4 % a minute; both settle first, the room warms."""
    time = np.arange(0.0, 241.0, 5.0)
    rows = []
    for finger, percent in (("A", 0.4), ("B", 4.0)):
        settle = 1.2 * (1.0 - np.exp(-time / 8.0))
        gauge = TOP_KPA * (1.0 - percent / 100.0 * time / 60.0) - settle
        celsius = 21.0 + 0.4 * time / 240.0
        gauge += (gauge + 101.325) * (celsius - 21.0) / 294.15
        gauge += 0.03 * DRAW.standard_normal(len(time))
        rows += [
            f"{finger},{t:.0f},{p:.3f},{c:.2f}"
            for t, p, c in zip(time, gauge, celsius, strict=True)
        ]
    table("leak.csv", "finger,time_s,pressure_kpa,temperature_c", rows)


def others(bent: BendResult) -> None:
    """Step response, life, picks, pull-off, sideways stiffness: filled-in forms."""
    time = np.arange(0.0, 4.5, 0.01)
    on, off = np.maximum(time - 0.5, 0.0), np.maximum(time - 2.5, 0.0)
    pressure = TOP_KPA * (1.0 - np.exp(-on / 0.06)) * np.exp(-off / 0.10)
    top = float(angles(bent, np.array([TOP_KPA]))[0])
    angle = top * (1.0 - np.exp(-on / 0.11) * (1 + on / 0.11)) * np.exp(-off / 0.2)
    angle = angle + 0.1 * DRAW.standard_normal(len(time))
    rows = [f"A,1,{t:.2f},{p:.2f},{a:.2f}," for t, p, a in zip(time, pressure, angle, strict=True)]
    form = "finger,repeat,time_s,pressure_kpa,tip_tangent_angle_deg,chord_angle_deg"
    table("step.csv", form, rows)
    lives = [(2900, 1), (4100, 1), (5200, 1), (6100, 1), (8300, 1), (10000, 0)]
    rows = [f"L{n},{c},{'yes' if f else 'no'}" for n, (c, f) in enumerate(lives, start=1)]
    table("life.csv", "finger,cycles,failed", rows)
    rows = []
    for thing, trials, picked, damaged in (
        ("bowl 80 mm", 20, 20, 0),
        ("tile 120 mm", 20, 18, 1),
        ("bottle 60 mm", 12, 9, 0),
    ):
        for number in range(trials):
            good, dent = number % trials < picked, number < damaged
            rows.append(f"ABC,{thing},{'yes' if good else 'no'},{'yes' if dent else 'no'}")
    table("picks.csv", "finger,object,picked,damaged", rows)
    rows = [f"ABC,bowl 80 mm,{f:.2f}" for f in 6.1 + 0.4 * DRAW.standard_normal(6)]
    table("pull_off.csv", "finger,object,force_n", rows)
    rows = []
    for pressure_kpa, stiffness in ((0.0, 0.21), (75.0, 0.27), (150.0, 0.34)):
        for load in (0.0, 0.25, 0.5, 0.75, 1.0):
            y = load / stiffness + 0.03 * DRAW.standard_normal()
            rows.append(f"A,1,{y:.2f},{load:.2f},{pressure_kpa:g},{1.8 * load:.2f}")
    form = "finger,repeat,deflection_mm,force_n,pressure_kpa,twist_deg"
    table("lateral.csv", form, rows)


def creep(bent: BendResult) -> None:
    """Half an hour at working pressure: the angle grows by 2.5 % with each tenfold time."""
    time = np.array([0, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 1800.0])
    noise = 0.1 * np.random.default_rng(20261125).standard_normal(len(time))
    angle = (
        angles(bent, np.array([TOP_KPA]))[0] * (1.0 + 0.025 * np.log10(np.maximum(time, 0.5)))
        + noise
    )
    rows = [f"A,1,{t:g},{a:.2f},,150,21.2" for t, a in zip(time, angle, strict=True)]
    form = "finger,repeat,time_s,tip_tangent_angle_deg,chord_angle_deg,pressure_kpa,temperature_c"
    table("creep.csv", form, rows)


def photos(bent: BendResult, project: Project) -> None:
    """Finger A before its board (printed at 95 %), 1280 x 720; one spoilt, one held upright."""
    from tests.bench.render import Scene, View, photograph

    printed = Board(width_mm=0.95 * 240.0, height_mm=0.95 * 150.0, fiducial_mm=0.95 * 24.0)
    scene = Scene(bent, marks_of(project.finger, CameraSection()), board=printed)
    view = View(focal_px=4300.0, size=(1280, 720), tilt_deg=3.0, pan_deg=-2.0, blur_px=0.6)
    for step in range(0, 11, 2):
        picture = photograph(scene, step, dataclasses.replace(view, seed=step))
        name = f"fA_r1_up_{15 * step}kPa.jpg"
        exif = Image.Exif()
        if step == 6:  # a telephone held upright
            exif[0x0112] = 6
            picture = np.rot90(picture)
        write_bytes(BENCH / "photos" / name, as_jpeg(picture, 80, exif=exif.tobytes()))
    hidden = dataclasses.replace(scene, hidden=(len(scene.setup.marks) - 1,))
    picture = photograph(hidden, 5, view)  # a hand was in the way
    write_bytes(BENCH / "photos" / "fA_r1_up_75kPa.jpg", as_jpeg(picture, 80))


def main() -> None:
    """Write all of it."""
    project = load_project(HERE)
    bent, blocked = imagined(project)
    invent(project, bent, blocked)


def invent(project: Project, bent: BendResult, blocked: BlockResult) -> None:
    """All files from the imagined finger's curves."""
    bending_logs(bent)
    forces(blocked)
    decays()
    others(bent)
    creep(bent)
    photos(bent, project)


if __name__ == "__main__":
    main()
