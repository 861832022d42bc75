"""Experiment plans: orthogonal, blocked, random and repeatable; wrong wishes refused."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.experiment_factors import FACTORS, FIRST_SIX, Factor, chosen_factors
from fiddlehead.fabricate.experiment_plan import make_plan

NUMERIC = tuple(factor for factor in FACTORS.values() if factor.words is None)


@settings(deadline=None, max_examples=40)
@given(
    count=st.integers(3, 5),
    design=st.sampled_from(["full factorial", "fractional factorial", "Box-Behnken"]),
    blocks=st.integers(1, 2),
    per_block=st.integers(1, 2),
    centre=st.integers(0, 5),
    seed=st.integers(0, 1000),
)
def test_every_plan_is_balanced_in_every_block(
    count: int, design: str, blocks: int, per_block: int, centre: int, seed: int
) -> None:
    plan = make_plan(
        NUMERIC[:count],
        design,  # type: ignore[arg-type]
        resolution=3,
        centre_points=centre,
        replicates=blocks * per_block,
        blocks=blocks,
        seed=seed,
    )
    assert sum(plan.centre) == centre
    assert (np.diff(plan.block) >= 0).all()
    for block in range(1, blocks + 1):
        inside = plan.coded[plan.block == block]
        np.testing.assert_allclose(inside.sum(axis=0), 0.0, atol=1e-12)
        gram = inside.T @ inside
        np.testing.assert_allclose(gram, np.diag(np.diag(gram)), atol=1e-12)


def test_same_seed_same_order_another_seed_another() -> None:
    factors = chosen_factors(FIRST_SIX, {})
    first, again, other = (make_plan(factors, "fractional factorial", seed=s) for s in (1, 1, 2))
    np.testing.assert_array_equal(first.coded, again.coded)
    assert not np.array_equal(first.coded, other.coded)
    rows = [Counter(map(tuple, plan.coded)) for plan in (first, other)]
    assert rows[0] == rows[1]


def test_the_usual_plan_for_six_settings() -> None:
    plan = make_plan(chosen_factors(FIRST_SIX, {}), "fractional factorial")
    assert len(plan.coded) == 2 * 16 + 4
    assert plan.resolution == 4
    assert Counter(plan.block.tolist()) == {1: 18, 2: 18}
    assert Counter(zip(plan.block.tolist(), plan.centre, strict=True))[1, True] == 2


def test_two_blocks_of_one_replicate_hide_only_a_high_interaction() -> None:
    plan = make_plan(NUMERIC[:4], "full factorial", centre_points=0, replicates=1, blocks=2)
    sign = np.where(plan.block == 2, 1.0, -1.0)
    np.testing.assert_allclose(np.abs(sign @ plan.coded.prod(axis=1)), len(sign))
    for one in range(4):
        assert sign @ plan.coded[:, one] == 0
        for two in range(one):
            assert sign @ (plan.coded[:, one] * plan.coded[:, two]) == 0


def test_settings_with_words_take_both_levels_in_the_middle() -> None:
    factors = (*NUMERIC[:3], FACTORS["ironing"])
    plan = make_plan(factors, "full factorial", centre_points=4, replicates=2, blocks=2)
    middle = plan.coded[np.array(plan.centre)]
    assert sorted(middle[:, 3]) == [-1, -1, 1, 1]
    assert (middle[:, :3] == 0).all()
    words = {plan.setting(run, 3) for run in range(len(plan.coded))}
    assert words == {"off", "on"}


def test_settings_are_written_and_read_back() -> None:
    flow, layers, iron = FACTORS["flow_percent"], FACTORS["top_bottom_layers"], FACTORS["ironing"]
    assert [flow.written(c) for c in (-1.0, 0.0, 1.0)] == ["100", "107.5", "115"]
    assert layers.written(-0.2) == "6"  # no 6.4 layers
    assert iron.written(-1.0) == "off"
    assert iron.read(" ON ") == 1.0
    for coded in (-1.0, 0.0, 0.5, 1.0):
        assert flow.read(flow.written(coded)) == pytest.approx(coded)


def test_ranges_of_ones_own() -> None:
    (flow,) = chosen_factors(("flow_percent",), {"flow_percent": (95.0, 105.0)})
    assert (flow.low, flow.high, flow.standing) == (95.0, 105.0, "your range")


@pytest.mark.parametrize(
    ("names", "ranges", "message"),
    [
        (("colour",), {}, "no such print setting"),
        (("flow_percent", "flow_percent"), {}, "named twice"),
        (("flow_percent",), {"retraction_mm": (0.0, 1.0)}, "not varied"),
        (("ironing",), {"ironing": (0.0, 1.0)}, "not varied"),
        (("flow_percent",), {"flow_percent": (110.0, 100.0)}, "a low and a higher level"),
    ],
)
def test_wrong_factors(names: tuple[str, ...], ranges: dict, message: str) -> None:
    with pytest.raises(ParameterError, match=message):
        chosen_factors(names, ranges)


@pytest.mark.parametrize(
    ("count", "design", "options", "message"),
    [
        (1, "full factorial", {}, "is for 2 to 6 factors"),
        (2, "Box-Behnken", {}, "is for 3 to 5 factors"),
        (9, "fractional factorial", {}, "is for 3 to 8 factors"),
        (5, "fractional factorial", {"resolution": 6}, "no fraction of this resolution"),
        (3, "spiral", {}, "no such design"),
        (3, "full factorial", {"replicates": 3, "blocks": 2}, "shared out among the blocks"),
        (3, "Box-Behnken", {"replicates": 1, "blocks": 2}, "shared out among the blocks"),
        (3, "full factorial", {"replicates": 0}, "whole numbers from 1"),
        (3, "fractional factorial", {"replicates": 1, "resolution": 3}, "hide a main effect"),
    ],
)
def test_wrong_wishes(count: int, design: str, options: dict, message: str) -> None:
    with pytest.raises(ParameterError, match=message):
        make_plan(NUMERIC[:count], design, **options)  # type: ignore[arg-type]


def test_three_levels_need_a_middle() -> None:
    with pytest.raises(ParameterError, match="cannot have three levels"):
        make_plan((*NUMERIC[:2], FACTORS["ironing"]), "Box-Behnken")


def test_every_factor_says_where_its_range_comes_from() -> None:
    for factor in FACTORS.values():
        assert factor.standing
        assert isinstance(factor, Factor)
