"""The finger by scikit-fem (Gustafsson & McBain (2020), scikit-fem: a Python package for finite
element assembly, Journal of Open Source Software 5(52), 2369), with forms written out by hand.

Quadratic serendipity displacements and a continuous linear pressure, stress and moduli formed at
the integration points and handed to the forms, threaded assembly, Newton's method, a parallel
direct solver.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import pypardiso
import scipy.sparse as sparse
from skfem import (
    Basis,
    BilinearForm,
    ElementHex1,
    ElementHexS2,
    ElementVector,
    FacetBasis,
    LinearForm,
    MeshHex,
    condense,
)
from skfem import solve as solve_linear
from skfem.helpers import dot, grad, inner, mul

from benchmarks.libraries.problem import TOLERANCE, Problem, Step, Steps, require_patience

NAME = "scikit-fem"
PACKAGES = ("scikit-fem", "pypardiso", "mkl")
METHOD = "20-node bricks, continuous linear pressure; LU (pypardiso)"
THREADS = 2
CORNERS = [6, 2, 5, 7, 1, 3, 4, 0]
"""Corner of the VTK brick in each place of the library's hexahedron."""


@BilinearForm(nthreads=THREADS)
def stiffness(u: Any, v: Any, w: Any) -> Any:
    return np.einsum("iJkL...,kL...,iJ...", w["moduli"], grad(u), grad(v))


@BilinearForm(nthreads=THREADS)
def volume_slope(u: Any, q: Any, w: Any) -> Any:
    return inner(w["cofactor"], grad(u)) * q


@BilinearForm
def compressibility(p: Any, q: Any, w: Any) -> Any:
    return -p * q / w["bulk"]


@LinearForm
def internal_forces(v: Any, w: Any) -> Any:
    return inner(w["stress"], grad(v))


@LinearForm
def volume_mismatch(q: Any, w: Any) -> Any:
    return (w["j"] - 1.0 - w["pressure"] / w["bulk"]) * q


@LinearForm
def air_forces(v: Any, w: Any) -> Any:
    """Minus the force of a pressure of 1 MPa on the wall."""
    return dot(mul(cofactor(w["f"])[0], w.n), v)


@BilinearForm(nthreads=THREADS)
def air_stiffness(u: Any, v: Any, w: Any) -> Any:
    return np.einsum("ikL...,kL...,i...", w["turning"], grad(u), v)


def cofactor(f: Any) -> tuple[Any, Any]:
    """``J F⁻ᵀ`` and ``J``."""
    by_point = np.moveaxis(np.asarray(f), (0, 1), (-2, -1))
    j = np.linalg.det(by_point)
    return j * np.moveaxis(np.linalg.inv(by_point), (-1, -2), (0, 1)), j


def strain(basis: Any, u: Any) -> Any:
    """The deformation gradient at the integration points."""
    return basis.interpolate(u).grad + np.eye(3)[:, :, None, None]


def stress_and_moduli(problem: Problem, f: Any, cof: Any, j: Any, pressure: Any) -> tuple[Any, Any]:
    """First Piola-Kirchhoff stress and its derivative by ``F``."""
    c10, c20, c30 = problem.yeoh
    g, scale = cof / j, j ** (-2 / 3)
    i = scale * inner(f, f) - 3.0
    slope, curvature = c10 + i * (2 * c20 + 3 * c30 * i), 2 * c20 + 6 * c30 * i

    def pair(a: Any, b: Any) -> Any:
        return np.einsum("iJ...,kL...->iJkL...", a, b)

    swap = np.einsum("iL...,kJ...->iJkL...", g, g)
    same = np.einsum("ik,JL->iJkL", np.eye(3), np.eye(3))[..., None, None]
    di = 2.0 * scale * f - (2.0 / 3.0) * (i + 3.0) * g
    ddi = 2.0 * scale * same + (2.0 / 3.0) * (i + 3.0) * swap
    ddi -= (4.0 / 3.0) * pair(scale * f, g) + (2.0 / 3.0) * pair(g, di)
    moduli = slope * ddi + curvature * pair(di, di) + pressure * j * (pair(g, g) - swap)
    return slope * di + pressure * cof, moduli


