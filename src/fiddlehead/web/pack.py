"""Arrays for the page in one answer: a length, a JSON head, then the numbers as they lie in memory.

Floats are sent raw, little-endian and uncompressed: on this machine packing them takes longer than
sending them.
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np
from jaxtyping import Shaped

Arrays = dict[str, Shaped[np.ndarray, "..."]]


def packed(head: dict[str, Any], arrays: Arrays) -> bytes:
    """``head`` with name, shape and kind of each array, then the arrays, each at a whole word.

    Arrays are 4-byte floats or unsigned integers.
    """
    listed = [
        {"name": name, "shape": list(a.shape), "kind": "f4" if a.dtype.kind == "f" else "u4"}
        for name, a in arrays.items()
    ]
    text = json.dumps({**head, "arrays": listed}, allow_nan=False).encode()
    text += b" " * (-len(text) % 4)
    parts = [len(text).to_bytes(4, "little"), text]
    parts += [np.ascontiguousarray(a).tobytes() for a in arrays.values()]
    return b"".join(parts)
