"""The ``[bench]`` section: what was measured, and how the comparison judges."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from fiddlehead.bench.read import STANDARD_ATMOSPHERE_KPA
from fiddlehead.project.fields import COMMON, MEMORY, Section, entry, published

PROPOSAL = "our proposal; no published limit for soft grippers was found"
Files = Annotated[tuple[str, ...], Field(strict=False, min_length=1)]
Pair = Annotated[tuple[float, float], Field(strict=False)]
Pairs = Annotated[tuple[Pair, ...], Field(strict=False, min_length=2)]
Box = Annotated[tuple[int, int, int, int], Field(strict=False)]
Tests = Literal["bend", "block", "lateral", "step", "creep", "leak", "life", "picks", "pull_off"]


def _column(what: str, example: str) -> Any:
    return entry(
        None, says=f"Column with {what}, as the header writes it.", example=f'# "{example}"'
    )


class RecordFiles(Section):
    """Measured files that share columns and units.

    Without any column declared the files are taken as filled-in forms of ``fiddlehead protocol``.
    """

    files: Files = entry(
        says="CSV, TSV or workbook files (patterns such as *.csv too).",
        example='["bench/bend_A.csv"]',
    )
    test: Tests = entry(says="What was tested.", example='"bend"')
    finger: str = entry("1", says="Which finger, unless a column tells it.", min_length=1)
    repeat: int = entry(1, says="Which repeat, unless a column tells it.", ge=1, le=10000)
    object_name: str = entry("", says="What was gripped, in pick and pull-off trials.")
    preset_angle_deg: float = entry(
        0.0, says="Tip angle at which the plate stood, in blocked-force tests.", ge=0, le=180
    )
    finger_column: str | None = _column("the finger", "finger")
    repeat_column: str | None = _column("the repeat", "run")
    object_column: str | None = _column("the gripped object", "object")
    time_column: str | None = _column("time: numbers, a clock, or dates", "t")
    time_unit: Literal["s", "ms", "min", "h"] = entry("s", says="Unit of the time column.")
    pressure_column: str | None = _column("pressure", "P1")
    pressure_unit: Literal["kPa", "bar", "mbar", "psi", "MPa", "Pa", "kgf/cm2"] = entry(
        "kPa", says="Unit of the pressure column; a unit in a cell wins."
    )
    pressure_kind: Literal["gauge", "absolute"] = entry(
        "gauge", says="Whether the sensor reads zero or the air pressure when open."
    )
    force_column: str | None = _column("force", "load")
    force_unit: Literal["N", "mN", "kN", "gf", "kgf", "lbf"] = entry(
        "N", says="Unit of the force column."
    )
    angle_column: str | None = _column("bending angle", "angle")
    angle_unit: Literal["deg", "rad"] = entry("deg", says="Unit of the angle column.")
    angle_definition: Literal["tip tangent", "chord"] | None = entry(
        None,
        says="Which bending angle it is; must be said, they differ by a factor of about two.",
        example='# "tip tangent"',
    )
    temperature_column: str | None = _column("air temperature", "T")
    temperature_unit: Literal["degC", "K", "degF"] = entry(
        "degC", says="Unit of the temperature column."
    )
    deflection_column: str | None = _column("sideways deflection", "y")
    deflection_unit: Literal["mm", "um", "cm", "in"] = entry(
        "mm", says="Unit of the deflection column."
    )
    twist_column: str | None = _column("twist in degrees", "twist")
    cycles_column: str | None = _column("cycles run", "cycles")
    failed_column: str | None = _column("yes or no: failed at that count", "failed")
    picked_column: str | None = _column("yes or no: picked, held and released", "picked")
    damaged_column: str | None = _column("yes or no: the object was damaged", "damaged")
    pressure_calibration: str = entry(
        "", says="CSV of reading and reference (kPa) to correct the pressure sensor by."
    )
    force_calibration: str = entry(
        "", says="CSV of reading and reference (N) to correct the load cell by."
    )
    sheet: str = entry("", says="Sheet of a workbook; the first with this header when empty.")
    decimal: Literal["auto", ".", ","] = entry("auto", says="Decimal mark of the numbers.")
    delimiter: Literal["auto", "comma", "semicolon", "tab"] = entry(
        "auto", says="What separates the columns."
    )


class CameraSection(Section):
    """How a finger was marked and filmed."""

    marks: Literal["dark", "light", "coloured", "fiducials"] = entry(
        "dark", says="Kind of marks: dots, or a fiducial at root and tip."
    )
    hue_deg: float = entry(
        0.0, says="Hue of coloured dots: 0 red, 120 green, 240 blue.", ge=0, le=360
    )
    diameter_mm: float = entry(
        2.0, says="Of a dot; side of a fiducial.", standing=COMMON, gt=0, le=50
    )
    tip_card: bool = entry(True, says="The tip dots stand on a card glued to the tip face.")
    seen_from: Literal["left", "right"] = entry(
        "left", says="Side the camera looks at; left shows the root on the left, bellows up."
    )
    root_marks_mm: Pairs | None = entry(
        None,
        words="a list of [x, y] in mm, two or more",
        says="Where the marks are, if not as on the test sheet.",
        example="# [[1.2, 15.0], [1.2, 3.0], [8.8, 3.0]]",
    )
    path_marks_mm: Pairs | None = entry(
        None,
        words="a list of [x, y] in mm, two or more",
        says="Marks between root and tip, in order.",
        example="# [[15.5, 3.0], [26.5, 3.0]]",
    )
    tip_marks_mm: Pairs | None = entry(
        None,
        words="a list of [x, y] in mm, two or more",
        says="Marks that turn with the tip.",
        example="# [[88.3, 3.0], [88.3, 15.0]]",
    )
    board: bool = entry(True, says="The printed board with four fiducials is behind the finger.")
    board_width_mm: float = entry(
        240.0, says="Measured between the centres of its left and right fiducials.", gt=20, le=2000
    )
    board_height_mm: float = entry(
        150.0, says="Measured between the centres of its upper and lower ones.", gt=20, le=2000
    )
    fiducial_mm: float = entry(
        24.0, says="Measured side of a black square of the board.", gt=3, le=300
    )
    pixels_per_mm: float | None = entry(
        None, says="Roughly, needed without a board.", example="# 6.0", gt=0.1, le=1000
    )
    lens_photos: Files | None = entry(
        None,
        says="Photos of a flat chequerboard by the same camera, to take the lens out.",
        example='# ["bench/lens/*.jpg"]',
    )
    lens_corners: Annotated[tuple[int, int], Field(strict=False)] = entry(
        (9, 6), words="[across, along]", says="Inner corners of that chequerboard."
    )


class PhotoFiles(CameraSection):
    """Photos of one series; names or a table tell pressure, finger and repeat."""

    files: Files = entry(
        says="Photos, or patterns; names such as fA_r1_up_120kPa.jpg tell what they show.",
        example='["bench/photos/*.jpg"]',
    )
    finger: str = entry("1", says="Which finger, unless name or table tells it.", min_length=1)
    table: str = entry("", says="CSV with file, pressure_kpa and perhaps finger, repeat, branch.")
    corrections: str = entry("", says="CSV of marks set by hand (marks.csv, corrected).")


class VideoFile(CameraSection):
    """One video with its pressure log."""

    file: str = entry(says="The video.", example='"bench/bend_A.mp4"', min_length=1)
    finger: str = entry("1", says="Which finger.", min_length=1)
    repeat: int = entry(1, says="Which repeat.", ge=1, le=10000)
    test: Literal["bend", "step"] = entry(
        "bend", says="Bending over pressure, or the response to a step."
    )
    every_s: float = entry(0.5, says="One frame every so many seconds is read.", gt=0, le=60)
    log: str = entry(says="The pressure log.", example='"bench/log_A.csv"', min_length=1)
    log_time_column: str = entry("time_s", says="Its column with time in s.", min_length=1)
    log_pressure_column: str = entry(
        "pressure_kpa", says="Its column with gauge pressure.", min_length=1
    )
    log_pressure_unit: Literal["kPa", "bar", "mbar", "psi", "MPa", "Pa"] = entry(
        "kPa", says="Unit of that column."
    )
    offset_s: float = entry(0.0, says="Log time less video time, when no lamp tells it.")
    indicator_box_px: Box | None = entry(
        None,
        words="[left, top, width, height]",
        says="Part of the picture with a lamp that goes on with the valve.",
        example="# [40, 20, 30, 30]",
    )
    indicator_log_time_s: float = entry(0.0, says="Log time at which that lamp goes on.")


class ProofSection(Section):
    """One proof test as it was seen."""

    finger: str = entry(says="Which finger.", example='"A"', min_length=1)
    pressure_kpa: float = entry(says="Gauge pressure reached.", example="225.0", gt=0, le=2000)
    hold_s: float = entry(60.0, says="How long it was held.", standing=PROPOSAL, ge=0, le=1e5)
    ruptured: bool = entry(False, says="It burst.")
    new_leak: bool = entry(False, says="A leak showed that was not there before.")
    angle_change_deg: float = entry(0.0, says="Angle at rest afterwards less before.")


class BenchSection(Section):
    """Measurements, and the limits they are judged by."""

    limit_percent: float = entry(
        5.0,
        says="Largest error you accept between prediction and test.",
        standing=COMMON,
        usual=(1.0, 20.0),
        gt=0,
        le=100,
    )
    conditioning_cycles: int = entry(
        0, says="Cycles at the start of a record that do not count; one always does.", ge=0, le=1000
    )
    ambient_kpa: float = entry(
        STANDARD_ATMOSPHERE_KPA,
        says="Pressure of the open air, taken off absolute readings.",
        standing=published("ISO 2533 (1975), sea level"),
        usual=(80.0, 105.0),
        gt=20,
        le=120,
    )
    stiffness_sd_percent: float = entry(
        5.0,
        says="Standard deviation of the material's stiffness, for the band of the prediction.",
        standing=COMMON,
        ge=0,
        le=100,
    )
    wall_thickness_sd_mm: float = entry(
        0.03,
        says="Standard deviation of printed walls, for the band of the prediction.",
        standing=COMMON,
        ge=0,
        le=2,
    )
    hold_s: float = entry(
        10.0, says="Hold after which the blocked force is read.", standing=COMMON, gt=0, le=3600
    )
    settle_s: float = entry(
        30.0, says="Start of a leak record that is left out.", standing=COMMON, ge=0, le=3600
    )
    tube_volume_cm3: float = entry(
        0.0, says="Closed tube and sensor volume of the leak rig.", standing=MEMORY, ge=0, le=10000
    )
    supply_l_per_min: float | None = entry(
        None, says="Flow of your supply, to judge a leak by it.", example="# 4.0", gt=0, le=10000
    )
    holds_percent_per_min: float = entry(
        1.0, says="Class A: pressure lost per minute.", standing=PROPOSAL, gt=0, le=100
    )
    supply_share_percent: float = entry(
        10.0, says="Class B: leak as a share of the supply.", standing=PROPOSAL, gt=0, le=100
    )
    droop_deg: float = entry(
        2.0, says="Class B: angle lost in 30 s with the valve shut.", standing=PROPOSAL, gt=0, le=90
    )
    records: Annotated[tuple[RecordFiles, ...], Field(strict=False)] = entry(
        (), says="Measured files.", words="tables"
    )
    photos: Annotated[tuple[PhotoFiles, ...], Field(strict=False)] = entry(
        (), says="Series of photos.", words="tables"
    )
    videos: Annotated[tuple[VideoFile, ...], Field(strict=False)] = entry(
        (), says="Videos.", words="tables"
    )
    proofs: Annotated[tuple[ProofSection, ...], Field(strict=False)] = entry(
        (), says="Proof tests.", words="tables"
    )


TABLES: dict[str, type[BaseModel]] = {
    "bench.records": RecordFiles,
    "bench.photos": PhotoFiles,
    "bench.videos": VideoFile,
    "bench.proofs": ProofSection,
}
"""Tables of the section that may come several times."""
