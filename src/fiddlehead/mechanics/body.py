"""The body to be solved: index maps that depend on the mesh topology only, as a JAX pytree.

Shapes shared by this room (a batch of designs puts its axis in front of all but the topology):
``node``, ``element``, ``face``, integration ``point``; vectors hold ``row`` after ``row`` in the
order of elimination.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Bool, Float, Int

from fiddlehead.mechanics.front import Segment, plan_front


@dataclasses.dataclass(frozen=True)
class Body:
    """Topology, supports and index maps; built by :func:`make_body`, passed to every solver call.

    Vectors hold ``steps * width`` rows in the order of elimination, then three rows for the inner
    function of every element. ``row`` gives a node's first row; ``free`` is 1.0 where a
    row is an unknown and 0.0 on supports and padding.
    """

    elements: Int[Array, "element 20"]
    pressure_faces: Int[Array, "face 8"]
    plate_faces: Int[Array, "plate_face 8"]
    contact_faces: Int[Array, "contact_face 8"]
    wall_pairs: Int[Array, "pair 16"]
    """Faces that may meet, each with the nodes opposite to it."""
    row: Int[Array, " node"]
    slots: Int[Array, "steps width"]
    """Row in the front of every row of a vector."""
    free: Float[Array, "steps width"]
    segments: tuple[Segment, ...]
    walls_push: bool
    """Whether walls that meet push on each other, or only their gaps are known."""
    rule: str
    """Name of the integration rule, a key of ``BRICK_RULES``."""

    @property
    def nodal_size(self) -> int:
        """Rows of a vector that belong to nodes."""
        return self.free.size

    @property
    def size(self) -> int:
        """Rows of a vector."""
        return self.nodal_size + 3 * len(self.elements)

    @property
    def unknown(self) -> Float[Array, " row"]:
        """1.0 on unknowns, 0.0 on supports and padding."""
        return jnp.concatenate([self.free.ravel(), jnp.ones(3 * len(self.elements))])

    def element_rows(self) -> Int[Array, "element 63"]:
        """Rows of all unknowns of the elements: 20 nodes, then the inner function."""
        inner = self.nodal_size + jnp.arange(3 * len(self.elements)).reshape(-1, 3)
        return jnp.concatenate([self.rows(self.elements), inner], axis=1)

    def rows(self, connectivity: Int[Array, "cell node"]) -> Int[Array, "cell node*3"]:
        """Rows of all unknowns of the given cells, node by node, x y z."""
        rows = self.row[connectivity][..., None] + jnp.arange(3)
        return rows.reshape(len(connectivity), 3 * connectivity.shape[1])

    def to_rows(self, field: Float[Array, "node 3"]) -> Float[Array, " row"]:
        """Nodal vectors to a vector of rows."""
        place = (self.row[:, None] + jnp.arange(3)).ravel()
        return jnp.zeros(self.size).at[place].set(field.ravel())

    def from_other(self, other: Body, vector: Float[Array, " other_row"]) -> Float[Array, " row"]:
        """A vector of a body of the same elements in another order of elimination."""
        nodal = self.to_rows(other.to_nodes(vector))
        return nodal.at[self.nodal_size :].set(vector[other.nodal_size :])

    def to_nodes(self, vector: Float[Array, "*batch row"]) -> Float[Array, "*batch node 3"]:
        """A vector of rows back to nodal vectors."""
        return vector[..., self.row[:, None] + jnp.arange(3)]


jax.tree_util.register_dataclass(
    Body,
    data_fields=[
        "elements",
        "pressure_faces",
        "plate_faces",
        "contact_faces",
        "wall_pairs",
        "row",
        "slots",
        "free",
    ],
    meta_fields=["segments", "walls_push", "rule"],
)


def make_body(
    points: Float[np.ndarray, "node 3"],
    elements: Int[np.ndarray, "element 20"],
    *,
    pressure_faces: Int[np.ndarray, "face 8"] | None = None,
    plate_faces: Int[np.ndarray, "plate_face 8"] | None = None,
    contact_faces: Int[np.ndarray, "contact_face 8"] | None = None,
    wall_pairs: Int[np.ndarray, "pair 16"] | None = None,
    walls_push: bool = False,
    fixed: Bool[np.ndarray, "node 3"],
    rule: str = "irons14",
) -> Body:
    """Prepare a body from its mesh.

    Parameters
    ----------
    points : reference coordinates, mm; only used to order the unknowns along x
    elements : 20-node bricks, VTK order
    pressure_faces : 8-node faces the pressure acts on, normals out of the solid
    plate_faces : 8-node faces that may touch a rigid plate
    contact_faces : 8-node faces that may touch an obstacle, normals out of the solid
    wall_pairs : faces that may meet: 8 nodes, then the 8 nodes opposite
    walls_push : whether they push on each other then, which widens the front
    fixed : components held (at zero, or at a prescribed value of the loading)
    rule : integration rule, a key of ``BRICK_RULES``

    Raises
    ------
    MeshError : elements that do not hang together
    """
    cells = [np.asarray(elements)] + ([np.asarray(wall_pairs)] if walls_push else [])
    front = plan_front(points[:, 0], [cell for cell in cells if len(cell)])
    axes = np.arange(3)
    width = 3 * front.slots.shape[1]
    row = front.step * width + 3 * front.place
    free = np.zeros(len(front.slots) * width)
    free[(row[:, None] + axes)[~fixed]] = 1.0

    def faces(given: Any, nodes: int = 8) -> Array:
        return jnp.asarray(np.zeros((0, nodes)) if given is None else given, dtype=jnp.int32)

    return Body(
        elements=jnp.asarray(elements, dtype=jnp.int32),
        pressure_faces=faces(pressure_faces),
        plate_faces=faces(plate_faces),
        contact_faces=faces(contact_faces),
        wall_pairs=faces(wall_pairs, 16),
        row=jnp.asarray(row, dtype=jnp.int32),
        slots=jnp.asarray((3 * front.slots[..., None] + axes).reshape(-1, width), dtype=jnp.int32),
        free=jnp.asarray(free.reshape(-1, width)),
        segments=front.segments,
        walls_push=walls_push,
        rule=rule,
    )
