"""What `fiddlehead measure` says: the numbers, most wanted first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fiddlehead.cli.output import Voice

if TYPE_CHECKING:
    from fiddlehead.bench.leaks import ProofTest, TightnessLimits
    from fiddlehead.bench.measured import Measured


def tell(voice: Voice, measured: Measured) -> None:
    """The numbers, most wanted first."""
    from fiddlehead.bench.measured import curve_words
    from fiddlehead.units import counted, say

    for name, spread in measured.spreads.items():
        last = [v for v in zip(spread.pressure_kpa, spread.mean, strict=True) if v[1] == v[1]][-1]
        unit = "deg" if spread.quantity == "angle_deg" else "N"
        voice.paragraph(
            f"{curve_words(name)}: {say(float(last[1]), unit)} at "
            f"{say(float(last[0]), 'kPa')}; {spread.said}."
        )
    for name, cycles in measured.cycles.items():
        loops = [cycle for cycle in cycles if cycle.hysteresis_percent == cycle.hysteresis_percent]
        if loops:
            mean = sum(cycle.hysteresis_percent for cycle in loops) / len(loops)
            voice.paragraph(
                f"{curve_words(name)}: hysteresis {mean:.1f} % of range, mean of "
                f"{len(loops)} cycles."
            )
    for held in measured.held:
        voice.paragraph(
            f"Finger {held.finger}: blocked force {say(held.peak_n, 'N')} peak, "
            f"{say(held.held_n, 'N')} held, at {say(held.pressure_kpa, 'kPa')}."
        )
    for leak in measured.leaks:
        voice.paragraph(
            f"Finger {leak.finger}: leak {say(leak.rate.leak_cm3_per_min, 'cm3')}/min at "
            f"{leak.rate.reference.name}, like one hole of {say(leak.rate.pinhole_mm, 'mm')}; "
            f"class {leak.leak_class}: {leak.reason}."
        )
        for warning in leak.warnings:
            voice.paragraph(f"Mind: finger {leak.finger}: {warning}")
    for step in measured.steps:
        voice.paragraph(
            f"Finger {step.finger}: rises in {say(step.rise_s, 's')} (10 to 90 %), vents in "
            f"{say(step.vent_s, 's')}. {step.remark}".strip()
        )
    for creep in measured.creeps:
        voice.paragraph(
            f"Finger {creep.finger}: creeps by {creep.per_decade_percent:.1f} % for each tenfold "
            f"time, {creep.creep_percent:.1f} % in {say(creep.held_s, 's')}."
        )
    tell_sideways(voice, measured)
    if measured.life:
        life = measured.life
        voice.paragraph(
            f"Life: 63 % failed by {say(life.scale, '')} cycles ({say(life.scale_low, '')} to "
            f"{say(life.scale_high, '')}), shape {life.shape:.2g}; "
            f"{counted(life.failures, 'failure')}, {counted(life.survivors, 'survivor')}."
        )
        for warning in life.warnings:
            voice.paragraph(f"Mind: {warning}")
    for rate in measured.picks:
        voice.paragraph(
            f"{rate.name or 'Picks'}: {rate.successes} of {rate.trials} picked "
            f"({100 * rate.low:.0f} to {100 * rate.high:.0f} %)."
        )


def tell_sideways(voice: Voice, measured: Measured) -> None:
    """Mean sideways stiffness of each finger at each pressure, and pull-off forces."""
    from fiddlehead.units import say

    groups: dict[tuple[str, float], list[float]] = {}
    for one in measured.lateral:
        groups.setdefault((one.finger, one.pressure_kpa), []).append(one.stiffness_n_per_mm)
    for finger in dict.fromkeys(name for name, _ in groups):
        found = ", ".join(
            f"{sum(values) / len(values):.3g} N/mm at {say(pressure, 'kPa')}"
            for (name, pressure), values in groups.items()
            if name == finger
        )
        voice.paragraph(f"Finger {finger}: sideways stiffness {found}.")
    for pull in measured.pulls:
        voice.paragraph(
            f"{pull.name}: pulled off at {say(pull.mean_n, 'N')}, SD {say(pull.sd_n, 'N')}, "
            f"n = {pull.n}."
        )


def tell_proofs(
    voice: Voice, proofs: list[ProofTest], working_kpa: float, limits: TightnessLimits
) -> None:
    """Whether each proof test allows the working pressure."""
    from fiddlehead.bench.leaks import judge_proof

    for proof in proofs:
        passed, why = judge_proof(proof, working_kpa, limits)
        word = "passed" if passed else "failed"
        voice.paragraph(f"Finger {proof.finger}: proof test {word}: {why}.")
