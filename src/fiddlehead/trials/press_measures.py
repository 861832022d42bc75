"""What is read from a finger that presses on an object: force, contact pressure, fit."""

from __future__ import annotations

import dataclasses
from typing import Any, NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float, Int

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.contact import Obstacle, Past, feel, wrench
from fiddlehead.mechanics.loads import Solid, face_positions
from fiddlehead.mechanics.pressure import FACE_VALUES, FACE_WEIGHTS
from fiddlehead.mesh.records import Mesh
from fiddlehead.trials.placing import Standing, heights_under, overlooked_area_mm2
from fiddlehead.trials.records import PressResult, RunHistory
from fiddlehead.trials.strains import BUILD_AXIS, Strains, strain_peaks, strains
from fiddlehead.trials.touch import smallest_gaps

OUTLINE_PLACES = 201
QUANTILE = 0.95


class Pressed(NamedTuple):
    """What is kept of one finger's balanced states (of the modelled half)."""

    displacement: Float[Array, "step node 3"]
    wrench: Float[Array, "step 6"]
    pressure: Float[Array, "step contact_face point"]
    """Over the deformed area, MPa."""
    friction: Float[Array, "step contact_face point"]
    gap: Float[Array, "step contact_face point"]
    normal: Float[Array, "step contact_face point 3"]
    position: Float[Array, "step contact_face point 3"]
    area: Float[Array, "step contact_face point"]
    """Deformed, mm²."""
    at_nodes: Float[Array, "step node"]
    void: Float[Array, " step"]
    strains: Strains


def observe_pressing(
    body: Body,
    solid: Solid,
    rows: Float[Array, "step row"],
    obstacle: Obstacle,
    past: Past,
    build_orientation: str = "side",
) -> Pressed:
    """Everything of every step; traceable by JAX."""
    faces = body.contact_faces
    share = FACE_WEIGHTS[:, None] * jnp.abs(FACE_VALUES)

    def one(step: tuple[Array, Past]) -> Any:
        u, kept = step
        met = dataclasses.replace(obstacle, past=kept)
        x = face_positions(body, solid, faces, u)
        felt = feel(met, solid.points[faces], x)
        stretch = felt.area / felt.current_area
        pressure = felt.pressure * stretch
        summed = jnp.zeros(len(body.row)).at[faces].add(pressure @ share)
        weight = jnp.zeros(len(body.row)).at[faces].add(share.sum(0)[None])
        nodal = summed / jnp.where(weight > 0, weight, 1.0)
        friction = jnp.linalg.norm(felt.friction, axis=-1) * stretch
        return (
            wrench(met, felt), pressure, friction, felt.gap, felt.normal, felt.position,
            felt.current_area, nodal,
        )  # fmt: skip

    measured = jax.lax.map(one, (rows, past))
    named: dict[str, Any] = dict(zip(Pressed._fields[1:9], measured, strict=True))
    return Pressed(
        displacement=body.to_nodes(rows),
        void=smallest_gaps(body, solid, rows),
        strains=strains(body, solid, rows, BUILD_AXIS[build_orientation]),
        **named,
    )


def press_result(
    found: Pressed,
    finger: FingerParameters,
    mesh: Mesh,
    rule: str,
    pressures_mpa: Float[np.ndarray, " step"],
    standing: Standing,
    run: RunHistory,
    *,
    object_name: str,
    friction_coefficient: float,
    threshold_mpa: float,
) -> PressResult:
    """The record of the steps that were met; ``found`` may hold more."""
    met = len(run.solves_at_step)
    kept = jax.tree.map(lambda a: np.asarray(a)[:met], found)
    flat = {n: getattr(kept, n).reshape(met, -1) for n in ("pressure", "friction", "area", "gap")}
    pressure, area = flat["pressure"], flat["area"]
    over = pressure >= threshold_mpa
    contact_area = 2.0 * (area * over).sum(1)
    push = (pressure * area * over).sum(1)
    mean = _ratio(2.0 * push, contact_area)
    p95 = np.array(
        [area_quantile(p[o], a[o]) for p, a, o in zip(pressure, area, over, strict=True)]
    )
    force = 2.0 * kept.wrench[:, :2]
    underside = len(mesh.faces["underside"]) * len(FACE_WEIGHTS)
    return PressResult(
        object_name=object_name,
        friction_coefficient=friction_coefficient,
        touch_at_mm=standing.touch_at_mm,
        threshold_mpa=threshold_mpa,
        pressure_mpa=pressures_mpa[:met],
        grip_force_n=np.linalg.norm(force, axis=1),
        force_n=force,
        normal_force_n=2.0 * (pressure * area).sum(1),
        tangential_force_n=2.0 * (flat["friction"] * area).sum(1),
        peak_mpa=pressure.max(1),
        p95_mpa=p95,
        mean_mpa=mean,
        contact_area_mm2=contact_area,
        area_ratio=contact_area / max(overlooked_area_mm2(standing.placed, finger), 1e-9),
        perimeter_fraction=_perimeter_fraction(kept, over),
        rms_gap_mm=_rms_gap(
            flat["gap"][:, :underside],
            kept.position.reshape(met, -1, 3)[:, :underside],
            area[:, :underside],
            over[:, :underside],
            mesh,
        ),
        pressure_uniformity=_ratio(p95, mean),
        pad_closure=pad_closure(mesh, kept.displacement, finger.pad_depth_mm),
        smallest_void_mm=kept.void,
        points_touching=over.sum(1),
        point_pressure_mpa=pressure,
        point_area_mm2=area,
        contact_node_mpa=kept.at_nodes,
        profile_mm=object_outline(standing, finger),
        strain=strain_peaks(kept.strains, mesh, rule, met),
        displacement_mm=kept.displacement,
        node_strain=kept.strains.at_nodes,
        mesh=mesh,
        history=run,
    )


