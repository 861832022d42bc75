"""Pressure decay of sealed printed chambers, measured.

E. Zillen (2021), TU Delft: chambers at about 7.5 bar, valve shut, 140 s; one machined, two from
vat resin, four from filament at layer heights of 0.06 to 0.20 mm. Open data, CC0-1.0; in ``data/``
resampled to 10 s. Slopes over the whole record (bar/s, straight line) were computed apart from
this code. The chambers' volume is not in the source: one cubic centimetre is assumed, which
scales the flow but not the fall of pressure.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fiddlehead.air.cavity import Cavity
from fiddlehead.bench.leaks import LeakVerdict, judge_leak
from fiddlehead.bench.read import RecordFile, read_records

DATA = Path(__file__).parent / "data" / "printed_chamber_pressure_decay.csv"
SLOPES = {
    "aluminium": -2.54e-4,
    "resin_a": -7.13e-4,
    "resin_b": -2.86e-4,
    "filament_0p06": -3.74e-4,
    "filament_0p10": -7.25e-4,
}


def verdict(chamber: str) -> LeakVerdict:
    file = RecordFile(
        path=DATA,
        test="leak",
        columns={"time": "time_s", "pressure": chamber},
        units={"pressure": "bar"},
        finger=chamber,
    )
    (record,) = read_records(file)
    return judge_leak(record, Cavity.rigid(1.0), settle_s=0.0)


@pytest.mark.parametrize("chamber", SLOPES)
def test_slopes_and_what_holds(chamber: str) -> None:
    found = verdict(chamber)
    assert found.rate.decay_kpa_per_min == pytest.approx(-6000.0 * SLOPES[chamber], rel=0.02)
    assert found.leak_class == "A"
    assert any("temperature" in warning for warning in found.warnings)
    # rigid, isothermal: Q = V dp/dt, 1 cm3 and the fall in kPa/min against 100 kPa (ANR)
    assert found.units["cm³/min ANR"] == pytest.approx(
        found.rate.decay_kpa_per_min / 100.0, rel=1e-6
    )


@pytest.mark.parametrize("chamber", ["filament_0p15", "filament_0p20"])
def test_coarse_layers_leak(chamber: str) -> None:
    found = verdict(chamber)
    assert found.leak_class == "undecided"  # no supply was told: usable or scrap depends on it
    assert found.rate.percent_per_min > 50.0
    assert not found.rate.steady
    assert any("settle" in warning for warning in found.warnings)


def test_finer_layers_leak_less() -> None:
    falls = [
        verdict(f"filament_{layer}").rate.percent_per_min
        for layer in ("0p06", "0p10", "0p15", "0p20")
    ]
    assert (np.diff(falls[:3]) > 0).all()
