"""Small-strain moduli of a lattice: one cell that repeats without end, solved as it is drawn.

Periodic homogenisation (Michel, Moulinec and Suquet, 1999, Comput. Methods Appl. Mech. Eng. 172,
109-143): under each of three mean strains the periodic part of the displacement takes the least
energy, and twice that energy over the cell's area is the modulus. A first number to sort cells by;
a pad two or three cells deep behaves differently, and trials therefore model every cell.
"""

from __future__ import annotations

import dataclasses
from typing import Literal

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import ParameterError
from fiddlehead.finger.pad.unit_cell import unit_cell
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.mechanics.element import face_functions
from fiddlehead.mechanics.quadrature import gauss
from fiddlehead.mesh.periodic import PeriodicGrid, periodic_grid

Plane = Literal["stress", "strain"]
"""``stress`` for a thin sheet, as the published cell formulas; ``strain`` for a wide pad."""


@dataclasses.dataclass(frozen=True, eq=False)
class CellModuli:
    """Moduli of a lattice as if it were a solid: 1 along the finger, 2 through the pad's depth."""

    stiffness_mpa: Float[np.ndarray, "3 3"]
    """Mean stress over mean strain, engineering shear last."""
    relative_density: float
    """Share of the area that is solid."""

    @property
    def _compliance(self) -> Float[np.ndarray, "3 3"]:
        return np.linalg.inv(self.stiffness_mpa)

    @property
    def modulus_along_mpa(self) -> float:
        """Young's modulus along the finger."""
        return float(1 / self._compliance[0, 0])

    @property
    def modulus_through_mpa(self) -> float:
        """Young's modulus through the depth."""
        return float(1 / self._compliance[1, 1])

    @property
    def poisson_along(self) -> float:
        """Contraction through the depth over extension along the finger; below 0 is auxetic."""
        return float(-self._compliance[1, 0] / self._compliance[0, 0])

    @property
    def poisson_through(self) -> float:
        """Contraction along the finger over extension through the depth."""
        return float(-self._compliance[0, 1] / self._compliance[1, 1])

    @property
    def shear_modulus_mpa(self) -> float:
        """In-plane shear modulus."""
        return float(1 / self._compliance[2, 2])


def cell_moduli(
    finger: FingerParameters,
    youngs_modulus_mpa: float,
    poisson_ratio: float = 0.49,
    *,
    plane: Plane = "strain",
    columns: int = 2,
    along_struts: int = 8,
) -> CellModuli:
    """Moduli of the cells of a finger's pad, for small strains.

    Parameters
    ----------
    finger : a finger whose pad has cells
    youngs_modulus_mpa, poisson_ratio : of the printed material at small strain; for an elastomer
        three times the initial shear modulus
    plane : ``strain`` for a pad much wider than its struts are thick
    columns, along_struts : elements across half a strut and along a strut

    Raises
    ------
    ParameterError : no pad, no cells, or a material that cannot be
    """
    finger.validate()
    if finger.pad is None:
        raise ParameterError("this finger has no pad", where="finger.pad", remedy="Add [pad].")
    span = finger.length_mm - finger.root_length_mm
    grid = periodic_grid(unit_cell(finger.pad, span), columns, along_struts)
    solid = plane_stiffness(youngs_modulus_mpa, poisson_ratio, plane)
    return homogenise(grid, np.broadcast_to(solid, (len(grid.nodes), 3, 3)))


def plane_stiffness(
    youngs_modulus_mpa: float, poisson_ratio: float, plane: Plane
) -> Float[np.ndarray, "3 3"]:
    """Stress over strain of an isotropic solid in the plane, engineering shear last, MPa.

    Raises
    ------
    ParameterError : a modulus that is not positive, or a ratio outside -1 to 0.5
    """
    e, nu = youngs_modulus_mpa, poisson_ratio
    if not (np.isfinite(e) and e > 0 and -1 < nu < 0.5):
        raise ParameterError(
            "no such material",
            where="cell",
            found=f"Young's modulus {e:g} MPa, Poisson's ratio {nu:g}",
            allowed="a modulus above 0; a ratio between -1 and 0.5",
        )
    if plane == "strain":
        e, nu = e / (1 - nu**2), nu / (1 - nu)
    factor = e / (1 - nu**2)
    return factor * np.array([[1, nu, 0], [nu, 1, 0], [0, 0, (1 - nu) / 2]])


def homogenise(grid: PeriodicGrid, stiffness_mpa: Float[np.ndarray, "element 3 3"]) -> CellModuli:
    """Moduli of a periodic pattern of quadratic elements, each with its own material.

    Two by two Gauss points, which keep nearly incompressible solids from locking.

    Parameters
    ----------
    grid : elements of one repetition
    stiffness_mpa : plane stiffness of each element's material, engineering shear last
    """
    from scipy.sparse import coo_matrix
    from scipy.sparse.linalg import splu

    rule = gauss(2, 2)
    _, slope = face_functions(rule.points)
    jacobian = np.einsum("qai,eaj->eqij", slope, grid.points)
    gradient = np.einsum("qai,eqji->eqaj", slope, np.linalg.inv(jacobian))
    area = rule.weights * np.linalg.det(jacobian)
    strain = np.zeros((*area.shape, 3, 8, 2))
    strain[..., 0, :, 0] = strain[..., 2, :, 1] = gradient[..., 0]
    strain[..., 1, :, 1] = strain[..., 2, :, 0] = gradient[..., 1]
    strain = strain.reshape(*area.shape, 3, 16)
    stress = np.einsum("eij,eqjd->eqid", stiffness_mpa, strain)
    block = np.einsum("eq,eqid,eqif->edf", area, strain, stress)
    load = np.einsum("eq,eqid->edi", area, stress)
    mean = np.einsum("eq,eij->ij", area, stiffness_mpa)

    freedom = (2 * grid.nodes[:, :, None] + np.arange(2)).reshape(len(grid.nodes), 16)
    size = int(freedom.max()) + 1
    rows = np.repeat(freedom, 16, axis=1).ravel()
    matrix = coo_matrix((block.ravel(), (rows, np.tile(freedom, 16).ravel())), (size, size))
    right = np.zeros((size, 3))
    np.add.at(right, freedom, load)
    free = slice(2, size)  # one node held: the rest cannot float away
    waves = splu(matrix.tocsc()[free, free]).solve(-right[free])
    total = (mean + right[free].T @ waves) / grid.area
    return CellModuli((total + total.T) / 2, float(area.sum() / grid.area))
