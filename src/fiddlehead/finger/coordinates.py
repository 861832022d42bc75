"""From the design vector to node coordinates, differentiable and batchable with JAX."""

from __future__ import annotations

from collections.abc import Mapping
from types import SimpleNamespace
from typing import Any, Protocol

import jax
import jax.numpy as jnp
from jaxtyping import Array, Float

from fiddlehead.errors import ParameterError
from fiddlehead.finger.parameters import CONTINUOUS
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
    template : bricks and weights; holds the number of bellows
    design : one scalar per name in ``finger.parameters.CONTINUOUS`` (``FingerParameters.sizes``).
        ``jax.grad`` and ``jax.vmap`` over this mapping give derivatives and batches.

    Raises
    ------
    ParameterError : a size is missing or unknown
    """
    astray = set(CONTINUOUS) ^ set(design)
    if astray:
        raise ParameterError(
            "sizes are missing or unknown",
            where="design",
            found=", ".join(sorted(astray)),
            allowed=", ".join(CONTINUOUS),
        )
    parameters = SimpleNamespace(bellows_count=template.layout.bellows_count, **design)
    return template.place(parameters, jnp)
