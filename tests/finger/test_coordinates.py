"""Coordinates under JAX: the same numbers, true derivatives, batches."""

from __future__ import annotations

import dataclasses

import jax
import jax.numpy as jnp
import numpy as np
import pytest

from fiddlehead.errors import ParameterError
from fiddlehead.finger.coordinates import as_parameters, node_coordinates
from fiddlehead.finger.parameters import CONTINUOUS, FingerParameters
from fiddlehead.finger.profile import profile_layout
from fiddlehead.finger.volumes import (
    cavity_volume,
    material_volume,
)
from fiddlehead.mesh.build import build_mesh
from fiddlehead.mesh.settings import PRESETS
from tests.finger.cases import PADS, THREE_CHAMBERS, ZIG_ZAG

FINGERS = {
    "straight": THREE_CHAMBERS,
    "zig-zag": ZIG_ZAG,
    "wide channel": dataclasses.replace(ZIG_ZAG, channel_width_mm=17.6, bellows_count=2),
    "one bellows, pad": dataclasses.replace(ZIG_ZAG, bellows_count=1, pad=PADS["plain"]),
    "ribs and cells": dataclasses.replace(ZIG_ZAG, pad=PADS["ribs and cells"]),
    "hexagonal": dataclasses.replace(ZIG_ZAG, pad=PADS["hexagonal"]),
    "squares": dataclasses.replace(ZIG_ZAG, pad=PADS["rotating squares"]),
}
STEP = 1e-5


def moved(finger: FingerParameters, name: str) -> tuple[FingerParameters, FingerParameters]:
    owner, field = (finger.pad, name[4:]) if name.startswith("pad_") else (finger, name)
    changed = [
        dataclasses.replace(owner, **{field: getattr(owner, field) + step})
        for step in (-STEP, STEP)
    ]
    if owner is finger:
        return tuple(changed)  # type: ignore[return-value]
    return tuple(dataclasses.replace(finger, pad=pad) for pad in changed)  # type: ignore


@pytest.mark.parametrize("name", FINGERS)
def test_jax_and_numpy_agree(name: str) -> None:
    mesh = build_mesh(FINGERS[name], PRESETS["preview"])
    found = node_coordinates(mesh.template, FINGERS[name].sizes())
    assert found.dtype == jnp.float64
    np.testing.assert_allclose(found, mesh.points, rtol=0, atol=1e-12)


def test_a_batch_is_each_finger_alone() -> None:
    template = build_mesh(ZIG_ZAG, PRESETS["preview"]).template
    designs = [ZIG_ZAG, dataclasses.replace(ZIG_ZAG, pitch_mm=11.5, wall_thickness_mm=1.25)]
    sizes = [design.sizes() for design in designs]
    stacked = {name: jnp.array([s[name] for s in sizes]) for name in CONTINUOUS}
    batch = jax.jit(jax.vmap(lambda design: node_coordinates(template, design)))(stacked)
    for points, design in zip(batch, designs, strict=True):
        np.testing.assert_allclose(points, template.points(design), atol=1e-12)


@pytest.mark.parametrize("name", FINGERS)
def test_derivatives_of_volume_and_coordinates(name: str) -> None:
    finger = FINGERS[name]
    layout = profile_layout(finger)
    template = build_mesh(finger, PRESETS["preview"]).template

    def volumes(design: dict[str, jax.Array]) -> jax.Array:
        p = as_parameters(layout, design)
        return jnp.stack([material_volume(layout, p, jnp), cavity_volume(layout, p, jnp)])

    sizes = finger.sizes()
    slopes = jax.jit(jax.jacfwd(volumes))(sizes)
    directions = jax.jit(jax.jacfwd(lambda design: node_coordinates(template, design)))(sizes)
    assert set(sizes) == set(layout.size_names)
    for parameter in sizes:
        low, high = moved(finger, parameter)
        expected = [
            (volume(layout, high) - volume(layout, low)) / (2 * STEP)
            for volume in (material_volume, cavity_volume)
        ]
        np.testing.assert_allclose(slopes[parameter], expected, rtol=1e-6, atol=1e-4)
        difference = (template.points(high) - template.points(low)) / (2 * STEP)
        np.testing.assert_allclose(directions[parameter], difference, rtol=1e-6, atol=1e-6)


@pytest.mark.parametrize("change", [{"pitch_mm": None}, {"pitch": 3.0}])
def test_missing_and_misspelt_sizes_are_refused(change: dict[str, float | None]) -> None:
    template = build_mesh(ZIG_ZAG, PRESETS["preview"]).template
    design = {k: v for k, v in (ZIG_ZAG.sizes() | change).items() if v is not None}
    with pytest.raises(ParameterError, match="pitch"):
        node_coordinates(template, design)
