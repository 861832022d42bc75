"""Forces at contacts as wrenches on the object: three forces and three moments.

Contact models: Murray, Li & Sastry (1994), A Mathematical Introduction to Robotic
Manipulation, ch. 5: a frictionless point, a point with Coulomb friction, a soft finger that also
resists turning about its normal.
"""

from __future__ import annotations

import dataclasses
from typing import Literal, get_args

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError

Model = Literal["frictionless", "point", "soft"]
CONE_EDGES = 8
"""Edges of a friction cone made of planes; at least eight is common practice, no source."""


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Contacts:
    """Where an object is touched. Lengths in mm, in any frame the caller likes.

    ``normal`` points into the object: the direction in which a finger can push.
    """

    position: Float[np.ndarray, "contact 3"]
    normal: Float[np.ndarray, "contact 3"]
    friction: Float[np.ndarray, " contact"]
    """Coefficient of static friction."""
    spin_mm: Float[np.ndarray, " contact"]
    """Moment about the normal that friction resists, over friction times normal force; 0 for a
    point, two thirds of the radius for an even pressure on a round patch."""

    def about(self, centre: Float[np.ndarray, "3"]) -> Contacts:
        """The same with positions from another point, mm."""
        return dataclasses.replace(self, position=self.position - centre)


def contacts(
    position: Float[np.ndarray, "contact 3"],
    normal: Float[np.ndarray, "contact 3"],
    friction: float | Float[np.ndarray, " contact"],
    spin_mm: float | Float[np.ndarray, " contact"] = 0.0,
) -> Contacts:
    """Check and complete a set of contacts; normals are brought to unit length.

    Raises
    ------
    ParameterError : a normal without direction, or negative friction
    """
    position, normal = np.asarray(position, float), np.asarray(normal, float)
    length = np.linalg.norm(normal, axis=1)
    mu = np.broadcast_to(np.asarray(friction, float), len(position)).copy()
    spin = np.broadcast_to(np.asarray(spin_mm, float), len(position)).copy()
    finite = all(np.isfinite(part).all() for part in (position, normal, mu, spin))
    if not finite or np.any(length == 0) or np.any(mu < 0) or np.any(spin < 0):
        raise ParameterError(
            "no such contact",
            where="contacts",
            found=f"normals of length {length}, friction {mu}",
            allowed="finite numbers, normals that point somewhere, friction of 0 or more",
        )
    return Contacts(position=position, normal=normal / length[:, None], friction=mu, spin_mm=spin)


def tangents(normal: Float[np.ndarray, "contact 3"]) -> Float[np.ndarray, "contact 2 3"]:
    """Two unit vectors square to each normal and to each other.

    The second is the upward direction (z) as far as it is tangential, so that edges of a cone lie
    where a weight pulls; normals along z take y instead.
    """
    up = np.where(np.abs(normal[:, 2:]) > 0.99, [[0.0, 1.0, 0.0]], [[0.0, 0.0, 1.0]])
    second = up - (up * normal).sum(1, keepdims=True) * normal
    second /= np.linalg.norm(second, axis=1, keepdims=True)
    return np.stack([np.cross(second, normal), second], axis=1)


def grasp_map(found: Contacts, model: Model = "point") -> Float[np.ndarray, "6 component"]:
    """The map from contact force components to the wrench on the object.

    Components of each contact in turn: normal; for ``point`` also two tangential ones; for
    ``soft`` also the moment about the normal.

    Raises
    ------
    ParameterError : no such contact model
    """
    if model not in get_args(Model):
        raise ParameterError(
            "no such contact model", found=repr(model), allowed=", ".join(get_args(Model))
        )
    side = tangents(found.normal)
    columns = []
    for p, n, t in zip(found.position, found.normal, side, strict=True):
        forces = [n] if model == "frictionless" else [n, *t]
        columns += [np.concatenate([f, np.cross(p, f)]) for f in forces]
        if model == "soft":
            columns.append(np.concatenate([np.zeros(3), n]))
    return np.array(columns).T


def primitive_wrenches(
    found: Contacts, edges: int = CONE_EDGES
) -> list[Float[np.ndarray, "edge 6"]]:
    """Wrenches of unit normal force at each contact, at the corners of what friction allows.

    The cone is cut into ``edges`` edges, which lie inside it; a contact that resists spin has two
    corners more. Moments in N·mm about the origin of the positions.
    """
    turn = 2.0 * np.pi * np.arange(edges) / edges
    side = tangents(found.normal)
    sets = []
    for i, (p, n) in enumerate(zip(found.position, found.normal, strict=True)):
        mu, spin = found.friction[i], found.spin_mm[i]
        rim = np.cos(turn)[:, None] * side[i, 0] + np.sin(turn)[:, None] * side[i, 1]
        force = n + mu * rim if mu > 0 else n[None]
        corner = np.column_stack([force, np.cross(p, force)])
        if mu > 0 and spin > 0:
            straight = np.concatenate([n, np.cross(p, n)])
            twist = mu * spin * np.concatenate([np.zeros(3), n])
            corner = np.vstack([corner, straight + twist, straight - twist])
        sets.append(corner)
    return sets
