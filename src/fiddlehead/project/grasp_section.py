"""The ``[grasp]`` section: what is picked up, how it is shaken, and what scatters."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fiddlehead.project.fields import COMMON, OURS, Section, entry

Names = Annotated[tuple[str, ...], Field(strict=False)]
Counts = Annotated[tuple[Annotated[int, Field(ge=2, le=6)], ...], Field(strict=False, min_length=1)]
Shares = Annotated[tuple[Annotated[float, Field(gt=0, le=1)], ...], Field(strict=False)]
Direction = Annotated[tuple[float, float, float], Field(strict=False, min_length=3, max_length=3)]


class GraspSection(Section):
    """Grasps: objects, motion of the robot, and what scatters; fingers are counted in [air]."""

    library: str = entry(
        "",
        says="Object library, a TOML file; left out = the demo's three invented pieces.",
        example='# "objects.toml"',
    )
    objects: Names = entry(
        (),
        words="a list of names of the library",
        says="Objects to grip; none = all of the library.",
    )
    finger_counts: Counts = entry(
        (2, 3, 4),
        words="a list of 2 to 6",
        says="Numbers of fingers that the grasp table compares.",
    )
    pitch: Literal["fitted", "base"] = entry(
        "fitted",
        says="Pitch radius fitted to each object, or that of [base] for all.",
    )
    pressure_shares: Shares = entry(
        (),
        words="as many numbers as fingers, above 0 up to 1",
        says="Share of the pressure that each finger gets; none = all the same.",
    )
    tips_below_middle_mm: float = entry(
        10.0,
        says="How far the straight fingers reach below the middle of the object's height.",
        standing=COMMON,
        usual=(-10.0, 40.0),
        ge=-200,
        le=200,
    )
    position_error_mm: float = entry(
        5.0,
        says="Room around the object when the open fingers come down.",
        standing=COMMON,
        usual=(1.0, 15.0),
        ge=0,
        le=100,
    )
    shake_m_per_s2: float = entry(
        5.0,
        says="Acceleration in any direction while the object is carried.",
        standing=COMMON,
        usual=(0.0, 20.0),
        ge=0,
        le=200,
    )
    pull_direction: Direction = entry(
        (0.0, 0.0, -1.0),
        words="three numbers, z points to the wrist",
        says="Direction of the pull-off test.",
    )
    wanted_margin: float = entry(
        2.0,
        says="Margins below this are shown as narrow; 3 to 4 for fast robots or oily objects.",
        standing=COMMON,
        usual=(1.0, 4.0),
        ge=1,
        le=20,
    )
    friction_scatter_percent: float = entry(
        15.0, says="Standard deviation of friction.", standing=OURS, ge=0, le=100
    )
    pressure_scatter_percent: float = entry(
        3.0, says="Standard deviation of the air pressure.", standing=OURS, ge=0, le=100
    )
    position_scatter_mm: float = entry(
        2.0,
        says="Standard deviation of the object's place, in each direction.",
        standing=OURS,
        ge=0,
        le=50,
    )
    size_scatter_percent: float = entry(
        2.0, says="Standard deviation of the object's size.", standing=OURS, ge=0, le=50
    )
    mass_scatter_percent: float = entry(
        5.0, says="Standard deviation of the object's mass.", standing=OURS, ge=0, le=100
    )
    trials: int = entry(200, says="Grasps drawn for the probability of success.", ge=1, le=20000)
    seed: int = entry(1, says="Seed of these draws.", ge=0)
