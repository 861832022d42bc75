"""An independent judge of a whole finger: other geometry code, other mesh, other elements.

Nothing of fiddlehead is imported here. The finger is drawn again as a solid from its parameters
with a CAD kernel, meshed with unstructured tetrahedra and solved with NGSolve (Schöberl, J. (2014),
C++11 implementation of finite elements in NGSolve, ASC Report 30/2014, TU Wien): quadratic
displacements and a continuous linear pressure (Taylor & Hood (1973), Computers & Fluids 1,
73-100), Newton's method, live pressure from the potential ``p V``.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import ngsolve as ng
import numpy as np
from netgen import occ

ng.SetNumThreads(2)
ng.ngsglobals.msg_level = 0


@dataclasses.dataclass(frozen=True, kw_only=True)
class Shape:
    """A bellows finger as its drawing dimensions it; mm and degrees."""

    bellows: int
    flank_deg: float
    pitch: float
    gap: float
    height: float
    valley: float
    wall: float
    roof: float
    base: float
    side: float
    width: float
    channel: float
    root: float
    tip: float


RF1 = Shape(
    bellows=3, flank_deg=90, pitch=8, gap=2, height=12, valley=5, wall=1, roof=1, base=2, side=1,
    width=12, channel=4, root=5, tip=4,
)  # fmt: skip


@dataclasses.dataclass(frozen=True)
class Drawing:
    """Outlines in the plane: the solid, each chamber, and the channels between them."""

    outer: list[tuple[float, float]]
    chambers: list[list[tuple[float, float]]]
    channels: list[tuple[float, float]]
    length: float


def draw(s: Shape) -> Drawing:
    """Walk along the roof once, from the root block to the tip block."""
    angle = np.radians(s.flank_deg)
    run = (s.height - s.valley) / np.tan(angle)
    shift = (s.wall - s.roof * np.cos(angle)) / np.sin(angle)  # mitre between flat and flank
    land = s.pitch - s.gap - 2 * run - 2 * shift  # inner
    assert land > 0, "no room for the chamber"
    top, low = s.height - s.roof, s.valley - s.roof
    x = s.root + land + run  # inner foot of the first distal flank
    outer = [(0.0, 0.0), (0.0, s.height), (x + shift - run, s.height), (x + shift, s.valley)]
    first = [(s.root, s.base), (s.root, top), (s.root + land, top), (x, low), (x, s.base)]
    chambers, channels = [first], []
    for _ in range(1, s.bellows):
        near = x + 2 * shift + s.gap  # inner foot of the next proximal flank
        far = near + 2 * run + land
        channels.append((x, near))
        chambers.append(
            [(near, s.base), (near, low), (near + run, top), (far - run, top), (far, low),
             (far, s.base)]
        )  # fmt: skip
        outer += [(near - shift, s.valley), (near - shift + run, s.height)]
        outer += [(far + shift - run, s.height), (far + shift, s.valley)]
        x = far
    length = x + shift + s.tip
    return Drawing([*outer, (length, s.valley), (length, 0.0)], chambers, channels, length)


def _extrude(outline: list[tuple[float, float]], depth: float) -> Any:
    corners = [
        p
        for k, p in enumerate(outline)
        if k == 0 or np.hypot(*np.subtract(p, outline[k - 1])) > 1e-9
    ][::-1]  # counter-clockwise, repeated corners of upright flanks dropped
    plane = occ.WorkPlane(occ.Axes((0, 0, 0), n=occ.Z, h=occ.X)).MoveTo(*corners[0])
    for corner in corners[1:]:
        plane = plane.LineTo(*corner)
    return plane.Close().Face().Extrude(depth)


@dataclasses.dataclass(frozen=True)
class Half:
    """The half solid z >= 0 with named faces, and the exact volumes of the whole finger."""

    solid: Any
    length: float
    solid_volume: float
    cavity_volume: float


def half(s: Shape) -> Half:
    """Cut the cavity out of the outline with the CAD kernel."""
    d = draw(s)
    cavity = _extrude(d.chambers[0], s.width / 2 - s.side)
    for outline in d.chambers[1:]:
        cavity = cavity + _extrude(outline, s.width / 2 - s.side)
    for x0, x1 in d.channels:
        cavity = cavity + occ.Box((x0, s.base, 0), (x1, s.valley - s.roof, s.channel / 2))
    solid = _extrude(d.outer, s.width / 2) - cavity
    inside = (s.root, d.chambers[-1][-1][0], s.base, s.height - s.roof, s.width / 2 - s.side)
    for face in solid.faces:
        low, high = face.bounding_box
        face.name = _name(np.array(list(low)), np.array(list(high)), d.length, inside)
    return Half(solid, d.length, 2 * solid.mass, 2 * cavity.mass)


def _name(low: np.ndarray, high: np.ndarray, length: float, inside: tuple[float, ...]) -> str:
    x0, x1, y0, y1, z1 = inside
    if high[2] < 1e-5:
        return "symmetry"
    if high[0] < 1e-5:
        return "root"
    if low[0] > length - 1e-5:
        return "tip"
    within = low[0] > x0 - 1e-4 and high[0] < x1 + 1e-4 and low[1] > y0 - 1e-4
    return "cavity" if within and high[1] < y1 + 1e-4 and high[2] < z1 + 1e-4 else "outside"


Density = Callable[[Any, Any], Any]
"""Isochoric energy (MPa) of the two invariants of the unimodular right Cauchy-Green tensor."""


@dataclasses.dataclass(frozen=True)
class Verdict:
    """One equilibrium of the whole finger."""

    pressure_mpa: float
    tip_angle_deg: float
    tip_mm: tuple[float, float]
    tip_mean_drop_mm: float
    cavity_volume_mm3: float


@dataclasses.dataclass(frozen=True)
class _Model:
    """Discrete balance on one mesh."""

    mesh: Any
    space: Any
    state: Any
    form: Any
    pressure: Any


def _model(h: Half, density: Density, bulk_mpa: float, size_mm: float) -> _Model:
    mesh = ng.Mesh(occ.OCCGeometry(h.solid).GenerateMesh(maxh=size_mm))
    space = ng.VectorH1(mesh, order=2, dirichlet="root", dirichletz="symmetry") * ng.H1(
        mesh, order=1
    )
    u, q = space.TrialFunction()
    pressure = ng.Parameter(0.0)
    f = ng.Id(3) + ng.Grad(u)
    j, c = ng.Det(f), f.trans * f
    i1 = j ** (-2 / 3) * ng.Trace(c)
    i2 = j ** (-4 / 3) * (ng.Trace(c) ** 2 - ng.InnerProduct(c, c)) / 2
    energy = density(i1, i2) + q * (j - 1) - q * q / (2 * bulk_mpa)
    form = ng.BilinearForm(space, symmetric=True)
    form += ng.Variation(energy.Compile() * ng.dx)
    form += ng.Variation(
        pressure * _volume_density(u.Trace(), ng.Grad(u).Trace()) * ng.ds("cavity")
    )
    return _Model(mesh, space, ng.GridFunction(space), form, pressure)


def _volume_density(displacement: Any, surface_gradient: Any) -> Any:
    """``x·n/3`` per undeformed area; outward normals point into the cavity, so minus its volume."""
    place = ng.CF((ng.x, ng.y, ng.z)) + displacement
    return ng.InnerProduct(ng.Cof(ng.Id(3) + surface_gradient) * ng.specialcf.normal(3), place) / 3


def _settle(m: _Model, most: int = 40) -> None:
    """Newton's method to round-off in the energy norm."""
    force, step = m.state.vec.CreateVector(), m.state.vec.CreateVector()
    for _ in range(most):
        m.form.AssembleLinearization(m.state.vec)
        m.form.Apply(m.state.vec, force)
        inverse = m.form.mat.Inverse(m.space.FreeDofs(), inverse="sparsecholesky")
        step.data = inverse * force
        m.state.vec.data -= step
        work = abs(ng.InnerProduct(step, force))
        assert np.isfinite(work), "the judge diverged"
        if work < 1e-9:
            return
    raise AssertionError("the judge did not converge")