def area_quantile(
    pressure_mpa: Float[np.ndarray, " point"],
    area_mm2: Float[np.ndarray, " point"],
    share: float = QUANTILE,
) -> float:
    """Pressure below which ``share`` of the area lies, MPa; 0 where nothing touches."""
    if not len(pressure_mpa):
        return 0.0
    order = np.argsort(pressure_mpa)
    filled = np.cumsum(area_mm2[order])
    return float(pressure_mpa[order[np.searchsorted(filled, share * filled[-1])]])


def _ratio(over: Any, under: Any) -> Float[np.ndarray, " step"]:
    return np.divide(over, under, out=np.zeros_like(over), where=under > 0)


def _perimeter_fraction(kept: Pressed, over: Any) -> Float[np.ndarray, " step"]:
    """Turn of the contact normals between the outermost that touch, over a whole turn."""
    met = len(over)
    normal = kept.normal.reshape(met, -1, 3)
    angle = np.arctan2(normal[..., 0], normal[..., 1])  # from +y, where the straight finger is
    turned = [np.ptp(a[o]) if o.any() else 0.0 for a, o in zip(angle, over, strict=True)]
    return np.asarray(turned) / (2 * np.pi)


def _rms_gap(
    gap: Any, position: Any, area: Any, over: Any, mesh: Mesh
) -> Float[np.ndarray, " step"]:
    """Over the gripping face between the first and the last place along it that touches."""
    faces = mesh.faces["underside"]
    along = np.einsum("qa,fa->fq", np.asarray(FACE_VALUES), mesh.points[faces, 0]).ravel()
    found = []
    for g, a, o in zip(gap, area, over, strict=True):
        if not o.any():
            found.append(0.0)
            continue
        between = (along >= along[o].min() - 1e-9) & (along <= along[o].max() + 1e-9)
        square = np.maximum(g[between], 0.0) ** 2
        found.append(float(np.sqrt((square * a[between]).sum() / a[between].sum())))
    return np.asarray(found)


def pad_closure(
    mesh: Mesh, displacement_mm: Float[np.ndarray, "step node 3"], depth_mm: float
) -> Float[np.ndarray, " step"]:
    """Largest share of the pad's depth that is squeezed away, between facing places of the base
    layer and the contact skin's outer face; 0 for a bare finger."""
    if depth_mm <= 0:
        return np.zeros(len(displacement_mm))
    skin, base = _facing_places(mesh)
    x = mesh.points + displacement_mm
    depth = np.linalg.norm(x[:, skin] - x[:, base], axis=2)
    return 1.0 - (depth / depth[:1]).min(1)


def _facing_places(mesh: Mesh) -> tuple[Int[np.ndarray, " node"], Int[np.ndarray, " node"]]:
    """Nodes of the gripping face, and for each the node of the base's inner face above it."""
    skin = np.unique(mesh.faces["underside"])
    base = np.flatnonzero(np.abs(mesh.points[:, 1]) < 1e-9)
    apart = np.abs(mesh.points[skin][:, None, [0, 2]] - mesh.points[base][None, :, [0, 2]])
    return skin, base[(apart[..., 0] + 1e3 * apart[..., 1]).argmin(1)]


def object_outline(standing: Standing, finger: FingerParameters) -> Float[np.ndarray, "place 2"]:
    """Upper outline of the object in the mid-plane, x and y in mm."""
    x = np.linspace(-0.5 * finger.length_mm, 1.6 * finger.length_mm, OUTLINE_PLACES)
    at = np.stack([x, np.zeros(len(x))], axis=1)
    y = heights_under(standing.placed, at, -finger.pad_depth_mm + 1.0)
    seen = ~np.isnan(y)
    return np.stack([x[seen], y[seen]], axis=1)
