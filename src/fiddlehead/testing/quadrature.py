"""What every integration rule must do, as tests to inherit."""

from __future__ import annotations

import itertools

import numpy as np

from fiddlehead.mechanics.quadrature import Quadrature


class QuadratureContract:
    """Subclass, set ``rule`` (on ``[-1, 1]^d``), and pytest does the rest.

    Constants come first: a rule can show the right convergence rate with the wrong total weight.
    """

    rule: Quadrature

    def test_constant_gives_the_volume(self) -> None:
        volume = 2.0 ** self.rule.points.shape[1]
        assert abs(self.rule.weights.sum() - volume) < 1e-13 * volume

    def test_weights_are_positive(self) -> None:
        assert (self.rule.weights > 0).all()

    def test_points_lie_inside(self) -> None:
        assert (np.abs(self.rule.points) < 1.0).all()

    def test_every_monomial_to_the_stated_degree(self) -> None:
        axes = self.rule.points.shape[1]
        for powers in itertools.product(range(self.rule.degree + 1), repeat=axes):
            if sum(powers) <= self.rule.degree:
                assert self._error(powers) < 1e-13, powers

    def test_the_stated_degree_is_not_an_understatement(self) -> None:
        """Some monomial of the next degree is missed, so the degree above is the true one."""
        axes = self.rule.points.shape[1]
        following = self.rule.degree + 1
        missed = [
            self._error(powers)
            for powers in itertools.product(range(following + 1), repeat=axes)
            if sum(powers) == following
        ]
        assert max(missed) > 1e-6

    def _error(self, powers: tuple[int, ...]) -> float:
        exact = np.prod([2.0 / (k + 1) if k % 2 == 0 else 0.0 for k in powers])
        found = self.rule.weights @ np.prod(self.rule.points ** np.array(powers), axis=1)
        return float(abs(found - exact))
