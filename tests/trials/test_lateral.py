"""Trial lateral: the half finger with antisymmetric supports against the whole finger."""

from __future__ import annotations

from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
import pytest
from scipy.sparse import coo_array, csc_array
from scipy.sparse.linalg import eigsh, splu

from fiddlehead.errors import ParameterError
from fiddlehead.mechanics.balance import linear_system
from fiddlehead.mechanics.body import make_body
from fiddlehead.mechanics.outcome import Outcome
from fiddlehead.mechanics.solve import follow, make_loading, make_solid, stack
from fiddlehead.mechanics.stability import mass
from fiddlehead.report.export.series import WholeMesh, whole_mesh
from fiddlehead.trials.buckling import MARGIN, buckling_pressure_mpa, buckling_warning
from fiddlehead.trials.lateral import lateral, tip_share
from tests.trials.made import BULK_MPA, COARSE, LAW, SMALL

PRESSURES = [0.05, 0.1]
FACE = np.array([0, 3, 2, 1, 7, 6, 5, 4])
"""Order that turns a mirrored face the right way round again."""


@pytest.fixture(scope="module")
def found() -> Any:
    return lateral(SMALL, LAW, BULK_MPA, PRESSURES, mesh_settings=COARSE)


class Whole:
    """The whole finger, inflated and then solved by a sparse solver of its own."""

    def __init__(self, found: Any) -> None:
        self.half = found.mesh
        self.mesh: WholeMesh = whole_mesh(self.half)
        image = np.arange(len(self.half.points))
        mirrored = self.mesh.side < 0
        image[self.mesh.node[mirrored]] = np.flatnonzero(mirrored)
        cavity = self.half.faces["cavity"]
        fixed = np.zeros(self.mesh.points.shape, dtype=bool)
        fixed[self.mesh.points[:, 0] == 0.0] = True
        self.body = make_body(
            self.mesh.points,
            self.mesh.elements,
            pressure_faces=np.concatenate([cavity, image[cavity[:, FACE]]]),
            fixed=fixed,
        )
        self.solid = make_solid(self.body, self.mesh.points, LAW, BULK_MPA)
        self.loading = make_loading(self.body, pressure=PRESSURES[-1])
        self.path = follow(self.body, stack([self.solid]), stack([self.loading]), [0.0, 0.5, 1.0])
        assert self.path.outcome == (Outcome.complete,)

    def matrix(self, cells: Any) -> csc_array:
        """The matrix of the free rows of the nodes."""
        parts = [(np.asarray(rows), np.asarray(m)) for rows, m in cells]
        row = [np.repeat(r, r.shape[1], axis=1).ravel() for r, _ in parts]
        column = [np.tile(r, (1, r.shape[1])).ravel() for r, _ in parts]
        entry = [m.ravel() for _, m in parts]
        size = self.body.nodal_size
        whole = coo_array(
            (np.concatenate(entry), (np.concatenate(row), np.concatenate(column))), (size, size)
        ).tocsc()
        return whole[self.free][:, self.free]

    @property
    def free(self) -> np.ndarray:
        return np.flatnonzero(np.asarray(self.body.free).ravel())

    def tangent(self, stop: int) -> csc_array:
        """Stiffness at a stop of the path."""
        state = jnp.asarray(self.path.rows[0, stop])
        system = jax.jit(linear_system)(
            self.body, self.solid, self.loading, jnp.asarray(self.path.stops[stop]), state
        )
        return self.matrix(system.tangent)

    def share(self) -> np.ndarray:
        """Shares of the free rows in the mean over the whole tip face."""
        half = tip_share(self.half)
        across = np.zeros(self.mesh.points.shape)
        on_plane = self.half.points[self.mesh.node, 2] == 0.0
        # a node on the plane of symmetry has a share from either side
        across[:, 2] = half[self.mesh.node] * np.where(on_plane, 1.0, 0.5)
        return np.asarray(self.body.to_rows(jnp.asarray(across)))[self.free]


