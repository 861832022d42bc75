"""A small finger that solves in seconds."""

from __future__ import annotations

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.laws import Yeoh
from fiddlehead.mesh.settings import mesh_settings

SMALL = FingerParameters(
    bellows_count=2, flank_angle_deg=70, pitch_mm=11, valley_gap_mm=1.6, height_mm=18,
    valley_height_mm=8, wall_thickness_mm=1.2, roof_thickness_mm=1.2, base_thickness_mm=2,
    side_wall_thickness_mm=1.2, width_mm=20, channel_width_mm=8, root_length_mm=6, tip_length_mm=5,
)  # fmt: skip
LAW = Yeoh(1.9, -0.11, 0.01)
BULK_MPA = 1000.0
COARSE = mesh_settings("preview")
