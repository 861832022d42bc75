"""Where a print may leak: the part in space, coloured by what its walls have of what they need."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from jaxtyping import Float

from fiddlehead.fabricate.printcheck import PrintCheck
from fiddlehead.fabricate.records import Part
from fiddlehead.finger.print_settings import BuildOrientation
from fiddlehead.report.figures.style import BODY
from fiddlehead.report.figures.views import View, Viewpoint, ViewsPicture, view_of
from fiddlehead.units import say

SCALE: tuple[tuple[float, str, str], ...] = (
    (0.34, "#a50026", "under a third"),
    (0.67, "#d55e00", "a third to two thirds"),
    (0.97, "#f0c04a", "two thirds or more"),
    (np.inf, "#3d8f7a", "all it needs"),
)
"""Upper limit, colour and words of every class of tightness."""
BULK = "no thin wall here"
NEAR_MM = 0.8
EDGE_MM = 1.5
"""Triangles are cut until their longest edge is shorter, so that colours follow places."""
REACH_LINES = 10.0


def tightness_picture(check: PrintCheck, heading: str, detail: str = "") -> ViewsPicture:
    """The finger as printed, from above and from below its plate, and its back."""
    part = finer(check.layers.part, EDGE_MM)
    paint = _paint(part, check)
    back = _up_in_plate(check)
    views = (
        view_of([part], Viewpoint(-35.0, 30.0), up=back, colours=[paint], caption="back"),
        view_of([part], Viewpoint(150.0, -25.0), up=back, colours=[paint], caption="gripping face"),
    )
    key = (*((colour, words) for _, colour, words in reversed(SCALE)), (BODY, BULK))
    name = (
        "Lines, layers and overlap between the air inside and outside, of what a tight wall needs"
    )
    return ViewsPicture(heading, detail, views, scale=(name, key))


def _up_in_plate(check: PrintCheck) -> tuple[float, float, float]:
    """Which way the finger's back looks on the plate."""
    x, y, z = check.to_plate @ np.array([0.0, 1.0, 0.0])
    return float(x), float(y), float(z)


def _paint(part: Part, check: PrintCheck) -> Float[np.ndarray, "triangle 3"]:
    """Colour of every triangle: the worst sample near the sample next to it."""
    from scipy.spatial import cKDTree

    samples, share = check.samples.points, check.tightness()
    colours = np.tile(_rgb(BODY), (len(part.triangles), 1))
    if not len(share):
        return colours
    distance, number = cKDTree(samples).query(part.corners.mean(axis=1), k=min(16, len(share)))
    distance, number = (np.atleast_2d(a.T).T for a in (distance, number))
    near = distance < distance[:, :1] + NEAR_MM
    value = np.where(near, share[number], np.inf).min(axis=1)
    distance = distance[:, 0]
    reach = REACH_LINES * check.layers.process.line_width_mm
    for limit, colour, _ in reversed(SCALE):
        colours[(distance < reach) & (value < limit)] = _rgb(colour)
    return colours


def finer(part: Part, longest: float) -> Part:
    """The same surface in smaller triangles: longest edges halved until none is too long."""
    corners = part.corners
    done = []
    while len(corners):
        edges = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)
        long = edges.max(axis=1) > longest
        done.append(corners[~long])
        corners, edges = corners[long], edges[long]
        if not len(corners):
            break
        first = edges.argmax(axis=1)
        order = (first[:, None] + np.arange(3)) % 3
        a, b, c = np.moveaxis(np.take_along_axis(corners, order[:, :, None], axis=1), 1, 0)
        half = (a + b) / 2
        corners = np.concatenate([np.stack([a, half, c], 1), np.stack([half, b, c], 1)])
    whole = np.concatenate(done)
    return Part(part.name, whole.reshape(-1, 3), np.arange(3 * len(whole)).reshape(-1, 3))


def orientations_picture(
    checks: Mapping[BuildOrientation, PrintCheck], heading: str, detail: str = ""
) -> ViewsPicture:
    """The part as it lies on the plate in every orientation, coloured, with the numbers below."""
    views: list[View] = []
    for name, check in checks.items():
        part = finer(check.layers.part, EDGE_MM)
        views.append(
            view_of(
                [part],
                Viewpoint(35.0, 25.0),
                up=(0, 0, 1),
                colours=[_paint(part, check)],
                caption=_numbers(name, check),
            )
        )
    key = (*((colour, words) for _, colour, words in reversed(SCALE)), (BODY, BULK))
    return ViewsPicture(
        heading, detail, tuple(views), scale=("Share of what a tight wall needs", key)
    )


def _numbers(name: str, check: PrintCheck) -> str:
    e = check.estimate
    rows = [
        name.replace("_", " "),
        f"{len(check.faults)} faults, {len(check.findings) - len(check.faults)} cautions",
        f"longest bridge {say(check.longest_bridge_mm, 'mm')}",
        f"largest free ledge {say(check.steepest_ledge_mm, 'mm')}",
        f"fewest lines {check.fewest_lines:.2g}, layers {check.fewest_layers:.2g}",
        f"{check.forced_seams} of {len(check.seams)} seams on pressure walls",
        f"{e.layers} layers, {e.time_s / 3600:.1f} h, {say(e.mass_g, '')} g",
    ]
    return "\n".join(rows)


def _rgb(colour: str) -> Float[np.ndarray, " 3"]:
    return np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
