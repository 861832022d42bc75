"""Results made up by formula (constant curvature), so that pictures and files need no solver."""

from __future__ import annotations

import numpy as np

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.mechanics.element import face_functions
from fiddlehead.mechanics.quadrature import FACE_RULE
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.settings import PRESETS
from fiddlehead.trials.buckling import MARGIN_STANDING, buckling_pressure_mpa, buckling_warning
from fiddlehead.trials.records import (
    BendResult,
    BlockResult,
    LateralResult,
    PressResult,
    RunHistory,
    StrainPeaks,
)
from fiddlehead.trials.rig import gripping_faces

FINGER = FingerParameters(
    bellows_count=3,
    flank_angle_deg=90.0,
    pitch_mm=8.0,
    valley_gap_mm=2.0,
    height_mm=12.0,
    valley_height_mm=5.0,
    wall_thickness_mm=1.0,
    roof_thickness_mm=1.0,
    base_thickness_mm=2.0,
    side_wall_thickness_mm=1.0,
    width_mm=12.0,
    channel_width_mm=4.0,
    root_length_mm=5.0,
    tip_length_mm=4.0,
    inlet_bore_mm=2.0,
)
STEPS = 6
PRESSURE_MPA = np.linspace(0.0, 0.1, STEPS)


def made_up_bend(finger: FingerParameters = FINGER, *, outcome: str = "complete") -> BendResult:
    """A finger bent to circular arcs, 90° at 100 kPa."""
    mesh = build_mesh(finger, PRESETS["preview"])
    x, y, _ = mesh.points.T
    length = x.max()
    angles = np.radians(np.linspace(0.0, 90.0, STEPS))
    moved = []
    for angle in angles:
        new = mesh.points.copy()
        if angle > 0:
            turn, radius = angle * x / length, length / angle + y
            new[:, 0], new[:, 1] = radius * np.sin(turn), radius * np.cos(turn) - length / angle
        moved.append(new - mesh.points)
    displacement = np.array(moved)
    tip = int(np.argmin(((mesh.points - [length, 0.0, 0.0]) ** 2).sum(1)))
    path = (mesh.points[tip] + displacement[:, tip])[:, :2]
    node_strain = np.log1p(angles[:, None] * np.maximum(y, 0.0) / length)
    peak = node_strain.max(1)
    return BendResult(
        pressure_mpa=PRESSURE_MPA,
        tip_angle_deg=np.degrees(angles),
        chord_angle_deg=np.degrees(np.arctan2(-path[:, 1], path[:, 0])),
        tip_path_mm=path,
        cavity_volume_mm3=1144.0 * (1.0 + angles),
        strain_energy_mj=50.0 * angles**2,
        smallest_gap_mm=np.full(len(PRESSURE_MPA), np.inf),
        strain=_peaks(peak, mesh.points[int(np.argmax(y))]),
        displacement_mm=displacement,
        node_strain=node_strain,
        mesh=mesh,
        history=_history(outcome),
    )


def made_up_block(preset_deg: float = 0.0, *, outcome: str = "complete") -> BlockResult:
    """A force that rises with pressure."""
    bent = made_up_bend()
    return BlockResult(
        tip_hold="plate",
        preset_angle_deg=preset_deg,
        touch_angle_deg=preset_deg,
        touch_pressure_mpa=0.0,
        pressure_mpa=PRESSURE_MPA,
        force_n=(20.0 - 0.1 * preset_deg) * PRESSURE_MPA,
        contact_distance_mm=np.full(STEPS, 29.0),
        plate_depth_mm=np.full(STEPS, 1e-3),
        hand_bound_n=23.0 * PRESSURE_MPA,
        explanation="",
        strain=bent.strain,
        displacement_mm=0.02 * bent.displacement_mm,
        node_strain=0.02 * bent.node_strain,
        mesh=bent.mesh,
        history=_history(outcome),
    )


def _peaks(peak: np.ndarray, place: np.ndarray) -> StrainPeaks:
    return StrainPeaks(
        peak=peak,
        p95=0.6 * peak,
        place_mm=np.tile(place, (STEPS, 1)),
        region=("roof of bellows 2",) * STEPS,
        in_plane=0.95 * peak,
        across_layers=0.3 * peak,
        across_layers_region=("side wall of bellows 1",) * STEPS,
        smallest=-0.5 * peak,
    )


