"""What all designs of a study share, and how a row of values becomes one design."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.fittings import Fittings
from fiddlehead.fabricate.process import Process
from fiddlehead.files import sha256
from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.objects.records import ObjectRecord
from fiddlehead.study.space import Row

SIZES = {f.name: f for f in dataclasses.fields(FingerParameters) if f.name != "pad"}
PAD = {f"pad_{f.name}": f.name for f in dataclasses.fields(PadParameters)}
PRINTING = ("line_width_mm", "layer_height_mm", "flow_percent")
SCATTER = ("line_width_error_mm", "layer_height_error_mm", "flow_error_percent", "modulus_factor")
"""How a print may differ from its design; see :meth:`Pattern.design`."""
DRAWN = {
    "side": ("wall_thickness_mm", "roof_thickness_mm", "base_thickness_mm"),
    "upright": ("roof_thickness_mm", "base_thickness_mm", "side_wall_thickness_mm"),
    "base_down": ("wall_thickness_mm", "side_wall_thickness_mm"),
}
"""Walls whose thickness is that of lines side by side, for each build orientation."""
BUILT_UP = {
    "side": ("side_wall_thickness_mm",),
    "upright": ("wall_thickness_mm",),
    "base_down": ("roof_thickness_mm", "base_thickness_mm"),
}
"""Walls whose thickness is that of layers on each other."""
OTHERS = ("working_pressure_kpa", *PRINTING, *SCATTER)


def variable_names(with_pad: bool) -> tuple[str, ...]:
    """Everything that may vary."""
    return (*SIZES, *(PAD if with_pad else ()), *OTHERS)


@dataclasses.dataclass(frozen=True, kw_only=True)
class Design:
    """One design, ready for any trial."""

    finger: FingerParameters
    constants: Mapping[str, float]
    bulk_modulus_mpa: float
    working_pressure_mpa: float
    process: Process
    pattern: Pattern

    @property
    def law(self) -> Any:
        """The energy to compute with."""
        from fiddlehead.material.laws import law_from_constants

        return law_from_constants(self.pattern.law_name, self.constants)

    def vector(self) -> dict[str, float]:
        """Everything continuous a prediction depends on, named as in ``trials.sensitivity``."""
        return {
            **self.finger.sizes(),
            **self.constants,
            "bulk_modulus_mpa": self.bulk_modulus_mpa,
            "pressure_mpa": self.working_pressure_mpa,
        }


@dataclasses.dataclass(frozen=True, kw_only=True)
class Pressing:
    """Objects to press on and where they stand, as in ``trials.press``.

    folder : from which scans of objects are read
    """

    objects: tuple[ObjectRecord, ...]
    folder: Path
    orientation: str
    touch_at_percent: float
    clearance_mm: float
    threshold_kpa: float


@dataclasses.dataclass(frozen=True, kw_only=True)
class Pattern:
    """The design that a study departs from, its material, its print and its rigs.

    wide_channel : the channel follows the chambers' width where it does not vary itself
    pressure_steps : equal steps to the working pressure at which curves are read
    preset_angle_deg, tip_hold, contact_length_mm : of the blocked force
    pressing : None where no trial presses
    """

    finger: FingerParameters
    law_name: str
    constants: Mapping[str, float]
    bulk_modulus_mpa: float
    density_g_per_cm3: float
    working_pressure_kpa: float
    process: Process
    build_orientation: str = "side"
    fittings: Fittings | None = None
    wide_channel: bool = False
    pressure_steps: int = 1
    preset_angle_deg: float = 0.0
    tip_hold: str = "plate"
    contact_length_mm: float | None = None
    pressing: Pressing | None = None

    def design(self, row: Row) -> Design:
        """The design with the values of ``row`` in place of the pattern's.

        A print that comes out different (``SCATTER``): a line wider by ``line_width_error_mm``, or
        by its width times ``flow_error_percent``, thickens every wall drawn in the plane of the
        layers by as much, half on each face, outer sizes unchanged; ``layer_height_error_mm``
        thickens walls built up in layers. ``modulus_factor`` multiplies every stress-like constant
        and the bulk modulus. Our model of scatter: common practice, no source.

        Raises
        ------
        ParameterError : a name that cannot vary, or a pad value without a pad
        """
        unknown = [name for name in row if name not in variable_names(self.finger.pad is not None)]
        if unknown:
            raise ParameterError(
                "this cannot vary",
                where=f"study.ranges.{unknown[0]}",
                allowed=", ".join(variable_names(self.finger.pad is not None)),
            )
        sizes = {name: value for name, value in row.items() if name in SIZES}
        finger = dataclasses.replace(self.finger, **sizes)  # type: ignore[arg-type]
        if self.wide_channel and "channel_width_mm" not in row:
            wide = finger.width_mm - 2.0 * finger.side_wall_thickness_mm
            finger = dataclasses.replace(finger, channel_width_mm=wide)
        own = {PAD[name]: value for name, value in row.items() if name in PAD}
        if own and finger.pad is not None:
            pad = dataclasses.replace(finger.pad, **own)  # type: ignore[arg-type]
            finger = dataclasses.replace(finger, pad=pad)
        process = self._process(row)
        factor = float(row.get("modulus_factor", 1.0))
        return Design(
            finger=self._printed(finger, process, row),
            constants=stiffened(self.constants, factor),
            bulk_modulus_mpa=factor * self.bulk_modulus_mpa,
            working_pressure_mpa=1e-3
            * float(row.get("working_pressure_kpa", self.working_pressure_kpa)),
            process=process,
            pattern=self,
        )

    def _process(self, row: Row) -> Process:
        flow = float(row.get("flow_percent", 100.0 * self.process.flow)) / 100.0
        own = {n: float(row[n]) for n in ("line_width_mm", "layer_height_mm") if n in row}
        return dataclasses.replace(self.process, flow=flow, **own)  # type: ignore[arg-type]

    def _printed(self, finger: FingerParameters, process: Process, row: Row) -> FingerParameters:
        """The finger as a print with these errors has it."""
        lines = float(row.get("line_width_error_mm", 0.0))
        lines += process.line_width_mm * float(row.get("flow_error_percent", 0.0)) / 100.0
        layers = float(row.get("layer_height_error_mm", 0.0))
        if lines == layers == 0.0:
            return finger
        grown = dict.fromkeys(DRAWN[self.build_orientation], lines)
        grown |= dict.fromkeys(BUILT_UP[self.build_orientation], layers)
        sizes = {name: float(getattr(finger, name)) + by for name, by in grown.items()}
        if not finger.narrow_channel:
            sizes["channel_width_mm"] = finger.width_mm - 2.0 * sizes["side_wall_thickness_mm"]
        return dataclasses.replace(finger, **sizes)  # type: ignore[arg-type]

    def start(self, names: tuple[str, ...]) -> dict[str, Any]:
        """The pattern's own values of some variables."""
        own: dict[str, Any] = {
            "working_pressure_kpa": self.working_pressure_kpa,
            "line_width_mm": self.process.line_width_mm,
            "layer_height_mm": self.process.layer_height_mm,
            "flow_percent": 100.0 * self.process.flow,
            **dict.fromkeys(SCATTER, 0.0),
            "modulus_factor": 1.0,
        }
        own |= {name: getattr(self.finger, name) for name in SIZES}
        if self.finger.pad is not None:
            own |= {name: getattr(self.finger.pad, field) for name, field in PAD.items()}
        return {name: own[name] for name in names}

    def content(self) -> dict[str, Any]:
        """Everything a result rests on besides a design's own values and the mesh, as JSON."""
        found: dict[str, Any] = json.loads(json.dumps(dataclasses.asdict(self), default=str))
        if self.pressing is not None:  # objects are known by what they are, not where they lie
            del found["pressing"]["folder"]
            scans = [self.pressing.folder / r.file for r in self.pressing.objects if r.file]
            found["pressing"]["scans_sha256"] = [sha256(path) for path in scans]
        return found


def stiffened(constants: Mapping[str, float], factor: float) -> dict[str, float]:
    """Constants of a law with every stress multiplied."""
    return {n: factor * v if n.endswith("_mpa") else v for n, v in constants.items()}


def fingerprint(content: Any) -> str:
    """SHA-256 of anything JSON can write, without regard to the order of entries."""
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def design_key(pattern_hash: str, row: Row, trials: tuple[str, ...], mesh: MeshSettings) -> str:
    """What makes two simulations the same: pattern, values, trials and mesh."""
    return fingerprint([pattern_hash, dict(row), sorted(trials), dataclasses.asdict(mesh)])[:32]
