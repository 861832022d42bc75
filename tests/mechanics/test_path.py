"""Following a path: it always returns, says why it stopped, and can be taken up again."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fiddlehead.material.laws import NeoHookean
from fiddlehead.mechanics.outcome import Outcome
from fiddlehead.mechanics.path import PathSettings
from fiddlehead.mechanics.solve import Cancelled, Progressed, follow, make_loading, stack
from fiddlehead.testing.bodies import sphere_octant
from tests.published.rig import Rig, held, make_rig

STOPS = [0.0, 0.25, 0.5, 0.75, 1.0]


@pytest.fixture(scope="module")
def shell() -> Rig:
    """Thick sphere, inner radius 1 and outer 2, neo-Hookean with mu = 1 MPa, to 0.6 MPa."""
    mesh = sphere_octant(1.0, 2.0, 2, 2)
    fixed = held(mesh, cut_x="x", cut_y="y", cut_z="z")
    return make_rig(mesh, NeoHookean(1.0), 1000.0, fixed, pressure=0.6, pressed="inner")


def run(rig: Rig, **choices: Any) -> Any:
    return follow(rig.body, stack([rig.solid]), stack([rig.loading]), STOPS, **choices)


def test_every_outcome_but_success_has_a_reason_in_words() -> None:
    assert Outcome.complete.reason == ""
    assert all(len(o.reason) > 20 for o in Outcome if o is not Outcome.complete)


def test_a_balloon_stops_at_its_pressure_maximum(shell: Rig) -> None:
    """Green & Zerna (1968): the neo-Hookean shell 1:2 carries at most 0.808 mu.

    The maximum of ``mu/2 (4/lb + lb^-4 - 4/la - la^-4)`` over the inner stretch.
    """
    la = np.linspace(1.5, 2.5, 2001)
    lb = ((8 + la**3 - 1) / 8) ** (1 / 3)
    highest = np.max((4 / lb + lb**-4 - 4 / la - la**-4) / 2)
    loading = make_loading(shell.body, pressure=1.2)
    path = follow(shell.body, stack([shell.solid]), stack([loading]), STOPS)
    assert path.outcome == (Outcome.limit_point,)
    assert path.met[0] == 3  # 0, 0.3 and 0.6 MPa; 0.9 is out of reach
    assert path.load_factor[0] * 1.2 == pytest.approx(highest, rel=0.01)
    assert np.all(np.isfinite(path.displacement[0, :3]))


def test_cancelled_and_resumed_equals_uninterrupted(shell: Rig) -> None:
    def stop_after_five(at: Progressed) -> None:
        if at.solves >= 5:
            raise Cancelled

    whole = run(shell)
    part = run(shell, progress=stop_after_five)
    assert part.outcome == (Outcome.cancelled,)
    assert 1 <= part.met[0] < len(STOPS)
    rest = run(shell, resume=part.state)
    assert rest.outcome == (Outcome.complete,)
    assert rest.displacement == pytest.approx(whole.displacement, abs=1e-12)


def test_a_spent_budget_keeps_what_is_done(shell: Rig) -> None:
    path = run(shell, most_solves=6)
    assert path.outcome == (Outcome.budget_spent,)
    assert path.solves[0] == 6
    assert 1 <= path.met[0] < len(STOPS)


def test_a_batch_gives_what_its_members_give_alone(shell: Rig) -> None:
    loads = [make_loading(shell.body, pressure=p) for p in (0.2, 0.6)]
    together = follow(shell.body, stack([shell.solid] * 2), stack(loads), STOPS)
    for k, load in enumerate(loads):
        alone = follow(shell.body, stack([shell.solid]), stack([load]), STOPS)
        assert together.outcome[k] is Outcome.complete
        assert together.displacement[k] == pytest.approx(alone.displacement[0], abs=1e-8)


def test_extrapolated_stresses_change_the_cost_not_the_answer(shell: Rig) -> None:
    plain = run(shell, settings=PathSettings(extrapolate_stress=False))
    mixed = run(shell)
    assert plain.outcome == mixed.outcome == (Outcome.complete,)
    assert mixed.displacement == pytest.approx(plain.displacement, abs=1e-7)
