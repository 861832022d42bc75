"""Surfaces: closed forms of volume and centroid, and every fault is found."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest

from fiddlehead.errors import InputError
from fiddlehead.fabricate import kernel
from fiddlehead.fabricate.exporters.stl import write_stl
from fiddlehead.fabricate.records import Part
from fiddlehead.fabricate.surface import bodies, read_stl, surface_problems
from tests.fabricate.made import box, icosphere, part_of


def joined(*parts: Part) -> Part:
    first = np.cumsum([0, *(len(part.vertices) for part in parts)])
    return Part(
        "joined",
        np.concatenate([part.vertices for part in parts]),
        np.concatenate([p.triangles + n for p, n in zip(parts, first, strict=False)]),
    )


def test_box_volume_and_centroid() -> None:
    part = box((10, 10, 10), at=(3, -4, 5))
    assert part.volume_mm3 == pytest.approx(1000.0)
    np.testing.assert_allclose(part.centroid_mm, [8, 1, 10])
    assert surface_problems(part) == []


# Polyhedra inscribed in the unit sphere: 80, 320, 1280 and 5120 faces.
@pytest.mark.parametrize(
    ("times", "volume"), [(1, 3.658712), (2, 4.047045), (3, 4.152741), (4, 4.179739)]
)
def test_icosphere_volumes(times: int, volume: float) -> None:
    ball = icosphere(times)
    assert len(ball.triangles) == 20 * 4**times
    assert ball.volume_mm3 == pytest.approx(volume, abs=5e-7)
    np.testing.assert_allclose(ball.centroid_mm, 0.0, atol=1e-12)
    assert surface_problems(ball) == []


def test_cylinder_and_cone_of_the_kernel_against_closed_forms() -> None:
    bar = kernel.cylinder((1, 2, 3), (0, 0, 1), 4.0, 10.0)
    assert kernel.volume(bar) == pytest.approx(np.pi * 160.0, rel=1e-9)
    np.testing.assert_allclose(kernel.centroid(bar), [1, 2, 8], atol=1e-9)
    part = part_of(bar)
    assert part.volume_mm3 == pytest.approx(np.pi * 160.0, rel=5e-3)
    np.testing.assert_allclose(part.centroid_mm, [1, 2, 8], atol=1e-3)


def test_faults_are_told() -> None:
    good = box((1, 2, 3))
    open_box = dataclasses.replace(good, triangles=good.triangles[1:])
    turned = good.triangles.copy()
    turned[0] = turned[0][::-1]
    faults = {
        "not closed: 3 edges": open_box,
        "face opposite sides": dataclasses.replace(good, triangles=turned),
        "inside out": dataclasses.replace(good, triangles=good.triangles[:, ::-1]),
        "no triangles": dataclasses.replace(good, triangles=good.triangles[:0]),
        "not finite": dataclasses.replace(good, vertices=good.vertices * np.nan),
        "pass through each other": joined(good, box((1, 2, 3), at=(0.5, 0.5, 0.5))),
    }
    for told, part in faults.items():
        assert any(told in text for text in surface_problems(part)), told


def test_boxes_side_by_side_do_not_cross() -> None:
    pair = joined(box((1, 1, 1)), box((1, 1, 1), at=(2, 0, 0)))
    assert surface_problems(pair) == []
    assert bodies(pair) == 2


def test_a_needle_through_one_face_is_found() -> None:
    needle = box((0.01, 0.01, 2.0), at=(0.503, 0.201, 0.5))
    assert surface_problems(joined(box((1, 1, 1)), needle))


@pytest.mark.parametrize(
    "content",
    [b"", b"hello", b"solid nothing\nendsolid\n", b"\0" * 200, b"solid x\nfacet nonsense"],
)
def test_broken_stl_is_told_in_one_line(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "broken.stl"
    path.write_bytes(content)
    with pytest.raises(InputError) as caught:
        read_stl(path)
    assert "broken.stl" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_cut_off_and_open_stl_are_told(tmp_path: Path) -> None:
    good = write_stl(box((1, 2, 3)), tmp_path / "good.stl").read_bytes()
    cut = tmp_path / "cut.stl"
    cut.write_bytes(good[:-120])
    with pytest.raises(InputError, match=r"cut\.stl.*cut off.*9 triangles.*allowed 12"):
        read_stl(cut)
    opened = tmp_path / "open.stl"
    opened.write_bytes(good[:80] + (11).to_bytes(4, "little") + good[84 : 84 + 11 * 50])
    with pytest.raises(InputError, match="not closed"):
        read_stl(opened)
    with pytest.raises(InputError, match="no such file"):
        read_stl(tmp_path / "nowhere.stl")
