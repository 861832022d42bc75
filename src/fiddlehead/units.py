"""Units: exact conversions between the units people write, and numbers with units for reading.

Inside fiddlehead everything is mm, N, MPa, s and mJ; faces carry the unit in the name of the
field. This table serves whatever arrives in another unit: test files, options, measured data.
Factors are exact rationals from the definitions of the inch (25.4 mm), the pound (0.45359237 kg),
standard gravity (9.80665 m/s²) and the bar (100 kPa); source: BIPM, The International System of
Units (9th edition, 2019) and NIST Special Publication 811 (2008), Appendix B.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any, NamedTuple

from fiddlehead.errors import ParameterError


class Unit(NamedTuple):
    """One unit: what it measures and its exact size in fiddlehead's own unit of that quantity."""

    quantity: str
    size: Fraction


_INCH = Fraction(254, 10)  # mm
_POUND_FORCE = Fraction("0.45359237") * Fraction("9.80665")  # N
_KILOGRAM_FORCE = Fraction("9.80665")  # N
_DEGREE = Fraction(1)
_RADIAN = Fraction(180.0 / math.pi)  # the nearest double; every other factor is exact

UNITS: dict[str, Unit] = {
    # length, mm
    "um": Unit("length", Fraction(1, 1000)),
    "mm": Unit("length", Fraction(1)),
    "cm": Unit("length", Fraction(10)),
    "m": Unit("length", Fraction(1000)),
    "in": Unit("length", _INCH),
    # force, N
    "mN": Unit("force", Fraction(1, 1000)),
    "N": Unit("force", Fraction(1)),
    "kN": Unit("force", Fraction(1000)),
    "gf": Unit("force", _KILOGRAM_FORCE / 1000),
    "kgf": Unit("force", _KILOGRAM_FORCE),
    "lbf": Unit("force", _POUND_FORCE),
    # pressure and stress, MPa
    "Pa": Unit("pressure", Fraction(1, 10**6)),
    "kPa": Unit("pressure", Fraction(1, 1000)),
    "MPa": Unit("pressure", Fraction(1)),
    "GPa": Unit("pressure", Fraction(1000)),
    "N/mm2": Unit("pressure", Fraction(1)),
    "mbar": Unit("pressure", Fraction(1, 10**4)),
    "bar": Unit("pressure", Fraction(1, 10)),
    "psi": Unit("pressure", _POUND_FORCE / _INCH**2),
    "ksi": Unit("pressure", 1000 * _POUND_FORCE / _INCH**2),
    "kgf/cm2": Unit("pressure", _KILOGRAM_FORCE / 100),
    # ratio (strain), 1
    "1": Unit("ratio", Fraction(1)),
    "mm/mm": Unit("ratio", Fraction(1)),
    "%": Unit("ratio", Fraction(1, 100)),
    # angle, degrees
    "deg": Unit("angle", _DEGREE),
    "rad": Unit("angle", _RADIAN),
    # area, mm²
    "mm2": Unit("area", Fraction(1)),
    "in2": Unit("area", _INCH**2),
    # volume, mm³
    "mm3": Unit("volume", Fraction(1)),
    "cm3": Unit("volume", Fraction(1000)),
    "mL": Unit("volume", Fraction(1000)),
    "L": Unit("volume", Fraction(10**6)),
    "in3": Unit("volume", _INCH**3),
    # energy, mJ
    "mJ": Unit("energy", Fraction(1)),
    "J": Unit("energy", Fraction(1000)),
    # density, g/cm³
    "g/cm3": Unit("density", Fraction(1)),
    "kg/m3": Unit("density", Fraction(1, 1000)),
    # speed and acceleration, mm/s and mm/s²
    "mm/s": Unit("speed", Fraction(1)),
    "mm/s2": Unit("acceleration", Fraction(1)),
    # time, s
    "ms": Unit("time", Fraction(1, 1000)),
    "s": Unit("time", Fraction(1)),
    "min": Unit("time", Fraction(60)),
    "h": Unit("time", Fraction(3600)),
    # rate, 1/s
    "1/min": Unit("rate", Fraction(1, 60)),
    # flow of air, mm³/s at a reference state that goes with it
    "cm3/min": Unit("flow", Fraction(1000, 60)),
    "L/min": Unit("flow", Fraction(10**6, 60)),
    # sonic conductance, dm³/(s bar)
    "dm3/(s bar)": Unit("sonic conductance", Fraction(1)),
    # temperature, °C
    "degC": Unit("temperature", Fraction(1)),
}


