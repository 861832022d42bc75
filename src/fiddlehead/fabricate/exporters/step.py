"""STEP (ISO 10303-21, AP214): the exact solid with arcs as arcs, for drawing programs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from fiddlehead.fabricate import kernel
from fiddlehead.files import write_whole


def write_step(shapes: Sequence[tuple[str, kernel.Shape]], path: Path) -> Path:
    """Write named solids, millimetres.

    Raises
    ------
    StoreError : the folder or the kernel cannot write
    MissingExtra : the solid-modelling kernel is not installed
    """
    return write_whole(path, lambda temporary: kernel.write_step(shapes, temporary))
