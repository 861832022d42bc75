"""Tapered panel in plane strain, nearly incompressible: does the element lock?

Source: Cook (1974), J. Struct. Div. ASCE 100, 1851-1863 (the panel); the finite-strain version as
in Elguedj, Bazilevs, Calo & Hughes (2008), CMAME 197, 2732-2762: mu = 80.1938 MPa,
K = 400889.8 MPa, 6.25 N/mm² of dead shear. The often quoted tip rise 6.908 mm is a coarse-element
value; elements of second and third order converge from both sides to 6.933 ± 0.002 mm.
"""

from __future__ import annotations

import ngsolve as ng
import numpy as np
import pytest
from ngsolve.meshes import MakeStructured2DMesh

from fiddlehead.material.laws import NeoHookean
from fiddlehead.testing.bodies import cook_panel
from tests.published.rig import held, make_rig, spread

MU, BULK, SHEAR = 80.1938, 400889.8, 6.25
RISE_MM = 6.933
CELLS = 24


def independent_rise(cells: int, order: int, mixed: bool) -> float:
    """The same panel with NGSolve quadrilaterals: mixed Taylor-Hood, or displacements alone."""

    def place(s: float, t: float) -> tuple[float, float]:
        return 48 * s, 44 * s * (1 - t) + (44 + 16 * s) * t

    mesh = MakeStructured2DMesh(quads=True, nx=cells, ny=cells, mapping=place)
    moves = ng.VectorH1(mesh, order=order, dirichlet="left")
    space = moves * ng.H1(mesh, order=order - 1) if mixed else moves
    trial = space.TrialFunction()
    u = trial[0] if mixed else trial
    f = ng.Id(2) + ng.Grad(u)
    j = ng.Det(f)
    energy = MU / 2 * (j ** (-2 / 3) * (ng.InnerProduct(f, f) + 1) - 3)
    if mixed:
        energy += trial[1] * (j - 1) - trial[1] ** 2 / (2 * BULK)
    else:
        energy += BULK / 2 * (j - 1) ** 2
    load = ng.Parameter(0.0)
    form = ng.BilinearForm(space, symmetric=True)
    form += ng.Variation(energy * ng.dx)
    form += ng.Variation(-load * u.Trace()[1] * ng.ds("right"))
    state = ng.GridFunction(space)
    for part in np.linspace(0, 1, 6)[1:]:
        load.Set(SHEAR * part)
        ng.solvers.Newton(form, state, printing=False, maxerr=1e-8, inverse="sparsecholesky")
    rise = state.components[0] if mixed else state
    return float(rise(mesh(48 - 1e-9, 60 - 1e-6))[1])


@pytest.mark.slow
def test_tip_rise_with_the_production_element() -> None:
    mesh = cook_panel(CELLS)
    fixed = held(mesh, x0="xyz")
    fixed[:, 2] = True
    dead = spread(mesh, mesh.faces["x1"], (0.0, SHEAR, 0.0))
    solved = make_rig(mesh, NeoHookean(MU), BULK, fixed, dead=dead).follow([1.0])
    corner = np.isclose(mesh.points[:, :2], (48.0, 60.0)).all(axis=1)
    assert solved.u[0][corner, 1] == pytest.approx(RISE_MM, rel=5e-3)
    force = solved.reaction(0)[mesh.on("x0")].sum(axis=0)
    assert force[1] == pytest.approx(-100.0, rel=1e-8)


@pytest.mark.slow
def test_the_reference_comes_out_of_another_code() -> None:
    assert independent_rise(16, order=2, mixed=True) == pytest.approx(RISE_MM, rel=1e-3)


def test_a_locking_element_would_be_seen() -> None:
    """Linear displacements alone lose more than a quarter of the rise on a mesh of 16 x 16."""
    assert independent_rise(16, order=1, mixed=False) < 5.0
