"""The base: fingers fit their slots, air reaches them, screws stay clear, and misfits are told."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate import kernel
from fiddlehead.fabricate.base import SIX_SLOTS, BaseParameters, base_layout
from fiddlehead.fabricate.base_solid import (
    assembled,
    base_solid,
    base_stoppers,
    blanking_plug,
)
from fiddlehead.fabricate.chambers import air_of
from fiddlehead.fabricate.fittings import Fittings, default_fittings
from fiddlehead.fabricate.flange import FLANGES, SCREWS, flange
from fiddlehead.fabricate.layers import sliced
from fiddlehead.fabricate.process import Process
from fiddlehead.fabricate.solid import FingerSolid, finger_solid
from fiddlehead.fabricate.surface import bodies, surface_problems
from tests.finger.cases import ZIG_ZAG

FITTINGS = default_fittings(ZIG_ZAG)
DESIGNS = {
    "default": BaseParameters(pitch_radius_mm=36.0),
    "two free, splayed": BaseParameters(fingers=2, pattern="free", splay_deg=8.0),
    "three free": BaseParameters(fingers=3, pattern="free"),
    "four free, ports": BaseParameters(fingers=4, pattern="free", air="separate", splay_deg=5.0),
    "five of six": BaseParameters(fingers=5, pitch_radius_mm=40.0, flange="63-4-M6"),
    "six, large flange": BaseParameters(fingers=6, pitch_radius_mm=60.0, flange="80-6-M8"),
}


@pytest.fixture(scope="module")
def finger() -> FingerSolid:
    return finger_solid(ZIG_ZAG, FITTINGS)


def common_volume(a: kernel.Shape, b: kernel.Shape) -> float:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

    return kernel.volume(BRepAlgoAPI_Common(a, b).Shape())


@pytest.mark.parametrize("name", DESIGNS)
def test_bases_are_sound_and_their_fingers_and_plugs_fit(name: str, finger: FingerSolid) -> None:
    layout = base_layout(DESIGNS[name], ZIG_ZAG, FITTINGS)
    base, plug = base_solid(layout, FITTINGS), blanking_plug(layout)
    for modelled in (base, plug):
        assert kernel.problems(modelled.shape) == []
        part = modelled.part()
        assert surface_problems(part) == []
        assert bodies(part) == 1
        assert part.volume_mm3 == pytest.approx(kernel.volume(modelled.shape), rel=1e-3)
    standing = assembled(layout, finger.shape, plug.shape)
    assert len(standing) == layout.parameters.slots
    assert sum(n.startswith("finger") for n, _ in standing) == layout.parameters.fingers
    for _, shape in standing:
        assert common_volume(base.shape, shape) < 1e-6
    for (_, one), (_, other) in zip(standing, standing[1:] + standing[:1], strict=True):
        assert common_volume(one, other) < 1e-6


@pytest.mark.parametrize("name", ["default", "four free, ports"])
def test_air_reaches_every_slot_and_nothing_else(name: str) -> None:
    """With bores and ports stopped the channels are closed: one manifold, or one per slot."""
    p = DESIGNS[name]
    layout = base_layout(p, ZIG_ZAG, FITTINGS)
    part = base_solid(layout, FITTINGS).part()
    layers = sliced(part, Process(layer_height_mm=0.2), base_stoppers(layout))
    chambers = air_of(layers).chambers
    assert len(chambers) == (1 if p.air == "manifold" else p.slots)
    assert not any(chamber.sealed for chamber in chambers)


def test_a_finger_cannot_be_pulled_out_but_slides(finger: FingerSolid) -> None:
    layout = base_layout(DESIGNS["default"], ZIG_ZAG, FITTINGS)
    base = base_solid(layout, FITTINGS).shape
    place = layout.place(0)

    def moved(along: tuple[float, float, float], by: float) -> kernel.Shape:
        shift = np.array(along) * by
        local = np.column_stack([np.eye(3), shift])
        return kernel.moved(kernel.moved(finger.shape, local), place)

    assert common_volume(base, moved((1, 0, 0), 1.0)) > 1.0  # pulled away from the base
    assert common_volume(base, moved((0, 1, 0), 1.0)) > 1.0  # pushed outwards
    assert common_volume(base, moved((0, 0, -1), 1.0)) > 1.0  # against the stop
    assert common_volume(base, moved((0, 0, 1), 12.0)) < 1e-6  # out of the slot


def test_places_are_rotations_and_splay_leans_outwards() -> None:
    p = BaseParameters(fingers=3, pattern="free", splay_deg=10.0)
    layout = base_layout(p, ZIG_ZAG, FITTINGS)
    for slot, angle in enumerate(p.angles_rad()):
        place = layout.place(slot)
        rotation = place[:, :3]
        np.testing.assert_allclose(rotation @ rotation.T, np.eye(3), atol=1e-12)
        assert np.linalg.det(rotation) == pytest.approx(1.0)
        tip = place @ np.array([ZIG_ZAG.length_mm, 0.0, 0.0, 1.0])
        radius = tip[:2] @ [math.cos(angle), math.sin(angle)]
        lean = ZIG_ZAG.length_mm * math.sin(math.radians(10.0))
        assert radius == pytest.approx(p.pitch_radius_mm + lean)
        assert tip[2] < 0


def test_six_slot_patterns_are_as_even_as_can_be() -> None:
    for count, slots in SIX_SLOTS.items():
        assert len(slots) == count
        assert max(slots) < 6
    assert BaseParameters(fingers=2).used == (0, 3)
    assert BaseParameters(fingers=3).used == (0, 2, 4)
    assert BaseParameters(fingers=4, pattern="free").slots == 4


def test_wrist_flanges() -> None:
    for name, f in FLANGES.items():
        pitch, count, thread = name.split("-")
        assert (f.pitch_circle, f.screws, f.thread) == (float(pitch), int(count), thread)
        assert f.outer > f.pitch_circle
        assert SCREWS[thread].clearance > float(thread[1:])
    with pytest.raises(ParameterError, match="no such wrist flange"):
        flange("51-4-M6")


def other(**values: object) -> BaseParameters:
    return dataclasses.replace(DESIGNS["default"], **values)  # type: ignore[arg-type]


BAD: dict[str, tuple[BaseParameters, Fittings, str]] = {
    "no rail": (other(), Fittings(mount="plain"), "no rail that fits a slot"),
    "fed elsewhere": (
        other(),
        dataclasses.replace(FITTINGS, port="thread"),
        "cannot be fed through the slot",
    ),
    "one finger": (other(fingers=1), FITTINGS, "two to six"),
    "seven fingers": (other(fingers=7), FITTINGS, "two to six"),
    "slots too close": (other(pitch_radius_mm=14.0), FITTINGS, "run into each other"),
    "screws in the slots": (other(flange="80-6-M8"), FITTINGS, "run into the slots"),
    "channels in the screws": (
        other(channel_mm=6.0, flange="31.5-4-M5"),
        FITTINGS,
        "channels run into",
    ),
    "no such flange": (other(flange="M6"), FITTINGS, "no such choice"),
    "leaning inwards": (other(splay_deg=-5.0), FITTINGS, "splay_deg"),
    "not a number": (other(play_mm=math.nan), FITTINGS, "play_mm"),
}


@pytest.mark.parametrize("case", BAD)
def test_what_does_not_go_together_is_told_with_a_remedy(case: str) -> None:
    parameters, fittings, told = BAD[case]
    with pytest.raises(ParameterError, match=told) as caught:
        base_layout(parameters, ZIG_ZAG, fittings)
    assert caught.value.where.startswith("base.")
    assert caught.value.remedy


def test_the_o_ring_must_fit_the_rail() -> None:
    wide = dataclasses.replace(ZIG_ZAG, inlet_bore_mm=9.0)
    rail = dataclasses.replace(FITTINGS.dovetail, neck_width_mm=11.0, depth_mm=1.5)
    with pytest.raises(ParameterError, match="O-ring"):
        base_layout(other(), wide, dataclasses.replace(FITTINGS, dovetail=rail))
