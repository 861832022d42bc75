"""ISO 724:1993 (M5 x 0.8, M6 x 1) and ISO 228-1:2000 (G 1/8, G 1/4): sizes of internal threads.

Values from memory of the standards' tables. A printed port is bored for a tap, or narrower than
the thread's core for a fitting that presses its own thread into elastomer.
"""

from __future__ import annotations

import pytest

from fiddlehead.fabricate.threads import THREADS

# pitch, minor diameter, largest minor diameter (6H; ISO 228-1 internal), mm
TABLE = {
    "M5": (0.8, 4.134, 4.334),
    "M6": (1.0, 4.917, 5.153),
    "G1/8": (0.907, 8.566, 8.848),
    "G1/4": (1.337, 11.445, 11.890),
}


@pytest.mark.parametrize("name", TABLE)
def test_sizes_and_bores(name: str) -> None:
    pitch, core, largest = TABLE[name]
    thread = THREADS[name]
    assert thread.pitch_mm == pytest.approx(pitch, abs=5e-4)
    assert thread.core_mm == pytest.approx(core, abs=1e-3)
    assert core < thread.bore_mm("tapped") < largest  # what a tap leaves is a thread in tolerance
    assert thread.bore_mm("self-forming") < core
