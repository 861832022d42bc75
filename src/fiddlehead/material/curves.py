"""Test files to curves: the user declares columns, units and specimen; nothing is guessed.

Force and extension become nominal stress and stretch by the section and the gauge length of the
specimen. Units that would make a material no elastomer can be are asked about.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from jaxtyping import Float

from fiddlehead.errors import CurveError
from fiddlehead.files import sha256
from fiddlehead.material.delimited import Table, read_table
from fiddlehead.material.records import MODES, PLAUSIBLE_MODULUS_MPA, Mode, TensileCurve
from fiddlehead.material.specimens import median_thickness, standard_specimen
from fiddlehead.units import names_of, ratio

FORCE_UNITS = {name: float(ratio(name, "N")) for name in names_of("force")}
"""Newtons in one unit."""

LENGTH_UNITS = {name: float(ratio(name, "mm")) for name in names_of("length")}
"""Millimetres in one unit."""

STRESS_UNITS = {name: float(ratio(name, "MPa")) for name in names_of("pressure")}
"""Megapascals in one unit."""

STRAIN_UNITS = ("fraction", "percent", "stretch")

PLAUSIBLE_STRETCH = 15.0
"""No printable elastomer stretches further (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class CurveFile:
    """What the user declares about one test file.

    Give ``strain_column`` *or* ``extension_column``, and ``stress_column`` *or*
    ``force_column``. Extension needs a gauge length, force a section: from ``specimen`` (a name
    in the shipped table), from the sizes given here (they win), or from ``section_mm2``.

    mode : uniaxial, planar, equibiaxial or compression (either sign is accepted there)
    stress_column : nominal stress, on the original section
    specimen_column : text column telling several specimens of one file apart
    thickness_mm : one value, or several readings (the median is used, ISO 37)
    conditioned : the file holds one loading branch, already conditioned and zeroed elsewhere
    decimal, delimiter : ``"auto"``, or ``"."``/``","`` and ``"comma"``/``"semicolon"``/``"tab"``
    unusual_modulus_confirmed : the user has looked; the modulus really is unusual
    """

    path: Path
    mode: Mode = "uniaxial"
    strain_column: str | None = None
    strain_unit: Literal["fraction", "percent", "stretch"] = "fraction"
    extension_column: str | None = None
    extension_unit: str = "mm"
    stress_column: str | None = None
    stress_unit: str = "MPa"
    force_column: str | None = None
    force_unit: str = "N"
    specimen_column: str | None = None
    specimen: str | None = None
    width_mm: float | None = None
    thickness_mm: float | Sequence[float] | None = None
    section_mm2: float | None = None
    gauge_length_mm: float | None = None
    conditioned: bool = False
    decimal: str = "auto"
    delimiter: str = "auto"
    unusual_modulus_confirmed: bool = False


def read_curves(file: CurveFile) -> tuple[TensileCurve, ...]:
    """Read every specimen of one test file.

    Raises
    ------
    CurveError : with file, line and column, what was found, what is allowed and the remedy
    """
    _check_declaration(file)
    strain_name = file.strain_column or file.extension_column
    stress_name = file.stress_column or file.force_column
    names = [name for name in (strain_name, stress_name, file.specimen_column) if name]
    table = read_table(file.path, names, delimiter=file.delimiter)
    stretch = _stretch(file, table)
    stress = _stress(file, table)
    digest = sha256(file.path)
    labels = table.text(file.specimen_column) if file.specimen_column else None
    curves = []
    for label in dict.fromkeys(labels) if labels else [file.path.stem]:
        rows = np.array([cell == label for cell in labels]) if labels else slice(None)
        one_stretch, one_stress = _signed(file, stretch[rows], stress[rows], str(label))
        _check_plausible(file, one_stretch, one_stress)
        curves.append(
            TensileCurve(
                mode=file.mode,
                specimen=str(label),
                stretch=one_stretch,
                nominal_stress_mpa=one_stress,
                zeroed=file.force_column is None and file.extension_column is None,
                conditioned=file.conditioned,
                file=file.path.name,
                sha256=digest,
            )
        )
    return tuple(curves)


def _check_declaration(file: CurveFile) -> None:
    where = file.path.name
    if file.mode not in MODES:
        raise CurveError(
            "unknown test mode", where=where, found=repr(file.mode), allowed=", ".join(MODES)
        )
    for one, other in (("strain", "extension"), ("stress", "force")):
        given = [getattr(file, f"{name}_column") is not None for name in (one, other)]
        if sum(given) != 1:
            raise CurveError(
                f"declare either {one}_column or {other}_column",
                where=where,
                found="both" if all(given) else "neither",
                remedy="Name the column of the file that holds it.",
            )
    choices: list[tuple[str, str, Sequence[str] | Mapping[str, float]]] = [
        ("strain_unit", file.strain_unit, STRAIN_UNITS),
        ("extension_unit", file.extension_unit, LENGTH_UNITS),
        ("stress_unit", file.stress_unit, STRESS_UNITS),
        ("force_unit", file.force_unit, FORCE_UNITS),
        ("decimal", file.decimal, ("auto", ".", ",")),
    ]
    for field, value, allowed in choices:
        if value not in allowed:
            raise CurveError(
                f"unknown {field}",
                where=where,
                found=repr(value),
                allowed=", ".join(allowed),
                remedy="Units are written exactly so, upper and lower case as shown.",
            )


def _size(file: CurveFile, field: str, value: float) -> float:
    if np.isfinite(value) and value > 0.0:
        return float(value)
    raise CurveError(
        f"{field} must be a positive size",
        where=file.path.name,
        found=f"{value:g}",
        allowed="above 0",
        remedy="Measure the specimen; the drawn size is not the printed size.",
    )


def _stretch(file: CurveFile, table: Table) -> Float[np.ndarray, " sample"]:
    if file.extension_column is not None:
        length = file.gauge_length_mm
        if length is None and file.specimen is not None:
            length = standard_specimen(file.specimen, where=file.path.name).gauge_length_mm
        if length is None:
            raise CurveError(
                "extension needs a gauge length",
                where=file.path.name,
                remedy="Give gauge_length_mm, or the name of a standard specimen.",
            )
        extension = table.numbers(file.extension_column, decimal=file.decimal)
        scale = LENGTH_UNITS[file.extension_unit] / _size(file, "gauge_length_mm", length)
        return 1.0 + extension * scale
    strain = table.numbers(str(file.strain_column), decimal=file.decimal)
    if file.strain_unit == "stretch":
        return strain
    return 1.0 + strain * (0.01 if file.strain_unit == "percent" else 1.0)


def _stress(file: CurveFile, table: Table) -> Float[np.ndarray, " sample"]:
    if file.force_column is not None:
        force = table.numbers(file.force_column, decimal=file.decimal)
        return force * FORCE_UNITS[file.force_unit] / _section_mm2(file)
    stress = table.numbers(str(file.stress_column), decimal=file.decimal)
    return stress * STRESS_UNITS[file.stress_unit]


def _section_mm2(file: CurveFile) -> float:
    if file.section_mm2 is not None:
        return _size(file, "section_mm2", file.section_mm2)
    width, thickness = file.width_mm, file.thickness_mm
    if file.specimen is not None:
        row = standard_specimen(file.specimen, where=file.path.name)
        width = row.narrow_width_mm if width is None else width
        thickness = row.thickness_mm if thickness is None else thickness
    if width is None or thickness is None:
        raise CurveError(
            "force needs a section",
            where=file.path.name,
            remedy="Give width_mm and thickness_mm as measured, section_mm2, or the name of a "
            "standard specimen.",
        )
    middle = median_thickness(thickness, where=file.path.name)
    return _size(file, "width_mm", width) * _size(file, "thickness_mm", middle)


def _signed(
    file: CurveFile,
    stretch: Float[np.ndarray, " sample"],
    stress: Float[np.ndarray, " sample"],
    specimen: str,
) -> tuple[Float[np.ndarray, " sample"], Float[np.ndarray, " sample"]]:
    """Compression to negative strain and stress, whichever way the machine counted it."""
    if len(stretch) < 3:
        raise CurveError(
            "too few samples for a curve",
            where=f"{file.path.name}, specimen {specimen}",
            found=str(len(stretch)),
            allowed="3 or more",
        )
    strain = stretch - 1.0
    if file.mode == "compression":
        strain = -strain if abs(strain.max()) > abs(strain.min()) else strain
        stress = -stress if abs(stress.max()) > abs(stress.min()) else stress
    if np.any(strain <= -1.0):
        raise CurveError(
            "a strain of -100 % or beyond: the specimen would be gone",
            where=f"{file.path.name}, specimen {specimen}",
            found=f"{strain.min():.4g}",
            allowed="above -1 (as a fraction)",
            remedy="Check the strain unit and the mode.",
        )
    if file.mode in ("planar", "equibiaxial") and strain.max() < -strain.min():
        raise CurveError(
            "this tension test was pressed, not pulled",
            where=f"{file.path.name}, specimen {specimen}",
            found=f"strains from {strain.min():.3g} to {strain.max():.3g}",
            remedy='Check the sign of the column, or declare mode = "compression".',
        )
    return 1.0 + strain, stress


def _check_plausible(
    file: CurveFile,
    stretch: Float[np.ndarray, " sample"],
    stress: Float[np.ndarray, " sample"],
) -> None:
    """Ask about units when no elastomer could give these numbers."""
    if stretch.max() > PLAUSIBLE_STRETCH:
        raise CurveError(
            "no printable elastomer stretches this far; is the strain unit right?",
            where=file.path.name,
            found=f"stretch {stretch.max():.4g}",
            allowed=f"up to {PLAUSIBLE_STRETCH:g}",
            remedy='Declare strain_unit = "percent" if the column holds percent, or check the '
            "extension unit and the gauge length.",
        )
    if file.unusual_modulus_confirmed:
        return
    strain = stretch - stretch[0]
    far = np.abs(strain) >= 0.05 * np.abs(strain).max()
    if not np.any(strain[far] != 0.0):
        raise CurveError("the specimen was never stretched", where=file.path.name, found="strain 0")
    first = far & (np.abs(strain) <= 0.35 * np.abs(strain).max())
    chosen = first if np.any(first) else far
    modulus = float(np.median((stress[chosen] - stress[0]) / strain[chosen]))
    low, high = PLAUSIBLE_MODULUS_MPA
    if not low <= modulus <= high:
        raise CurveError(
            "the initial modulus is not that of an elastomer; are the units right?",
            where=file.path.name,
            found=f"about {modulus:.3g} MPa",
            allowed=f"{low:g} to {high:g} MPa",
            remedy="Check force, stress and length units (N or kN, kPa or MPa, mm or m), percent "
            "or fraction, and the section. If it is right, set unusual_modulus_confirmed = true.",
        )
