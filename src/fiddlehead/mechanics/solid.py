"""The strained solid: internal forces and tangent of near-incompressible 20-node bricks.

Energy of one element::

    U = ∫ W(C̄) dV + K/2 ∫ (Π(J - 1))² dV

where Π projects the volume change onto ``{1, ξ, η, ζ}`` of the element: the displacement/pressure
element with a linear pressure, its pressure eliminated inside the element. Source: Sussman & Bathe
(1987), A finite element formulation for nonlinear incompressible elastic and inelastic analysis,
Computers & Structures 26, 357-409. Twenty nodes alone are over-constrained by four pressure modes
(walls come out a few per cent too stiff), so each element also has an inner displacement
function, which balances the three varying modes; it is eliminated with the pressure. Source of
the remedy: Crouzeix & Raviart (1973), RAIRO 7(R3), 33-75 (bubble functions for discontinuous
linear pressures).

The tangent may use stresses extrapolated along the last Newton step in its geometric part (mixed
integration points), which takes far fewer iterations when a slender body rotates; the balance
itself is always evaluated at the true state. Source: Magisano, Leonetti & Garcea (2017),
Advantages of the mixed format in geometrically nonlinear analysis of beams and shells using
solid finite elements, IJNME 109, 1237-1262.
"""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Array, Float

from fiddlehead.material.laws.base import Energy
from fiddlehead.mechanics.arrays import Scalar
from fiddlehead.mechanics.body import Body
from fiddlehead.mechanics.element import brick_functions, bubble_slopes
from fiddlehead.mechanics.lift import isochoric_density, stress, stress_and_tangent
from fiddlehead.mechanics.quadrature import BRICK_RULES
from fiddlehead.mechanics.spectral import INDEX, VOIGT


@dataclasses.dataclass(frozen=True)
class Geometry:
    """What the undeformed coordinates give at the integration points (points last)."""

    gradient: Float[Array, "element 21 3 point"]
    """Shape function gradients by the undeformed coordinates, 1/mm."""
    weight: Float[Array, "element point"]
    """Undeformed volume of each integration point, mm³."""
    modes: Float[Array, "4 point"]
    """Pressure modes 1, ξ, η, ζ."""
    inverse_mass: Float[Array, "element 4 4"]
    """Inverse Gram matrix of the pressure modes."""


jax.tree_util.register_dataclass(
    Geometry, data_fields=["gradient", "weight", "modes", "inverse_mass"], meta_fields=[]
)


def geometry(body: Body, points: Float[Array, "node 3"]) -> Geometry:
    """Gradients, volumes and pressure modes of all elements at reference ``points`` (mm)."""
    rule = BRICK_RULES[body.rule]
    shape = brick_functions(rule.points)[1]
    jacobian = jnp.einsum("qar,eai->eqri", shape, points[body.elements])
    slopes = np.concatenate([shape, bubble_slopes(rule.points)[:, None]], axis=1)
    gradient = jnp.einsum("eqir,qar->eaiq", jnp.linalg.inv(jacobian), slopes)
    weight = jnp.linalg.det(jacobian) * rule.weights
    modes = jnp.concatenate([jnp.ones((1, len(rule.points))), jnp.asarray(rule.points).T])
    mass = jnp.einsum("eq,mq,nq->emn", weight, modes, modes)
    return Geometry(gradient, weight, modes, jnp.linalg.inv(mass))


class Stress(NamedTuple):
    """Stresses carried from one Newton step to the next for the tangent's geometric part."""

    second_piola: Float[Array, "6 element point"]
    pressure: Float[Array, "element point"]


class _Kinematics(NamedTuple):
    f: list[list[Array]]
    cofactor: list[list[Array]]
    jacobian: Array
    strain: Array


def _kinematics(body: Body, geo: Geometry, u: Float[Array, " row"]) -> _Kinematics:
    displaced = u[body.element_rows()].reshape(len(body.elements), 21, 3)
    h = jnp.einsum("eai,eaJq->iJeq", displaced, geo.gradient)
    f = [[h[i, j] + (1.0 if i == j else 0.0) for j in range(3)] for i in range(3)]
    cofactor = [
        [
            f[(i + 1) % 3][(j + 1) % 3] * f[(i + 2) % 3][(j + 2) % 3]
            - f[(i + 1) % 3][(j + 2) % 3] * f[(i + 2) % 3][(j + 1) % 3]
            for j in range(3)
        ]
        for i in range(3)
    ]
    jacobian = f[0][0] * cofactor[0][0] + f[0][1] * cofactor[0][1] + f[0][2] * cofactor[0][2]
    # E from the displacement gradient itself, so that no digits are lost at small strain
    strain = jnp.stack(
        [
            (1.0 if i != j else 0.5)
            * (h[i, j] + h[j, i] + sum(h[k, i] * h[k, j] for k in range(3)))
            for i, j in VOIGT
        ]
    )
    return _Kinematics(f, cofactor, jacobian, strain)


