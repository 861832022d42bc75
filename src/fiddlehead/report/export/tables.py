"""Tables as CSV: one header line, units in the names, comma and decimal point (RFC 4180)."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from fiddlehead.files import write_text
from fiddlehead.material.records import ReducedCurve
from fiddlehead.trials.records import (
    BendResult,
    BlockResult,
    LateralResult,
    PressResult,
    StrainPeaks,
)

Columns = Mapping[str, Sequence[Any]]


def write_table(path: Path, columns: Columns) -> Path:
    """Write columns of equal length.

    Raises
    ------
    StoreError : the place cannot be written
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    for row in zip(*columns.values(), strict=True):
        writer.writerow([_cell(value) for value in row])
    return write_text(path, text.getvalue())


def _cell(value: Any) -> Any:
    return f"{value:.9g}" if isinstance(value, float | np.floating) else value


def _strain_columns(strain: StrainPeaks) -> dict[str, Sequence[Any]]:
    return {
        "largest_log_strain_percent": list(100.0 * strain.peak),
        "log_strain_95th_percentile_percent": list(100.0 * strain.p95),
        "log_strain_in_layer_plane_percent": list(100.0 * strain.in_plane),
        "log_strain_across_layers_percent": list(100.0 * strain.across_layers),
        "smallest_log_strain_percent": list(100.0 * strain.smallest),
        "largest_at_x_mm": list(strain.place_mm[:, 0]),
        "largest_at_y_mm": list(strain.place_mm[:, 1]),
        "largest_at_z_mm": list(strain.place_mm[:, 2]),
        "largest_in": strain.region,
        "largest_across_layers_in": strain.across_layers_region,
    }


def bend_columns(result: BendResult) -> dict[str, Sequence[Any]]:
    """Free bending, one row per pressure step."""
    return {
        "pressure_kpa": list(1e3 * result.pressure_mpa),
        "tip_angle_deg": list(result.tip_angle_deg),
        "chord_angle_deg": list(result.chord_angle_deg),
        "tip_x_mm": list(result.tip_path_mm[:, 0]),
        "tip_y_mm": list(result.tip_path_mm[:, 1]),
        "cavity_volume_mm3": list(result.cavity_volume_mm3),
        "strain_energy_mj": list(result.strain_energy_mj),
        "smallest_gap_mm": [float(g) if np.isfinite(g) else "" for g in result.smallest_gap_mm],
        **_strain_columns(result.strain),
        "linear_solves": [int(count) for count in result.history.solves_at_step],
    }


def block_columns(result: BlockResult) -> dict[str, Sequence[Any]]:
    """Blocked force, one row per pressure step."""
    return {
        "pressure_kpa": list(1e3 * result.pressure_mpa),
        "force_n": list(result.force_n),
        "hand_bound_n": list(result.hand_bound_n),
        "contact_distance_mm": list(result.contact_distance_mm),
        "plate_depth_mm": list(result.plate_depth_mm),
        **_strain_columns(result.strain),
    }


def press_columns(result: PressResult) -> dict[str, Sequence[Any]]:
    """Pressing on an object, one row per pressure step."""
    return {
        "pressure_kpa": list(1e3 * result.pressure_mpa),
        "grip_force_n": list(result.grip_force_n),
        "force_x_n": list(result.force_n[:, 0]),
        "force_y_n": list(result.force_n[:, 1]),
        "normal_force_n": list(result.normal_force_n),
        "tangential_force_n": list(result.tangential_force_n),
        "contact_pressure_peak_kpa": list(1e3 * result.peak_mpa),
        "contact_pressure_95th_percentile_kpa": list(1e3 * result.p95_mpa),
        "contact_pressure_mean_kpa": list(1e3 * result.mean_mpa),
        "contact_area_mm2": list(result.contact_area_mm2),
        "area_ratio": list(result.area_ratio),
        "contact_perimeter_fraction": list(result.perimeter_fraction),
        "rms_gap_mm": list(result.rms_gap_mm),
        "p95_over_mean": list(result.pressure_uniformity),
        "pad_closure": list(result.pad_closure),
        "points_touching": [int(count) for count in result.points_touching],
        **_strain_columns(result.strain),
        "linear_solves": [int(count) for count in result.history.solves_at_step],
    }


def lateral_columns(result: LateralResult) -> dict[str, Sequence[Any]]:
    """Lateral stiffness, one row per pressure step."""
    return {
        "pressure_kpa": list(1e3 * result.pressure_mpa),
        "tip_angle_deg": list(result.tip_angle_deg),
        "stiffness_n_per_mm": list(result.stiffness_n_per_mm),
        "twist_deg_per_n": list(result.twist_deg_per_n),
        "stability_against_rest": list(result.stability),
        "unstable_shapes": [int(count) for count in result.unstable_shapes],
    }


def reduced_columns(curve: ReducedCurve) -> dict[str, Sequence[Any]]:
    """One mode of the reduced tests."""
    return {
        "nominal_strain_percent": list(100.0 * (curve.stretch - 1.0)),
        "nominal_stress_mpa": list(curve.nominal_stress_mpa),
        "standard_deviation_mpa": list(curve.scatter_mpa),
    }