def turning(cof: Any, j: Any, normal: Any) -> Any:
    """Derivative of ``cof F n`` by ``F``."""
    along = np.einsum("iJ...,J...->i...", cof, normal)
    turned = np.einsum("i...,kL...->ikL...", along, cof)
    return (turned - np.einsum("iL...,k...->ikL...", cof, along)) / j


class Spaces(NamedTuple):
    """Displacement, pressure and the wall the air presses on."""

    u: Any
    p: Any
    wall: Any


def spaces(problem: Problem) -> Spaces:
    """The bricks as a mesh of the library, and its bases."""
    corners, bricks = problem.corners
    mesh = MeshHex(problem.points[corners].T, bricks[:, CORNERS].T)
    number = np.zeros(len(problem.points), int)
    number[corners] = np.arange(len(corners))
    place = {tuple(sorted(facet)): n for n, facet in enumerate(mesh.facets.T)}
    faces = [place[tuple(sorted(f))] for f in number[problem.faces["cavity"][:, :4]]]
    element = ElementVector(ElementHexS2())
    u = Basis(mesh, element, intorder=4)
    return Spaces(
        u, u.with_element(ElementHex1()), FacetBasis(mesh, element, facets=faces, intorder=4)
    )


def solve(problem: Problem) -> Steps:
    """Newton's method at each pressure, from the state at the one before."""
    basis = spaces(problem)
    bulk = problem.card.bulk_modulus_mpa
    compress = compressibility.assemble(basis.p, bulk=bulk)
    at_root = basis.u.get_dofs(lambda x: np.isclose(x[0], 0.0)).all()
    at_middle = basis.u.get_dofs(lambda x: np.isclose(x[2], 0.0)).all("u^3")
    held = np.union1d(at_root, at_middle)
    u, p = basis.u.zeros(), basis.p.zeros()
    free = np.setdiff1d(np.arange(len(u)), held)
    tip = np.array([dofs_at(basis.u, point) for point in problem.points[problem.tip]])

    def balance(value: float) -> tuple[Any, Any, Any, float]:
        """State at the integration points, out-of-balance vector, and its relative size."""
        f = strain(basis.u, u)
        cof, j = cofactor(f)
        q = np.asarray(basis.p.interpolate(p))
        stress, moduli = stress_and_moduli(problem, f, cof, j, q)
        internal = internal_forces.assemble(basis.u, stress=stress)
        uneven = internal + value * air_forces.assemble(basis.wall, f=strain(basis.wall, u))
        mismatch = volume_mismatch.assemble(basis.p, j=j, pressure=q, bulk=bulk)
        size = float(np.linalg.norm(uneven[free]) / (np.linalg.norm(internal) or 1.0))
        return moduli, cof, np.concatenate([uneven, mismatch]), size

    for value in problem.pressures_mpa:
        moduli, cof, force, uneven = balance(value)
        solves = 0
        while uneven > TOLERANCE:
            require_patience(solves, value)
            turn = turning(*cofactor(strain(basis.wall, u)), basis.wall.normals)
            kuu = stiffness.assemble(basis.u, moduli=moduli)
            kuu = kuu + value * air_stiffness.assemble(basis.wall, turning=turn)
            kpu = volume_slope.assemble(basis.u, basis.p, cofactor=cof)
            whole = sparse.bmat([[kuu, kpu.T], [kpu, compress]], "csr")
            system = condense(whole, -force, D=held)
            step = solve_linear(*system, solver=lambda a, b: pypardiso.spsolve(a, b))
            u, p = u + step[: len(u)], p + step[len(u) :]
            moduli, cof, force, uneven = balance(value)
            solves += 1
        yield Step(solves, len(free) + len(p), u[tip])


def dofs_at(basis: Any, point: Any) -> Any:
    """The three unknowns at a node."""
    return np.flatnonzero(np.abs(basis.doflocs - point[:, None]).max(axis=0) < 1e-9)
