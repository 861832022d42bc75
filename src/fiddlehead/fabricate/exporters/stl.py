"""Binary STL: an 80-byte header, a count, and 50 bytes per triangle; millimetres by convention."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from fiddlehead.fabricate.records import Part
from fiddlehead.files import write_bytes


def stl_bytes(part: Part) -> bytes:
    """The part in its printing orientation as binary STL (84 + 50 n bytes)."""
    corners = part.on_plate().corners.astype("<f4")
    a, b, c = np.moveaxis(corners.astype(float), 1, 0)
    normal = np.cross(b - a, c - a)
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    record = np.zeros(
        len(corners), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")]
    )
    record["normal"] = normal / np.where(length == 0, 1.0, length)
    record["corners"] = corners
    header = f"{part.name}; millimetres".encode("ascii", "replace")[:80].ljust(80)
    return header + np.uint32(len(corners)).astype("<u4").tobytes() + record.tobytes()


def write_stl(part: Part, path: Path) -> Path:
    """Write one part, on the plate in its printing orientation.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    return write_bytes(path, stl_bytes(part))
