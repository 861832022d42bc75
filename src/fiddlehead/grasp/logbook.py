"""Every balance of a grasp, written down step by step."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import jax
import numpy as np
from jaxtyping import Float, Shaped

from fiddlehead.grasp.coupling import Balanced, felt_by_all
from fiddlehead.grasp.patch import Patch, measure
from fiddlehead.grasp.scene import Stage
from fiddlehead.grasp.stance import motion_between


class Logbook:
    """What is kept of every balance; ``columns`` gives the arrays of a record."""

    def __init__(
        self, stage: Stage, tell: Callable[[str, float, float], None] | None, began: float
    ) -> None:
        self.stage, self.tell, self.began = stage, tell, began
        self.rows: list[dict[str, Any]] = []
        self.states: list[Balanced] = []
        self.friction = float(stage.scene.friction)

    def write(
        self,
        phase: str,
        found: Balanced,
        pressure_mpa: float,
        load: Float[np.ndarray, "6"],
        share: float = 0.0,
    ) -> None:
        """Keep one balance."""
        patches = self.patches(found)
        self.rows.append(
            {
                "phase": phase,
                "pressure": pressure_mpa,
                "load": np.asarray(load)[:3],
                "motion": motion_between(self.stage.start, found.state.stance),
                "wrench": np.asarray(found.wrench),
                "patches": patches,
                "iterations": int(found.iterations),
                "displacement": np.asarray(self.stage.scene.body.to_nodes(found.state.u)),
            }
        )
        self.states.append(found)
        if self.tell is not None:
            self.tell(phase, share, self.elapsed_s)

    @property
    def elapsed_s(self) -> float:
        """Seconds since the run began."""
        return time.perf_counter() - self.began

    def patches(self, found: Balanced) -> list[Patch]:
        """Contact of a finger of every group."""
        felt = jax.device_get(felt_by_all(self.stage.scene, found.state))
        whole = 2.0 if self.stage.symmetry.half else 1.0
        return [
            measure(jax.tree.map(lambda a, k=k: a[k], felt), self.friction, whole)
            for k in range(len(self.stage.symmetry.groups))
        ]

    def touching(self, step: int = -1) -> bool:
        """Whether the object was between fingers at a step: two or more touched it."""
        patches, groups = self.rows[step]["patches"], self.stage.symmetry.groups
        touched = (len(g) for g, p in zip(groups, patches, strict=True) if p.normal_n > 0.0)
        return sum(touched) >= 2

    def away_mm(self) -> float:
        """How far the object has gone since the approach."""
        return float(np.linalg.norm(self.rows[-1]["motion"][:3]))

    def resistance_n(self, found: Balanced, direction: Float[np.ndarray, "6"]) -> float:
        """Force that a pull along ``direction`` takes, the weight included where it helps."""
        return float(-(np.asarray(found.wrench) @ direction))

    def column(self, name: str) -> Shaped[np.ndarray, "step *part"]:
        """One array over the steps."""
        return np.array([row[name] for row in self.rows])

    def per_group(self, name: str) -> Float[np.ndarray, "step group"]:
        """One number of the patches over steps and groups."""
        return np.array([[getattr(p, name) for p in row["patches"]] for row in self.rows])
