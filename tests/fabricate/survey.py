"""Model many random fingers and check every one: ``python -m tests.fabricate.survey [count]``."""

from __future__ import annotations

import sys
import time
from typing import NamedTuple

from hypothesis import HealthCheck, Phase, given, seed, settings

from fiddlehead.fabricate import kernel
from fiddlehead.fabricate.fittings import default_fittings
from fiddlehead.fabricate.solid import finger_solid
from fiddlehead.fabricate.surface import bodies, surface_problems
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.volumes import material_volume_mm3
from tests.finger.cases import fingers


class Surveyed(NamedTuple):
    """What was found over all designs."""

    designs: int
    problems: list[str]
    worst_solid: float
    """Largest relative difference between the kernel's volume and the formulas."""
    worst_surface: float
    """Largest relative difference between the surface's volume and the kernel's."""


def survey(count: int, analysed: int = 1) -> Surveyed:
    """Check ``count`` fingers drawn from the family the other tests use.

    The surface of every finger is checked; the kernel's own analysis, which costs most, is made
    on every ``analysed``-th.
    """
    problems: list[str] = []
    worst = [0.0, 0.0]
    done = [0]

    @seed(20261125)
    @settings(
        max_examples=count,
        deadline=None,
        phases=[Phase.generate],
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(fingers())
    def check(finger: FingerParameters) -> None:
        fittings = default_fittings(finger)
        solid = finger_solid(finger, fittings)
        part = solid.part()
        done[0] += 1
        shells = 1 if finger.inlet_bore_mm else 2
        found = surface_problems(part)
        if done[0] % analysed == 0:
            found += kernel.problems(solid.shape)
        found += [] if bodies(part) == shells else [f"{bodies(part)} shells"]
        profile = solid.ledger["profile"] / material_volume_mm3(finger)
        found += [] if abs(profile - 1) < 1e-9 else [f"profile off by {profile - 1:.1e}"]
        problems.extend(f"{text}: {finger}" for text in found)
        worst[0] = max(worst[0], abs(solid.volume_mm3 / solid.expected_volume_mm3 - 1))
        worst[1] = max(worst[1], abs(part.volume_mm3 / solid.volume_mm3 - 1))

    check()
    return Surveyed(done[0], problems, *worst)


if __name__ == "__main__":
    start = time.perf_counter()
    result = survey(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
    lines = [
        *result.problems,
        f"{result.designs} designs in {time.perf_counter() - start:.0f} s: "
        f"{len(result.problems)} problems; solid against formulas {result.worst_solid:.1e}, "
        f"surface against solid {result.worst_surface:.1e}",
    ]
    sys.stdout.write("\n".join(lines) + "\n")
