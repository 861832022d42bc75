"""One line per pressure step: where it stands, the time it took, the time that is left."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fiddlehead.cli.interrupts import Interrupts
from fiddlehead.cli.output import Voice
from fiddlehead.units import say

if TYPE_CHECKING:
    from fiddlehead.mechanics.solve import Progressed


class PressureSteps:
    """A callback for a trial: tells each step that was met, and passes on a wish to stop.

    A trial may follow several paths in turn (free bending up to the plate, then pressing on it);
    each ends at the last pressure, so a step's pressure is counted from the end.
    """

    def __init__(
        self, voice: Voice, interrupts: Interrupts, pressures_mpa: Sequence[float]
    ) -> None:
        self.voice = voice
        self.interrupts = interrupts
        self.pressures_mpa = pressures_mpa
        self.told = 0
        self.elapsed_s = 0.0
        self.first: Progressed | None = None
        self.closing_in = False  # a path of one step, to find where the tip meets the plate

    def __call__(self, at: Progressed) -> None:
        """Called by the solver after each of its steps."""
        from fiddlehead.mechanics.solve import Cancelled

        if at.elapsed_s < self.elapsed_s:  # the clock of a new path
            self.told, self.first, self.closing_in = 0, None, at.stops_wanted == 1
        self.elapsed_s = at.elapsed_s
        if at.stops_done > self.told and not self.closing_in:
            self.told = at.stops_done
            number = len(self.pressures_mpa) - at.stops_wanted + at.stops_done
            self.voice.say(
                f"  {say(1e3 * self.pressures_mpa[number - 1], 'kPa'):>9}   step {number} of "
                f"{len(self.pressures_mpa)}   {duration(at.elapsed_s)}{self._left(at)}"
            )
        if self.interrupts.requested:
            raise Cancelled

    def _left(self, at: Progressed) -> str:
        """Time left, judged by the steps after the first, which includes compiling."""
        if self.first is None:
            self.first = at
            return ""
        if at.stops_done >= at.stops_wanted:
            return ""
        rate = (at.elapsed_s - self.first.elapsed_s) / (at.load_factor - self.first.load_factor)
        return f", about {duration(rate * (1.0 - at.load_factor))} left"


def duration(seconds: float) -> str:
    """``"8 s"``, ``"2 min 05 s"``."""
    whole = round(seconds)
    return f"{whole} s" if whole < 60 else f"{whole // 60} min {whole % 60:02d} s"