def green_lagrange(
    body: Body, geo: Geometry, u: Float[Array, " row"]
) -> Float[Array, "6 element point"]:
    """Green-Lagrange strain ``E11 E22 E33 2E12 2E23 2E13`` at the integration points."""
    return _kinematics(body, geo, u).strain


def _pressure(geo: Geometry, bulk: Scalar, volume_change: Array) -> Array:
    """``K Π(J - 1)`` at the integration points, MPa (tension positive)."""
    moment = jnp.einsum("eq,mq,eq->em", geo.weight, geo.modes, volume_change)
    return bulk * jnp.einsum("emn,en,mq->eq", geo.inverse_mass, moment, geo.modes)


def strain_energy(
    body: Body, geo: Geometry, law: Energy, bulk: Scalar, u: Float[Array, " row"]
) -> Scalar:
    """Stored energy, mJ."""
    k = _kinematics(body, geo, u)
    pressure = _pressure(geo, bulk, k.jacobian - 1.0)
    density = isochoric_density(law, k.strain) + 0.5 * pressure**2 / bulk
    return (geo.weight * density).sum()


def _gather_forces(body: Body, per_element: Float[Array, "element 21 3"]) -> Float[Array, " row"]:
    rows = body.element_rows()
    return jnp.zeros(body.size).at[rows].add(per_element.reshape(rows.shape))


def _first_piola(k: _Kinematics, s: Array, pressure: Array) -> Array:
    """``P = F S + p cof F``, shape (3, 3, element, point)."""
    return jnp.stack(
        [
            jnp.stack(
                [
                    sum(k.f[i][m] * s[INDEX[m][j]] for m in range(3)) + pressure * k.cofactor[i][j]
                    for j in range(3)
                ]
            )
            for i in range(3)
        ]
    )


def stresses(
    body: Body, geo: Geometry, law: Energy, bulk: Scalar, u: Float[Array, " row"]
) -> Stress:
    """Isochoric second Piola-Kirchhoff stress and pressure at the integration points, MPa."""
    k = _kinematics(body, geo, u)
    return Stress(stress(law, k.strain), _pressure(geo, bulk, k.jacobian - 1.0))


def internal_forces(
    body: Body, geo: Geometry, law: Energy, bulk: Scalar, u: Float[Array, " row"]
) -> Float[Array, " row"]:
    """Forces (N) the strained solid exerts against its nodes' displacement, ``dU/du``."""
    k = _kinematics(body, geo, u)
    piola = _first_piola(k, stress(law, k.strain), _pressure(geo, bulk, k.jacobian - 1.0))
    forces = jnp.einsum("eaJq,iJeq->eai", geo.gradient, piola * geo.weight)
    return _gather_forces(body, forces)


class Linearised(NamedTuple):
    """Balance and tangent of every element, and what is needed to extrapolate stresses."""

    forces: Float[Array, " row"]
    stiffness: Float[Array, "element 63 63"]
    stress: Stress
    kinematics: _Kinematics
    tangent: Float[Array, "6 6 element point"]


def linearise(
    body: Body,
    geo: Geometry,
    law: Energy,
    bulk: Scalar,
    u: Float[Array, " row"],
    carried: Stress | None = None,
) -> Linearised:
    """Internal forces at ``u`` and the element stiffness matrices.

    ``carried`` stresses replace the true ones in the geometric part.
    """
    k = _kinematics(body, geo, u)
    s, c = stress_and_tangent(law, k.strain)
    pressure = _pressure(geo, bulk, k.jacobian - 1.0)
    piola = _first_piola(k, s, pressure)
    forces = jnp.einsum("eaJq,iJeq->eai", geo.gradient, piola * geo.weight)
    true = Stress(s, pressure)
    geometric = true if carried is None else carried
    stiffness = _stiffness(geo, k, c, geometric) + _volume_stiffness(geo, bulk, k)
    return Linearised(_gather_forces(body, forces), stiffness, true, k, c)


