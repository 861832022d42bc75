"""How following a path can end, in plain words with the next move. No JAX here."""

from __future__ import annotations

import enum


class Outcome(enum.IntEnum):
    """State of one design's path; everything but ``running`` is final."""

    running = 0
    complete = 1
    limit_point = 2
    no_balance = 3
    cancelled = 4
    budget_spent = 5
    walls_meet = 6

    @property
    def reason(self) -> str:
        """What happened and what to try, one or two sentences (empty when complete)."""
        return _REASONS[self]


_REASONS = {
    Outcome.running: "The path is still being followed.",
    Outcome.complete: "",
    Outcome.limit_point: (
        "The pressure reached its maximum: beyond it the finger balloons or snaps and no "
        "balance exists. Results stop here; thicken the walls or lower the pressure."
    ),
    Outcome.no_balance: (
        "Steps shrank to the floor without finding a balance. Usually an element turns inside "
        "out or the law stiffens without bound; look at the last deformed shape and the strain."
    ),
    Outcome.walls_meet: (
        "Neighbouring bellows touch, and then slide or fold against each other further than "
        "facing walls are followed. Results stop before that; widen the valleys, thicken the "
        "walls or lower the pressure."
    ),
    Outcome.cancelled: "Stopped on request; the finished steps are kept.",
    Outcome.budget_spent: (
        "The allowed number of solution steps was used up; the finished steps are kept. "
        "Allow more steps or ask for a lower pressure."
    ),
}
