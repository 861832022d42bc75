"""Writes ``data/greenware_refined.csv``: the demo finger on a mesh cut in two along every edge.

Minutes on a GPU, hours on two cores, so its numbers are kept. Run it again when the demo project,
the meshing or the element changes: ``python -m tests.published.refine_greenware``.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from fiddlehead.files import write_text
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.project.load import Project, load_project
from fiddlehead.project.material import make_material
from fiddlehead.trials.bend import bend

PROJECT = Path(__file__).parents[2] / "examples" / "greenware"
KEPT = Path(__file__).parent / "data" / "greenware_refined.csv"
PRESSURES_KPA = (50.0, 100.0, 150.0)
COLUMNS = "pressure_kpa,tip_angle_deg,tip_x_mm,tip_y_mm,cavity_volume_mm3"


def demo() -> tuple[Project, Any]:
    """The demo project and its material card."""
    project = load_project(PROJECT)
    return project, make_material(project, "2026-01-01").card


def bend_demo(mesh: MeshSettings, more_kpa: Iterable[float] = ()) -> Any:
    """Free bending of the demo finger at the three pressures, and at more."""
    project, card = demo()
    pressures = [p / 1000 for p in sorted({*PRESSURES_KPA, *more_kpa})]
    return bend(project.finger, card.law(), card.bulk_modulus_mpa, pressures, mesh_settings=mesh)


def rows(result: Any) -> np.ndarray:
    """The kept quantities at the three pressures, in the order of ``COLUMNS``."""
    table = np.column_stack(
        [
            1000 * result.pressure_mpa,
            result.tip_angle_deg,
            result.tip_path_mm,
            result.cavity_volume_mm3,
        ]
    )
    return table[np.isin(np.round(table[:, 0], 6), PRESSURES_KPA)]


def keep(table: np.ndarray, note: str) -> None:
    """Write the table with its origin on the first line."""
    lines = [",".join(f"{value:.6f}" for value in row) for row in table]
    write_text(KEPT, "\n".join([f"# {note}", COLUMNS, *lines, ""]))


if __name__ == "__main__":
    refined = demo()[0].mesh.refined(2)
    result = bend_demo(refined)
    count = len(result.mesh.elements)
    keep(rows(result), f"own result, {count} bricks: the standard mesh cut in two along every edge")
