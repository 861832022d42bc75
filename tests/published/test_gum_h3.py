"""Calibration of a thermometer: JCGM 100:2008 (GUM), annex H.3, table H.6.

Published: y1 = -0.1712(29) °C, y2 = 0.00218(67), r = -0.930, s = 0.0035 °C, and the correction at
30 °C, b = -0.1494(41) °C.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fiddlehead.bench.sensors import calibration_line
from fiddlehead.errors import CurveError

DATA = Path(__file__).parent / "data" / "gum_h3_thermometer.csv"


def test_line_uncertainties_and_prediction() -> None:
    reading, correction = np.loadtxt(DATA, delimiter=",", comments="#", skiprows=2).T
    line = calibration_line(reading, correction, centre=20.0)
    assert line.intercept == pytest.approx(-0.1712, abs=5e-5)
    assert line.slope == pytest.approx(0.00218, abs=5e-6)
    assert line.intercept_u == pytest.approx(0.0029, abs=5e-5)
    assert line.slope_u == pytest.approx(0.00067, abs=5e-6)
    assert line.correlation == pytest.approx(-0.930, abs=5e-4)
    assert line.scatter == pytest.approx(0.0035, abs=5e-5)
    assert line.correction(30.0) == pytest.approx(-0.1494, abs=5e-5)
    assert line.uncertainty(30.0) == pytest.approx(0.0041, abs=5e-5)


def test_where_the_line_is_centred_does_not_matter() -> None:
    reading, correction = np.loadtxt(DATA, delimiter=",", comments="#", skiprows=2).T
    one, other = (calibration_line(reading, correction, centre=c) for c in (0.0, 24.0))
    at = np.array([21.0, 26.0, 40.0])
    assert one.correction(at) == pytest.approx(other.correction(at), rel=1e-9)
    assert one.uncertainty(at) == pytest.approx(other.uncertainty(at), rel=1e-6)


def test_two_points_are_no_calibration() -> None:
    with pytest.raises(CurveError, match="three points"):
        calibration_line(np.array([1.0, 2.0]), np.array([0.1, 0.2]))
