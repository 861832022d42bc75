"""Serial numbers to engrave: strokes of one width, so that a nozzle can follow them."""

from __future__ import annotations

import shapely
from shapely import MultiLineString
from shapely.geometry import MultiPolygon

from fiddlehead.errors import ParameterError

STROKES = {
    "0": "00 40 46 06 00", "1": "15 26 20", "2": "06 46 43 03 00 40", "3": "06 46 40 00|13 43",
    "4": "06 03 43|46 40", "5": "46 06 03 43 40 00", "6": "46 06 00 40 43 03", "7": "06 46 10",
    "8": "00 40 46 06 00|03 43", "9": "43 03 06 46 40 00", "A": "00 04 26 44 40|02 42",
    "B": "00 30 41 42 33 03|33 44 45 36 06 00", "C": "46 06 00 40", "D": "00 30 42 44 36 06 00",
    "E": "46 06 00 40|03 33", "F": "46 06 00|03 33", "G": "46 06 00 40 43 23",
    "H": "00 06|40 46|03 43", "I": "20 26", "J": "46 40 00 02", "K": "00 06|46 03 40",
    "L": "06 00 40", "M": "00 06 23 46 40", "N": "00 06 40 46",
    "O": "10 30 41 45 36 16 05 01 10", "P": "00 06 46 43 03",
    "Q": "10 30 41 45 36 16 05 01 10|22 40", "R": "00 06 46 43 03|13 40",
    "S": "45 36 16 05 04 42 41 30 10 01", "T": "06 46|26 20", "U": "06 00 40 46",
    "V": "06 20 46", "W": "06 10 23 30 46", "X": "00 46|06 40", "Y": "06 23 46|23 20",
    "Z": "06 46 00 40", "-": "13 33", ".": "20 21", "/": "00 46", " ": "",
}  # fmt: skip
"""Polylines of each character on a grid 4 wide and 6 high: pairs of digits are x and y."""
LEAST_UNIT = 0.75
"""Of a stroke: letters, two units apart, keep half a stroke (one line) of land between them."""
ADVANCE, RISE = 6.0, 6.0
"""From one character to the next, and height, in units of the grid."""


def lettering(text: str, *, width_mm: float, height_mm: float, stroke_mm: float) -> MultiPolygon:
    """The strokes of a text as areas, centred on the origin, as large as the room allows.

    Parameters
    ----------
    text : letters (small ones become capitals), digits, hyphen, full stop, slash, blank
    width_mm, height_mm : room for the text
    stroke_mm : width of a stroke

    Raises
    ------
    ParameterError : a character is unknown, or the text does not fit at a size the stroke allows
    """
    where = "mount.serial"
    unknown = sorted(set(text.upper()) - set(STROKES))
    if unknown:
        raise ParameterError(
            "these characters cannot be engraved",
            where=where,
            found=" ".join(unknown),
            allowed="A to Z, 0 to 9, - . / and blanks",
        )
    columns = ADVANCE * len(text) - (ADVANCE - 4.0)
    unit = min((width_mm - stroke_mm) / columns, (height_mm - stroke_mm) / RISE)
    least = LEAST_UNIT * stroke_mm - 1e-9
    if (height_mm - stroke_mm) / RISE < least:
        raise ParameterError(
            "the root block is too short for a serial",
            where=where,
            found=f"{height_mm:.3g} mm of room",
            allowed=f"{RISE * least + stroke_mm:.3g} mm or more with strokes of {stroke_mm:.2g} mm",
            remedy="Lengthen the root block or leave the serial out.",
        )
    if unit < least:
        fits = int(((width_mm - stroke_mm) / least + ADVANCE - 4.0) / ADVANCE)
        raise ParameterError(
            "the serial does not fit on the root block",
            where=where,
            found=f"{len(text)} characters",
            allowed=f"{max(fits, 0)} or fewer with strokes of {stroke_mm:.2g} mm",
            remedy="Shorten it or widen the finger.",
        )
    lines = []
    for place, character in enumerate(text.upper()):
        for stroke in STROKES[character].split("|"):
            points = [(int(p[0]) + ADVANCE * place, int(p[1])) for p in stroke.split()]
            if points:
                lines.append([((x - columns / 2) * unit, (y - 3.0) * unit) for x, y in points])
    area = MultiLineString(lines).buffer(
        stroke_mm / 2, cap_style="square", join_style="mitre", mitre_limit=1.5
    )
    half_wide, half_high = columns * unit / 2 + stroke_mm / 2, 3.0 * unit + stroke_mm / 2
    area = shapely.clip_by_rect(area, -half_wide, -half_high, half_wide, half_high)
    return area if isinstance(area, MultiPolygon) else MultiPolygon([area])
