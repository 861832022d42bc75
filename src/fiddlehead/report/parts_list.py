"""Bill of materials of a gripper: what to print, what to buy, with alternates.

Kinds and sizes only, no makes. What has no source is common practice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fiddlehead.air.cautions import RELIEF_FACTOR
from fiddlehead.air.records import AirResult
from fiddlehead.fabricate.fittings import Fittings
from fiddlehead.fabricate.threads import THREADS
from fiddlehead.project.load import Project
from fiddlehead.units import say

SPARE = 1
"""Fingers printed on top, one for a burst test; our proposal."""
TUBE_WALL_RATIO = 1.6
"""Outer over inner diameter of small pneumatic tubes, 4 x 2.5 mm and alike; common practice."""


@dataclass(frozen=True)
class Item:
    """One line: quantity with its unit, what it is, what else would do, what it is for."""

    quantity: str
    what: str
    size: str
    alternates: str
    cost: float | None = None
    """In the currency of the project; only for what is printed."""


def parts_list(project: Project, air: AirResult, finger_mass_g: float) -> tuple[Item, ...]:
    """All parts of one gripper with its air supply.

    Parameters
    ----------
    finger_mass_g : of the solid that is printed, mount and fittings included
    """
    return (
        *_printed(project, air, finger_mass_g),
        *_at_the_finger(project, air),
        *_air_supply(project, air),
    )


def _printed(project: Project, air: AirResult, mass: float) -> tuple[Item, ...]:
    count = air.fingers + SPARE
    price = project.sections.printer.price_per_kg
    return (
        Item(
            f"{count}",
            "finger, printed",
            f"{say(mass, '')} g each when solid with its mount, {project.material.name}",
            f"{air.fingers} in use and {SPARE} to burst behind a screen",
            cost=count * mass * price / 1e3,
        ),
        *_base(project),
    )


def _base(project: Project) -> tuple[Item, ...]:
    """The printed base with its screws; a clamped plate where fingers have a plain root."""
    base = project.base
    if project.fittings.mount == "plain":
        return (Item("1", f"plate with {base.fingers} clamps", "for plain root blocks", "none"),)
    _, screws, thread = base.flange.split("-")
    items = [
        Item(
            "1",
            f"base with {base.slots} slots, printed",
            f"stiff filament; flange {base.flange} after ISO 9409-1",
            "a machined plate with the same slots",
        ),
        Item(screws, f"cap screw {thread}", "to the wrist, with washers", "none"),
    ]
    if base.slots > base.fingers:
        plugs = f"{base.slots - base.fingers}"
        items.append(Item(plugs, "blanking plug, printed", "with O-ring, for unused slots", "none"))
    return tuple(items)


def _at_the_finger(project: Project, air: AirResult) -> tuple[Item, ...]:
    fittings, section = project.fittings, project.sections.air
    bore = section.tube_bore_mm
    outer = TUBE_WALL_RATIO * bore
    valves = air.fingers // air.fingers_per_valve
    length = valves * section.tube_length_m
    items = [
        *_port_items(fittings, air.fingers, bore),
        Item(
            f"{length:.2g} m",
            "tube, polyurethane",
            f"{outer:.2g} x {bore:.2g} mm, for {say(air.supply_pressure_kpa, 'kPa')} or more",
            "polyamide tube is stiffer; silicone only at low pressure",
        ),
    ]
    if fittings.mount == "dovetail" and fittings.dovetail.pin_mm:
        pin = fittings.dovetail.pin_mm
        items.append(
            Item(f"{air.fingers}", "locking pin", f"diameter {pin:g} mm", "a screw of that size")
        )
    return tuple(items)


def _port_items(fittings: Fittings, fingers: int, bore: float) -> tuple[Item, ...]:
    if fittings.port == "thread":
        return (
            *_tap(fittings),
            Item(
                f"{fingers}",
                f"screwed fitting {fittings.thread}",
                f"push-in, for tube of {bore:g} mm bore; sealing washer or thread sealant",
                "barbed screwed fitting with a clip",
            ),
        )
    if fittings.port == "barb":
        return (
            Item(
                f"{fingers}",
                "hose clip",
                f"for a hose of {fittings.hose_bore_mm:g} mm bore on the printed barb",
                "two turns of wire",
            ),
        )
    return (
        Item(
            f"{fingers}",
            "O-ring",
            "around the inlet, in the base's groove; nitrile 70 Shore A",
            "flat gasket cut from 1 mm elastomer sheet",
        ),
    )


def _tap(fittings: Fittings) -> tuple[Item, ...]:
    """The tool for a port that is tapped."""
    if fittings.thread_form != "tapped":
        return ()
    thread = THREADS[fittings.thread]
    size = f"pitch {thread.pitch_mm:.3g} mm, bore {thread.tap_drill_mm:g} mm as printed"
    return (Item("1", f"tap {fittings.thread} ({thread.standard})", size,
                 'thread_form = "self-forming": a narrower hole, no tap'),)  # fmt: skip


def _air_supply(project: Project, air: AirResult) -> tuple[Item, ...]:
    section = project.sections.air
    valves = air.fingers // air.fingers_per_valve
    fill_c = section.fill_valve_dm3_per_s_bar
    working = air.working_pressure_kpa
    return (
        Item(
            f"{valves}",
            "valve 3/2, normally closed",
            f"C {fill_c:g} dm³/(s bar) or more, {say(air.supply_pressure_kpa, 'kPa')}",
            "a pair of 2/2 valves where pressure is held or stepped; an electric proportional "
            "regulator",
        ),
        Item(
            "1",
            "pressure regulator that can be locked, with gauge",
            f"set to {say(air.supply_pressure_kpa, 'kPa')}",
            "electric proportional regulator",
        ),
        Item(
            "1",
            "relief valve",
            f"opens at {say(RELIEF_FACTOR * working, 'kPa')} or less, passes the whole supply; on "
            "the fingers' side of the valves",
            "none: do not go without",
        ),
        Item("1", "shut-off valve that bleeds downstream", "lockable", "none: do not go without"),
        Item(
            "1",
            "pressure sensor at the manifold",
            f"0 to {_next_round(1.5 * working):g} kPa gauge, 0.5 % of full scale",
            "a gauge of class 1.0 where nothing is recorded",
        ),
        Item(
            "1",
            "air: shop air with filter and regulator",
            f"{say(air.mean_flow_l_per_min, 'L/min')} on average, clean and dry (ISO 8573-1)",
            f"pump of {say(air.pump_free_flow_l_per_min, 'L/min')} free flow that reaches "
            f"{say(air.pump_highest_pressure_kpa, 'kPa')}",
        ),
        Item(
            "1",
            "reservoir, tested as a pressure vessel",
            f"{say(air.reservoir_cm3 / 1e3, 'L')} or more",
            "none where the supply gives the peak flow",
        ),
        Item("1", "controller with a valve driver",
             f"{valves} {'output' if valves == 1 else 'outputs'}, 1 analogue input",
             "a hand valve for first trials"),
    )  # fmt: skip


def _next_round(kpa: float) -> float:
    """The next usual sensor range: 1, 2, 2.5, 4, 5 or 10 times a power of ten."""
    decade = 10.0 ** math.floor(math.log10(kpa))
    return next(step * decade for step in (1.0, 2.0, 2.5, 4.0, 5.0, 10.0) if step * decade >= kpa)
