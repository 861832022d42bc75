"""Dimensioned drawings of the finger and of the base, cut from the very solids that are printed."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from jaxtyping import Float

from fiddlehead.fabricate.base import BaseLayout
from fiddlehead.fabricate.fittings import Fittings, rail_height_mm
from fiddlehead.fabricate.flange import SCREWS
from fiddlehead.fabricate.layers import plane_section
from fiddlehead.fabricate.records import Part
from fiddlehead.fabricate.solid import pin_place_mm
from fiddlehead.fabricate.threads import THREADS
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import PrintSettings
from fiddlehead.finger.walls import printed_walls
from fiddlehead.report.figures.paper import (
    Placed,
    caption,
    circle,
    cut_view,
    dimensions,
    leader,
    page,
    scale_for,
    table,
    title_block,
)
from fiddlehead.report.figures.section import Dimension, section_picture
from fiddlehead.report.figures.views import Viewpoint, view_of
from fiddlehead.units import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ALONG = np.eye(3)
ACROSS = np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]])
CUT_MM = 0.3
"""The base is cut just above its lower face."""


def draw_finger(
    part: Part,
    finger: FingerParameters,
    fittings: Fittings,
    printing: PrintSettings,
    name: str,
    about: list[tuple[str, str]],
) -> Figure:
    """Section along and across, root face, wall table, title block.

    Parameters
    ----------
    part : the finger's surface, in its own axes
    about : further lines of the title block
    """
    p = finger
    sizes = section_picture(p, name)
    scale, words = scale_for(p.length_mm, 230.0)
    with page() as (figure, axes):
        low = -p.pad_depth_mm
        along = Placed(45.0, 205.0 - scale * low, scale)
        cut_view(axes, along, plane_section(part, ALONG, 0.0))
        dimensions(axes, along, [_clear(d, p, fittings, scale) for d in sizes.along_dimensions])
        caption(axes, along.point((p.length_mm / 2, 0))[0], 184.0, "at mid-width")
        first = p.root_length_mm + float(p.dimensions.inner_land) / 2
        across = Placed(340.0, along.y, scale)
        cut_view(axes, across, plane_section(part, ACROSS, -first))
        dimensions(axes, across, sizes.across_dimensions)
        caption(axes, 340.0, 184.0, "across the first bellows")
        _root_face(axes, p, fittings, scale)
        _picture(axes, part, (150.0, 58.0, 105.0, 95.0))
        table(axes, 262.0, 166.0, (48.0, 28.0, 32.0, 38.0), _walls(p, printing))
        sealing = "rail's" if fittings.mount == "dovetail" else "root"
        notes = [
            "Inner corners of the section rounded "
            f"{fittings.fillet_radius_mm:g} mm, smaller where edges are short.",
            f"Print in one piece, nothing inside supported; no seam on the {sealing} face and the "
            "inlet.",
        ]
        if fittings.port == "barb":
            barb = f"Barb for a hose of {fittings.hose_bore_mm:g} mm bore on the {fittings.barb_on}"
            up = "up in print" if fittings.barb_on == "side" else "with support under it in print"
            notes.append(f"{barb}, {up}.")
        for k, note in enumerate(notes):
            axes.text(14.0, 11.0 + 4.5 * (len(notes) - k), note, fontsize=7.5)
        rows = [("scale, units", f"{words}, millimetres"), *about]
        title_block(axes, rows, name)
        return figure


def _clear(d: Dimension, p: FingerParameters, f: Fittings, scale: float) -> Dimension:
    """A dimension moved clear of the rail, or of the bellows, at this scale."""
    x, y = d.offset
    if x < 0 and f.mount == "dovetail":
        x -= scale * f.dovetail.depth_mm
    if y > p.height_mm - p.valley_height_mm:
        y += (scale - 1.0) * (p.height_mm - p.valley_height_mm)
    return Dimension(d.start, d.end, (x, y), d.text)


def _root_face(axes: Any, p: FingerParameters, f: Fittings, scale: float) -> None:
    """The root from behind: outline, rail, inlet and pin."""
    place = Placed(75.0, 82.0, scale)
    half, top = p.width_mm / 2, p.height_mm
    _outline(axes, place, [(-half, 0), (half, 0), (half, top), (-half, top)])
    found = [
        Dimension((-half, 0), (half, 0), (0, -6), f"width {p.width_mm:g}"),
        Dimension((-half, 0), (-half, top), (-16, 0), f"height {top:g}"),
    ]
    middle = rail_height_mm(p)
    if f.mount == "dovetail":
        d = f.dovetail
        for reach, line in ((d.head_width_mm / 2, "-"), (d.neck_width_mm / 2, "--")):
            for side in (-1, 1):
                y = middle + side * reach
                x = [place.point((-half, y)), place.point((half, y))]
                axes.plot(*zip(*x, strict=True), line, color="#22303c", linewidth=0.8)
        head, neck = d.head_width_mm / 2, d.neck_width_mm / 2
        found += [
            Dimension((half, middle - head), (half, middle + head), (6, 0),
                      f"rail {d.head_width_mm:g}"),
            Dimension((half, middle - neck), (half, middle + neck), (13, 0),
                      f"neck {d.neck_width_mm:g}, {d.depth_mm:g} deep"),
            Dimension((-half, 0), (-half, middle), (-8, 0), f"{middle:g}"),
        ]  # fmt: skip
        if d.pin_mm:
            y, z = pin_place_mm(p, f)
            circle(axes, place, (z, y), d.pin_mm)
            leader(axes, place, (z, y), (18.0, 22.0 * scale / 2 + 8.0), f"pin Ø{d.pin_mm:g}")
            found.append(Dimension((0, top), (z, top), (0, 6), f"{z:g}"))
    if p.inlet_bore_mm and f.port != "none" and not (f.port == "barb" and f.barb_on == "side"):
        circle(axes, place, (0, middle), p.inlet_bore_mm)
        text = f"inlet Ø{p.inlet_bore_mm:g}"
        if f.port == "thread":
            bore = THREADS[f.thread].bore_mm(f.thread_form)
            text += f"\nØ{bore:g} for {f.thread},\n{f.thread_form}"
        leader(axes, place, (0, middle), (-scale * half - 6.0, scale * top * 0.75), text)
    dimensions(axes, place, found)
    caption(axes, 75.0, 64.0, "root face, from behind")


def _outline(axes: Any, place: Placed, ring: list[tuple[float, float]]) -> None:
    points = [place.point(p) for p in ring]
    axes.fill(*zip(*points, strict=True), facecolor="none", edgecolor="#22303c", linewidth=0.9)


def _picture(axes: Any, part: Part, box: tuple[float, float, float, float]) -> None:
    """The part in space, fitted into a box (left, bottom, width, height)."""
    view = view_of([part], Viewpoint(-35.0, 25.0), up=(0, 1, 0))
    left, low, width, height = box
    scale = min(width / view.width_mm, height / view.height_mm)
    w, h = view.width_mm * scale, view.height_mm * scale
    x, y = left + (width - w) / 2, low + (height - h) / 2
    axes.imshow(view.image, extent=(x, x + w, y, y + h), zorder=1, aspect="auto")
    axes.set_xlim(0.0, 420.0)
    axes.set_ylim(0.0, 297.0)


def _walls(p: FingerParameters, s: PrintSettings) -> list[list[str]]:
    rows = [["wall", "thickness", "as printed", "consists of"]]
    for wall in printed_walls(p, s):
        count = wall.printed_mm / wall.unit_mm
        unit = f"{wall.unit}s"
        rows.append(
            [
                wall.label.removeprefix("the "),
                f"{wall.thickness_mm:g} mm",
                f"{wall.printed_mm:.4g} mm",
                f"{count:.3g} {unit} of {wall.unit_mm:g} mm",
            ]
        )
    return rows


def draw_base(part: Part, layout: BaseLayout, name: str, about: list[tuple[str, str]]) -> Figure:
    """The base from below, a section through a slot, a table of holes, title block."""
    p, radius = layout.parameters, layout.radius
    scale, words = scale_for(2 * radius, 165.0)
    below = np.array([[1.0, 0.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, -1.0]])
    with page() as (figure, axes):
        plan = Placed(115.0, 175.0, scale)
        cut_view(axes, plan, plane_section(part, below, -CUT_MM))
        circle(axes, plan, (0, 0), 2 * p.pitch_radius_mm, "-.")
        circle(axes, plan, (0, 0), layout.interface.pitch_circle, "-.")
        _plan_notes(axes, plan, layout)
        caption(axes, 115.0, 58.0, "from below, cut just above the face; slots numbered")
        section = plane_section(part, _radial(0.0), 0.0)
        side = Placed(310.0, 215.0, scale)
        cut_view(axes, side, section)
        top = layout.thickness
        dimensions(
            axes,
            side,
            [
                Dimension((-radius, 0), (radius, 0), (0, -9), f"Ø{2 * radius:g}"),
                Dimension((-radius, 0), (-radius, top), (-6, 0), f"{top:g}"),
                Dimension((radius, 0), (radius, layout.channel_height), (6, 0),
                          f"channel {layout.channel_height:.4g}"),
                Dimension((0, top), (p.pitch_radius_mm, top), (0, 6),
                          f"pitch radius {p.pitch_radius_mm:g}"),
            ],
        )  # fmt: skip
        caption(axes, 310.0, 190.0, "section through slot 1; wrist above")
        table(axes, 232.0, 170.0, (58.0, 110.0), _holes(layout))
        title_block(axes, [("scale, units", f"{words}, millimetres"), *about], name)
        return figure


def _radial(angle: float) -> Float[np.ndarray, "3 3"]:
    """Axes of the plane through the gripper's axis in a direction: right, up, normal."""
    right = np.array([math.cos(angle), math.sin(angle), 0.0])
    up = np.array([0.0, 0.0, 1.0])
    return np.stack([right, up, np.cross(right, up)])


