"""What a finger needs beside its bellows to be mounted, fed with air and told apart."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Collection
from typing import Literal, get_args

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.threads import THREADS, ThreadForm
from fiddlehead.finger.parameters import FingerParameters

Port = Literal["bore", "barb", "thread", "none"]
"""``bore``: the inlet ends flush at the root face, sealed by the base's O-ring. ``barb``: a
printed hose barb. ``thread``: a hole for a screwed fitting (``threads`` says why no helix is
printed).
``none``: no inlet, whatever the parameters say."""
Mount = Literal["plain", "dovetail"]
"""``plain``: the root block is clamped. ``dovetail``: a rail on the root face slides into the
base."""

BarbPlace = Literal["side", "root face"]
"""``side``: a barb stands on the side of the root block, which is up when the finger is printed on
its other side, and needs no support. ``root face``: it sticks out behind, and does."""
BARB_GRIP = 1.12
"""Largest diameter of a barb over the hose's bore: 10 to 15 % more, common practice, no source."""
BARB_RIDGES, RIDGE_MM = 3, 3.0
"""Ridges of a barb and the length of each, chosen by us."""
BARB_LENGTH_MM = BARB_RIDGES * RIDGE_MM
SUMP_MM = 0.5
"""How much deeper the bore under a barb on the side goes than the inlet it meets; chosen by us."""
LEAST_WALL_MM = 0.8
"""Around an inlet: two lines, common practice, no source."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class Dovetail:
    """A rail across the root face, around the inlet, wider at its head than at its neck by its
    depth on either side. Of one section over the whole width, so that a finger printed on its side
    needs no support; the finger slides into the base sideways."""

    neck_width_mm: float = 8.0
    depth_mm: float = 3.5
    pin_mm: float = 3.0
    """Diameter of the locking pin's hole beside the inlet; 0 for none."""

    @property
    def head_width_mm(self) -> float:
        """Width at the head."""
        return self.neck_width_mm + 2.0 * self.depth_mm


@dataclasses.dataclass(frozen=True, kw_only=True)
class Fittings:
    """Inlet port, mount, fillets and serial number."""

    port: Port = "bore"
    mount: Mount = "dovetail"
    dovetail: Dovetail = Dovetail()
    hose_bore_mm: float = 4.0
    """Inner diameter of the hose a barb carries."""
    barb_on: BarbPlace = "side"
    """Where a barb stands."""
    thread: str = "M5"
    """Thread of a screwed port."""
    thread_form: ThreadForm = "tapped"
    """How the thread gets into the port."""
    fillet_radius_mm: float = 0.4
    """Radius of the inner corners of the section; about one line width, common practice, no
    source. Smaller by itself where edges are short; 0 for sharp corners."""
    serial: str = ""
    """Engraved into the back of the root block."""
    engraving_depth_mm: float = 0.4
    stroke_width_mm: float = 0.8
    """Two lines wide and one deep, so that a groove is neither welded shut nor a long ledge."""

    def problems(self, finger: FingerParameters) -> list[ParameterError]:
        """Everything that cannot be, alone or with this finger."""
        found = _wrong_values(self)
        if not found:
            found = _dovetail_problems(self, finger) + _port_problems(self, finger)
        return found

    def validate(self, finger: FingerParameters) -> Fittings:
        """Return self, or raise the first problem.

        Raises
        ------
        ParameterError : see ``problems``
        """
        for problem in self.problems(finger):
            raise problem
        return self


def default_fittings(p: FingerParameters) -> Fittings:
    """A dovetail that suits the root face, fed through the base; a plain root where none does."""
    room = 2.0 * min(rail_height_mm(p), p.height_mm - rail_height_mm(p))
    depth = min(4.0, round(0.2 * room, 1))
    beside = (p.width_mm - p.inlet_bore_mm) / 2
    dovetail = Dovetail(
        depth_mm=depth,
        neck_width_mm=round(room / 2, 1),
        pin_mm=3.0 if beside >= 7.5 and room / 2 >= 7.0 else 0.0,
    )
    railed = Fittings(mount="dovetail", dovetail=dovetail)
    suits = room >= 6.0 and not railed.problems(p)
    return railed if suits else dataclasses.replace(railed, mount="plain")


def rail_height_mm(p: FingerParameters) -> float:
    """y of the rail's middle: the inlet's axis."""
    return p.inlet_height_mm


def side_barb_mm(p: FingerParameters) -> tuple[float, float]:
    """x and y of a barb's axis on the side of the root block."""
    return p.root_length_mm / 2, p.inlet_height_mm


def _wrong(field: str, message: str, found: object, allowed: str, remedy: str) -> ParameterError:
    text = f"{found:.4g} mm" if isinstance(found, float) else str(found)
    return ParameterError(
        message, where=f"mount.{field}", found=text, allowed=allowed, remedy=remedy
    )


