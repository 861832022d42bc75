"""Verbs of the bench: measure, compare, protocol, from files to verdicts."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from openpyxl import load_workbook

from fiddlehead.bench.protocols import PROTOCOLS
from fiddlehead.project.load import load_project
from fiddlehead.report.export.store import save_result
from fiddlehead.report.measured import load_spreads
from tests.bench.bent import bent_finger
from tests.bench.made import bending
from tests.bench.render import Scene, View, photograph
from tests.cli.command import SMALL, Shell
from tests.report.made_up import made_up_bend, made_up_block

BENCH = """
[[bench.records]]
files = ["bench/*.csv"]
test = "bend"
finger_column = "who"
pressure_column = "P"
pressure_unit = "bar"
angle_column = "a"
angle_definition = "tip tangent"
"""


def logs(shell: Shell, gains: dict[str, float], name: str = "bench/log.csv") -> None:
    """One file with a slow triangle to 100 kPa for each finger."""
    rows = ["who,P,a"]
    for finger, gain in gains.items():
        record = bending(finger, gain=gain, hysteresis_deg=2.0)
        for p, a in zip(record.values["pressure_kpa"], record.values["angle_deg"], strict=True):
            rows.append(f"{finger},{p / 150:.5f},{a / 1.5:.4f}")
    shell.write("\n".join(rows) + "\n", name)


def predicted(shell: Shell) -> None:
    """A saved bending (90° at 100 kPa) and blocked force of just this project."""
    project = load_project(shell.folder)
    about = {"project": {"input_hash_sha256": project.input_hash}}
    save_result(shell.folder / "results/bend", "bend", made_up_bend(), about)
    save_result(shell.folder / "results/block/preset_0_deg", "block", made_up_block(), about)


def test_help_names_the_verbs_of_the_bench(shell: Shell) -> None:
    said = shell("--help").out
    for verb in ("protocol", "measure", "compare", "calibrate"):
        assert f"\n  {verb} " in said


def test_measure_then_compare(shell: Shell) -> None:
    shell.write(SMALL + BENCH)
    logs(shell, {"A": 0.88, "B": 0.90, "C": 0.92})
    said = shell("measure", "--json")
    assert said.code == 0
    assert said.document["curves"] == ["bend_tip_tangent_up", "bend_tip_tangent_down"]
    spread = load_spreads(shell.folder / "results")["bend_tip_tangent_up"]
    assert spread.n_fingers == 3
    assert spread.mean[-1] == pytest.approx(90.0, abs=0.05)
    assert (shell.folder / "results/measured/bend_tip_tangent.png").is_file()
    (raw,) = (shell.folder / "bench-raw").iterdir()
    assert raw.name.endswith("-log.csv")

    predicted(shell)
    said = shell("compare", "--quick", "--json")
    assert said.code == 0
    verdict = said.document["verdicts"]["bend_tip_tangent_up"]
    assert verdict["within_limit"]
    assert verdict["error_there_percent"] == pytest.approx(0.0, abs=0.2)
    assert (shell.folder / "results/compared/bend_tip_tangent_up.png").is_file()
    with (shell.folder / "results/compared/verdicts.csv").open(encoding="utf-8") as stream:
        (row,) = csv.DictReader(stream)
    assert row["within_limit"] == "True"


def test_a_gap_is_told_and_a_changed_project_too(shell: Shell) -> None:
    shell.write(SMALL + BENCH)
    logs(shell, {"A": 0.70})
    assert shell("measure").code == 0
    predicted(shell)
    shell.write((SMALL + BENCH).replace("width_mm = 12.0", "width_mm = 12.5"))
    said = shell("compare", "--quick", "--strict")
    assert said.code == 1
    assert "outside 5 %" in said.out
    assert "one finger only" in said.out
    assert "run it again" in said.out


def test_measure_keeps_the_good_files_and_tells_the_bad_one(shell: Shell) -> None:
    shell.write(SMALL + BENCH)
    logs(shell, {"A": 0.9})
    shell.write("who,P,a\nB,oops,oops\n", "bench/other.csv")
    said = shell("measure", "--json", "--strict")
    assert said.code == 1
    assert said.document["curves"]
    assert any("other.csv" in trouble for trouble in said.document["troubles"])


def test_nothing_measured_and_nothing_predicted(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("measure")
    assert said.code == 2
    assert "declares no files" in said.out
    said = shell("compare")
    assert said.code == 4
    assert "fiddlehead measure first" in said.err


def test_missing_bench_files_are_mistakes(shell: Shell) -> None:
    shell.write(
        SMALL + BENCH.replace("*.csv", "gone.csv").replace('angle_definition = "tip tangent"\n', "")
    )
    said = shell("check")
    assert said.code == 2
    assert "bench.records[1].files" in said.out
    assert "bench.records[1].angle_definition" in said.out


def test_photos_without_a_board_need_a_scale(shell: Shell) -> None:
    shell.write(SMALL + '[[bench.photos]]\nfiles = ["a.jpg"]\nboard = false\n')
    shell.write(b"", "a.jpg")
    said = shell("check")
    assert said.code == 2
    assert "bench.photos[1].pixels_per_mm" in said.out


def test_forms_of_every_protocol_come_back_filled_in(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("protocol", "--json")
    assert said.code == 0
    folder = shell.folder / "results/protocols"
    assert {path.name for path in folder.glob("*.pdf")} >= {
        f"{name}.pdf" for name in (*PROTOCOLS, "board")
    }
    tables = ""
    rng = np.random.default_rng(0)
    for name, protocol in PROTOCOLS.items():
        form = (folder / f"{name}.csv").read_text(encoding="utf-8")
        header = form.splitlines()[-1].split(",")
        rows = [fill(header, number, rng) for number in range(40)]
        shell.write(form + "\n".join(rows) + "\n", f"bench/{name}.csv")
        tables += f'\n[[bench.records]]\nfiles = ["bench/{name}.csv"]\ntest = "{protocol.test}"\n'
        book = load_workbook(folder / f"{name}.xlsx")
        assert [cell.value for cell in book.active[3]] == header
    shell.write(SMALL + tables)
    said = shell("measure", "--json")
    assert said.code == 0, said.out
    document = json.loads((shell.folder / "results/measured/measured.json").read_text())
    assert {record["test"] for record in document["records"]} == {
        protocol.test for protocol in PROTOCOLS.values()
    }
    assert document["life"]["failures"] == 6
    assert "bend_chord_up" in document["curves"]


def fill(header: list[str], number: int, rng: np.random.Generator) -> str:
    """One line as a person would fill it in, whatever the form asks for."""
    rise = number / 39.0
    answers = {
        "finger": f"F{number % 6}" if "cycles" in header else "A",
        "repeat": "1",
        "object": "bowl",
        "time_s": f"{5.0 * number}",
        "pressure_kpa": f"{100.0 * rise:.2f}",
        "tip_tangent_angle_deg": "",
        "chord_angle_deg": f"{45.0 * rise:.2f}",
        "force_n": f"{rise + 0.01 * rng.standard_normal():.3f}",
        "deflection_mm": f"{3.0 * rise:.2f}",
        "temperature_c": "21.5",
        "twist_deg": f"{rise:.2f}",
        "cycles": f"{1000 + 100 * number}",
        "failed": "yes" if number > 30 else "no",
        "picked": "yes",
        "damaged": "no",
    }
    if "time_s" in header and "chord_angle_deg" in header:  # a step: rest, then pressure
        answers["pressure_kpa"] = "0" if number < 5 else "100"
        answers["chord_angle_deg"] = "0" if number < 6 else "45"
    elif "temperature_c" in header and "time_s" in header:  # a decay
        answers["pressure_kpa"] = f"{100.0 - 2.0 * rise:.3f}"
    return ",".join(answers[name] for name in header)


def test_unknown_protocol(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("protocol", "--only", "dance")
    assert said.code == 2
    assert "blocked_force" in said.err


def test_photos_from_project_to_contact_sheet(shell: Shell) -> None:
    from fiddlehead.bench.photos.image import as_jpeg
    from tests.bench.bent import SETUP

    marks = "\n".join(
        f"{name}_marks_mm = {[[round(float(v), 3) for v in mark] for mark in group]}"
        for name, group in (("root", SETUP.root), ("path", SETUP.path), ("tip", SETUP.tip))
    )
    long = SMALL.replace("bellows_count = 2", "bellows_count = 9").replace("100.0", "150.0")
    shell.write(long + f'[[bench.photos]]\nfiles = ["p/*.jpg"]\nfinger = "A"\n{marks}\n')
    for step, pressure in enumerate(1e3 * bent_finger().pressure_mpa):
        picture = photograph(Scene(bent_finger(), SETUP), step, View())
        shell.write(as_jpeg(picture), f"p/f_up_{pressure:.0f}kPa.jpg")
    shell.write(b"no picture", "p/f_up_75kPa.jpg")
    said = shell("measure", "--json")
    assert said.code == 0, said.out
    assert "bend_chord_up" in said.document["curves"]
    spread = load_spreads(shell.folder / "results")["bend_tip_tangent_up"]
    good = np.isfinite(spread.mean)
    truth = np.interp(
        spread.pressure_kpa[good], 1e3 * bent_finger().pressure_mpa, bent_finger().tip_angle_deg
    )
    assert np.abs(spread.mean[good] - truth).max() < 0.6
    assert any("f_up_75kPa.jpg left out" in trouble for trouble in said.document["troubles"])
    assert (shell.folder / "results/measured/contact_sheet_1_1.png").is_file()
    assert Path(shell.folder / "results/measured/marks_1.csv").is_file()
