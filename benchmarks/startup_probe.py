"""Run ``fiddlehead bend`` up to its first Newton step and print when each stage was reached.

    python -m benchmarks.startup_probe BEGAN bend PROJECT [OPTIONS]

``BEGAN`` is when the process was asked for (seconds since the epoch). One JSON object goes to
standard output; the process then ends at once, before anything is written.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections import defaultdict
from collections.abc import Callable
from typing import Any

STAGES = ("python", "command line", "project and card", "libraries", "mesh and supports",
          "start state", "first Newton step")  # fmt: skip
"""What ends at each reading, in order."""


class Clock:
    """Readings since ``began``, and what JAX says of its own work."""

    def __init__(self, began: float) -> None:
        self.began = began
        self.readings: dict[str, float] = {}
        self.jax: dict[str, float] = defaultdict(float)
        self.counts: dict[str, int] = defaultdict(int)

    def read(self, stage: str) -> None:
        """Note that ``stage`` has ended."""
        self.readings[stage] = time.time() - self.began

    def listen(self) -> None:
        """Add up JAX's own durations and events from here on."""
        from jax import monitoring

        def duration(event: str, seconds: float, **_: Any) -> None:
            self.jax[event.rsplit("/", 1)[-1]] += seconds

        def count(event: str, **_: Any) -> None:
            self.counts[event.rsplit("/", 1)[-1]] += 1

        monitoring.register_event_duration_secs_listener(duration)
        monitoring.register_event_listener(count)

    def finish(self) -> None:
        """Print everything and end the process."""
        print(json.dumps({"stages": self.readings, "jax": self.jax, "counts": self.counts}))
        sys.stdout.flush()
        os._exit(0)


def after(clock: Clock, stage: str, function: Callable[..., Any]) -> Callable[..., Any]:
    """``function``, with a reading when it returns."""

    def timed(*arguments: Any, **options: Any) -> Any:
        result = function(*arguments, **options)
        clock.read(stage)
        return result

    return timed


def main() -> None:
    """Put the readings in place and run the command."""
    clock = Clock(float(sys.argv[1]))
    clock.read("python")
    from fiddlehead.cli import bend as verb
    from fiddlehead.cli import main as face

    clock.read("command line")
    prepare = after(clock, "project and card", verb.prepare)

    def prepare_then_import(*arguments: Any) -> Any:
        prepared = prepare(*arguments)
        from fiddlehead.mechanics import solve
        from fiddlehead.report import results, summary  # noqa: F401
        from fiddlehead.report.export import tables  # noqa: F401
        from fiddlehead.trials import bend as trial

        clock.read("libraries")
        clock.listen()
        trial.set_up = after(clock, "mesh and supports", trial.set_up)
        solve._start = after(clock, "start state", solve._start)
        return prepared

    verb.prepare = prepare_then_import

    def first_step(*_: Any) -> None:
        clock.read("first Newton step")
        clock.finish()

    verb.PressureSteps.__call__ = first_step
    face.main(sys.argv[2:])


if __name__ == "__main__":
    main()
