"""How likely a grasp succeeds when friction, pressure, place, size and mass scatter."""

from __future__ import annotations

import dataclasses
from collections import Counter

import numpy as np
from scipy.stats import beta

from fiddlehead.errors import ParameterError
from fiddlehead.grasp import margins
from fiddlehead.grasp.approach import room_mm
from fiddlehead.grasp.balance import balanced
from fiddlehead.grasp.estimate import OFF_BALANCE, rigid, why_lost
from fiddlehead.grasp.gripper import Gripper
from fiddlehead.grasp.records import Chance
from fiddlehead.grasp.task import Held, Task
from fiddlehead.grasp.touch import FAR, FingerMotion, centred, setting

MOST = 20000


@dataclasses.dataclass(frozen=True, kw_only=True)
class Spread:
    """Standard deviations of what scatters; defaults are our choice, measure your own."""

    friction_share: float = 0.15
    """Of the coefficient."""
    pressure_share: float = 0.03
    position_mm: float = 2.0
    """Of the object's place, in each horizontal direction."""
    size_share: float = 0.02
    mass_share: float = 0.05


def chance(
    motion: FingerMotion,
    gripper: Gripper,
    held: Held,
    task: Task,
    spread: Spread = Spread(),
    *,
    trials: int = 300,
    seed: int = 0,
    force_factor: float = 1.0,
) -> Chance:
    """Draw grasps, judge each by the fast estimate, and count.

    Friction is drawn log-normal, the rest normal. A grasp succeeds when it is held unharmed.

    Parameters
    ----------
    force_factor : the full run's normal force over that of the estimate, to bring the one to the
        other

    Raises
    ------
    ParameterError : spreads or a number of trials that make no sense
    """
    values = dataclasses.asdict(spread)
    if not 1 <= trials <= MOST or not all(
        0 <= v < 10 * (1 + n.endswith("mm")) for n, v in values.items()
    ):
        raise ParameterError(
            "no such experiment",
            where="grasp.scatter",
            found=f"{trials} trials, {values}",
            allowed=f"1 to {MOST} trials, deviations of 0 or more",
        )
    random = np.random.default_rng(seed)
    draw = random.standard_normal((6, trials))
    width = np.sqrt(np.log1p(spread.friction_share**2))
    friction = held.record.friction_coefficient * np.exp(width * draw[0] - width**2 / 2)
    pressure = task.pressure_mpa * np.maximum(1.0 + spread.pressure_share * draw[1], 0.0)
    offset = spread.position_mm * draw[2:4].T
    scale = np.maximum(1.0 + spread.size_share * draw[4], 0.2)
    mass = 1e-3 * held.record.mass_g * np.maximum(1.0 + spread.mass_share * draw[5], 0.05)
    still = setting(motion, gripper, held, task)
    failures: Counter[str] = Counter()
    room = room_mm(gripper, held, task)
    for k in range(trials):
        taken = np.linalg.norm(offset[k]) + (scale[k] - 1.0) * held.radius_mm
        if room < taken:
            failures["does not fit"] += 1
            continue
        given = dataclasses.replace(
            still,
            pressure_mpa=pressure[k] * gripper.shares,
            position_mm=still.position_mm + np.append(offset[k], 0.0),
            scale=float(scale[k]),
        )
        meeting, shift, left = centred(given)
        normal = force_factor * meeting.normal_n
        if (meeting.touch_mpa >= np.minimum(given.pressure_mpa, FAR)).any():
            failures["not reached"] += 1
            continue
        if left > OFF_BALANCE:
            failures["pushed away"] += 1
            continue
        centre = given.position_mm + np.append(shift, 0.0)
        pressed = dataclasses.replace(meeting, normal_n=normal)
        contacts, peak = rigid(pressed, centre, float(friction[k]), gripper, motion)
        loads = margins.loads(float(mass[k]), task.shake_m_per_s2)
        if not all(balanced(contacts, normal, load) for load in loads[margins.MAIN]):
            reason = why_lost(contacts, normal, float(mass[k]), task.shake_m_per_s2)
            failures[reason] += 1
            continue
        damage, _ = margins.damage_margin(held.record, peak, float(normal.max()))
        if damage is not None and damage < 1.0:
            failures["crushed"] += 1
    failed = sum(failures.values())
    low, high = success_limits(trials - failed, trials)
    return Chance(
        trials=trials,
        successes=trials - failed,
        low=low,
        high=high,
        failures=dict(failures),
        spread=values,
        seed=seed,
    )


def success_limits(successes: int, trials: int) -> tuple[float, float]:
    """Exact two-sided 95 % limits of a probability.

    Source: Clopper & Pearson (1934), Biometrika 26, 404-413.
    """
    low = beta.ppf(0.025, successes, trials - successes + 1) if successes else 0.0
    high = beta.ppf(0.975, successes + 1, trials - successes) if successes < trials else 1.0
    return float(low), float(high)
