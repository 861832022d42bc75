"""What goes with a gripper when it changes hands: parts, pressure label, checks, provenance.

results/handover/  handover.html, label.png/svg, parts.csv, handover.json
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from fiddlehead.air.cautions import RELIEF_FACTOR
from fiddlehead.air.records import AirResult
from fiddlehead.bench.leaks import TightnessLimits
from fiddlehead.errors import StoreError
from fiddlehead.files import write_text
from fiddlehead.project.load import Project
from fiddlehead.report.about import versions
from fiddlehead.report.document import Picture, Section, Sheet, Steps, Table, html
from fiddlehead.report.export.store import load_bend_result, load_block_result
from fiddlehead.report.export.tables import write_table
from fiddlehead.report.figures.label import PressureLabel, draw_label
from fiddlehead.report.figures.style import save
from fiddlehead.report.parts_list import Item, parts_list
from fiddlehead.report.results import Written, write_result
from fiddlehead.units import say

BURST_FACTOR = 2.0
"""Burst pressure of a sample over the working pressure; our proposal."""


@dataclass(frozen=True)
class Handover:
    """One gripper with its dates.

    finger_mass_g : of the solid that is printed, mount and fittings included
    predicted : quantity and value of what was predicted for the working pressure
    """

    project: Project
    air: AirResult
    finger_mass_g: float
    volume_from: str
    date: str
    proof_tested: str
    predicted: tuple[tuple[str, str], ...]

    @property
    def proof_kpa(self) -> float:
        """Proof pressure, gauge."""
        return self.project.sections.air.proof_factor * self.air.working_pressure_kpa

    @property
    def label(self) -> PressureLabel:
        """The pressure label."""
        return PressureLabel(
            name=self.project.name,
            serial=self.project.sections.mount.serial,
            working_kpa=self.air.working_pressure_kpa,
            proof_kpa=self.proof_kpa,
            date=self.date,
            proof_tested=self.proof_tested,
        )


def predicted_values(results: Path, working_kpa: float) -> tuple[tuple[str, str], ...]:
    """Angle, strain and blocked force from saved results that reach the working pressure."""
    found: list[tuple[str, str]] = []
    try:
        bent = load_bend_result(results / "bend")
    except StoreError:
        return ()
    if abs(1e3 * bent.pressure_mpa[-1] - working_kpa) < 1e-6 * working_kpa:
        found += [
            ("bending angle, tip tangent", say(float(bent.tip_angle_deg[-1]), "deg")),
            ("bending angle, chord", say(float(bent.chord_angle_deg[-1]), "deg")),
            ("largest log strain", f"{100 * bent.strain.peak[-1]:.1f} %"),
            ("largest log strain across layers", f"{100 * bent.strain.across_layers[-1]:.1f} %"),
        ]
    for folder in sorted((results / "block").glob("preset_*_deg")):
        try:
            held = load_block_result(folder)
        except StoreError:
            continue
        if abs(1e3 * held.pressure_mpa[-1] - working_kpa) < 1e-6 * working_kpa:
            what = f"blocked force of one finger, plate met at {held.touch_angle_deg:.0f}°"
            found.append((what, say(float(held.force_n[-1]), "N")))
    return tuple(found)


def write_handover(results: Path, handover: Handover) -> Written:
    """Write the sheet, the label, the parts list and the record.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    project = handover.project
    items = parts_list(project, handover.air, handover.finger_mass_g)

    def fill(folder: Path) -> None:
        save(draw_label(handover.label), folder, "label")
        write_table(folder / "parts.csv", _columns(items))
        write_text(folder / "handover.html", html(handover_sheet(handover, items)))
        record = {
            "project": project.name,
            "input_hash_sha256": project.input_hash,
            "serial": project.sections.mount.serial,
            "date": handover.date,
            "working_pressure_kpa": handover.air.working_pressure_kpa,
            "proof_pressure_kpa": handover.proof_kpa,
            "proof_tested": handover.proof_tested,
            "finger_mass_g": handover.finger_mass_g,
            "predicted": dict(handover.predicted),
            "versions": versions(),
        }
        write_text(folder / "handover.json", json.dumps(record, indent=2) + "\n")

    return write_result(results / "handover", fill, "handover", project.input_hash, ("label",))


def _columns(items: tuple[Item, ...]) -> dict[str, list[str]]:
    return {
        "quantity": [item.quantity for item in items],
        "part": [item.what for item in items],
        "size": [item.size for item in items],
        "alternates": [item.alternates for item in items],
        "printed_cost": ["" if i.cost is None else f"{i.cost:.2f}" for i in items],
    }


