"""A grasp seen from the side: fingers as their mid-plane sections, the object as a solid body."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from jaxtyping import Float

from fiddlehead.grasp.records import GraspRun, Sight, skin_at
from fiddlehead.report.figures.style import BODY, FAINT, INK, LINES

CLAY = np.array([0.76, 0.56, 0.45])
LIGHT = np.array([-0.35, -0.55, 0.76])
YAW_DEG = 18.0
"""The viewer stands beside the first finger's plane, so that no two fingers hide each other."""
TILT_DEG = 12.0


@dataclass(frozen=True, eq=False)
class Scene:
    """Patches far to near, in mm to the right and up."""

    object_patches: Float[np.ndarray, "patch 4 2"]
    object_light: Float[np.ndarray, " patch"]
    object_depth: float
    fingers: tuple[Float[np.ndarray, "face 4 2"], ...]
    finger_depth: Float[np.ndarray, " finger"]

    @property
    def extent(self) -> tuple[float, float, float, float]:
        """Left, right, bottom, top."""
        every = np.concatenate([self.object_patches, *self.fingers]).reshape(-1, 2)
        low, high = every.min(0), every.max(0)
        return float(low[0]), float(high[0]), float(low[1]), float(high[1])


def view(yaw_deg: float = YAW_DEG, tilt_deg: float = TILT_DEG) -> Float[np.ndarray, "3 3"]:
    """Rows: right, up, towards the viewer, for a viewer turned and raised by these angles."""
    a, b = np.radians(yaw_deg), np.radians(tilt_deg)
    right = np.array([np.cos(a), np.sin(a), 0.0])
    near = np.array([np.sin(a) * np.cos(b), -np.cos(a) * np.cos(b), np.sin(b)])
    return np.stack([right, np.cross(near, right), near])


def scene_at(run: GraspRun, step: int) -> Scene:
    """All fingers and the object at one step."""
    mesh = run.mesh
    middle = mesh.faces["symmetry"] if len(mesh.faces["symmetry"]) else mesh.faces["midplane"]
    fingers = []
    for finger, place in enumerate(run.place):
        moved = mesh.points + run.displacement_mm[step, run.group[finger]]
        fingers.append((moved @ place[:, :3].T + place[:, 3])[middle[:, :4]])
    return look(skin_at(run, step), fingers)


def look(
    skin: Float[np.ndarray, "row column 3"], fingers: list[Float[np.ndarray, "face 4 3"]]
) -> Scene:
    """Project everything."""
    frame = view()
    quads = np.stack([skin[:-1, :-1], skin[:-1, 1:], skin[1:, 1:], skin[1:, :-1]], axis=2)
    quads = quads.reshape(-1, 4, 3)
    normal = np.cross(quads[:, 2] - quads[:, 0], quads[:, 3] - quads[:, 1])
    size = np.linalg.norm(normal, axis=1)
    normal = normal / np.where(size > 0, size, 1.0)[:, None]
    seen = (normal @ frame[2] > 0.0) & (size > 1e-9)
    placed = quads[seen] @ frame.T
    order = np.argsort(placed[:, :, 2].mean(1))
    light = np.clip(normal[seen] @ (LIGHT / np.linalg.norm(LIGHT)), 0.0, 1.0)
    flat = [finger @ frame.T for finger in fingers]
    return Scene(
        object_patches=placed[order][:, :, :2],
        object_light=light[order],
        object_depth=float((skin.reshape(-1, 3) @ frame[2]).mean()),
        fingers=tuple(f[:, :, :2] for f in flat),
        finger_depth=np.array([float(f[:, :, 2].mean()) for f in flat]),
    )


def sight_scene(sight: Sight) -> Scene:
    """A small picture: fingers as bands along their gripping faces."""
    bands = []
    for face in sight.faces_mm:
        along = np.gradient(face, axis=0)
        along /= np.linalg.norm(along, axis=1, keepdims=True)
        radial = np.array([face[0, 0], face[0, 1], 0.0])
        radial /= np.linalg.norm(radial) or 1.0
        across = np.cross(radial, [0.0, 0.0, 1.0])
        outward = np.cross(across, along)
        outward *= np.sign(outward[0] @ radial) or 1.0
        back = face + 9.0 * outward
        bands.append(np.stack([face[:-1], face[1:], back[1:], back[:-1]], axis=1))
    return look(sight.skin_mm, bands)


def draw_scene(axes: Any, scene: Scene, *, edges: bool = True) -> None:
    """Put a scene on axes of equal scale, far things first."""
    from matplotlib.collections import PolyCollection

    def fingers(numbers: Any) -> None:
        for number in numbers:
            axes.add_collection(
                PolyCollection(
                    list(scene.fingers[number]),
                    facecolors=BODY,
                    edgecolors=FAINT if edges else BODY,
                    linewidths=0.3,
                    rasterized=True,
                )
            )

    order = np.argsort(scene.finger_depth)
    fingers([k for k in order if scene.finger_depth[k] < scene.object_depth - 1e-6])
    colours = CLAY[None] * (0.62 + 0.38 * scene.object_light)[:, None]
    axes.add_collection(
        PolyCollection(
            list(scene.object_patches), facecolors=colours, edgecolors=colours, linewidths=0.4,
            rasterized=True,
        )
    )  # fmt: skip
    fingers([k for k in order if scene.finger_depth[k] >= scene.object_depth - 1e-6])
    left, right, bottom, top = scene.extent
    axes.plot([left - 2, right + 2], [top + 1.0] * 2, color=INK, linewidth=2.0)
    axes.set_aspect("equal")
    axes.set_axis_off()
    axes.grid(False)
    axes.set_xlim(left - 6, right + 6)
    axes.set_ylim(bottom - 4, top + 6)


def outcome_colour(held: bool, reason: str, least: float, wanted: float) -> str:
    """Blue for held well, orange for held with a small margin or harmed, vermilion for lost."""
    if not held:
        return LINES[1]
    return LINES[0] if not reason and least >= wanted else LINES[4]
