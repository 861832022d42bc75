"""Sections on the bench: what was measured, how tight it is, measurement over prediction."""

from __future__ import annotations

from typing import Any

from fiddlehead.report.document import Block, Note, Picture, Points, Section, Table
from fiddlehead.report.job.parts import Job
from fiddlehead.units import say

CURVES = {"angle_deg": "bending angle", "force_n": "blocked force"}


def measured(job: Job) -> Section | None:
    """Curves with their scatter, step response, life, picks and pull-off."""
    if not job.has("measured"):
        return None
    found = job.document("measured", "measured.json")
    blocks: list[Block] = [
        f"{len(found['records'])} records of "
        f"{len({record['finger'] for record in found['records'] if record['finger']})} fingers, "
        f"reduced on {found['date'][:10]}."
    ]
    for name in dict.fromkeys(curve.rpartition("_")[0] for curve in found["curves"]):
        picture = job.picture("measured", name)
        if picture:
            curve = found["curves"].get(f"{name}_up") or found["curves"][f"{name}_down"]
            shows = f"Measured {CURVES.get(curve['quantity'], curve['quantity'])}"
            shows += f", {curve['definition']}" if curve["definition"] else ""
            words = f"{shows} of {len(curve['fingers'])} fingers over gauge pressure."
            blocks.append(Picture(picture, f"{shows}, mean and scatter of the fingers.", words))
    blocks += job.pictures(
        "measured",
        ("step", "Step response: pressure and angle over time."),
        ("life", "Cycles to failure."),
        ("picks", "Pick trials with exact 95 % intervals."),
    )
    blocks += [table for table in (_picks(found), _life(found), _pull(found)) if table]
    remarks = [
        f"{record['source']}, finger {record['finger']}: {remark}"
        for record in found["records"]
        for remark in record["remarks"]
    ]
    told = tuple(dict.fromkeys([*found["troubles"], *remarks]))
    if told:
        blocks.append(Section("What was left out or mended", (Points(told),)))
    return Section("Measured on the bench", tuple(blocks))


def _picks(found: dict[str, Any]) -> Table | None:
    rows = tuple(
        (one["name"], f"{one['successes']} of {one['trials']}",
         f"{100 * one['low']:.0f} to {100 * one['high']:.0f} %", f"{100 * one['proven']:.0f} %")
        for one in found["picks"]
    )  # fmt: skip
    header = ("object", "picked, held and released", "95 % interval", "proven at least")
    return Table(header, rows, "Pick trials") if rows else None


def _life(found: dict[str, Any]) -> Table | None:
    life = found["life"]
    if not life:
        return None
    row = (
        f"{life['failures']}, {life['survivors']}",
        f"{life['scale']:.0f} ({life['scale_low']:.0f} to {life['scale_high']:.0f})",
        f"{life['shape']:.1f} ({life['shape_low']:.1f} to {life['shape_high']:.1f})",
        f"{life['ten_percent_failed']:.0f}",
    )
    header = ("failed, survived", "Weibull scale, cycles (95 %)", "shape (95 %)", "10 % failed at")
    return Table(header, (row,), "Life")


def _pull(found: dict[str, Any]) -> Table | None:
    rows = tuple(
        (one["name"], f"{one['n']}", f"{one['mean_n']:.2f}", f"{one['sd_n']:.2f}",
         f"{one['low_n']:.2f} to {one['high_n']:.2f}")
        for one in found["pull_off"]
    )  # fmt: skip
    header = ("object", "n", "mean, N", "SD, N", "95 % interval of the mean, N")
    return Table(header, rows, "Pull-off force") if rows else None


