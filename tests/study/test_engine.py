"""A study on the engine itself: batches, pressures, derivatives, and a kill -9."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from fiddlehead.mesh.settings import mesh_settings
from fiddlehead.project.load import load_project
from fiddlehead.project.material import make_material
from fiddlehead.project.study import study_of
from fiddlehead.study.catalogue import BEND, SIZE
from fiddlehead.study.evaluate import evaluate
from fiddlehead.study.explore import explore
from fiddlehead.study.slopes import require_slopes, slopes
from fiddlehead.study.store import Store
from fiddlehead.trials.bend import bend
from tests.cli.command import SMALL
from tests.study.analytic import PATTERN

pytestmark = pytest.mark.slow
DRAFT = mesh_settings("draft")
ROOT = Path(__file__).resolve().parents[2]
STUDY = """
[study]
designs = 12
best = 0
smallest = ["mass_g"]

[study.ranges]
wall_thickness_mm = [1.0, 1.4]
working_pressure_kpa = [60.0, 100.0]
"""


def test_a_batch_with_its_own_pressures_is_each_finger_alone() -> None:
    rows = [
        {"working_pressure_kpa": 100.0},
        {"working_pressure_kpa": 60.0, "wall_thickness_mm": 1.0},
        {"wall_thickness_mm": 30.0},
        {"working_pressure_kpa": 80.0, "modulus_factor": 1.2},
    ]
    found = evaluate(PATTERN, rows, (SIZE, BEND), DRAFT)
    assert [one.status for one in found] == ["complete", "complete", "refused", "complete"]
    design = PATTERN.design(rows[1])
    alone = bend(design.finger, design.law, design.bulk_modulus_mpa, [0.06], mesh_settings=DRAFT)
    values = found[1].values
    # both balanced to 1e-5 of the forces or better
    assert values["tip_angle_deg"] == pytest.approx(alone.tip_angle_deg[-1], rel=1e-4)
    assert values["strain_p95_percent"] == pytest.approx(100 * alone.strain.p95[-1], rel=1e-3)
    assert set(BEND.quantities) | set(SIZE.quantities) >= set(values)
    assert found[3].values["tip_angle_deg"] < 0.8 / 1.15 * found[0].values["tip_angle_deg"]


def test_slopes_are_those_of_differences() -> None:
    """Also along the way from a print's errors to its walls, and by the pressure."""
    row = {"wall_thickness_mm": 1.2, "working_pressure_kpa": 80.0, "flow_error_percent": 0.0,
           "modulus_factor": 1.0}  # fmt: skip
    quantities = ["tip_angle_deg", "mass_g", "working_pressure_kpa"]
    require_slopes(quantities)
    told = slopes(PATTERN, row, quantities, DRAFT)
    steps = {"wall_thickness_mm": 0.02, "working_pressure_kpa": 2.0, "flow_error_percent": 2.0,
             "modulus_factor": 0.02}  # fmt: skip
    ends = [{**row, n: row[n] + s * h} for n, h in steps.items() for s in (1, -1)]
    angle = [one.values["tip_angle_deg"] for one in evaluate(PATTERN, ends, (BEND,), DRAFT)]
    for k, (name, step) in enumerate(steps.items()):
        between = (angle[2 * k] - angle[2 * k + 1]) / (2 * step)
        assert told.of["tip_angle_deg"][name] == pytest.approx(between, rel=0.01)  # second order
    assert told.of["mass_g"]["flow_error_percent"] > 0.0
    assert told.of["working_pressure_kpa"]["working_pressure_kpa"] == pytest.approx(1.0)
    assert told.of["mass_g"]["modulus_factor"] == 0.0


EXPLORE = """
import sys
from pathlib import Path
from tests.study.test_engine import explored
explored(Path(sys.argv[1]))
"""


def explored(place: Path) -> np.ndarray:
    """Explore the study of a folder; everything found but wall times."""
    project = load_project(place)
    study = study_of(project, make_material(project, "2026-11-25").card)
    with Store(place / "studies.sqlite") as store:
        explore(study, store, batch=4, tell=lambda at: sys.stdout.write(f"{at.done}\n"))
        return content(store)


def content(store: Store) -> np.ndarray:
    frame = store.table("first look").sort_values("key")
    return frame.drop(columns=["seconds", "number"]).to_numpy()


def test_an_exploration_killed_between_batches_goes_on_and_ends_the_same(tmp_path: Path) -> None:
    """The child is killed with a batch in flight; here the rest, and beside it the whole."""
    whole, cut = tmp_path / "whole", tmp_path / "cut"
    for place in (whole, cut):
        place.mkdir()
        (place / "fiddlehead.toml").write_text(SMALL + STUDY, encoding="utf-8")
    child = subprocess.Popen(
        [sys.executable, "-u", "-c", EXPLORE, str(cut)], stdout=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}, cwd=ROOT,
    )  # fmt: skip
    assert child.stdout is not None
    assert child.stdout.readline() == "4\n"
    time.sleep(0.3)
    child.send_signal(signal.SIGKILL)
    assert child.wait() == -signal.SIGKILL
    child.stdout.close()
    with Store(cut / "studies.sqlite", write=False) as store:
        assert len(content(store)) in (4, 8)
    after = explored(cut)
    assert len(after) == 12
    assert np.array_equal(after, explored(whole))
