"""From the design vector to node coordinates, differentiable and batchable with JAX."""

from __future__ import annotations

from collections.abc import Mapping
from types import SimpleNamespace
from typing import Any, Protocol

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float

from fiddlehead.errors import ParameterError
from fiddlehead.finger.profile import ProfileLayout

jax.config.update("jax_enable_x64", True)


class Placeable(Protocol):
    """A mesh without sizes, as ``fiddlehead.mesh.template`` makes it."""

    @property
    def layout(self) -> ProfileLayout:
        """The layout of the finger's profile."""

    def place(self, parameters: Any, xp: Any) -> Any:
        """Node coordinates, mm, with the functions of ``xp``."""


def node_coordinates(
    template: Placeable, design: Mapping[str, Float[Array, ""] | float]
) -> Float[Array, "node 3"]:
    """Node coordinates in mm of the finger with these sizes.

    Parameters
    ----------
    template : bricks and weights; holds all counts and kinds
    design : one scalar per name in ``template.layout.size_names`` (``FingerParameters.sizes``).
        ``jax.grad`` and ``jax.vmap`` over this mapping give derivatives and batches.

    Raises
    ------
    ParameterError : a size is missing or unknown
    """
    names = template.layout.size_names
    astray = set(names) ^ set(design)
    if astray:
        raise ParameterError(
            "sizes are missing or unknown",
            where="design",
            found=", ".join(sorted(astray)),
            allowed=", ".join(names),
        )
    return template.place(as_parameters(template.layout, design), jnp)


def as_parameters(layout: ProfileLayout, design: Mapping[str, Any]) -> Any:
    """A design vector with the attributes of ``FingerParameters``; numbers or JAX values."""
    pad = {name[4:]: size for name, size in design.items() if name.startswith("pad_")}
    own = {name: size for name, size in design.items() if not name.startswith("pad_")}
    return SimpleNamespace(
        bellows_count=layout.bellows_count, pad=SimpleNamespace(**pad) if pad else None, **own
    )