def _wrong_values(f: Fittings) -> list[ParameterError]:
    found = []
    choices: tuple[tuple[str, Collection[str]], ...] = (
        ("port", get_args(Port)),
        ("mount", get_args(Mount)),
        ("barb_on", get_args(BarbPlace)),
        ("thread", THREADS),
        ("thread_form", get_args(ThreadForm)),
    )
    for field, allowed in choices:
        if getattr(f, field) not in allowed:
            found.append(
                _wrong(field, "no such choice", getattr(f, field), ", ".join(allowed), "Choose.")
            )
    may_be_zero = {"fillet_radius_mm", "dovetail.pin_mm"}
    sizes = {
        "dovetail.neck_width_mm": f.dovetail.neck_width_mm,
        "dovetail.depth_mm": f.dovetail.depth_mm,
        "dovetail.pin_mm": f.dovetail.pin_mm,
        "hose_bore_mm": f.hose_bore_mm,
        "fillet_radius_mm": f.fillet_radius_mm,
        "engraving_depth_mm": f.engraving_depth_mm,
        "stroke_width_mm": f.stroke_width_mm,
    }
    for field, value in sizes.items():
        if not (math.isfinite(value) and (value > 0 or (value == 0 and field in may_be_zero))):
            found.append(_wrong(field, "no such size", value, "more than 0", "Give a size."))
    return found


def _dovetail_problems(f: Fittings, finger: FingerParameters) -> list[ParameterError]:
    if f.mount != "dovetail":
        return []
    if f.port == "barb" and f.barb_on == "root face":
        return [
            _wrong(
                "barb_on",
                "a barb stands where the dovetail slides",
                "root face with dovetail",
                "side",
                "Put the barb on the side, or feed the finger through the base.",
            )
        ]
    head = f.dovetail.head_width_mm
    room = 2.0 * min(rail_height_mm(finger), finger.height_mm - rail_height_mm(finger))
    found = []
    if head > room + 1e-9:
        found.append(
            _wrong(
                "dovetail.neck_width_mm",
                "the dovetail is wider than the root face",
                head,
                f"{room:.4g} mm or less at its head",
                "Make it narrower or shallower, or the finger higher.",
            )
        )
    around = finger.inlet_bore_mm + 2 * LEAST_WALL_MM
    if finger.inlet_bore_mm and f.dovetail.neck_width_mm < around:
        found.append(
            _wrong(
                "dovetail.neck_width_mm",
                "the dovetail's neck is too narrow for the inlet in it",
                f.dovetail.neck_width_mm,
                f"{around:.4g} mm or more",
                "Widen the neck or narrow the inlet.",
            )
        )
    return found


def _port_problems(f: Fittings, finger: FingerParameters) -> list[ParameterError]:
    bore, found = finger.inlet_bore_mm, []
    room = 2.0 * min(finger.inlet_height_mm, finger.height_mm - finger.inlet_height_mm)
    room = min(room, finger.width_mm)
    if f.port in ("barb", "thread") and bore == 0:
        return [
            _wrong("port", "a port without an inlet", f.port, "none",
                   "Give finger.inlet_bore_mm a size.")
        ]  # fmt: skip
    if f.port == "barb":
        if f.hose_bore_mm < bore + 2 * LEAST_WALL_MM:
            found.append(
                _wrong(
                    "hose_bore_mm",
                    "the barb's wall would be thinner than two lines",
                    f.hose_bore_mm,
                    f"{bore + 2 * LEAST_WALL_MM:.4g} mm or more around this inlet",
                    "Take a wider hose or a narrower inlet.",
                )
            )
        face = "root face"
        if f.barb_on == "side":
            face = "side of the root block"
            around = 2.0 * min(finger.inlet_height_mm, finger.height_mm - finger.inlet_height_mm)
            room = min(around, finger.root_length_mm)
            if finger.width_mm / 2 < bore / 2 + SUMP_MM + LEAST_WALL_MM:
                found.append(
                    _wrong("barb_on", "the bore under the barb comes through the other side",
                           bore, f"an inlet of {finger.width_mm - 2.6:.3g} mm or less",
                           "Narrow the inlet, or put the barb on the root face.")
                )  # fmt: skip
        if f.hose_bore_mm * BARB_GRIP > room:
            found.append(
                _wrong("hose_bore_mm", f"the barb is larger than the {face}", f.hose_bore_mm,
                       f"{room / BARB_GRIP:.4g} mm or less",
                       "Take a smaller hose or a longer root block.")
            )  # fmt: skip
    if f.port == "thread":
        drill = THREADS[f.thread].bore_mm(f.thread_form)
        if drill + 4.0 * finger.wall_thickness_mm > room:
            found.append(
                _wrong(
                    "thread",
                    "too little wall is left around the thread",
                    f"{f.thread}, bored {drill:g} mm",
                    f"{room - 4.0 * finger.wall_thickness_mm:.3g} mm or less, so that twice the"
                    " wall thickness is left",
                    "Take a smaller thread or a larger root.",
                )
            )
        if drill < bore:
            found.append(
                _wrong("thread", "the inlet is wider than the thread's bore", f.thread,
                       f"an inlet of {drill:g} mm or less", "Reduce finger.inlet_bore_mm.")
            )  # fmt: skip
    return found
