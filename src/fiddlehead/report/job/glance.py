"""The numbers everybody looks for first."""

from __future__ import annotations

from collections.abc import Iterator

from fiddlehead.report.document import Headline, Section
from fiddlehead.report.export.store import load_bend_result, load_block_result
from fiddlehead.report.job.parts import Job
from fiddlehead.units import say


def at_a_glance(job: Job) -> Section | None:
    """Angle, force, strain against its limit, filling, tightness, print time."""
    values = (*_predicted(job), *_supplied(job), *_measured(job))
    return Section("At a glance", (Headline(values),)) if values else None


def _predicted(job: Job) -> Iterator[tuple[str, str]]:
    if job.has("bend"):
        bent = load_bend_result(job.results / "bend")
        at = say(1e3 * bent.pressure_mpa[-1], "kPa")
        chord = job.project.tests.bend.bending_angle == "chord"
        angle = bent.chord_angle_deg[-1] if chord else bent.tip_angle_deg[-1]
        definition = "chord" if chord else "tip tangent"
        yield f"{angle:.0f}°", f"bending angle, {definition}, predicted at {at}"
        limit = job.project.loads.strain_limit_percent
        strain = 100 * bent.strain.in_plane[-1]
        yield f"{strain:.0f} %", f"largest log strain in the layer plane; {limit:g} % allowed"
    if job.has("block"):
        folder = job.results / "block"
        for place in sorted(folder.glob("preset_*_deg"))[:1]:
            held = load_block_result(place)
            at = say(1e3 * held.pressure_mpa[-1], "kPa")
            what = f"blocked force of one finger, plate at {held.touch_angle_deg:.0f}°, predicted"
            yield say(float(held.force_n[-1]), "N"), f"{what} at {at}"


def _supplied(job: Job) -> Iterator[tuple[str, str]]:
    if job.has("air"):
        air = job.document("air", "air.json")
        yield say(air["fill"]["duration_s"], "s", 2), f"to fill {air['fingers']} fingers, predicted"
    if job.has("printcheck"):
        seconds = job.document("printcheck", "printcheck.json")["check"]["estimate"]["time_s"]
        yield f"{seconds / 3600:.1f} h", "to print one finger, estimated"


def _measured(job: Job) -> Iterator[tuple[str, str]]:
    if job.has("measured"):
        leaks = job.document("measured", "measured.json")["leaks"]
        if leaks:
            worst = max(one["leak_class"] for one in leaks)
            yield worst, f"leak class, worst of {len(leaks)} measured fingers"
    if job.has("compared"):
        found = job.document("compared", "compared.json")["quantities"].values()
        within = sum(bool(one["within_limit"]) for one in found)
        limit = next(iter(found))["limit_percent"]
        yield f"{within} of {len(found)}", f"compared curves within {limit:g} % of the measurement"