def leaks(job: Job) -> Section | None:
    """Pressure decay: leak rate, class, and the hole it would be."""
    if not job.has("measured"):
        return None
    found = job.document("measured", "measured.json")["leaks"]
    if not found:
        return None
    rows, notes = [], []
    for one in found:
        rate = one["rate"]
        rows.append((
            one["finger"],
            f"{rate['leak_cm3_per_min']:.3g} ± {rate['standard_error_cm3_per_min']:.1g}",
            f"{rate['percent_per_min']:.2f}",
            f"{1e3 * rate['pinhole_mm']:.1f}",
            one["leak_class"],
            one["reason"],
        ))  # fmt: skip
        notes += [Note(f"Finger {one['finger']}: {warning}") for warning in one["warnings"]]
    reference = found[0]["rate"]["reference"]["name"]
    words = "; ".join(f"finger {row[0]} class {row[4]}" for row in rows)
    return Section(
        "Leaks",
        (
            *job.pictures(
                "measured", ("pressure_decay", "Pressure decay beside the limit.", words)
            ),
            Table(
                ("finger", "leak, cm³/min", "% of gauge per min", "equal hole, µm", "class", "why"),
                tuple(rows),
                f"Flows at {reference}; ± one standard error. A holds, B is usable with a live "
                "supply, C is neither; the limits are our proposal",
            ),
            *notes,
        ),
    )


def comparison(job: Job) -> Section | None:
    """Measurement laid over prediction, with a verdict for each quantity."""
    if not job.has("compared"):
        return None
    found = job.document("compared", "compared.json")
    rows, notes = [], []
    pictures: list[Picture] = []
    for name, one in found["quantities"].items():
        what = " ".join(
            word for word in (CURVES.get(one["quantity"], one["quantity"]), one["definition"],
                              one["branch"]) if word
        )  # fmt: skip
        rows.append((
            what,
            f"{one['nrmse_percent']:.1f}",
            _signed(one["error_there_percent"]),
            f"{one['largest_error_percent']:+.1f} at {one['largest_at_kpa']:.4g} kPa",
            "within" if one["within_limit"] else "outside",
            {True: "yes", False: "no", None: "not known"}[one["scatter_explains"]],
        ))  # fmt: skip
        notes += [Note(f"{what}: {warning}") for warning in one["warnings"]]
        shows = f"Measurement over prediction: {what}."
        pictures += job.pictures("compared", (name, shows, f"{shows} {one['said']}."))
    tips = job.picture("compared", "tip_path")
    if tips:
        distance = say(found["tip_path_distance_mm"], "mm")
        shows = f"Measured tip positions over the predicted path; {distance} apart (rms)."
        pictures.append(Picture(tips, shows))
    limit = next(iter(found["quantities"].values()))["limit_percent"]
    header = ("quantity", "NRMSE, % FS", "at work, %", "largest, % FS", "verdict",
              "scatter explains it")  # fmt: skip
    return Section(
        "Measurement over prediction",
        (
            *pictures,
            Table(header, tuple(rows), f"Your limit: {limit:g} % over the curve and at work"),
            *notes,
            *(Note(text) for text in found["not_compared"]),
        ),
    )


def _signed(value: float | None) -> str:
    return "none" if value is None else f"{value:+.1f}"


def calibration(job: Job) -> Section | None:
    """Unknowns adjusted to a part of the data, and how well they foretell the rest."""
    if not job.has("calibrated"):
        return None
    found = job.document("calibrated", "calibration.json")
    rows = tuple(
        (one["name"].replace("_", " "), f"{one['value']:.3g} {one['unit']}".strip(),
         f"{one['low']:.3g} to {one['high']:.3g}", f"{one['prior']:.3g} ± {one['prior_sd']:.2g}",
         f"{100 * one['learnt']:.0f} %")
        for one in found["estimates"]
    )  # fmt: skip
    held, before = found["held_out_error_percent"], found["held_out_before_percent"]
    told = (
        "Nothing was held out, so nothing is known about how well it foretells."
        if held is None
        else f"Error on the pressures held out: {held:.1f} % of full scale"
        + ("." if before is None else f", {before:.1f} % before.")
    )
    shows = "Curve before and after, and the unknowns against what was known before."
    return Section(
        "Calibration",
        (
            *job.pictures("calibrated", ("calibration", shows, f"{shows} {told}")),
            told,
            Table(("unknown", "value", "95 % interval", "before the data", "learnt"), rows),
            *(Note(text) for text in found["warnings"]),
        ),
    )
