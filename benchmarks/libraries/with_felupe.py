"""The finger by FElupe, with its law, its follower pressure and its Newton's method.

Source of the library: Dutzler, A., FElupe: finite element analysis for continuum mechanics of
solid bodies, doi 10.5281/zenodo.4817406 (value from memory). Three fields (displacement, pressure,
volume ratio), the last two continuous and linear; parallel direct solver of its documentation.
"""

from __future__ import annotations

from typing import Any

import felupe as fem
import numpy as np
from felupe.constitution.tensortrax.models.hyperelastic import yeoh
from pypardiso import spsolve

from benchmarks.libraries.problem import MOST_ITERATIONS, TOLERANCE, Problem, Step, Steps

NAME = "felupe"
PACKAGES = ("felupe", "tensortrax", "pypardiso", "mkl")
METHOD = "20-node bricks, continuous linear pressure and volume ratio; LU (pypardiso)"


def solve(problem: Problem) -> Steps:
    """The library's Newton's method at each pressure, from the state at the one before."""
    points = problem.points
    region = fem.RegionQuadraticHexahedron(fem.Mesh(points, problem.elements, "hexahedron20"))
    corners, bricks = problem.corners
    dual = fem.RegionHexahedron(
        fem.Mesh(points[corners], bricks, "hexahedron"), quadrature=region.quadrature
    )
    displacement = fem.Field(region, dim=3)
    field = fem.FieldContainer([displacement, fem.Field(dual), fem.Field(dual, values=1.0)])
    c10, c20, c30 = problem.yeoh
    law = fem.Hyperelastic(yeoh, C10=c10, C20=c20, C30=c30, parallel=True)
    solid = fem.SolidBody(fem.NearlyIncompressible(law, problem.card.bulk_modulus_mpa), field)
    wall = np.zeros(len(points), bool)
    wall[np.unique(problem.faces["cavity"])] = True
    inside = fem.RegionQuadraticHexahedronBoundary(region.mesh, only_surface=True, mask=wall)
    assert len(inside.mesh.cells) == len(problem.faces["cavity"])
    air = fem.SolidBodyPressure(fem.FieldContainer([fem.Field(inside, dim=3)]))
    supports = {
        "root": fem.Boundary(displacement, fx=0),
        "symmetry": fem.Boundary(displacement, fz=0, skip=(True, True, False)),
    }
    held, free = fem.dof.partition(field, supports)
    given = fem.dof.apply(field, supports, held)

    def balanced(dx: Any, x: Any, f: Any, dof1: Any, **_: Any) -> tuple[float, float, bool]:
        internal = np.linalg.norm(solid.results.force.toarray())
        uneven = float(np.linalg.norm(f[dof1]) / internal)
        return float(np.linalg.norm(dx)), uneven, uneven <= TOLERANCE

    for value in problem.pressures_mpa:
        air.update(value)
        found = fem.newtonraphson(
            items=[solid, air], dof0=held, dof1=free, ext0=given, solver=spsolve,
            check=balanced, maxiter=MOST_ITERATIONS, verbose=0,
        )  # fmt: skip
        yield Step(found.iterations, len(free), found.x[0].values[problem.tip])
