"""The ``[material]`` section and its ``[[material.tests]]``."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fiddlehead.material.card import DEFAULT_BULK_TO_SHEAR, DEFAULT_DENSITY_G_PER_CM3
from fiddlehead.project.fields import COMMON, MEMORY, Section, entry, published

ISO_37 = published("ISO 37 (section from measured thickness)")

Several = Annotated[tuple[str, ...], Field(strict=False, min_length=1)]
Readings = Annotated[tuple[float, ...], Field(strict=False, min_length=1)]


class TestFiles(Section):
    """One set of test files that share columns, units and specimen."""

    __test__ = False  # not a pytest class

    files: Several = entry(
        says="CSV files, one or more specimens each; paths count from this file's folder.",
        example='["tensile/pull_1.csv", "tensile/pull_2.csv"]',
    )
    mode: Literal["uniaxial", "planar", "equibiaxial", "compression"] = entry(
        says="How the specimen was loaded.", example='"uniaxial"'
    )
    strain_column: str | None = entry(
        None, says="Column with strain, as the header writes it.", example='# "strain"'
    )
    strain_unit: Literal["fraction", "percent", "stretch"] = entry(
        "fraction", says="Unit of the strain column; stretch is 1 at rest."
    )
    extension_column: str | None = entry(
        None, says="Column with extension, instead of strain.", example='# "extension"'
    )
    extension_unit: Literal["mm", "um", "cm", "m", "in"] = entry(
        "mm", says="Unit of the extension column."
    )
    stress_column: str | None = entry(
        None, says="Column with nominal stress (on the original section).", example='# "stress"'
    )
    stress_unit: Literal["MPa", "N/mm2", "kPa", "Pa", "bar", "psi", "kgf/cm2"] = entry(
        "MPa", says="Unit of the stress column."
    )
    force_column: str | None = entry(
        None, says="Column with force, instead of stress.", example='# "force"'
    )
    force_unit: Literal["N", "mN", "kN", "gf", "kgf", "lbf"] = entry(
        "N", says="Unit of the force column."
    )
    specimen_column: str | None = entry(
        None, says="Column telling several specimens of one file apart.", example='# "specimen"'
    )
    specimen: str | None = entry(
        None,
        says="Standard specimen: gives gauge length and section unless measured ones stand here.",
        example='# "ISO 37 type 2"',
    )
    width_mm: float | None = entry(
        None, says="Measured width of the narrow part.", example="# 4.0", gt=0, le=500
    )
    thickness_mm: float | Readings | None = entry(
        None,
        says="Measured thickness, or a list of readings (median taken).",
        standing=ISO_37,
        words="a number or a list of numbers, above 0 mm",
        example="# [2.01, 2.00, 2.02]",
    )
    section_mm2: float | None = entry(
        None, says="Loaded section, instead of width and thickness.", example="# 8.0", gt=0, le=1e5
    )
    gauge_length_mm: float | None = entry(
        None, says="Length the extension is measured on.", example="# 20.0", gt=0, le=1000
    )
    conditioned: bool = entry(
        False, says="The files hold one loading branch only, already conditioned and zeroed."
    )
    decimal: Literal["auto", ".", ","] = entry("auto", says="Decimal mark of the numbers.")
    delimiter: Literal["auto", "comma", "semicolon", "tab"] = entry(
        "auto", says="What separates the columns."
    )


class MaterialSection(Section):
    """The printed elastomer: tests, constants typed by hand, or hardness alone."""

    name: str = entry("unnamed elastomer", says="Name on the material card.", min_length=1)
    law_from: Literal["tests", "constants", "hardness"] = entry(
        says="Where the law comes from; hardness alone is a rough guess and says so.",
        example='"hardness"',
    )
    law: str = entry(
        "recommended",
        says='Law to use: "recommended" (needs tests) or a name that `fiddlehead fit` lists.',
    )
    cycle: Literal["first pull", "conditioned"] = entry(
        "conditioned",
        says="Branch of the test curves: first inflation, or service after softening.",
        standing=COMMON,
    )
    use_strain_percent: float = entry(
        60.0,
        says="Largest nominal strain expected in use; the fit and its stability reach to here.",
        standing=COMMON,
        usual=(20.0, 150.0),
        gt=0,
        le=1000,
    )
    density_g_per_cm3: float = entry(
        DEFAULT_DENSITY_G_PER_CM3,
        says="Density, for the mass.",
        standing=MEMORY,
        usual=(0.9, 1.4),
        gt=0.05,
        le=5,
    )
    bulk_to_shear_ratio: float = entry(
        DEFAULT_BULK_TO_SHEAR,
        says="Bulk over shear modulus: how little the volume gives; printed parts hold voids.",
        standing=COMMON,
        usual=(20.0, 2000.0),
        ge=5,
        le=10000,
    )
    shore_a_hardness: float | None = entry(
        None, says='Needed for law_from = "hardness".', example="85.0", ge=20, le=95
    )
    ogden_convention: Literal["mu/alpha", "2mu/alpha^2"] | None = entry(
        None,
        says="Needed for Ogden constants typed by hand: which of the two printed forms they are.",
        example='# "mu/alpha"',
    )
    unusual_modulus_confirmed: bool = entry(
        False, says="Set to true once you are sure that an unusual modulus is no slip of units."
    )
    constants: dict[str, float] = entry(
        {},
        says='Needed for law_from = "constants": the constants of the law, by name.',
        example="# c10_mpa = 2.0",
    )
    tests: Annotated[tuple[TestFiles, ...], Field(strict=False)] = entry(
        (), says='Needed for law_from = "tests": the test files.'
    )
