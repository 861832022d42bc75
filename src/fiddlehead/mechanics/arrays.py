"""Array types shared by this room, whose numbers are double."""

import jax
from jaxtyping import Array, Float

jax.config.update("jax_enable_x64", True)

Scalar = Float[Array, ""] | float
"""One number, plain or traced."""
