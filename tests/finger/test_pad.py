"""The pad: struts of even thickness, closed openings, few layouts, reasons where it cannot be."""

from __future__ import annotations

import dataclasses
import itertools
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fiddlehead.errors import ParameterError
from fiddlehead.finger.checks import design_warnings
from fiddlehead.finger.pad.columns import FREE, Columns, merged, stand
from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import PrintSettings
from fiddlehead.finger.profile import profile_layout
from fiddlehead.finger.volumes import material_volume_mm3
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.quality import mesh_quality
from fiddlehead.mesh.settings import PRESETS
from tests.finger.cases import PADS, ZIG_ZAG

LATTICES = [name for name, pad in PADS.items() if pad.has_lattice]


def padded(pad: PadParameters | None) -> FingerParameters:
    return dataclasses.replace(ZIG_ZAG, pad=pad)


def quads(finger: FingerParameters, begins: str) -> list[np.ndarray]:
    """Corners of all regions whose names begin so."""
    layout = profile_layout(finger)
    vertices = layout.vertices(finger)
    return [vertices[list(r.corners)] for r in layout.regions if r.name.startswith(begins)]


def thickness(quad: np.ndarray) -> float:
    """Distance between the two longest sides of a parallelogram."""
    sides = np.roll(quad, -1, axis=0) - quad
    long = sides[int(np.argmax(np.linalg.norm(sides, axis=1)))]
    short = sides[(int(np.argmax(np.linalg.norm(sides, axis=1))) + 1) % 4]
    return abs(long[0] * short[1] - long[1] * short[0]) / float(np.linalg.norm(long))


@pytest.mark.parametrize("name", ["re-entrant", "re-entrant, two rows", "hexagonal"])
def test_struts_have_their_thickness_and_their_angle(name: str) -> None:
    pad = PADS[name]
    finger = padded(pad)
    slanted = quads(finger, "slanted strut")
    assert len(slanted) == 2 * pad.cell_count * pad.cell_rows
    inner = [q for k, q in enumerate(slanted) if k % (2 * pad.cell_count) not in (0, 19, 27, 17)]
    for quad in inner:
        sides = [b - a for a, b in itertools.pairwise([*quad, quad[0]])]
        along = max(sides, key=lambda side: float(np.linalg.norm(side)))
        slope = np.degrees(np.arctan2(abs(along[1]), abs(along[0])))
        assert slope == pytest.approx(pad.cell_angle_deg, abs=1e-9)
        assert thickness(quad) == pytest.approx(pad.strut_thickness_mm, rel=1e-9)
    for quad in quads(finger, "upright strut"):  # halves, side by side
        assert np.ptp(quad[:, 0]) == pytest.approx(pad.strut_thickness_mm / 2)


def test_ribs_have_their_thickness_angle_and_depth() -> None:
    for name in ("ribs", "ribs leaning to the root"):
        pad = PADS[name]
        ribs = quads(padded(pad), "rib ")
        assert len(ribs) == pad.rib_count
        for quad in ribs:
            assert thickness(quad) == pytest.approx(pad.rib_thickness_mm)
            assert np.ptp(quad[:, 1]) == pytest.approx(pad.rib_depth_mm)
            down = quad[0] - quad[3]
            lean = np.degrees(np.arctan2(-down[1], down[0]))
            assert lean == pytest.approx(pad.rib_angle_deg)
        gaps = np.diff([quad[3, 0] for quad in ribs])
        np.testing.assert_allclose(gaps, gaps[0])


def test_squares_are_square_when_depth_and_length_agree() -> None:
    pad = PADS["rotating squares"]
    span = ZIG_ZAG.length_mm - ZIG_ZAG.root_length_mm - 2 * pad.end_wall_thickness_mm
    finger = padded(dataclasses.replace(pad, cell_depth_mm=span / pad.cell_count))
    layout = profile_layout(finger)
    vertices = layout.vertices(finger)
    first = [r for r in layout.regions if r.name == "square 3 of row 1"]
    corners = {k for r in first for k in r.corners[1:]} - {first[0].corners[0]}
    from_middle = vertices[sorted(corners)] - vertices[first[0].corners[0]]
    quarter = from_middle @ np.array([[0.0, 1.0], [-1.0, 0.0]])
    ours, turned = (np.round(a, 6)[np.lexsort(np.round(a, 6).T)] for a in (from_middle, quarter))
    np.testing.assert_allclose(ours, turned, atol=2e-6)


