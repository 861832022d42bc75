"""Array types shared by this room."""

from jaxtyping import Array, Float

Scalar = Float[Array, ""] | float
"""One number, plain or traced."""