def _plan_notes(axes: Any, plan: Placed, layout: BaseLayout) -> None:
    p, circle_mm = layout.parameters, layout.interface.pitch_circle
    for slot, angle in enumerate(p.angles_rad()):
        reach = p.pitch_radius_mm - 5.0
        x, y = plan.point((reach * math.cos(angle), -reach * math.sin(angle)))
        mark = str(slot + 1) if slot in p.used else f"({slot + 1})"
        axes.text(x, y, mark, fontsize=9.0, ha="center", va="center", fontweight="bold")
    angle = float(layout.screws_rad[0])
    at = (circle_mm / 2 * math.cos(angle), -circle_mm / 2 * math.sin(angle))
    screw = layout.interface
    leader(
        axes,
        plan,
        at,
        (plan.scale * (layout.radius - at[0]) + 6.0, -plan.scale * (layout.radius - 8.0 + at[1])),
        f"{screw.screws} x {screw.thread} on Ø{circle_mm:g}",
    )


def _holes(layout: BaseLayout) -> list[list[str]]:
    p, interface = layout.parameters, layout.interface
    screw = SCREWS[interface.thread]
    turn = math.degrees(float(layout.screws_rad[0]))
    feed = (
        f"{p.feed_thread}, at {math.degrees(layout.feed_rad):.4g}° from slot 1"
        if p.air == "manifold"
        else f"{p.port_thread} in the rim at every slot"
    )
    return [
        ["item", "size"],
        [
            "slots",
            f"{p.slots} every {360 / p.slots:g}°, {len(p.used)} used, splay {p.splay_deg:g}°",
        ],
        ["room around the rail", f"{p.play_mm:g} mm"],
        ["wrist flange (ISO 9409-1)", f"{p.flange}, first screw at {turn:.4g}° from slot 1"],
        ["screw holes", f"Ø{screw.clearance:g}, heads sunk Ø{screw.head + 1:g} from below"],
        ["locating pin", f"Ø{interface.pin:g} between two screws"],
        ["air", feed],
        ["channels", f"{p.channel_mm:g} mm wide, teardrop"],
        ["O-ring at each slot", f"cord 1.5, groove inside Ø{layout.finger.inlet_bore_mm + 2:g}"],
        ["height over slot floor", say(layout.thickness - layout.slot_top, "mm")],
    ]