@pytest.mark.parametrize("name", PADS)
@pytest.mark.parametrize("preset", PRESETS)
def test_every_kind_is_well_shaped(name: str, preset: str) -> None:
    quality = mesh_quality(build_mesh(padded(PADS[name]), PRESETS[preset]))
    assert quality.scaled_jacobian.min() > 0.25
    assert quality.volume_ratio.min() > 0.03


OPENINGS = {
    "plain": 0,
    "ribs": 9,
    "ribs leaning to the root": 7,
    "re-entrant": 10 + 11,
    "re-entrant, two rows": 14 + 15 + 14,
    "hexagonal": 9 + 10,
    "rotating squares": 2 * 10,
    "ribs and cells": 8 + 10 + 11,
}


@pytest.mark.parametrize("name", PADS)
def test_openings_are_closed_loops_of_walls(name: str) -> None:
    mesh = build_mesh(padded(PADS[name]))
    assert len(mesh.void_loops) == OPENINGS[name]
    together = [tuple(face) for loop in mesh.void_loops for face in loop]
    assert sorted(together) == sorted(tuple(face) for face in mesh.faces["void"])
    for loop in mesh.void_loops:
        x = mesh.points[loop[:, :4]]
        area = np.cross(x[:, 2] - x[:, 0], x[:, 3] - x[:, 1]) / 2
        np.testing.assert_allclose(area[:, :2].sum(axis=0), 0, atol=1e-9)
        inward = np.einsum("fi,fi->f", area, x.mean(axis=1) - x.mean(axis=(0, 1)))
        assert inward.sum() < 0, "normals point out of the solid, into the opening"
        stacks = np.unique(loop[:, [0, 1]], axis=0)
        assert len(stacks) == len(loop)


def test_openings_take_away_what_they_enclose() -> None:
    for name in LATTICES:
        finger = padded(PADS[name])
        plain = dataclasses.replace(PADS[name], cells="solid")
        loops = profile_layout(finger).void_loops
        vertices = profile_layout(finger).vertices(finger)
        open_area = 0.0
        for loop in loops:
            x, y = vertices[list(reversed(loop))].T
            open_area += float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2)
        if PADS[name].has_ribs:
            plain = dataclasses.replace(plain, rib_count=0, cell_depth_mm=PADS[name].depth_mm - 0.8)
        gone = material_volume_mm3(padded(plain)) - material_volume_mm3(finger)
        assert gone == pytest.approx(open_area * finger.width_mm, rel=1e-9)


@pytest.mark.parametrize("name", PADS)
def test_similar_pads_share_a_layout(name: str) -> None:
    finger = padded(PADS[name])
    pad = PADS[name]
    layout = profile_layout(finger)
    for field in ("strut_thickness_mm", "skin_thickness_mm", "cell_depth_mm", "cell_angle_deg"):
        changed = dataclasses.replace(pad, **{field: 1.02 * getattr(pad, field)})
        assert profile_layout(padded(changed)) is layout
    assert profile_layout(dataclasses.replace(finger, pitch_mm=10.7, tip_length_mm=8.2)) is layout
    assert profile_layout(padded(dataclasses.replace(pad, cells="none", rib_count=3))) is not layout


