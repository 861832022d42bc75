"""Every integration rule in use keeps the contract."""

from __future__ import annotations

import pytest

from fiddlehead.mechanics.quadrature import BRICK_RULES, FACE_RULE, Quadrature
from fiddlehead.testing.quadrature import QuadratureContract


@pytest.fixture(params=[*BRICK_RULES.values(), FACE_RULE], ids=lambda rule: rule.name)
def rule(request: pytest.FixtureRequest) -> Quadrature:
    return request.param  # type: ignore[no-any-return]


class TestRules(QuadratureContract):
    @pytest.fixture(autouse=True)
    def _use(self, rule: Quadrature) -> None:
        self.rule = rule


@pytest.mark.parametrize(
    "broken",
    [
        Quadrature("light", BRICK_RULES["gauss2"].points, BRICK_RULES["gauss2"].weights / 2, 3),
        Quadrature("outside", 2 * BRICK_RULES["gauss2"].points, BRICK_RULES["gauss2"].weights, 3),
        Quadrature("boastful", BRICK_RULES["gauss2"].points, BRICK_RULES["gauss2"].weights, 4),
        Quadrature("modest", BRICK_RULES["gauss3"].points, BRICK_RULES["gauss3"].weights, 4),
    ],
    ids=lambda rule: rule.name,
)
def test_the_contract_catches_a_broken_rule(broken: Quadrature) -> None:
    contract = QuadratureContract()
    contract.rule = broken
    checks = [getattr(contract, n) for n in dir(contract) if n.startswith("test_")]

    def fails(check: object) -> bool:
        try:
            check()  # type: ignore[operator]
        except AssertionError:
            return True
        return False

    assert any(fails(check) for check in checks)
