"""What the bench measured: plain arrays with their origin, ready to save, reduce and compare."""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float, Int

TIP_TANGENT, CHORD = "tip tangent", "chord"
ANGLES = (TIP_TANGENT, CHORD)
"""The two bending angles in use; a value without its definition is refused."""
STIFFNESS = "stiffness"
"""The unknown that scales all moduli of the material; the others are thicknesses."""


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class BenchRecord:
    """One run of one finger: samples in the order they were taken, faults taken out.

    ``values`` maps a quantity with its unit (``pressure_kpa``, ``force_n``, ``angle_deg`` ...) to
    one number per sample. Pressures are gauge pressures whatever the instrument showed.
    """

    test: str
    """``bend``, ``block``, ``lateral``, ``step``, ``creep``, ``leak``, ``life``, ``picks`` or
    ``pull_off``."""
    finger: str
    repeat: int
    values: dict[str, Float[np.ndarray, " sample"]]
    angle_definition: str = ""
    """``tip tangent`` or ``chord`` where there is an angle."""
    object_name: str = ""
    """What was gripped, in pick trials."""
    preset_angle_deg: float = 0.0
    """Tip angle at which the plate stood, in blocked-force tests."""
    source: str = ""
    """Name of the raw file."""
    sha256: str = ""
    """Fingerprint of the raw file."""
    remarks: tuple[str, ...] = ()
    """What was left out or is doubtful, in plain words."""

    def __len__(self) -> int:
        return len(next(iter(self.values.values()))) if self.values else 0

    def kept(self, chosen: Int[np.ndarray, " chosen"], *remarks: str) -> BenchRecord:
        """The same with only the ``chosen`` samples and further remarks."""
        values = {name: column[chosen] for name, column in self.values.items()}
        return dataclasses.replace(self, values=values, remarks=(*self.remarks, *remarks))


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Spread:
    """A measured curve over pressure: mean of the fingers, with both kinds of scatter apart.

    A repeat on one finger is no further finger, so the two numbers never mix.
    """

    quantity: str
    """What it is with its unit: ``angle_deg``, ``force_n`` ..."""
    branch: str
    """``up``, ``down`` or, where the two were not told apart, ``both``."""
    definition: str
    """Which bending angle; empty for anything else."""
    pressure_kpa: Float[np.ndarray, " grid"]
    mean: Float[np.ndarray, " grid"]
    """Mean of the fingers' means; NaN where no finger was measured."""
    sd_fingers: Float[np.ndarray, " grid"]
    """Standard deviation between fingers (n - 1); NaN for a single finger."""
    sd_repeats: Float[np.ndarray, " grid"]
    """Standard deviation of repeats on one finger, pooled over fingers; NaN without repeats."""
    fingers: tuple[str, ...]
    repeats: tuple[int, ...]
    """Repeats of each finger."""
    each: Float[np.ndarray, "finger grid"]
    """Mean curve of each finger."""

    @property
    def n_fingers(self) -> int:
        """How many fingers."""
        return len(self.fingers)

    @property
    def said(self) -> str:
        """Both numbers in words: ``n = 3 fingers, 4 + 4 + 3 repeats``."""
        word = "finger" if self.n_fingers == 1 else "fingers"
        count = (
            f"{self.repeats[0]} repeat{'s' if self.repeats[0] != 1 else ''} each"
            if len(set(self.repeats)) == 1
            else " + ".join(map(str, self.repeats)) + " repeats"
        )
        return f"n = {self.n_fingers} {word}, {count}"


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Predicted:
    """A predicted curve with the band its inputs leave open."""

    quantity: str
    definition: str
    pressure_kpa: Float[np.ndarray, " step"]
    value: Float[np.ndarray, " step"]
    sd: Float[np.ndarray, " step"]
    """Standard deviation from material and print scatter together; zero where none was given."""
    scatter: tuple[str, ...] = ()
    """What the band contains, in words; empty when there is none."""
    source: str = ""
    """Which saved result."""
