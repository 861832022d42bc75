"""Files come back as they were: STL, STEP; 3MF is read by another library in tests/published."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fiddlehead.errors import InputError, ParameterError, StoreError
from fiddlehead.fabricate import kernel
from fiddlehead.fabricate.exporters.step import write_step
from fiddlehead.fabricate.exporters.stl import stl_bytes, write_stl
from fiddlehead.fabricate.exporters.threemf import threemf_bytes
from fiddlehead.fabricate.solid import FingerSolid, finger_solid
from fiddlehead.fabricate.surface import bodies, read_stl
from tests.fabricate.made import box
from tests.finger.cases import THREE_CHAMBERS, ZIG_ZAG


@pytest.fixture(scope="module")
def finger() -> FingerSolid:
    return finger_solid(ZIG_ZAG)


def test_binary_stl_has_its_size(finger: FingerSolid) -> None:
    assert len(stl_bytes(box((10, 10, 10)))) == 684
    part = finger.part()
    assert len(stl_bytes(part)) == 84 + 50 * len(part.triangles)
    assert not stl_bytes(part).startswith(b"solid")


def test_stl_round_trip(finger: FingerSolid, tmp_path: Path) -> None:
    part = finger.part("upright")
    back = read_stl(write_stl(part, tmp_path / "finger.stl"))
    assert back.volume_mm3 == pytest.approx(part.volume_mm3, rel=1e-6)
    low = back.vertices.min(axis=0)
    assert low[2] == pytest.approx(0.0, abs=1e-6)
    assert np.ptp(back.vertices[:, 2]) == pytest.approx(np.ptp(part.vertices[:, 0]), abs=1e-5)


def test_a_closed_cavity_survives_as_a_shell_of_its_own(tmp_path: Path) -> None:
    part = finger_solid(THREE_CHAMBERS).part()
    back = read_stl(write_stl(part, tmp_path / "sealed.stl"))
    assert bodies(back) == 2
    assert back.volume_mm3 == pytest.approx(part.volume_mm3, rel=1e-6)


def test_step_round_trip(finger: FingerSolid, tmp_path: Path) -> None:
    path = write_step([("finger", finger.shape)], tmp_path / "finger.step")
    back = kernel.read_step(path)
    assert kernel.volume(back) == pytest.approx(finger.volume_mm3, rel=1e-9)
    np.testing.assert_allclose(kernel.centroid(back), kernel.centroid(finger.shape), atol=1e-6)
    assert kernel.problems(back) == []
    assert "'finger'" in path.read_text(encoding="utf-8")


def test_the_kernel_stays_silent(
    finger: FingerSolid, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    kernel.read_step(write_step([("finger", finger.shape)], tmp_path / "finger.step"))
    assert capfd.readouterr() == ("", "")


def test_wrong_files_and_places_are_told(finger: FingerSolid, tmp_path: Path) -> None:
    text = tmp_path / "no.step"
    text.write_text("nothing of the kind", encoding="utf-8")
    for path in (text, tmp_path / "nowhere.step"):
        with pytest.raises(InputError, match="not a STEP file"):
            kernel.read_step(path)
    with pytest.raises(StoreError):
        write_step([("finger", finger.shape)], text / "inside.step")


def test_3mf_wants_names_that_differ() -> None:
    for parts in ([], [box((1, 1, 1)), box((2, 2, 2))]):
        with pytest.raises(ParameterError, match="names that differ"):
            threemf_bytes(parts, title="x")


def test_the_same_parts_give_the_same_bytes(finger: FingerSolid) -> None:
    part = finger.part()
    assert threemf_bytes([part], title="x") == threemf_bytes([part], title="x")