def _history(outcome: str) -> RunHistory:
    return RunHistory(
        outcome=outcome,
        reason="" if outcome == "complete" else "The pressure reached its maximum.",
        pressure_reached_mpa=0.1,
        solves=20,
        solves_at_step=np.arange(STEPS) * 4,
        cuts=0,
        tolerance=1e-8,
        elapsed_s=1.5,
        batch=1,
        unknowns=1234,
    )


def made_up_lateral(
    stability_at_end: float = 0.9, *, unstable: int = 0, outcome: str = "complete"
) -> LateralResult:
    """Stiffness and stability that change on a straight line; the last ``unstable`` steps fell."""
    bent = made_up_bend()
    stability = np.linspace(1.0, stability_at_end, STEPS)
    shapes = (np.arange(STEPS) >= STEPS - unstable).astype(int)
    buckling = buckling_pressure_mpa(PRESSURE_MPA, stability, shapes)
    return LateralResult(
        pressure_mpa=PRESSURE_MPA,
        tip_angle_deg=bent.tip_angle_deg,
        stiffness_n_per_mm=0.8 * stability,
        twist_deg_per_n=np.full(STEPS, 0.1),
        stability=stability,
        unstable_shapes=shapes,
        buckling_pressure_mpa=buckling,
        warning=buckling_warning(PRESSURE_MPA, shapes, buckling),
        margin_standing=MARGIN_STANDING,
        weakest_mm=np.ones_like(bent.displacement_mm) * [0.0, 0.0, 1.0],
        displacement_mm=bent.displacement_mm,
        mesh=bent.mesh,
        history=_history(outcome),
    )


def made_up_press(
    name: str = "bowl", *, softer: float = 1.0, outcome: str = "complete"
) -> PressResult:
    """A round patch in the middle of the gripping face; ``softer`` spreads the same force."""
    bent = made_up_bend()
    mesh = bent.mesh
    faces = gripping_faces(mesh)
    values, _ = face_functions(FACE_RULE.points)
    middle = np.einsum("qa,fai->fqi", values, mesh.points[faces])
    share = np.linspace(0.0, 1.0, STEPS)
    radius = 5.0 * np.sqrt(softer)

    def pressure(points: np.ndarray) -> np.ndarray:
        off = (np.hypot(points[..., 0] - 18.0, points[..., 2]) / radius) ** 2
        return 0.06 / softer * np.sqrt(np.maximum(1.0 - off, 0.0))

    nodes = pressure(mesh.points) * (np.abs(mesh.points[:, 1]) < 1e-9)
    points = pressure(middle).ravel()
    area = np.full((STEPS, len(points)), 0.9)
    at = share[:, None]
    x = np.linspace(5.0, 31.0, 40)
    return PressResult(
        object_name=name,
        friction_coefficient=0.4,
        touch_at_mm=18.0,
        threshold_mpa=0.001,
        pressure_mpa=PRESSURE_MPA,
        grip_force_n=2.0 * share,
        force_n=np.stack([0.1 * share, -2.0 * share], axis=1),
        normal_force_n=2.0 * share,
        tangential_force_n=0.2 * share,
        peak_mpa=0.06 / softer * share,
        p95_mpa=0.05 / softer * share,
        mean_mpa=0.04 / softer * share,
        contact_area_mm2=50.0 * softer * share,
        area_ratio=0.2 * share,
        perimeter_fraction=0.1 * share,
        rms_gap_mm=0.2 * share,
        pressure_uniformity=np.full(STEPS, 1.25),
        pad_closure=0.3 * share,
        smallest_void_mm=np.full(STEPS, np.inf),
        points_touching=np.arange(STEPS) * 10,
        point_pressure_mpa=at * points,
        point_area_mm2=area,
        contact_node_mpa=at * nodes,
        profile_mm=np.stack([x, -((x - 18.0) ** 2) / 40.0 - 1.0], axis=1),
        strain=bent.strain,
        displacement_mm=0.1 * bent.displacement_mm,
        node_strain=bent.node_strain,
        mesh=mesh,
        history=_history(outcome),
    )
