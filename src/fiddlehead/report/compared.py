"""The ``compared`` folder: measurement over prediction, one picture and one row per quantity."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from fiddlehead.bench.compare import Comparison
from fiddlehead.bench.measured import curve_words
from fiddlehead.bench.records import Predicted, Spread
from fiddlehead.files import write_text
from fiddlehead.report.about import versions
from fiddlehead.report.export.tables import write_table
from fiddlehead.report.figures.bands import draw_bands, overlay_picture
from fiddlehead.report.figures.style import save
from fiddlehead.report.figures.tip_paths import TipPathsPicture, draw_tip_paths
from fiddlehead.report.measured import plain
from fiddlehead.report.results import Written, write_result


def write_comparison(
    results: Path,
    project_name: str,
    found: Mapping[str, tuple[Comparison, Spread, Predicted]],
    *,
    date: str,
    input_hash: str | None = None,
    tips: TipPathsPicture | None = None,
    untold: Sequence[str] = (),
) -> Written:
    """Write overlays, curves, a table of verdicts and a record.

    Parameters
    ----------
    found : by the name of the measured curve
    input_hash : of the project that was predicted
    tips : measured tip positions over the predicted path
    untold : curves that could not be compared, and why

    Raises
    ------
    StoreError : the folder cannot be written
    """

    def fill(folder: Path) -> None:
        for name, (comparison, spread, predicted) in found.items():
            heading = f"{project_name}: {curve_words(name)}"
            band = ", ".join(predicted.scatter) or "none was given"
            picture = overlay_picture(name, heading, comparison, f"measured {spread.said}", band)
            save(draw_bands(picture), folder, name)
            write_table(folder / f"{name}.csv", comparison_columns(comparison))
        if tips is not None:
            save(draw_tip_paths(tips), folder, "tip_path")
        write_table(folder / "verdicts.csv", verdict_columns([c for c, _, _ in found.values()]))
        document = {
            "format": "fiddlehead comparison 1",
            "date": date,
            "versions": versions(),
            "quantities": {
                name: {
                    **plain(comparison),
                    "agreement": comparison.agreement._asdict(),
                    "scatter_of_prediction": list(predicted.scatter),
                    "measured": spread.said,
                    "predicted_from": predicted.source,
                }
                for name, (comparison, spread, predicted) in found.items()
            },
            "tip_path_distance_mm": None if tips is None else tips.distance_mm,
            "not_compared": list(untold),
        }
        text = json.dumps(document, indent=2, ensure_ascii=False, default=str)
        write_text(folder / "compared.json", text + "\n")

    return write_result(results / "compared", fill, "compared", input_hash)


def comparison_columns(found: Comparison) -> dict[str, Any]:
    """One row per pressure."""
    return {
        "pressure_kpa": found.pressure_kpa,
        f"measured_{found.quantity}": found.measured,
        f"measured_sd_{found.quantity}": found.measured_sd,
        f"predicted_{found.quantity}": found.predicted,
        f"predicted_sd_{found.quantity}": found.predicted_sd,
    }


def verdict_columns(found: Sequence[Comparison]) -> dict[str, list[Any]]:
    """One row per quantity."""
    return {
        "quantity": [f"{c.quantity} {c.definition} {c.branch}".replace("  ", " ") for c in found],
        "nrmse_percent_of_full_scale": [c.nrmse_percent for c in found],
        "error_at_pressure_percent": [c.error_there_percent for c in found],
        "pressure_kpa": [c.at_pressure_kpa for c in found],
        "largest_error_percent_of_full_scale": [c.largest_error_percent for c in found],
        "largest_error_at_kpa": [c.largest_at_kpa for c in found],
        "bias": [c.agreement.bias for c in found],
        "limits_of_agreement_low": [c.agreement.low for c in found],
        "limits_of_agreement_high": [c.agreement.high for c in found],
        "concordance": [c.agreement.concordance for c in found],
        "limit_percent": [c.limit_percent for c in found],
        "within_limit": [c.within_limit for c in found],
        "scatter_explains": [
            "unknown" if c.scatter_explains is None else c.scatter_explains for c in found
        ],
    }
