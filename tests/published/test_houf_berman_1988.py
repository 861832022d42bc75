"""Gauge study: R. E. Houf and D. B. Berman (1988), IEEE Trans. CHMT 11, 516-520.

Ten parts, three operators, three repeats; thermal impedance of power modules. Readings and
variance components as reprinted with the paper's data: repeatability 0.511111, interaction
0.727984, operator 0.564609, part 48.292593; specification 18 to 58.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fiddlehead.bench.repeatability import gauge_study
from fiddlehead.errors import CurveError

DATA = Path(__file__).parent / "data" / "gauge_rr_houf_berman.csv"


def readings() -> np.ndarray:
    return np.loadtxt(DATA, delimiter=",", comments="#", skiprows=2)[:, 2:].reshape(10, 3, 3)


def test_variance_components() -> None:
    study = gauge_study(readings())
    assert study.repeatability == pytest.approx(0.511111, abs=1e-6)
    assert study.interaction == pytest.approx(0.727984, abs=1e-6)
    assert study.operator == pytest.approx(0.564609, abs=1e-6)
    assert study.part == pytest.approx(48.292593, abs=1e-6)
    assert study.gauge == pytest.approx(1.803704, abs=1e-6)
    assert study.study_percent == pytest.approx(18.975, abs=1e-3)
    assert study.of_tolerance(40.0) == pytest.approx(0.201453, abs=1e-6)
    assert study.distinct == pytest.approx(7.30, abs=0.01)


def test_people_who_agree_add_nothing() -> None:
    parts = np.arange(5.0)[:, None, None] + np.zeros((5, 3, 2))
    wobble = parts + 0.1 * np.array([-1.0, 1.0])
    study = gauge_study(wobble)
    assert study.operator == 0.0
    assert study.interaction == 0.0
    assert study.repeatability == pytest.approx(0.02)


def test_incomplete_studies_are_refused() -> None:
    with pytest.raises(CurveError, match="every reading"):
        gauge_study(np.full((3, 2, 2), np.nan))
    with pytest.raises(CurveError, match="1 people"):
        gauge_study(np.ones((3, 1, 2)))
