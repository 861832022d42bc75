"""The finger's volume over pressure from a saved bend result."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from fiddlehead.air.cavity import Cavity
from fiddlehead.errors import StoreError
from fiddlehead.finger.volumes import cavity_volume_mm3, inlet_volume_mm3
from fiddlehead.project.load import Project
from fiddlehead.report.export.store import load_bend_result, read_record

OF_THE_FINGER = ("finger", "pad", "material")
"""Sections that change V(p)."""


@dataclass(frozen=True)
class FingerVolume:
    """V(p) of one finger with its inlet, and where it came from."""

    cavity: Cavity
    wall_energy_mj: float
    """Strain energy at the working pressure; 0 where it is not known."""
    origin: str
    remarks: tuple[str, ...]


def finger_volume(project: Project, results: Path, *, rigid: bool = False) -> FingerVolume:
    """From the last ``bend`` in the results folder, or the volume at rest if ``rigid``.

    Raises
    ------
    StoreError : no bend result, or one that ends below the working pressure
    """
    inlet = inlet_volume_mm3(project.finger)
    if rigid:
        at_rest = (cavity_volume_mm3(project.finger) + inlet) / 1e3
        remark = "The walls are taken as rigid: a real finger takes more air and more time."
        return FingerVolume(Cavity.rigid(at_rest), 0.0, "volume at rest, walls rigid", (remark,))
    folder, working = results / "bend", project.loads.working_pressure_kpa
    if not (folder / "record.json").exists():
        raise StoreError(
            "the finger's volume over pressure is not known yet",
            where=str(folder),
            remedy="Run `fiddlehead bend` first, or use --rigid for a rough estimate.",
        )
    result = load_bend_result(folder)
    pressure = 1e3 * result.pressure_mpa
    if pressure[-1] < working * (1.0 - 1e-9):
        raise StoreError(
            "the bend result ends below the working pressure",
            where=str(folder),
            found=f"{pressure[-1]:.4g} kPa",
            allowed=f"{working:g} kPa or more",
            remedy="Run `fiddlehead bend` to the working pressure, or lower that.",
        )
    volume = (result.cavity_volume_mm3 + inlet) / 1e3
    return FingerVolume(
        cavity=Cavity(pressure, volume),
        wall_energy_mj=float(np.interp(working, pressure, result.strain_energy_mj)),
        origin=f"V(p) from the bend result to {pressure[-1]:.4g} kPa",
        remarks=_changed(project, read_record(folder)),
    )


def _changed(project: Project, record: dict[str, Any]) -> tuple[str, ...]:
    """Sections that are no longer what the result was computed from."""
    then = record.get("project", {}).get("entries", {})
    now = project.sections.model_dump(mode="json")
    changed = [name for name in OF_THE_FINGER if then.get(name) != now.get(name)]
    if not changed:
        return ()
    names = " and ".join(f"[{name}]" for name in changed)
    return (f"{names} changed since the bend result was computed: run `fiddlehead bend` again.",)
