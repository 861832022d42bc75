"""One body in the production solver: the few lines every mechanics test shares."""

from __future__ import annotations

import dataclasses
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np

from fiddlehead.mechanics import balance, loads
from fiddlehead.mechanics.body import make_body
from fiddlehead.mechanics.element import face_functions
from fiddlehead.mechanics.outcome import Outcome
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mechanics.quadrature import FACE_RULE
from fiddlehead.mechanics.solid import strain_energy
from fiddlehead.mechanics.solve import Path, follow, make_loading, make_solid, stack
from fiddlehead.testing.bodies import Body

_unbalanced = jax.jit(balance.out_of_balance)
_volume = jax.jit(loads.cavity_volume)


@jax.jit
def _energy(body: Any, solid: Any, rows: Any) -> Any:
    return strain_energy(body, solid.geometry, solid.law, solid.bulk, rows)


@dataclasses.dataclass(frozen=True)
class Rig:
    """A body, its material and its loads, ready to be solved or only evaluated."""

    body: Any
    solid: Any
    loading: Any
    points: np.ndarray

    def follow(self, stops: Any, settings: PathSettings = PathSettings()) -> Solved:
        """Solve at load factors ``stops`` (a leading 0 is added); every one must be met."""
        path = follow(
            self.body, stack([self.solid]), stack([self.loading]), [0.0, *stops], settings=settings
        )
        assert path.outcome == (Outcome.complete,), path.outcome[0].reason
        return Solved(self, path)

    def rows(self, displacement: np.ndarray) -> Any:
        """Nodal displacements as the solver orders them; inner functions at rest."""
        return self.body.to_rows(jnp.asarray(displacement))

    def unbalanced(self, rows: Any, t: float = 1.0) -> np.ndarray:
        """Internal minus applied nodal forces, N, (node, 3)."""
        force = _unbalanced(self.body, self.solid, self.loading, jnp.asarray(t), jnp.asarray(rows))
        return np.asarray(self.body.to_nodes(force))

    def energy(self, rows: Any) -> float:
        """Stored energy, mJ."""
        return float(_energy(self.body, self.solid, jnp.asarray(rows)))

    def volume(self, rows: Any) -> float:
        """Volume the pressure faces enclose, mm³."""
        return float(_volume(self.body, self.solid, jnp.asarray(rows)))


@dataclasses.dataclass(frozen=True)
class Solved:
    """Balanced states; ``u[k]`` belongs to the k-th stop asked for (not counting the start)."""

    rig: Rig
    path: Path

    @property
    def u(self) -> np.ndarray:
        return self.path.displacement[0, 1:]

    @property
    def rows(self) -> np.ndarray:
        return self.path.rows[0, 1:]

    def reaction(self, k: int) -> np.ndarray:
        """Forces of the supports on the body at stop ``k``, N, (node, 3)."""
        return self.rig.unbalanced(self.rows[k], float(self.path.stops[k + 1]))


def make_rig(
    mesh: Body,
    law: Any,
    bulk_mpa: float,
    fixed: np.ndarray,
    *,
    pressed: str | None = None,
    pressure: float = 0.0,
    touching: str | None = None,
    rule: str = "irons14",
    **loads: Any,
) -> Rig:
    """``pressed`` names the faces under live pressure, ``touching`` those that may meet an
    obstacle; ``fixed`` is (node, 3)."""
    body = make_body(
        mesh.points,
        mesh.elements,
        pressure_faces=None if pressed is None else mesh.faces[pressed],
        contact_faces=None if touching is None else mesh.faces[touching],
        fixed=fixed,
        rule=rule,
    )
    solid = make_solid(body, mesh.points, law, bulk_mpa)
    return Rig(body, solid, make_loading(body, pressure=pressure, **loads), mesh.points)


def held(mesh: Body, **sides: str) -> np.ndarray:
    """Supports by side: ``held(mesh, x0="xyz", z0="z")``."""
    fixed = np.zeros((len(mesh.points), 3), dtype=bool)
    for side, components in sides.items():
        for component in components:
            fixed[mesh.on(side), "xyz".index(component)] = True
    return fixed


def spread(mesh: Body, faces: np.ndarray, traction_mpa: tuple[float, float, float]) -> np.ndarray:
    """Nodal forces (N) of a dead traction on undeformed faces, (node, 3)."""
    value, slope = face_functions(FACE_RULE.points)
    edges = np.einsum("fni,qnk->fqik", mesh.points[faces], slope)
    area = np.linalg.norm(np.cross(edges[..., 0], edges[..., 1]), axis=-1) * FACE_RULE.weights
    share = np.einsum("fq,qn->fn", area, value)
    forces = np.zeros_like(mesh.points)
    np.add.at(forces, faces, share[..., None] * np.array(traction_mpa))
    return forces
