"""Rigid grasps against an independent rigid-body physics library (mujoco, from the package index).

Three rigid fingers press on a ball with constant forces along fixed rails; gravity is raised step
by step in simulated time until the ball falls out. The library's contacts are slightly soft and its
friction creeps, so the load at which it lets go is found to a few percent only; the tolerance is
4 %.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from fiddlehead.grasp.balance import load_range
from fiddlehead.grasp.wrench import contacts

RADIUS_MM, PUSH_N, FRICTION, MASS_KG = 25.0, 2.0, 0.5, 0.1


def scene(fingers: int) -> str:
    """Flat fingers on rails towards the axis; lengths in m."""
    radius, depth = 1e-3 * RADIUS_MM, 0.005
    bodies, motors = [], []
    for k in range(fingers):
        turn = 2 * math.pi * k / fingers
        x, y = (radius + depth) * math.cos(turn), (radius + depth) * math.sin(turn)
        inward = f"{-math.cos(turn)} {-math.sin(turn)} 0"
        bodies.append(
            f'<body pos="{x} {y} 0" euler="0 0 {math.degrees(turn)}">'
            f'<joint name="rail{k}" type="slide" axis="-1 0 0" damping="2"/>'
            f'<geom type="box" size="{depth} 0.01 0.02" mass="0.05" friction="{FRICTION}"/></body>'
        )
        motors.append(f'<motor joint="rail{k}" gear="1"/>')
        del inward
    return f"""
    <mujoco>
      <option timestep="0.0005" cone="elliptic" impratio="100" gravity="0 0 0"
              noslip_iterations="10"/>
      <worldbody>
        {"".join(bodies)}
        <body name="ball"><freejoint/>
          <geom type="sphere" size="{radius}" mass="{MASS_KG}" friction="{FRICTION}" condim="3"/>
        </body>
      </worldbody>
      <actuator>{"".join(motors)}</actuator>
    </mujoco>"""


def carried_n(fingers: int) -> float:
    """Weight at which the simulated ball falls, by raising gravity slowly."""
    mujoco = pytest.importorskip("mujoco")
    model = mujoco.MjModel.from_xml_string(scene(fingers))
    data = mujoco.MjData(model)
    data.ctrl[:] = PUSH_N
    for _ in range(600):
        mujoco.mj_step(model, data)
    ball = model.body("ball").id
    start = data.xpos[ball][2]
    expected = fingers * PUSH_N * FRICTION
    for share in np.arange(0.7, 1.4, 0.01):
        model.opt.gravity[2] = -share * expected / MASS_KG
        for _ in range(300):
            mujoco.mj_step(model, data)
        if data.xpos[ball][2] < start - 0.002:
            return float(share * expected)
    return math.inf


@pytest.mark.parametrize("fingers", [2, 3])
def test_load_at_which_a_ball_falls(fingers: int) -> None:
    turn = 2 * np.pi * np.arange(fingers) / fingers
    place = RADIUS_MM * np.column_stack([np.cos(turn), np.sin(turn), 0 * turn])
    found = contacts(place, -place, FRICTION)
    _, high = load_range(found, np.full(fingers, PUSH_N), np.array([0, 0, -1.0, 0, 0, 0]))
    assert carried_n(fingers) == pytest.approx(high, rel=0.04)
