"""From what data sheets tell of valves, tubes and holes to sonic conductance and critical ratio."""

from __future__ import annotations

import math

from fiddlehead.air.flow import Restriction
from fiddlehead.air.reference import ADIABATIC_EXPONENT, ANR, ANR_DENSITY_KG_M3, ATMOSPHERE_KPA
from fiddlehead.errors import ParameterError

DRY_AIR_CONSTANT = 287.05287
"""J/(kg K), ISO 2533 standard atmosphere (value from memory)."""
NOZZLE_RATIO = (2.0 / (ADIABATIC_EXPONENT + 1.0)) ** (
    ADIABATIC_EXPONENT / (ADIABATIC_EXPONENT - 1.0)
)
"""0.528: critical pressure ratio of an ideal nozzle in air."""
KV_PER_CV = 0.8650
"""m³/h of water at 1 bar for one US gallon per minute at 1 psi (3.785411784 L, 6.894757 kPa)."""


def tube(name: str, bore_mm: float, length_m: float) -> Restriction:
    """A smooth tube of some length, inlet and outlet losses included.

    ``C = 0.029 d^2 / sqrt(L/d^1.25 + 510)`` and ``b = 474 C/d^2`` in metres and m³/(s Pa).
    Source: ISO 6358-3:2014 (value from memory; held against friction flow in a pipe by a test).

    Raises
    ------
    ParameterError : a bore or a length that is not positive
    """
    for what, value, unit in (("bore", bore_mm, "mm"), ("length", length_m, "m")):
        if not (math.isfinite(value) and value > 0):
            raise ParameterError(
                f"no such tube {what}", where=name, found=f"{value} {unit}", allowed="more than 0"
            )
    bore = bore_mm / 1e3
    si = 0.029 * bore**2 / math.sqrt(length_m / bore**1.25 + 510.0)
    return Restriction(
        name, 1e8 * si, 474.0 * si / bore**2, standing="ISO 6358-3:2014 tube formula, from memory"
    )


def tube_volume_cm3(bore_mm: float, length_m: float) -> float:
    """Air inside a tube, cm³."""
    return math.pi / 4.0 * bore_mm**2 * length_m


def hole(name: str, diameter_mm: float, discharge: float = 0.8) -> Restriction:
    """A round hole or pinhole: an ideal nozzle times a discharge coefficient.

    The default of 0.8 is common practice, no source; a sharp edge has about 0.6, a rounded one 1.
    """
    return Restriction(
        name,
        discharge * nozzle_conductance_dm3_per_s_bar(diameter_mm),
        NOZZLE_RATIO,
        standing=f"ideal nozzle, discharge coefficient {discharge:g}",
    )


def nozzle_conductance_dm3_per_s_bar(diameter_mm: float) -> float:
    """Sonic conductance of an ideal nozzle, 0.199 dm³/(s bar) for each mm² of its throat.

    Choked isentropic flow of a perfect gas (any textbook of gas dynamics).
    """
    k = ADIABATIC_EXPONENT
    area = math.pi / 4.0 * (diameter_mm / 1e3) ** 2
    choking = math.sqrt(k) * (2.0 / (k + 1.0)) ** ((k + 1.0) / (2.0 * (k - 1.0)))
    mass_flow = area * choking / math.sqrt(DRY_AIR_CONSTANT * ANR.temperature_k)
    return 1e8 * mass_flow / ANR_DENSITY_KG_M3


def from_kv(name: str, kv_m3_per_h: float, critical_ratio: float = 0.3) -> Restriction:
    """From the metric valve coefficient Kv (m³/h of water at 1 bar).

    Both formulas at choked flow, with ``x_T = 1 - b``: ``C = 5.38 sqrt(1 - b) Kv``. Source: gas
    sizing of IEC 60534-2-1 (value from memory); the two families of curves differ by a few
    percent in between. A b of 0.3 is common practice, no source.
    """
    factor = math.sqrt(1000.0 / ANR_DENSITY_KG_M3) / 3.6 * 2.0 / 3.0
    return Restriction(
        name,
        factor * math.sqrt(1.0 - critical_ratio) * kv_m3_per_h,
        critical_ratio,
        standing="from Kv, IEC 60534-2-1 from memory",
    )


def from_cv(name: str, cv: float, critical_ratio: float = 0.3) -> Restriction:
    """From the US valve coefficient Cv (gallons of water a minute at 1 psi): Kv = 0.865 Cv."""
    return from_kv(name, KV_PER_CV * cv, critical_ratio)


def from_nominal_flow(
    name: str, nominal_l_per_min: float, critical_ratio: float = 0.3
) -> Restriction:
    """From the nominal flow of a data sheet: 6 bar to 5 bar gauge, free air in L/min.

    A b of 0.3 is common practice, no source.
    """
    unit = Restriction(name, 1.0, critical_ratio)
    inlet, outlet = 600.0 + ATMOSPHERE_KPA, 500.0 + ATMOSPHERE_KPA
    per_unit = float(unit.flow_cm3_per_s(inlet, outlet)) * 60.0 / 1000.0
    return Restriction(
        name,
        nominal_l_per_min / per_unit,
        critical_ratio,
        standing="from nominal flow at 6 to 5 bar gauge",
    )


def pinhole_mm(
    leak_cm3_per_min: float,
    gauge_kpa: float,
    discharge: float = 0.8,
    atmosphere_kpa: float = ATMOSPHERE_KPA,
) -> float:
    """Diameter of the one round hole that would leak as much (cm³/min at ANR), mm.

    A sense of scale, not a finding: real leaks are slits and rows of pores. 0 for no leak.
    """
    if leak_cm3_per_min <= 0 or gauge_kpa <= 0:
        return 0.0
    one = hole("", 1.0, discharge)
    flow = 60.0 * float(one.flow_cm3_per_s(gauge_kpa + atmosphere_kpa, atmosphere_kpa))
    return math.sqrt(leak_cm3_per_min / flow)
