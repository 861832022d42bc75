"""Slopes of the bending curve over wall thickness, kept between comparisons."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
from jaxtyping import Float

from fiddlehead.files import write_text

Slopes = dict[str, Float[np.ndarray, " step"]]
NAME = "slopes.json"


def write_slopes(results: Path, slopes: Slopes, input_hash: str) -> Path:
    """Keep relative slopes (1/mm) by angle definition, and the pressures they belong to.

    Raises
    ------
    StoreError : the place cannot be written
    """
    document = {
        "input_hash_sha256": input_hash,
        "relative_slope_per_mm": {name: list(map(float, one)) for name, one in slopes.items()},
    }
    return write_text(results / NAME, json.dumps(document, indent=2) + "\n")


def saved_slopes(results: Path, input_hash: str) -> Slopes | None:
    """Slopes of an earlier comparison of the very same project; None where there are none."""
    try:
        document = json.loads((results / NAME).read_text(encoding="utf-8"))
        if document["input_hash_sha256"] != input_hash:
            return None
        kept = document["relative_slope_per_mm"]
        return {name: np.array(values, float) for name, values in kept.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None
