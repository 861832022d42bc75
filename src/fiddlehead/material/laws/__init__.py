"""Hyperelastic laws: one file each, energies only.

Importing this package switches JAX to double precision: the balance of a near-incompressible
body does not survive single precision.
"""

import jax

jax.config.update("jax_enable_x64", True)