@pytest.mark.slow
def test_half_finger_is_the_whole_finger(found: Any) -> None:
    """Stiffness, and the lowest sideways eigenvalue among those of the whole, at rest and bent."""
    whole = Whole(found)
    heavy = whole.matrix(mass(whole.body, whole.solid.geometry))
    share = whole.share()
    assert share.sum() == pytest.approx(1.0)
    lowest = {}
    for step in (0, 2):
        bent = whole.mesh.vectors(found.displacement_mm[step])
        assert whole.path.displacement[0, step] == pytest.approx(bent, abs=1e-6)
        tangent = whole.tangent(step)
        deflection = share @ splu(tangent).solve(share)
        assert found.stiffness_n_per_mm[step] == pytest.approx(1.0 / deflection, rel=1e-6)
        values, shapes = eigsh(tangent, 4, heavy, sigma=0.0)
        pushed = np.abs(share @ shapes)
        sideways = pushed > 1e-6 * pushed.max()  # the others bend within the plane
        lowest[step] = values[sideways].min()
    assert found.stability[2] == pytest.approx(lowest[2] / lowest[0], rel=1e-6)


def test_a_finger_on_its_way(found: Any) -> None:
    assert found.history.complete
    assert found.pressure_mpa == pytest.approx([0.0, *PRESSURES])
    assert found.stability[0] == 1.0
    assert np.all(found.stiffness_n_per_mm > 0)
    assert not found.unstable_shapes.any()
    assert found.warning == ""
    assert "no source" in found.margin_standing
    assert np.abs(np.linalg.norm(found.weakest_mm, axis=2)).max(axis=1) == pytest.approx(1.0)
    held = np.unique(found.mesh.faces["symmetry"])
    assert np.all(found.weakest_mm[:, held, :2] == 0.0)


def test_a_push_at_the_tip_twists_a_finger_about_its_shear_centre(found: Any) -> None:
    """The force at the face's middle passes above the base, which is the stiffer part at rest."""
    assert found.twist_deg_per_n[0] > 0.0


@pytest.mark.parametrize("wrong", [[], [0.1, 0.05], [-0.1], [0.1, float("nan")]])
def test_pressures_that_do_not_rise_are_refused(wrong: list[float]) -> None:
    with pytest.raises(ParameterError, match="pressures must rise"):
        lateral(SMALL, LAW, BULK_MPA, wrong, mesh_settings=COARSE)


PRESSURE = np.array([0.0, 0.1, 0.2])


@pytest.mark.parametrize(
    ("stability", "unstable", "at", "words"),
    [
        ([1.0, 1.1, 1.2], [0, 0, 0], None, ""),
        ([1.0, 0.999, 0.998], [0, 0, 0], None, ""),
        ([1.0, 0.9, 0.8], [0, 0, 0], 1.0, ""),
        ([1.0, 0.96, 0.84], [0, 0, 0], 0.5, ""),  # 1 - (p / 0.5)²
        ([1.0, 0.7, 0.5], [0, 0, 0], 0.45, ""),  # flattens: straight on
        ([1.0, 0.9, 0.4], [0, 0, 0], 0.25, "near"),
        ([1.0, 0.5, -0.5], [0, 0, 1], 0.15, "passed"),
        ([1.0, 0.5, 0.6], [0, 0, 1], 0.1, "passed"),
        ([1.0, -1.0, -2.0], [0, 1, 1], 0.05, "passed"),
        ([-1.0, -1.0, -2.0], [1, 1, 1], 0.0, "passed"),
    ],
)
def test_where_buckling_comes_and_what_is_said(
    stability: list[float], unstable: list[int], at: float | None, words: str
) -> None:
    counts = np.array(unstable)
    pressure = buckling_pressure_mpa(PRESSURE, np.array(stability), counts)
    assert pressure == pytest.approx(at)
    said = buckling_warning(PRESSURE, counts, pressure)
    assert words in said
    assert bool(said) == bool(words)


def test_a_single_step_says_nothing_about_buckling() -> None:
    assert buckling_pressure_mpa(PRESSURE[:1], np.ones(1), np.zeros(1, dtype=int)) is None
    assert MARGIN > 1.0