def _stiffness(geo: Geometry, k: _Kinematics, c: Array, geometric: Stress) -> Array:
    """``∫ ∇N (F C F + S + p ∂cof F/∂F) ∇N dV`` per element, (element, 63, 63)."""
    f, w = k.f, geo.weight
    s, p = geometric
    # fc[i][I][V] = F_iK C_KI,V with the strain pair V
    fc = [
        [[sum(f[i][m] * c[INDEX[m][j], v] for m in range(3)) for v in range(6)] for j in range(3)]
        for i in range(3)
    ]
    elements, points = w.shape
    blocks: dict[tuple[int, int], Array] = {}
    for i in range(3):
        for j in range(i, 3):
            rows = []
            for a in range(3):
                row = []
                for b in range(3):
                    entry = sum(fc[i][a][INDEX[m][b]] * f[j][m] for m in range(3))
                    if i == j:
                        entry = entry + s[INDEX[a][b]]
                    elif a != b:
                        # ∂cof F_ia/∂F_jb = ε_ijk ε_abc F_kc
                        sign = (1 if (j - i) % 3 == 1 else -1) * (1 if (b - a) % 3 == 1 else -1)
                        entry = entry + sign * p * f[3 - i - j][3 - a - b]
                    row.append(entry * w)
                rows.append(jnp.stack(row))
            modulus = jnp.stack(rows)  # (a, b, element, point)
            blocks[i, j] = modulus
    g = geo.gradient
    left = jnp.moveaxis(g, 1, -1).reshape(elements, 3 * points, 21)  # (e, (J, q), a)
    pairs = [(0, 0), (1, 1), (2, 2), (0, 1), (1, 2), (0, 2)]
    right = jnp.stack([_times_gradient(blocks[ij], g) for ij in pairs], axis=2)
    right = right.reshape(elements, 3 * points, 126)
    product = jnp.einsum("eka,ekb->eab", left, right).reshape(elements, 21, 6, 21)
    where = {pair: n for n, pair in enumerate(pairs)}
    rows = [
        jnp.stack(
            [
                product[:, :, where[i, j]]
                if i <= j
                else product[:, :, where[j, i]].transpose(0, 2, 1)
                for j in range(3)
            ],
            axis=-1,
        )
        for i in range(3)
    ]
    return jnp.stack(rows, axis=2).reshape(elements, 63, 63)


def _times_gradient(
    modulus: Float[Array, "3 3 element point"], gradient: Float[Array, "element 21 3 point"]
) -> Float[Array, "element point3 21"]:
    """``modulus_ab ∂N/∂X_b`` with (a, point) as rows: sums of products, kept elementwise."""
    parts = [
        modulus[:, b].transpose(1, 0, 2)[..., None]
        * jnp.moveaxis(gradient[:, :, b], 1, -1)[:, None]
        for b in range(3)
    ]
    total = parts[0] + parts[1] + parts[2]
    return total.reshape(len(total), -1, 21)


def _volume_gradient(geo: Geometry, k: _Kinematics) -> Float[Array, "element 4 63"]:
    """``∫ mode · d(J)/du dV`` per element and pressure mode."""
    cofactor = jnp.stack([jnp.stack(row) for row in k.cofactor]) * geo.weight
    slope = jnp.einsum("eaJq,iJeq->eaiq", geo.gradient, cofactor)
    return jnp.einsum("eaiq,mq->emai", slope, geo.modes).reshape(len(geo.weight), 4, 63)


def _volume_stiffness(geo: Geometry, bulk: Scalar, k: _Kinematics) -> Array:
    q = _volume_gradient(geo, k)
    return bulk * jnp.einsum("emx,emn,eny->exy", q, geo.inverse_mass, q)


def extrapolate(
    body: Body, geo: Geometry, bulk: Scalar, at: Linearised, du: Float[Array, " row"]
) -> Stress:
    """Stresses after the step ``du`` to first order: ``S + C : δE`` and ``p + δp``."""
    moved = du[body.element_rows()].reshape(len(body.elements), 21, 3)
    dh = jnp.einsum("eai,eaJq->iJeq", moved, geo.gradient)
    f = at.kinematics.f
    de = jnp.stack(
        [
            (1.0 if i != j else 0.5)
            * sum(f[m][i] * dh[m, j] + f[m][j] * dh[m, i] for m in range(3))
            for i, j in VOIGT
        ]
    )
    cofactor = jnp.stack([jnp.stack(row) for row in at.kinematics.cofactor])
    dj = (cofactor * dh).sum((0, 1))
    second = at.stress.second_piola + jnp.einsum("vw...,w...->v...", at.tangent, de)
    return Stress(second, at.stress.pressure + _pressure(geo, bulk, dj))
