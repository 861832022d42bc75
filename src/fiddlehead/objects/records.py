"""An object as a record: sizes, mass, friction, limits, and where each number comes from."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any


@dataclasses.dataclass(frozen=True, kw_only=True)
class ObjectRecord:
    """One entry of an object library.

    ``sizes`` are those of the shape, by the names of its class; ``standing`` tells of every
    number that is not a size where it comes from. A limit of None is unknown, not infinite.
    """

    name: str
    shape: str
    """Kind of shape, one of ``objects.shapes.base.SHAPES``."""
    sizes: Mapping[str, Any]
    mass_g: float
    friction_coefficient: float
    """Static, against the printed pad."""
    contact_pressure_limit_kpa: float | None = None
    """Contact pressure that must not be passed; read it against the 95th percentile."""
    force_limit_n: float | None = None
    """Force of one finger that must not be passed."""
    standing: Mapping[str, str] = dataclasses.field(default_factory=dict)
    note: str = ""
    file: str = ""
    """STL of a scanned shape, as the library writes it."""
