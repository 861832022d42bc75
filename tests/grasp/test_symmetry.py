"""What symmetry saves, and what it must not save."""

from __future__ import annotations

import dataclasses

import jax.numpy as jnp
import numpy as np
import pytest

from fiddlehead.grasp.gripper import Gripper
from fiddlehead.grasp.stance import Stance, carried_by, motion_between, rotation
from fiddlehead.grasp.symmetry import symmetry_of
from fiddlehead.grasp.task import ready, standing
from fiddlehead.grasp.whole import whole_mesh
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.quality import mesh_quality
from tests.grasp.made import BALL, TASK, gripper
from tests.trials.made import COARSE, SMALL

BLOCK = dataclasses.replace(
    BALL,
    shape="rounded box",
    sizes={"length_mm": 30.0, "width_mm": 24.0, "height_mm": 20.0, "edge_radius_mm": 2.0},
)


def groups(fingers: int, record: object = BALL, **task: object) -> tuple[bool, int, int]:
    """Half fingers or not, number of groups, number of free motions."""
    held = ready(record)  # type: ignore[arg-type]
    one = gripper(fingers)
    stance = standing(held, one, dataclasses.replace(TASK, **task))  # type: ignore[arg-type]
    found = symmetry_of(one, held.shape, stance)
    return found.half, len(found.groups), found.motions.shape[1]


@pytest.mark.parametrize(
    ("fingers", "record", "task", "expected"),
    [
        (3, BALL, {}, (True, 1, 1)),
        (2, BALL, {}, (True, 1, 1)),
        (6, BALL, {}, (True, 1, 1)),
        (2, BALL, {"offset_mm": (1.0, 0.0)}, (True, 2, 3)),  # within the plane of both fingers
        (2, BALL, {"offset_mm": (0.0, 1.0)}, (False, 2, 6)),
        (3, BALL, {"offset_mm": (1.0, 0.0)}, (False, 3, 6)),
        (2, BLOCK, {}, (True, 1, 1)),
        (4, BLOCK, {}, (True, 2, 1)),
        (2, BLOCK, {"turn_deg": 30.0}, (False, 1, 2)),  # half a turn still maps it onto itself
        (3, BLOCK, {}, (False, 3, 6)),
    ],
)
def test_what_symmetry_leaves(
    fingers: int, record: object, task: dict[str, object], expected: tuple[bool, int, int]
) -> None:
    assert groups(fingers, record, **task) == expected


def test_five_of_six_slots_do_not_balance_by_symmetry() -> None:
    held = ready(BALL)
    one = Gripper(finger=SMALL, directions_deg=(0, 60, 120, 180, 240), pitch_radius_mm=20.0)
    found = symmetry_of(one, held.shape, standing(held, one, TASK))
    assert (found.half, len(found.groups)) == (False, 5)


def test_the_whole_finger_is_two_halves() -> None:
    half = build_mesh(SMALL, COARSE)
    whole = whole_mesh(half)
    assert len(whole.elements) == 2 * len(half.elements)
    assert mesh_quality(whole).scaled_jacobian.min() == pytest.approx(
        mesh_quality(half).scaled_jacobian.min()
    )
    inside = np.zeros(len(half.points), dtype=bool)
    inside[np.unique(half.faces["symmetry"])] = True
    assert len(whole.points) == 2 * len(half.points) - inside.sum()
    for name, faces in whole.faces.items():
        if name in ("symmetry", "midplane"):
            continue
        corner = whole.points[faces[:, :4]]
        normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 3] - corner[:, 0])
        mirrored = normal[len(faces) // 2 :] * np.array([1.0, 1.0, -1.0])
        np.testing.assert_allclose(
            np.sort(mirrored, axis=0), np.sort(normal[: len(faces) // 2], axis=0), atol=1e-9
        )


def test_a_stance_goes_into_a_fingers_axes_and_back() -> None:
    random = np.random.default_rng(0)
    stance = Stance(
        jnp.asarray(random.normal(size=3)),
        rotation(jnp.asarray(random.normal(size=3))),
        jnp.asarray(random.normal(size=3)),
    )
    points = jnp.asarray(random.normal(size=(5, 3)))
    np.testing.assert_allclose(stance.into_world(stance.into_shape(points)), points, atol=1e-12)
    small = 0.3 * random.normal(size=6)
    moved = stance.moved(jnp.asarray(small))
    np.testing.assert_allclose(motion_between(stance, moved), small, atol=1e-12)
    place = jnp.asarray(gripper().place(1))
    seen = stance.seen_from(place)
    world = np.asarray(seen.into_world(stance.into_shape(points)))
    np.testing.assert_allclose(world @ place[:, :3].T + place[:, 3], points, atol=1e-12)
    # a small motion in the finger's axes is the same motion in the gripper's
    there = seen.moved(carried_by(place).T @ jnp.asarray(small))
    again = moved.seen_from(place)
    np.testing.assert_allclose(there.position_mm, again.position_mm, atol=1e-12)
    np.testing.assert_allclose(there.turn, again.turn, atol=1e-12)
