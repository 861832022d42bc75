"""The one door to the machine-vision library, opened only when a photo is read."""

from __future__ import annotations

from typing import Any


def opencv() -> Any:
    """The library's module."""
    import cv2

    return cv2
