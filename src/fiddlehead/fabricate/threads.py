"""Screw threads of air ports, and the hole each is made in.

Metric threads after ISO 261 with the basic profile of ISO 68-1, parallel pipe threads after
ISO 228-1; values from memory.

No helix is modelled. M5 is 0.43 mm deep on a pitch of 0.8 mm: as deep as one line is wide, and four
layers of 0.2 mm a turn. Printed on the side of a soft finger such a thread is a row of drooping
steps that leak along the helix. A round hole printed in whole loops is tight; the thread is cut
into it (stiff filament) or pressed into it by the fitting itself (elastomer), and a washer or
thread sealant on the face does the sealing.
"""

from __future__ import annotations

import dataclasses
from typing import Literal

ThreadForm = Literal["tapped", "self-forming"]
"""``tapped``: bored for a tap. ``self-forming``: narrower than the thread's core, so that the
fitting presses its own thread into elastomer that gives and hugs it."""
METRIC_CORE, PIPE_CORE = 1.0825, 1.280654
"""How much narrower the core is than the thread, over the pitch: 60° profile (5/8 of its height on
both sides) and 55° profile (ISO 228-1)."""
HUG = 0.93
"""Self-forming bore over the core diameter; common practice for soft elastomers, no source: try it
on a coupon."""


@dataclasses.dataclass(frozen=True)
class Thread:
    """An internal thread, mm.

    tap_drill_mm : bore before tapping
    """

    standard: str
    diameter_mm: float
    pitch_mm: float
    tap_drill_mm: float

    @property
    def core_mm(self) -> float:
        """Basic minor diameter of the nut's thread."""
        pipe = self.standard.startswith("ISO 228")
        return self.diameter_mm - (PIPE_CORE if pipe else METRIC_CORE) * self.pitch_mm

    def bore_mm(self, form: ThreadForm) -> float:
        """The hole that is printed."""
        return self.tap_drill_mm if form == "tapped" else round(HUG * self.core_mm, 2)


THREADS = {
    "M5": Thread("ISO 261", 5.0, 0.8, 4.2),
    "M6": Thread("ISO 261", 6.0, 1.0, 5.0),
    "G1/8": Thread("ISO 228-1", 9.728, 25.4 / 28, 8.8),
    "G1/4": Thread("ISO 228-1", 13.157, 25.4 / 19, 11.8),
}
"""Tap drills as in the usual tables (ISO 2306 for metric threads); values from memory."""
