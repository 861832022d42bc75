"""Cells against an independent finite-element library, and what has no moduli."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.finger.pad.measures import pad_measures
from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.trials.cell import cell_moduli, plane_stiffness
from tests.finger.cases import PADS, ZIG_ZAG


def judged(pad: PadParameters, span: float, youngs: float, nu: float) -> np.ndarray:
    """C11, C12, C22 of a honeycomb's cell by NGSolve (Schöberl, J. (2014), C++11 implementation of
    finite elements in NGSolve, ASC Report 30/2014, TU Wien): cubic triangles, plane strain.

    The cell is its own mirror image about the lines through its nodes and halfway up its uprights,
    so a quarter with sliding walls bears every mean strain without shear.
    """
    import ngsolve as ng
    from netgen import occ

    m = {k: float(v) for k, v in pad_measures(pad, pad, 0.0, span, np).items()}
    a, row, t = m["cell half"], m["cell row"], m["strut"]
    rise, near, far = m["cell rise"], m["joint near"], m["joint far"]
    low, high = -row / 2, row / 2  # upright at x = 0 goes up, at x = a down
    left, right = rise, -rise
    outline = [(0, high), (0, left - far), (a - t / 2, right - near), (a - t / 2, low)]
    outline += [(a, low), (a, right + far), (t / 2, left + near), (t / 2, high)]
    plane = occ.WorkPlane().MoveTo(*outline[0])
    for corner in outline[1:]:
        plane = plane.LineTo(*corner)
    face = plane.Close().Face()
    for edge in face.edges:
        (x0, y0, _), (x1, y1, _) = (list(box) for box in edge.bounding_box)
        for name, value, (p, q) in (
            ("left", 0, (x0, x1)), ("right", a, (x0, x1)), ("low", low, (y0, y1)),
            ("high", high, (y0, y1)),
        ):  # fmt: skip
            if abs(p - value) < 1e-5 and abs(q - value) < 1e-5:
                edge.name = name
    mesh = ng.Mesh(occ.OCCGeometry(face, dim=2).GenerateMesh(maxh=t / 3))
    space = ng.VectorH1(mesh, order=3, dirichletx="left|right", dirichlety="low|high")
    u, v = space.TnT()
    stiff = plane_stiffness(youngs, nu, "strain")
    lame, shear = stiff[0, 1], stiff[2, 2]

    def strain(w: ng.CF) -> ng.CF:
        return (ng.Grad(w) + ng.Grad(w).trans) / 2

    form = ng.BilinearForm(space, symmetric=True)
    form += (
        lame * ng.div(u) * ng.div(v) + 2 * shear * ng.InnerProduct(strain(u), strain(v))
    ) * ng.dx
    form.Assemble()
    inverse = form.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky")
    waves = []
    for mean in (ng.CF((ng.x, 0)), ng.CF((0, ng.y))):
        state = ng.GridFunction(space)
        state.Set(mean)
        residual = (form.mat * state.vec).Evaluate()
        state.vec.data -= inverse * residual
        waves.append(state.vec)
    energy = [[ng.InnerProduct((form.mat * p).Evaluate(), q) for p in waves] for q in waves]
    return np.array(energy) / (a * row)


@pytest.mark.parametrize("name", ["re-entrant", "hexagonal"])
def test_a_cell_agrees_with_an_independent_library(name: str) -> None:
    finger = dataclasses.replace(ZIG_ZAG, pad=PADS[name])
    youngs, nu = 6.0, 0.45
    found = cell_moduli(finger, youngs, nu, columns=4, along_struts=12)
    span = finger.length_mm - finger.root_length_mm
    theirs = judged(PADS[name], span, youngs, nu)
    np.testing.assert_allclose(found.stiffness_mpa[:2, :2], theirs, rtol=5e-3)
    default = cell_moduli(finger, youngs, nu)
    np.testing.assert_allclose(default.stiffness_mpa[:2, :2], theirs, rtol=2e-2)


def test_signs_and_stiffness_are_what_the_cells_are_for() -> None:
    found = {}
    for name in ("re-entrant", "hexagonal", "rotating squares"):
        found[name] = cell_moduli(dataclasses.replace(ZIG_ZAG, pad=PADS[name]), 6.0)
    assert found["re-entrant"].poisson_along < 0
    assert found["re-entrant"].poisson_through < 0
    assert found["rotating squares"].poisson_along < 0
    assert found["hexagonal"].poisson_along > 0
    for moduli in found.values():
        assert moduli.modulus_through_mpa < 6.0 * moduli.relative_density


def test_moduli_scale_with_the_material_and_not_with_size() -> None:
    finger = dataclasses.replace(ZIG_ZAG, pad=PADS["re-entrant"])
    once, thrice = cell_moduli(finger, 2.0), cell_moduli(finger, 6.0)
    np.testing.assert_allclose(3 * once.stiffness_mpa, thrice.stiffness_mpa, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("pad", [None, PADS["plain"], PADS["ribs"]])
def test_a_pad_without_cells_has_no_cell(pad: PadParameters | None) -> None:
    with pytest.raises(ParameterError, match="pad"):
        cell_moduli(dataclasses.replace(ZIG_ZAG, pad=pad), 6.0)


@pytest.mark.parametrize(("youngs", "nu"), [(0, 0.3), (-1, 0.3), (6, 0.5), (6, -1), (np.nan, 0.3)])
def test_impossible_materials_are_refused(youngs: float, nu: float) -> None:
    with pytest.raises(ParameterError, match="no such material"):
        plane_stiffness(youngs, nu, "strain")
