"""The result sheet: a CSV to fill in beside the printer and the leak test, and to read back.

One row is one coupon, in printing order. Settings are filled in by the plan; change them where the
printer really ran differently. Empty cells are allowed: a coupon that failed to print has no leak.
"""

from __future__ import annotations

import csv
import dataclasses
import io
import math
from collections.abc import Iterable, Mapping
from pathlib import Path

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.errors import CurveError
from fiddlehead.fabricate.experiment_factors import FACTORS, Factor
from fiddlehead.fabricate.experiment_plan import ExperimentPlan

RESPONSES = ("leak_cm3_per_min", "holds", "mass_g", "wall_thickness_mm", "modulus_mpa")
"""What is measured on each coupon: leak at ANR and the test pressure, whether it holds (yes or no),
mass, mean wall thickness, and the modulus of a dumb-bell printed with the same settings."""
HEAD = ("run", "block", "coupon")
YES, NO = ("yes", "y", "1", "true"), ("no", "n", "0", "false")


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class FilledSheet:
    """A result sheet as read: one entry per coupon, nan where a cell was left empty."""

    factors: tuple[Factor, ...]
    coded: Float[np.ndarray, "run factor"]
    """Levels as really run, -1 to +1 within the planned range."""
    block: Int[np.ndarray, " run"]
    coupon: tuple[str, ...]
    leak_cm3_per_min: Float[np.ndarray, " run"]
    holds: Float[np.ndarray, " run"]
    """1 for yes, 0 for no."""
    mass_g: Float[np.ndarray, " run"]
    wall_thickness_mm: Float[np.ndarray, " run"]
    modulus_mpa: Float[np.ndarray, " run"]


def blank_rows(plan: ExperimentPlan) -> list[list[str]]:
    """Header and one row per coupon, settings written, results empty."""
    names = [factor.name for factor in plan.factors]
    rows = [[*HEAD, *names, *RESPONSES, "remark"]]
    for run in range(len(plan.coded)):
        settings = [plan.setting(run, place) for place in range(len(names))]
        head = [str(run + 1), str(plan.block[run]), f"C{run + 1:02d}"]
        rows.append([*head, *settings, *[""] * (len(RESPONSES) + 1)])
    return rows


def read_sheet(path: Path, ranges: Mapping[str, tuple[float, float]] | None = None) -> FilledSheet:
    """Read a filled result sheet; comma or semicolon, decimal point or (with semicolons) comma.

    Parameters
    ----------
    ranges : low and high of factors as planned, where they are not the usual ones; a factor whose
        sheet holds other levels takes its lowest and highest from there

    Raises
    ------
    CurveError : no readable sheet, columns missing, a cell that is no number, too few coupons
    """
    rows = list(_rows(path))
    names = [name for name in rows[0] if name in FACTORS]
    if not names or "leak_cm3_per_min" not in rows[0]:
        raise CurveError(
            "this is no result sheet",
            where=str(path),
            found=", ".join(rows[0])[:80],
            allowed=f"columns {', '.join(HEAD)}, one per setting, {', '.join(RESPONSES)}",
            remedy="Fill in the sheet that `fiddlehead experiment` writes.",
        )
    factors = tuple(_range(FACTORS[n], [row[n] for row in rows], (ranges or {})) for n in names)
    coded = np.array([[f.read(row[f.name]) for f in factors] for row in rows])
    numbers = {name: _numbers(rows, name, path) for name in RESPONSES if name != "holds"}
    if np.isfinite(numbers["leak_cm3_per_min"]).sum() < len(factors) + 2:
        raise CurveError(
            "too few coupons have a leak to say anything",
            where=str(path),
            found=f"{np.isfinite(numbers['leak_cm3_per_min']).sum()} filled in",
            allowed=f"at least {len(factors) + 2} for {len(factors)} settings",
            remedy="Fill in column leak_cm3_per_min, in cm³/min of free air (ANR).",
        )
    return FilledSheet(
        factors=factors,
        coded=coded,
        block=_blocks(rows, path),
        coupon=tuple(row.get("coupon", "") for row in rows),
        holds=np.array([_yes_or_no(row.get("holds", ""), path) for row in rows]),
        **numbers,
    )


def _rows(path: Path) -> Iterable[dict[str, str]]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise CurveError(
            "the result sheet cannot be read", where=str(path), found=str(error)
        ) from error
    first = text.partition("\n")[0]
    semicolons = first.count(";") > first.count(",")
    table = csv.reader(io.StringIO(text), delimiter=";" if semicolons else ",")
    rows = [row for row in table if any(cell.strip() for cell in row)]
    if len(rows) < 2:
        raise CurveError("the result sheet is empty", where=str(path))
    header = [cell.strip() for cell in rows[0]]
    if len(set(header)) < len(header):
        raise CurveError("a column appears twice", where=str(path), found=", ".join(header)[:80])
    for row in rows[1:]:
        cells = [cell.strip().replace(",", ".") if semicolons else cell.strip() for cell in row]
        yield dict(zip(header, [*cells, *[""] * (len(header) - len(cells))], strict=False))


def _range(factor: Factor, cells: list[str], ranges: Mapping[str, tuple[float, float]]) -> Factor:
    """The factor with the range that was run."""
    if factor.words:
        return factor
    if factor.name in ranges:
        low, high = ranges[factor.name]
        return dataclasses.replace(factor, low=low, high=high)
    values = [factor.actual(factor.read(cell)) for cell in cells]
    return dataclasses.replace(factor, low=min(values), high=max(values))


def _numbers(rows: list[dict[str, str]], name: str, path: Path) -> Float[np.ndarray, " run"]:
    found = []
    for number, row in enumerate(rows, 1):
        cell = row.get(name, "")
        try:
            value = float(cell) if cell else math.nan
        except ValueError:
            value = math.inf
        if math.isinf(value):
            raise CurveError(
                "this is no number",
                where=f"{path}, row {number}, {name}",
                found=repr(cell),
                remedy="Leave the cell empty where nothing could be measured.",
            )
        found.append(value)
    return np.array(found)


def _blocks(rows: list[dict[str, str]], path: Path) -> Int[np.ndarray, " run"]:
    """Block of each coupon; 1 where none is written."""
    values = _numbers(rows, "block", path)
    return np.where(np.isfinite(values), values, 1.0).round().astype(int)


def _yes_or_no(cell: str, path: Path) -> float:
    word = cell.lower()
    if word in YES:
        return 1.0
    if word in NO:
        return 0.0
    if not word:
        return math.nan
    raise CurveError(
        "write yes or no", where=f"{path}, column holds", found=repr(cell), allowed="yes, no, empty"
    )
