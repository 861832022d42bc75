"""The ``[study]`` section: what to vary, what to simulate, what is wanted."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fiddlehead.project.fields import COMMON, Section, entry
from fiddlehead.study.catalogue import CATALOGUE
from fiddlehead.study.sampling import Sampling

Names = Annotated[tuple[str, ...], Field(strict=False)]
Bounds = Annotated[tuple[float, float], Field(strict=False)]
Values = Annotated[tuple[int | float | str, ...], Field(strict=False)]


class StudySection(Section):
    """Hundreds of designs: what varies, which trials run, what is wanted of them."""

    name: str = entry(
        "first look", says="Results are kept under this name; another name begins anew.",
        min_length=1,
    )  # fmt: skip
    ranges: dict[str, Bounds] = entry(
        {},
        says="Low and high of every number that varies, by its name in this file; pad_ before a "
        "pad's.",
        example="# wall_thickness_mm = [0.8, 1.6]",
    )
    steps: dict[str, int] = entry(
        {},
        says="Equal steps of a range where not every value will do, such as walls of whole lines.",
        example="# wall_thickness_mm = 3",
    )
    choices: dict[str, Values] = entry(
        {},
        says="Values of a count or a kind that varies.",
        example="# bellows_count = [6, 7, 8]",
    )
    trials: Names = entry(
        (),
        words=f"a list of trials: {', '.join(CATALOGUE)}",
        says="Trials to run although no goal needs them; those that goals need run anyway.",
    )
    largest: Names = entry(
        ("tip_angle_deg",),
        words="a list of quantities",
        says="Quantities to make as large as possible.",
    )
    smallest: Names = entry(
        ("strain_p95_percent",),
        words="a list of quantities",
        says="Quantities to make as small as possible.",
    )
    at_least: dict[str, float] = entry(
        {}, says="Limits from below, by quantity.", example="# tip_angle_deg = 60.0"
    )
    at_most: dict[str, float] = entry(
        {}, says="Limits from above, by quantity.", example="# strain_peak_percent = 30.0"
    )
    sampling: Sampling = entry(
        "Sobol sequence",
        says="How designs are spread: a full grid, two kinds of even filling, or one at a time.",
        standing=COMMON,
    )
    designs: int = entry(
        64,
        says="Designs to look at; a full grid and one at a time have their own number.",
        usual=(16, 2000),
        ge=1,
        le=100_000,
    )
    seed: int = entry(1, says="Draws the sample; the same seed, the same designs.", ge=0)
    mesh: Literal["draft", "preview", "standard", "fine"] = entry(
        "draft", says="Mesh to look at designs with; the best are run again on the project's mesh."
    )
    best: int = entry(3, says="Designs to run again on the project's mesh.", ge=0, le=1000)
    scatter: dict[str, float] = entry(
        {},
        says="Standard deviations of what scatters in printing, where they are known.",
        example="# modulus_percent = 5.0",
    )
