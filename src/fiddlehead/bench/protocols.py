"""Test protocols: what to set up, what to mind, what to write down, in columns that import back."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path

from fiddlehead.bench.quantities import NEEDED, QUANTITIES
from fiddlehead.bench.read import FORM_ANGLES
from fiddlehead.bench.spreadsheet import write_workbook
from fiddlehead.errors import ParameterError
from fiddlehead.files import write_text

AIR_CAUTIONS = (
    "Eye protection. First pressurisation behind a screen; nobody's face or hands near.",
    "Relief valve at no more than 1.1 x the rated pressure; lockable regulator; hose tied down.",
    "Never above the proof pressure. Stop at any crackle, bulge or sudden change of sound.",
    "Vent and check the gauge reads zero before touching the rig.",
    "This sheet certifies nothing: local codes come first (ISO 4414, ISO 12100).",
)


@dataclass(frozen=True)
class Protocol:
    """One test on one page.

    rig : which sketch belongs to it
    steps : numbered; common practice unless a step says otherwise
    columns : of the form, in the names records have
    """

    name: str
    title: str
    test: str
    rig: str
    equipment: tuple[str, ...]
    steps: tuple[str, ...]
    columns: tuple[str, ...]
    cautions: tuple[str, ...] = AIR_CAUTIONS


def _columns(
    test: str, *more: str, labels: tuple[str, ...] = ("finger", "repeat")
) -> tuple[str, ...]:
    """Label columns, then what the test needs, then what is welcome."""
    needed = [
        header
        for name in NEEDED[test]
        for header in (FORM_ANGLES.values() if name == "angle" else [QUANTITIES[name].record])
    ]
    return (*labels, *needed, *more)


PROTOCOLS: dict[str, Protocol] = {
    protocol.name: protocol
    for protocol in (
        Protocol(
            "angle",
            "Bending angle over pressure",
            "bend",
            "camera",
            (
                "clamped root block, finger bending sideways so that gravity is out of plane",
                "printed board behind the finger; camera 10 finger lengths away, square on",
                "pressure gauge at the finger; marks as drawn; card with two dots on the tip face",
            ),
            (
                "Measure the printed board; the distances of its fiducials go into the project.",
                "Run 3 to 5 conditioning cycles to the working pressure.",
                "Photograph at rest first: it tells where the marks are.",
                "Step up in 10 to 25 kPa, wait 10 to 20 s at each, photograph, then step down.",
                "Repeat 3 cycles on 3 fingers or more (5 are better). Note which angle you write.",
                "Name photos so that they tell: fA_r1_up_120kPa.jpg (finger, run, branch).",
            ),
            _columns("bend", "temperature_c"),
        ),
        Protocol(
            "blocked_force",
            "Blocked force over pressure",
            "block",
            "plate",
            (
                "root clamped; smooth plate on a load cell across the tip, low friction",
                "load cell read at 10 Hz or more; pressure gauge at the finger",
            ),
            (
                "Write down the distance from the root to the contact and the angle of the plate.",
                "Zero the load cell with the finger in place and no pressure; touch with 0.05 N.",
                "Raise the pressure at about 10 kPa a second to the working pressure.",
                "Hold 10 s or longer: the peak and the held force are both reported.",
                "Say whether the sides were guided: guided fingers read higher.",
                "3 repeats on 3 fingers or more, straight and at the preset angles.",
            ),
            _columns("block", "time_s"),
        ),
        Protocol(
            "lateral",
            "Sideways stiffness and twist",
            "lateral",
            "side_weight",
            ("root clamped; weights of 0.1 to 2 N; ruler or dial gauge sideways at the tip",),
            (
                "At 0, 50 and 100 % of the working pressure hang weights sideways at the tip.",
                "Read deflection and, from two marks on the tip, the twist; 4 weights or more.",
                "Take the weights off in the reverse order and read again.",
            ),
            _columns("lateral", "pressure_kpa", "twist_deg"),
        ),
        Protocol(
            "leak",
            "Leak test by pressure decay",
            "leak",
            "decay",
            (
                "shut-off valve right at the finger; gauge and thermometer on the finger's side",
                "closed volume of tubes and gauge measured (syringe): it goes into the project",
            ),
            (
                "Find the place first: under water at working pressure, 60 s, look for bubbles.",
                "Dry, inflate to the working pressure, shut the valve, start the clock.",
                "Read every 10 s for 3 minutes or longer; the first 30 s settle and are left out.",
                "Read the temperature each time: 1 K looks like 1 kPa at 2 bar.",
                "Proof test (1.5 x working pressure, 60 s): enter it as [[bench.proofs]].",
            ),
            _columns("leak", "temperature_c"),
        ),
        Protocol(
            "life",
            "Cycles to failure",
            "life",
            "cycling",
            ("valve that switches 0.2 to 1 times a second; counter; leak and angle at intervals",),
            (
                "Square wave to the working pressure. Check at 100, 1000, 3000, 10 000 cycles.",
                "Failed means: leak above class A, or the angle changed by more than 10 % (our "
                "proposal). Write the count and yes.",
                "A finger that still works when you stop: write the count and no. It counts too.",
                "5 fingers or more, never touched between checks except for them.",
            ),
            _columns("life", labels=("finger",)),
        ),
        Protocol(
            "picks",
            "Pick trials",
            "picks",
            "gripper",
            ("the gripper on its arm; objects named and weighed; a tray below",),
            (
                "Pick, lift, hold 10 s, shake (1 to 2 g), put down. One line per trial.",
                "10 trials on each object or more: 10 of 10 prove only 74 % (one-sided 95 %).",
                "damaged: yes for any mark, dent or crack you can see or feel.",
                "Then off-centre by 5, 10, 15 mm if your job needs it: name the object so.",
            ),
            _columns("picks", "damaged", labels=("finger", "object")),
        ),
        Protocol(
            "pull_off",
            "Pull-off force",
            "pull_off",
            "gripper",
            ("object on a load cell, gripper pulled away along its axis at 5 to 10 mm/s",),
            (
                "Grip at the working pressure, wait 5 s, pull; write the largest force.",
                "5 pulls on each object or more.",
            ),
            _columns("pull_off", labels=("finger", "object")),
        ),
        Protocol(
            "step",
            "Step response",
            "step",
            "camera",
            (
                "pressure sensor at the finger (not at the regulator), 100 readings a second",
                "video at 120 to 240 frames a second, or an angle sensor; lamp wired to the valve",
            ),
            (
                "Write down tube length and bore; they decide as much as the finger does.",
                "Record from a moment before the valve opens; hold 2 s; vent; record to rest.",
                "5 repeats on each finger.",
            ),
            _columns("step"),
        ),
        Protocol(
            "creep",
            "Creep at held pressure",
            "creep",
            "camera",
            (
                "as for the bending angle; a regulator that keeps the pressure within 1 %",
                "a clock that starts when the pressure is there",
            ),
            (
                "Rest the finger for an hour, then raise the pressure to the working pressure.",
                "Read the angle at 0 s, when the pressure is there, then at 1, 2, 5, 10, 20, 50, "
                "100, 200, 500 s: even steps of log time.",
                "Write down the temperature: warm elastomer creeps more.",
            ),
            _columns("creep", "pressure_kpa", "temperature_c"),
        ),
    )
}
"""All protocols by name."""


def find_protocol(name: str) -> Protocol:
    """The protocol called ``name``.

    Raises
    ------
    ParameterError : no such protocol
    """
    if name not in PROTOCOLS:
        raise ParameterError("no such protocol", found=repr(name), allowed=", ".join(PROTOCOLS))
    return PROTOCOLS[name]


def write_forms(folder: Path, protocol: Protocol) -> tuple[Path, Path]:
    """Blank forms as CSV and workbook; filled in, they are read without any mapping.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    head = (
        f"{protocol.title}. Fill in below the header; leave what you do not have empty.",
        f'Declare as [[bench.records]] with files = ["..."] and test = "{protocol.test}".',
    )
    text = io.StringIO()
    for line in head:
        text.write(f"# {line}\n")
    csv.writer(text, lineterminator="\n").writerow(protocol.columns)
    plain = write_text(folder / f"{protocol.name}.csv", text.getvalue())
    book = write_workbook(folder / f"{protocol.name}.xlsx", protocol.test, head, protocol.columns)
    return plain, book
