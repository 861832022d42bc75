"""The cautions that go on every sheet about compressed air.

Common practice; the standards named are from memory. fiddlehead certifies nothing: local codes and
whoever answers for safety where the gripper works come first.
"""

from __future__ import annotations

CAUTIONS = (
    "Compressed air stores energy and a printed part can burst without warning: wear eye "
    "protection, keep hands and faces away, tie down tubes.",
    "First inflation and proof test behind a screen. Never above the proof pressure.",
    "Fit a relief valve that opens at no more than 1.1 times the highest working pressure, a "
    "regulator that can be locked, a gauge, and a shut-off valve that bleeds the downstream side.",
    "The reservoir, not the finger, holds most of the energy: pressure vessels fall under law "
    "(in the EU Directive 2014/68/EU). Drain it before you work on it.",
    "Never aim air at skin or eyes; blow off with less than 30 psi (207 kPa) at the nozzle "
    "(29 CFR 1910.242(b)).",
    "Decide what happens when power or air fails: a closed valve holds the load for as long as the "
    "leaks allow, an open one drops it.",
    "Hot nozzles, beds and warm elastomer burn; ventilate the room while you print and dry.",
    "fiddlehead certifies nothing. Follow the codes that apply where you work: ISO 4414 "
    "(pneumatic systems), ISO 12100 (risk assessment), ISO 10218 and ISO/TS 15066 (robots).",
)
RELIEF_FACTOR = 1.1
"""Relief valve setting over the highest working pressure; common practice, no source."""
PROOF_FACTOR = 1.5
"""Proof pressure over the highest working pressure, held 60 s; our proposal, no standard for soft
grippers is known to us."""
