"""Invents the filled result sheet in ``coupons/``: no coupon was printed, no leak measured.

A truth is made up on purpose, so that the analysis can be seen to find it: more flow seals, thick
layers leak, heat helps, speed harms; flow helps most where layers are thick. More flow also makes
thicker, stiffer walls. A spool differs from the next, coupons scatter, the worst cannot be brought
to pressure. Same seed, same bytes.

    python examples/greenware/invent_coupons.py
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np

from fiddlehead.fabricate.experiment_plan import ExperimentPlan
from fiddlehead.fabricate.experiment_sheet import blank_rows
from fiddlehead.files import write_text
from fiddlehead.project.experiment import experiment_plan
from fiddlehead.project.load import load_project

FLOW, LAYER, HEAT, SPEED = 0, 1, 2, 3
"""Places of the settings in the plan."""
HOLDS_BELOW, TOO_LEAKY = 0.6, 9.0
"""cm³/min."""
SEED = 20261125


def log_leak(coded: np.ndarray) -> float:
    """The made-up truth: base-10 logarithm of the leak at coded settings."""
    flow, layer, heat, speed = coded[[FLOW, LAYER, HEAT, SPEED]]
    return 0.15 - 0.55 * flow + 0.35 * layer - 0.2 * heat + 0.12 * speed - 0.2 * flow * layer


def sheet_text(plan: ExperimentPlan) -> str:
    """The filled sheet."""
    rng = np.random.default_rng(SEED)
    rows = blank_rows(plan)
    for coded, block, row in zip(plan.coded, plan.block, rows[1:], strict=True):
        spool = 0.1 * (block - 1.5)
        leak = 10.0 ** (log_leak(coded) + spool + 0.14 * rng.standard_normal())
        flow, heat = coded[FLOW], coded[HEAT]
        row[-6:] = [
            "" if leak > TOO_LEAKY else f"{leak:.2f}",
            "yes" if leak < HOLDS_BELOW else "no",
            f"{7.8 * (1.0 + 0.045 * flow) + 0.03 * rng.standard_normal():.2f}",
            f"{1.2 * (1.0 + 0.05 * flow) + 0.01 * rng.standard_normal():.2f}",
            f"{12.4 - 0.3 * heat + 0.25 * flow + 0.2 * rng.standard_normal():.1f}",
            "could not be brought to pressure" if leak > TOO_LEAKY else "",
        ]
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()


def invent(project: Path, folder: Path) -> Path:
    """Write the sheet for the plan of a project into ``folder``."""
    plan = experiment_plan(load_project(project).sections.experiment)
    return write_text(folder / "result_sheet.csv", sheet_text(plan))


if __name__ == "__main__":
    here = Path(__file__).parent
    invent(here, here / "coupons")
