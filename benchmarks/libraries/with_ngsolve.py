"""The finger by NGSolve (Schöberl (2014), ASC Report 30/2014, TU Wien), from its energy.

Quadratic serendipity displacements and a continuous linear pressure (Taylor & Hood (1973),
Computers & Fluids 1, 73-100), all terms from one energy by the library's own differentiation,
Newton's method, the library's own parallel Cholesky factorisation.
"""

from __future__ import annotations

from typing import Any

import netgen.meshing as netgen
import ngsolve as ng
import numpy as np

from benchmarks.libraries.problem import TOLERANCE, Problem, Step, Steps, require_patience

NAME = "ngsolve"
PACKAGES = ("ngsolve", "netgen-mesher")
METHOD = "20-node bricks, continuous linear pressure; LDLᵀ (sparsecholesky), TaskManager"
SIDES = ("root", "symmetry", "cavity")

ng.ngsglobals.msg_level = 0


def mesh_of(problem: Problem) -> Any:
    """The bricks as a mesh of the library; edges are straight, so corners say all."""
    corners, bricks = problem.corners
    number = np.zeros(len(problem.points), int)
    number[corners] = np.arange(len(corners))
    mesh = netgen.Mesh(dim=3)
    ids = [mesh.Add(netgen.MeshPoint(netgen.Pnt(*map(float, p)))) for p in problem.points[corners]]
    for n, side in enumerate(SIDES, 1):
        mesh.Add(netgen.FaceDescriptor(surfnr=n, domin=1, domout=0, bc=n))
        mesh.SetBCName(n - 1, side)
    for brick in bricks:
        mesh.Add(netgen.Element3D(1, [ids[k] for k in brick]))
    for n, side in enumerate(SIDES, 1):
        for face in number[problem.faces[side][:, :4]]:
            mesh.Add(netgen.Element2D(n, [ids[k] for k in face]))
    return ng.Mesh(mesh)


def solve(problem: Problem) -> Steps:
    """Newton's method at each pressure, from the state at the one before."""
    mesh = mesh_of(problem)
    space = ng.VectorH1(
        mesh, order=2, orderface=1, orderinner=1, dirichlet="root", dirichletz="symmetry"
    ) * ng.H1(mesh, order=1)
    u, q = space.TrialFunction()
    pressure = ng.Parameter(0.0)
    (c10, c20, c30), bulk = problem.yeoh, problem.card.bulk_modulus_mpa
    f = ng.Id(3) + ng.Grad(u)
    j = ng.Det(f)
    i = j ** (-2 / 3) * ng.InnerProduct(f, f) - 3
    energy = i * (c10 + i * (c20 + i * c30)) + q * (j - 1) - q * q / (2 * bulk)
    # outward normals point into the cavity, so this is minus its volume
    place = ng.CF((ng.x, ng.y, ng.z)) + u.Trace()
    area = ng.Cof(ng.Id(3) + ng.Grad(u).Trace()) * ng.specialcf.normal(3)
    air = ng.Variation(pressure * ng.InnerProduct(area, place) / 3 * ng.ds("cavity"))
    balance, push = (ng.BilinearForm(space, symmetric=True) for _ in range(2))
    balance += ng.Variation(energy.Compile() * ng.dx)
    balance += air
    push += air
    state = ng.GridFunction(space)
    force, applied, step = (state.vec.CreateVector() for _ in range(3))
    free = ng.Projector(space.FreeDofs(), True)

    def uneven() -> float:
        """Out-of-balance force relative to the internal forces."""
        balance.Apply(state.vec, force)
        push.Apply(state.vec, applied)
        applied.data = force - applied
        internal = applied.Norm() or 1.0
        applied.data = free * force
        return applied.Norm() / internal

    tip = [mesh(*(p - [1e-9, 0.0, 0.0])) for p in problem.points[problem.tip]]
    with ng.TaskManager():
        for value in problem.pressures_mpa:
            pressure.Set(value)
            solves = 0
            while uneven() > TOLERANCE:
                require_patience(solves, value)
                balance.AssembleLinearization(state.vec)
                inverse = balance.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky")
                step.data = inverse * force
                state.vec.data -= step
                solves += 1
            displacement = np.array([state.components[0](point) for point in tip])
            yield Step(solves, sum(space.FreeDofs()), displacement)