def handover_sheet(handover: Handover, items: tuple[Item, ...]) -> Sheet:
    """The sheet as data."""
    air, project = handover.air, handover.project
    serial = project.sections.mount.serial or "no serial number"
    return Sheet(
        title=f"{project.name}: handover",
        subtitle=f"{serial}; {handover.date}; input {project.input_hash[:12]}.",
        sections=(
            Section("Pressure label", (Picture("label.png", "Print label.svg at 80 x 50 mm."),)),
            Section("Ratings", (_ratings(handover),)),
            Section("Parts", (_parts_table(items),)),
            Section("Assembly and leak check", (Steps(_steps(handover)),)),
            Section("Records to fill in", (_blank_records(air.fingers),)),
            Section("Where the numbers come from", _provenance(handover)),
        ),
    )


def _ratings(handover: Handover) -> Table:
    air = handover.air
    tested = handover.proof_tested or "not yet"
    rows = [
        ("highest working pressure, gauge", say(air.working_pressure_kpa, "kPa"), "set by you"),
        (
            "proof pressure, gauge, 60 s",
            say(handover.proof_kpa, "kPa"),
            f"{handover.project.sections.air.proof_factor:g} times working; tested: {tested}",
        ),
        ("energy in fingers and tubes", say(air.air_energy_mj / 1e3, "J"), handover.volume_from),
        ("free air for one grasp", say(air.free_air_per_cycle_cm3, "cm3"), "at 100 kPa, 20 °C"),
    ]
    rows += [(what, value, "predicted, at working pressure") for what, value in handover.predicted]
    return Table(("quantity", "value", "rests on"), tuple(rows))


def _parts_table(items: tuple[Item, ...]) -> Table:
    rows = tuple(
        (
            item.quantity,
            item.what,
            item.size,
            item.alternates,
            "" if item.cost is None else f"{item.cost:.2f}",
        )
        for item in items
    )
    return Table(("quantity", "part", "size", "alternates", "cost, printed"), rows)


def _steps(handover: Handover) -> tuple[str, ...]:
    working, proof = handover.air.working_pressure_kpa, handover.proof_kpa
    holds = handover.project.sections.bench.holds_percent_per_min
    limits = TightnessLimits()
    relief = say(RELIEF_FACTOR * working, "kPa")
    return (
        "Weigh each finger and compare with the parts list: 5 % too light means voids, too heavy "
        "thick walls.",
        "Fit ports and seals, mount the fingers, connect tubes; secure every tube so that it "
        "cannot whip. The relief valve sits on the fingers' side of the valves.",
        f"Look for leaks at a tenth of the working pressure first ({say(working / 10, 'kPa')}), "
        "with soapy water, eyes protected.",
        "Proof test, everybody behind the screen: set the relief valve to the proof pressure, "
        f"raise slowly to {say(proof, 'kPa')}, hold {limits.proof_hold_s:g} s. No rupture, no new "
        f"leak, angle at rest changed by no more than {limits.proof_angle_change_deg:g}° (our "
        "proposal).",
        f"Set the relief valve back to {relief} or less. Only now work near the fingers under "
        f"pressure: soapy water on joints at {say(working, 'kPa')}, or 60 s under water.",
        f"Leak test at {say(working, 'kPa')}: wait 30 to 60 s, shut the valve, record one minute. "
        f"It holds when the gauge pressure falls by no more than {holds:g} % "
        f"({say(holds / 100 * working, 'kPa')}) in that minute (our proposal).",
        "Burst one spare of each batch behind the screen; expect at least "
        f"{say(BURST_FACTOR * working, 'kPa')} (our proposal).",
        "Only then write the date of the proof test on the label.",
    )


def _blank_records(fingers: int) -> Table:
    header = ("finger", "serial", "mass, g", "leak, cm³/min", "angle at rest, °", "proof", "by")
    return Table(header, tuple((str(n + 1), *[""] * 6) for n in range(fingers)))


def _provenance(handover: Handover) -> tuple[str | Table, ...]:
    project = handover.project
    used = ", ".join(f"{name} {number}" for name, number in versions().items())
    rows = (
        ("project file", f"{project.path.name}, SHA-256 of all entries {project.input_hash}"),
        ("material", f"{project.material.name}, law from {project.material.law_from}"),
        ("volume over pressure", handover.volume_from),
        ("programs", used),
    )
    told = "Predictions are no measurements: what was not measured on this gripper is marked so."
    return (Table(("", ""), rows), told)