def names_of(quantity: str) -> tuple[str, ...]:
    """Names of all units of one quantity, e.g. ``names_of("force")``."""
    return tuple(name for name, unit in UNITS.items() if unit.quantity == quantity)


def find(name: str) -> Unit:
    """The unit called ``name``.

    Raises
    ------
    ParameterError : unknown name; the message lists the known ones
    """
    try:
        return UNITS[name]
    except KeyError:
        raise ParameterError(
            "unknown unit", found=repr(name), allowed=", ".join(UNITS), remedy="Mind the case."
        ) from None


def ratio(unit: str, to: str) -> Fraction:
    """Exact number of ``to`` in one ``unit``, e.g. ``ratio("psi", "kPa")``.

    Raises
    ------
    ParameterError : unknown unit, or two units of different quantities
    """
    source, target = find(unit), find(to)
    if source.quantity != target.quantity:
        raise ParameterError(
            f"{unit} measures {source.quantity}, {to} measures {target.quantity}",
            found=unit,
            allowed=", ".join(names_of(target.quantity)),
        )
    return source.size / target.size


def convert(value: Any, unit: str, to: str) -> Any:
    """``value`` (a number or a numpy array) of ``unit``, expressed in ``to``.

    The factor is rounded to a double once; whole factors and whole divisors stay exact.

    Raises
    ------
    ParameterError : unknown unit, or two units of different quantities
    """
    factor = ratio(unit, to)
    if factor.numerator == 1:
        return value / float(factor.denominator)
    return value * float(factor)


_WRITTEN = {"mm2": "mm²", "in2": "in²", "mm3": "mm³", "cm3": "cm³", "in3": "in³", "N/mm2": "N/mm²"}
_WRITTEN |= {"mm/s2": "mm/s²"}
_WRITTEN |= {"kgf/cm2": "kgf/cm²", "g/cm3": "g/cm³", "kg/m3": "kg/m³", "deg": "°", "um": "µm"}
_WRITTEN |= {"cm3/min": "cm³/min", "dm3/(s bar)": "dm³/(s bar)", "degC": "°C"}


def written_unit(unit: str) -> str:
    """A unit as it is printed: ``"mm3"`` becomes ``"mm³"``, ``"deg"`` becomes ``"°"``."""
    return _WRITTEN.get(unit, unit)


def say(value: float, unit: str, digits: int = 3) -> str:
    """A number with its unit for reading: ``say(0.2, "MPa") == "0.2 MPa"``, ``"87.5°"``.

    ``digits`` are significant ones; whole parts are never rounded away (1234 stays 1234).
    """
    if not math.isfinite(value):
        number = str(value)
    else:
        whole = len(str(int(abs(value)))) if abs(value) >= 1 else 0
        number = f"{value:.{max(digits, whole)}g}"
    if unit in ("", "1"):
        return number
    written = written_unit(unit)
    return f"{number}{written}" if written == "°" else f"{number} {written}"


def unit_of_field(name: str) -> str:
    """The unit a field name carries: ``unit_of_field("pitch_mm") == "mm"``; ``""`` if none."""
    for ending, unit in _ENDINGS.items():
        if name.endswith(ending):
            return unit
    return ""


def name_without_unit(name: str) -> str:
    """A field name in words, its unit left out: ``"pitch_mm"`` becomes ``"pitch"``."""
    for ending in _ENDINGS:
        if name.endswith(ending):
            return name.removesuffix(ending).replace("_", " ")
    return name.replace("_", " ")


_ENDINGS = {
    "_g_per_cm3": "g/cm3",
    "_mm_per_s2": "mm/s2",
    "_mm_per_s": "mm/s",
    "_dm3_per_s_bar": "dm3/(s bar)",
    "_cm3_per_min": "cm3/min",
    "_l_per_min": "L/min",
    "_per_min": "1/min",
    "_deg_c": "degC",
    "_mm2": "mm2",
    "_mm3": "mm3",
    "_cm3": "cm3",
    "_mm": "mm",
    "_kpa": "kPa",
    "_mpa": "MPa",
    "_deg": "deg",
    "_percent": "%",
    "_mj": "mJ",
    "_n": "N",
    "_s": "s",
    "_m": "m",
}