def _read(m: _Model, h: Half) -> Verdict:
    u = m.state.components[0]
    tip = m.mesh.Boundaries("tip")

    def over_tip(f: Any) -> float:
        return float(ng.Integrate(f, m.mesh, definedon=tip))

    area = over_tip(ng.CF(1.0))
    middle = over_tip(ng.y) / area
    arm = ng.y - middle
    spread = over_tip(arm * arm)
    angle = np.arctan2(over_tip(arm * u[0]) / spread, 1 + over_tip(arm * u[1]) / spread)
    corner = u(m.mesh(h.length - 1e-9, 1e-9, 1e-9))
    integrand = _volume_density(u, ng.Grad(u))
    volume = -2 * ng.Integrate(integrand, m.mesh, definedon=m.mesh.Boundaries("cavity"), order=5)
    return Verdict(
        m.pressure.Get(),
        float(np.degrees(angle)),
        (h.length + corner[0], corner[1]),
        over_tip(u[1]) / area,
        float(volume),
    )


def bend(
    s: Shape,
    density: Density,
    bulk_mpa: float,
    pressures_mpa: list[float],
    *,
    coarse_mm: float,
    fine_mm: float,
    substeps: int = 1,
) -> list[Verdict]:
    """Bend the finger freely: follow the path on a coarse mesh, then settle on the fine one."""
    h = half(s)
    coarse, fine = (_model(h, density, bulk_mpa, size) for size in (coarse_mm, fine_mm))
    verdicts, reached = [], 0.0
    for pressure in pressures_mpa:
        for value in np.linspace(reached, pressure, substeps + 1)[1:]:
            coarse.pressure.Set(value)
            _settle(coarse)
        reached = pressure
        for mine, theirs in zip(fine.state.components, coarse.state.components, strict=True):
            mine.Set(theirs)
        fine.pressure.Set(pressure)
        _settle(fine)
        verdicts.append(_read(fine, h))
    return verdicts


def neo_hooke(mu_mpa: float) -> Density:
    """``mu/2 (I1 - 3)``."""
    return lambda i1, i2: mu_mpa / 2 * (i1 - 3)


def yeoh(c10_mpa: float, c20_mpa: float, c30_mpa: float) -> Density:
    """``c10 (I1 - 3) + c20 (I1 - 3)² + c30 (I1 - 3)³``."""
    return lambda i1, i2: (i1 - 3) * (c10_mpa + (i1 - 3) * (c20_mpa + (i1 - 3) * c30_mpa))
