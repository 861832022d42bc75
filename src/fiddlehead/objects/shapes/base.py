"""What a shape is: a signed distance in its own frame, and the box it fits into.

Shapes are frozen and registered as JAX pytrees: their sizes are leaves, so one compiled program
serves every size (and a batch of them). Points are in mm, in the shape's own frame with its middle
at the origin unless a shape says otherwise; distances are positive outside.
"""

from __future__ import annotations

import dataclasses
from abc import abstractmethod
from collections.abc import Sequence
from typing import Any, ClassVar, TypeVar, dataclass_transform

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float

jax.config.update("jax_enable_x64", True)

SHAPES: dict[str, type[ObjectShape]] = {}

S = TypeVar("S", bound="ObjectShape")


class ObjectShape:
    """Base of every shape: sizes in mm by name."""

    name: ClassVar[str]
    """Registry key and name in files, e.g. ``"rounded box"``."""

    @abstractmethod
    def distance(self, points: Float[Array, "*batch 3"]) -> Float[Array, "*batch"]:
        """Signed distance to the surface, mm; negative inside.

        Exact near the surface; deep inside, where several places of the surface are nearest, only
        the value is.
        """

    @abstractmethod
    def bounds(self) -> tuple[Float[Array, "3"], Float[Array, "3"]]:
        """Lower and upper corner of a box around the shape, mm (infinite for a plane)."""


@dataclass_transform(frozen_default=True)
def shape(cls: type[S]) -> type[S]:
    """Class decorator: freeze, register as a JAX pytree and list under its name in ``SHAPES``."""
    frozen: Any = dataclasses.dataclass(frozen=True)(cls)
    register(frozen, cls.name, [f.name for f in dataclasses.fields(frozen)])
    SHAPES[cls.name] = frozen
    return frozen


def register(cls: Any, kind: str, names: Sequence[str]) -> None:
    """Tell JAX how to take a frozen record apart, its kind among what tells structures apart.

    ``jax.tree_util.register_dataclass`` will not do: in JAX 0.10.2 the structures it makes compare
    equal for different classes with as many fields, and a compiled program of one may be served
    for another.
    """

    def flatten(record: Any) -> tuple[list[tuple[Any, Any]], str]:
        return [(jax.tree_util.GetAttrKey(n), getattr(record, n)) for n in names], kind

    def unflatten(_: str, leaves: Any) -> Any:
        record = object.__new__(cls)  # leaves may be placeholders: no checks, no conversion
        for name, leaf in zip(names, leaves, strict=True):
            object.__setattr__(record, name, leaf)
        return record

    jax.tree_util.register_pytree_with_keys(cls, flatten, unflatten)


def norm(vectors: Float[Array, "*batch axis"]) -> Float[Array, "*batch"]:
    """Length of vectors, with derivative 0 (and no NaN) where the length is 0."""
    square = jnp.sum(vectors**2, axis=-1)
    safe = jnp.where(square > 0, square, 1.0)
    return jnp.where(square > 0, jnp.sqrt(safe), 0.0)


def box_distance(beyond: Float[Array, "*batch axis"], edge_radius: Any) -> Float[Array, "*batch"]:
    """Signed distance to a box with rounded edges, mm.

    Parameters
    ----------
    beyond : how far a point lies beyond each pair of faces of the box without its rounding
        (negative inside), that is ``|x| - (half length - edge radius)``, mm
    edge_radius : radius of the rounding, mm
    """
    outside = norm(jnp.maximum(beyond, 0.0))
    return outside + jnp.minimum(jnp.max(beyond, axis=-1), 0.0) - edge_radius
