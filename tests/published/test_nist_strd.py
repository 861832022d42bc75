"""NIST Statistical Reference Datasets, nonlinear regression (public domain).

Misra1a (lower difficulty), MGH17 and Thurber (higher difficulty), each from both published starts:
certified constants to 1e-5, standard deviations to 1e-3, by the driver that fits the laws.
"""

from __future__ import annotations

import csv
from pathlib import Path

import jax
import jax.numpy as jnp
import numpy as np
import pytest

import fiddlehead.material.laws  # noqa: F401  (double precision)
from fiddlehead.material.regression import Start, regress

DATA = Path(__file__).parent / "data"


def misra1a(b, x):
    return b[0] * (1 - jnp.exp(-b[1] * x))


def mgh17(b, x):
    return b[0] + b[1] * jnp.exp(-x * b[3]) + b[2] * jnp.exp(-x * b[4])


def thurber(b, x):
    top = b[0] + x * (b[1] + x * (b[2] + x * b[3]))
    return top / (1 + x * (b[4] + x * (b[5] + x * b[6])))


MODELS = {
    "Misra1a": (misra1a, 0.12455138894),
    "MGH17": (mgh17, 5.4648946975e-5),
    "Thurber": (thurber, 5642.7082397),
}


def rows(name, dataset):
    text = (DATA / name).read_text(encoding="utf-8").splitlines()
    table = csv.DictReader(line for line in text if not line.startswith("#"))
    return [row for row in table if row["dataset"] == dataset]


@pytest.mark.parametrize("start", ["start1", "start2"])
@pytest.mark.parametrize("dataset", MODELS)
def test_certified_values(dataset, start):
    model, squares = MODELS[dataset]
    points = rows("nist_strd_nonlinear_data.csv", dataset)
    x = np.array([float(row["x"]) for row in points])
    y = np.array([float(row["y"]) for row in points])
    certified = rows("nist_strd_nonlinear.csv", dataset)
    found = regress(
        lambda b: np.asarray(model(b, x)) - y,
        lambda b: np.asarray(jax.jacfwd(model)(jnp.asarray(b), x)),
        [Start([float(row[start]) for row in certified])],
    )
    values = [float(row["certified"]) for row in certified]
    deviations = [float(row["std_dev"]) for row in certified]
    np.testing.assert_allclose(found.values, values, rtol=1e-5)
    np.testing.assert_allclose(found.deviations, deviations, rtol=1e-3)
    assert found.sum_of_squares == pytest.approx(squares, rel=1e-8)
