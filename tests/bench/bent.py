"""A bent finger kept in a file, so that photos need no solver; run as a program, it is made anew.

Seven bellows, preview mesh, free bending to 150 kPa; four steps, single precision.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np

from fiddlehead.bench.photos.layout import dot_layout
from fiddlehead.bench.photos.records import Setup
from fiddlehead.mesh.records import Mesh
from fiddlehead.report.surface import OUTER
from fiddlehead.trials.records import BendResult, RunHistory, StrainPeaks

FILE = Path(__file__).parent / "data" / "bent_finger.npz"
STEPS = (0, 2, 4, 6)
LENGTH_MM = 85.92004861111111
SETUP: Setup = dot_layout(
    length_mm=LENGTH_MM,
    root_length_mm=10.0,
    tip_length_mm=5.0,
    height_mm=18.0,
    valley_height_mm=8.0,
    pitch_mm=11.0,
)


@cache
def bent_finger() -> BendResult:
    """The kept result; parts a photo does not show are empty."""
    with np.load(FILE) as stored:
        kept = {name: stored[name].astype(float) for name in stored.files}
    return as_result(kept)


def as_result(kept: dict[str, np.ndarray]) -> BendResult:
    """A result from its shapes and angles."""
    steps, nodes = kept["displacement_mm"].shape[:2]
    none = np.zeros(steps)
    faces = {name: kept[f"face_{name}"].astype(int) for name in OUTER if f"face_{name}" in kept}
    return BendResult(
        pressure_mpa=kept["pressure_mpa"],
        tip_angle_deg=kept["tip_angle_deg"],
        chord_angle_deg=kept["chord_angle_deg"],
        tip_path_mm=kept["tip_path_mm"],
        cavity_volume_mm3=none,
        strain_energy_mj=none,
        smallest_gap_mm=np.full(steps, np.inf),
        strain=StrainPeaks(
            peak=none,
            p95=none,
            place_mm=np.zeros((steps, 3)),
            region=("",) * steps,
            in_plane=none,
            across_layers=none,
            across_layers_region=("",) * steps,
            smallest=none,
        ),
        displacement_mm=kept["displacement_mm"],
        node_strain=np.zeros((steps, nodes)),
        mesh=Mesh(kept["points"], np.zeros((0, 20), int), (), np.zeros(0, int), faces),
        history=RunHistory(
            outcome="complete",
            reason="",
            pressure_reached_mpa=float(kept["pressure_mpa"][-1]),
            solves=0,
            solves_at_step=np.zeros(steps, int),
            cuts=0,
            tolerance=0.0,
            elapsed_s=0.0,
            batch=1,
            unknowns=0,
        ),
    )


def shapes_of(result: BendResult, steps: tuple[int, ...]) -> dict[str, np.ndarray]:
    """What a photo shows of a result, on the outer nodes only."""
    sets = {name: result.mesh.faces[name] for name in OUTER if name in result.mesh.faces}
    used = np.unique(np.concatenate(list(sets.values())))
    faces = {
        f"face_{name}": np.searchsorted(used, part).astype(np.int16) for name, part in sets.items()
    }
    chosen = list(steps)
    return {
        **faces,
        "points": result.mesh.points[used].astype(np.float32),
        "displacement_mm": result.displacement_mm[chosen][:, used].astype(np.float32),
        "pressure_mpa": result.pressure_mpa[chosen],
        "tip_angle_deg": result.tip_angle_deg[chosen],
        "chord_angle_deg": result.chord_angle_deg[chosen],
        "tip_path_mm": result.tip_path_mm[chosen],
    }


def main() -> None:
    """Bend the finger and keep it."""
    import dataclasses

    from fiddlehead.trials.bend import bend
    from tests.trials.made import BULK_MPA, COARSE, LAW, SMALL

    finger = dataclasses.replace(SMALL, bellows_count=7, root_length_mm=10.0)
    result = bend(finger, LAW, BULK_MPA, np.linspace(0.025, 0.15, 6), mesh_settings=COARSE)
    np.savez_compressed(FILE, **shapes_of(result, STEPS))


if __name__ == "__main__":
    main()
