"""One line per pressure step: where it stands, the time it took, the time that is left."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fiddlehead.cli.interrupts import Interrupts
from fiddlehead.cli.output import Voice
from fiddlehead.units import say

if TYPE_CHECKING:
    from fiddlehead.mechanics.solve import Progressed


class PressureSteps:
    """A callback for a trial: tells each step that was met, and passes on a wish to stop."""

    def __init__(self, voice: Voice, interrupts: Interrupts, pressure_kpa: float) -> None:
        self.voice = voice
        self.interrupts = interrupts
        self.pressure_kpa = pressure_kpa
        self.told = 0
        self.first: Progressed | None = None

    def __call__(self, at: Progressed) -> None:
        """Called by the solver after each of its steps."""
        from fiddlehead.mechanics.solve import Cancelled

        if at.stops_done > self.told:
            self.told = at.stops_done
            self.voice.say(
                f"  {say(at.load_factor * self.pressure_kpa, 'kPa'):>9}   step {at.stops_done} of "
                f"{at.stops_wanted}   {duration(at.elapsed_s)}{self._left(at)}"
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