REFUSED: dict[str, tuple[dict[str, Any], str, str]] = {
    "nothing": ({"rib_count": 0, "cells": "none"}, "cells", "ribs or cells"),
    "unknown cells": ({"cells": "chiral"}, "cells", "no such cells"),
    "half a rib": ({"rib_count": 2.5}, "rib_count", "whole number"),
    "no rows": ({"cell_rows": 0}, "cell_rows", "whole number"),
    "thin air": ({"strut_thickness_mm": 0.0}, "strut_thickness_mm", "no such size"),
    "not a number": ({"skin_thickness_mm": float("nan")}, "skin_thickness_mm", "finite"),
    "text": ({"cell_depth_mm": "7"}, "cell_depth_mm", "finite"),
    "flat angle": ({"cell_angle_deg": 80.0}, "cell_angle_deg", "re-entrant"),
    "lying ribs": ({"rib_count": 3, "rib_angle_deg": 10.0}, "rib_angle_deg", "lean too far"),
    "ribs too many": ({"rib_count": 60, "rib_thickness_mm": 1.2}, "rib_count", "ribs overlap"),
    "closed gap": ({"cell_depth_mm": 3.0}, "cell_depth_mm", "re-entrant gap is closed"),
    "cells too many": ({"cell_count": 30}, "cell_count", "cells overlap"),
    "shallow hexagons": (
        {"cells": "hexagonal", "cell_angle_deg": 45.0, "cell_depth_mm": 4.0},
        "cell_depth_mm",
        "no upright strut",
    ),
    "wide necks": (
        {"cells": "rotating squares", "strut_thickness_mm": 6.0},
        "strut_thickness_mm",
        "squares merge",
    ),
    "end walls": ({"end_wall_thickness_mm": 12.0}, "end_wall_thickness_mm", "no room"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_an_impossible_pad_is_refused_with_its_reason(name: str) -> None:
    change, field, reason = REFUSED[name]
    pad = dataclasses.replace(PADS["re-entrant"], **change)
    with pytest.raises(ParameterError, match=reason) as caught:
        padded(pad).validate()
    assert caught.value.where == f"pad.{field}"
    assert caught.value.allowed
    assert caught.value.remedy


def test_the_depth_told_for_a_closed_gap_is_accepted() -> None:
    pad = dataclasses.replace(PADS["re-entrant"], cell_depth_mm=3.0)
    with pytest.raises(ParameterError) as caught:
        padded(pad).validate()
    enough = float(caught.value.allowed.split()[0])
    assert padded(dataclasses.replace(pad, cell_depth_mm=enough)).problems() == []
    assert padded(dataclasses.replace(pad, cell_depth_mm=enough - 0.02)).problems()


WARNED: dict[str, tuple[dict[str, Any], str, str]] = {
    "uneven lines": ({"strut_thickness_mm": 0.7}, "strut_thickness_mm", "whole number of lines"),
    "one line": ({"skin_thickness_mm": 0.4}, "skin_thickness_mm", "single line"),
    "narrow gap": ({"cell_depth_mm": 4.0}, "cell_depth_mm", "re-entrant gap may close"),
    "ribs close": ({"rib_count": 50, "rib_angle_deg": 90.0}, "rib_count", "weld"),
    "stout": ({"cell_count": 14, "strut_thickness_mm": 1.2}, "strut_thickness_mm", "hardly bend"),
    "stretched": (
        {"cells": "rotating squares", "cell_angle_deg": 50.0, "cell_count": 6},
        "cell_count",
        "stretched",
    ),
}


@pytest.mark.parametrize("name", WARNED)
def test_an_unwise_pad_is_warned_about(name: str) -> None:
    change, field, message = WARNED[name]
    finger = padded(dataclasses.replace(PADS["re-entrant"], **change))
    assert finger.problems() == []
    told = [w for w in design_warnings(finger) if w.field == f"pad.{field}"]
    assert any(message in w.message for w in told), told
    sound = [w.message for w in design_warnings(padded(PADS["re-entrant"])) if "pad." in w.field]
    assert not any(message in m for m in sound)


def test_a_pad_with_openings_is_printed_on_its_side() -> None:
    for orientation in ("upright", "base_down"):
        settings = PrintSettings(build_orientation=orientation)  # type: ignore[arg-type]
        fields = [w.field for w in design_warnings(padded(PADS["re-entrant"]), settings)]
        assert "pad.cells" in fields
        fields = [w.field for w in design_warnings(padded(PADS["plain"]), settings)]
        assert "pad.cells" not in fields


@given(
    st.lists(st.floats(0.05, 0.95), max_size=3),
    st.lists(st.tuples(st.floats(0, 1), st.integers(-1, 2)), min_size=6, max_size=9),
)
def test_feet_stand_where_they_shift_least(
    inner: list[float], columns: list[tuple[float, int]]
) -> None:
    """Against all choices there are."""
    places = [0.0, *sorted(inner), 1.0]
    middles = tuple(sorted(middle for middle, _ in columns))
    parts = tuple(part for _, part in columns)
    found = stand(places, len(places) * [1], Columns(middles, parts))

    def cost(starts: tuple[int, ...]) -> float:
        return sum((middles[s] - p) ** 2 for s, p in zip(starts, places[1:-1], strict=True))

    last = len(middles) - 1
    ways = [
        inner_starts
        for inner_starts in itertools.combinations(range(1, last), len(inner))
        if all(b - a > 1 for a, b in itertools.pairwise((0, *inner_starts, last)))
        and all(parts[s] != FREE for s in inner_starts)
    ]
    assert (found is None) == (not ways)
    if found is not None:
        assert found[0][0] == 0
        assert found[0][-1] == last
        assert cost(found[0][1:-1]) == pytest.approx(min(map(cost, ways)))


def test_feet_on_two_faces_are_sorted_or_share_columns() -> None:
    upper = [(1.0, 2.0), (5.0, 6.0), (9.0, 10.0)]
    assert merged(upper, [(1.4, 2.4), (3.0, 4.0), (9.2, 10.2), (12.0, 13.0)]) == "BLUBL"
    assert merged(upper, []) == "UUU"
    assert merged([], upper) == "LLL"
