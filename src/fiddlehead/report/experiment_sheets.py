"""What the sheets of an airtightness experiment say, as data."""

from __future__ import annotations

import math

from fiddlehead.fabricate.coupon import Coupon
from fiddlehead.fabricate.experiment_analysis import ExperimentResult
from fiddlehead.fabricate.experiment_plan import LETTERS, ExperimentPlan
from fiddlehead.report.document import Block, Picture, Section, Sheet, Steps, Table
from fiddlehead.report.figures.experiment import factor_label, word_label
from fiddlehead.units import say

SHOWS = {
    "effects": "Change of the leak when a setting goes from low to high (1 is tenfold), and the "
    "same against what noise alone would give.",
    "main_effects": "Leak over each setting, the others in the middle, with its 95 % band; dots "
    "are coupons; faint where no effect shows. Last: the strongest interaction.",
    "chance": "Chance to hold over the setting that moves it most, the others in the middle, with "
    "its 95 % band; dots are coupons, above for yes and below for no.",
    "contour": "Predicted leak over the two settings that matter most; dots are coupons, the star "
    "is recommended.",
    "tight_against_soft": "Leak against stiffness: more flow seals, and makes a stiffer finger.",
}


def plan_sheet(
    name: str,
    plan: ExperimentPlan,
    coupon: Coupon,
    mass_g: float,
    pressure_kpa: float,
    orientation: str,
    holds_percent: float,
) -> Sheet:
    """The sheet to take to the printer and the leak test.

    Parameters
    ----------
    pressure_kpa : gauge, of the leak test
    holds_percent : largest fall of the gauge pressure in a minute that still counts as tight
    """
    design: str = plan.design
    if plan.resolution:
        design += f" of resolution {plan.resolution} ({plan.generators})"
    blocks = int(plan.block.max())
    return Sheet(
        title=f"{name}: airtightness experiment",
        subtitle=f"{len(plan.coded)} coupons in {blocks} blocks; {design}; seed {plan.seed}.",
        sections=(
            Section("The coupon", _coupon_blocks(coupon, mass_g, orientation)),
            Section("Settings", _factor_blocks(plan)),
            Section("How to print", (Steps(_printing(blocks)),)),
            Section("How to test", (Steps(_testing(pressure_kpa, coupon, holds_percent)),)),
            Section("Printing order", (_order_table(plan),)),
        ),
    )


def _coupon_blocks(coupon: Coupon, mass_g: float, orientation: str) -> tuple[Block, ...]:
    return (
        Picture("coupon.png", "The coupon: a short finger with the finger's own walls and gaps."),
        f"coupon.3mf lies as the finger is printed ({orientation.replace('_', ' ')}). "
        f"{say(mass_g, '')} g when solid, {say(coupon.volume_cm3, 'cm3')} of air, "
        f"{100 * coupon.share_of_bellows:.0f} % of the finger's bellows: expect about that share "
        "of a finger's leak.",
    )


def _factor_blocks(plan: ExperimentPlan) -> tuple[Block, ...]:
    rows = tuple(
        (letter, factor_label(f), f.written(-1.0), f.written(1.0), f.standing)
        for letter, f in zip(LETTERS, plan.factors, strict=False)
    )
    blocks: list[Block] = [Table(("", "setting", "low", "high", "range rests on"), rows)]
    mixed = [
        " = ".join(words)
        for entry in plan.aliases
        if len(words := [w for w in entry.split(" = ") if len(w) <= 2]) > 1
    ]
    if mixed:
        blocks.append(
            "This fraction cannot tell these effects apart (letters as above; longer interactions "
            f"left out): {'; '.join(mixed)}."
        )
    return tuple(blocks)


def _printing(blocks: int) -> tuple[str, ...]:
    return (
        "Keep everything else as it is: spool, drying, printer, seam, cooling time between parts.",
        f"Print in the order below; it is drawn at random on purpose. {blocks} blocks: start a new "
        "one with each spool or day.",
        "Change only the settings in the table, for every coupon, also where two rows are alike.",
        "Write the coupon's number on it at once. Note in the sheet what really ran if it differs.",
        "Weigh every coupon. Measure the wall in three places and note the mean.",
        "Where stiffness matters, print a dumb-bell with the same settings and note its modulus.",
    )


def _testing(pressure_kpa: float, coupon: Coupon, holds_percent: float) -> tuple[str, ...]:
    return (
        "Let a coupon rest for a day. Fit the hose behind a screen; wear eye protection.",
        f"Raise the pressure to {say(pressure_kpa, 'kPa')} gauge, wait 30 to 60 s, shut the valve.",
        "Read pressure and temperature for one minute, or use a flow meter. A bubble test under "
        "water, behind the screen too, finds the place, not the rate.",
        "Leak = volume (coupon and hose) times pressure drop over 100 kPa, per minute: "
        f"{say(coupon.volume_cm3, 'cm3')} losing 1 kPa a minute leak "
        f"{coupon.volume_cm3 / 100:.3f} cm³/min. `fiddlehead` corrects temperature and give of "
        "the walls when it reduces a decay record.",
        f"holds: yes if the coupon loses no more than {holds_percent:g} % of its gauge pressure in "
        "a minute (our proposal; no standard for soft grippers is known to us).",
        "A coupon that cannot be brought to pressure: leave the leak empty and write no.",
        "Fill in result_sheet.csv, then: fiddlehead experiment analyse result_sheet.csv",
    )


def _order_table(plan: ExperimentPlan) -> Table:
    header = ("coupon", "block", *(factor_label(f) for f in plan.factors), "done")
    rows = tuple(
        (
            f"C{run + 1:02d}",
            str(plan.block[run]),
            *(plan.setting(run, place) for place in range(len(plan.factors))),
            "",
        )
        for run in range(len(plan.coded))
    )
    return Table(header, rows)


def analysis_sheet(name: str, result: ExperimentResult, pictures: tuple[str, ...]) -> Sheet:
    """What the filled sheet says, the recommendation first."""
    shown = tuple(Picture(f"{key}.png", SHOWS[key]) for key in pictures)
    return Sheet(
        title=f"{name}: airtightness experiment, results",
        subtitle=f"{len(result.log_leak)} coupons; leak as its base-10 logarithm.",
        sections=(
            Section("Recommended settings", (*_recommendation(result), *result.remarks)),
            Section("What matters", shown),
            Section("Analysis of variance", (_variance_table(result), _scatter(result))),
        ),
    )


def _recommendation(result: ExperimentResult) -> tuple[Block, ...]:
    best, factors = result.recommendation, result.sheet.factors
    rows = tuple(
        (
            factor_label(f),
            best.settings[f.name],
            "no effect seen: this is the middle, keep what you have"
            if f.name in best.without_effect
            else f"tried {f.written(-1.0)} to {f.written(1.0)}",
        )
        for f in factors
    )
    return (Table(("setting", "value", ""), rows), *expectations(result))


def expectations(result: ExperimentResult) -> tuple[str, ...]:
    """What to expect at the recommended settings, in sentences."""
    best = result.recommendation
    leak, low, high = best.leak_cm3_per_min
    one, other = best.next_coupon_cm3_per_min
    told = [
        f"Expected leak of a coupon {leak:.3g} cm³/min (95 % confidence {low:.3g} to {high:.3g}); "
        f"a single next coupon will lie between {one:.3g} and {other:.3g}."
    ]
    if best.chance_to_hold is not None:
        chance, least, most = (100.0 * value for value in best.chance_to_hold)
        told.append(
            f"Chance that a coupon holds {chance:.0f} % (95 % confidence {least:.0f} to "
            f"{most:.0f} %), from yes and no alone."
        )
    if best.stiffness is not None:
        middle, least, most = best.stiffness
        told.append(f"Expected {result.stiffness_name}: {middle:.4g} ({least:.4g} to {most:.4g}).")
    return tuple(told)


def _variance_table(result: ExperimentResult) -> Table:
    factors = result.sheet.factors
    rows = tuple(
        (
            word_label(row.source, factors) if set(row.source) <= set(LETTERS) else row.source,
            f"{row.degrees_of_freedom:g}",
            f"{row.sum_of_squares:.4g}",
            "" if math.isnan(row.f_ratio) else f"{row.f_ratio:.3g}",
            "" if math.isnan(row.p_value) else f"{row.p_value:.2g}",
        )
        for row in result.variance
    )
    return Table(("source", "degrees of freedom", "sum of squares", "F", "p"), rows)


def _scatter(result: ExperimentResult) -> str:
    return (
        f"Coupons scatter about the fit by a factor of {10**result.surface.scatter:.2f} (one "
        f"standard deviation); the settings explain {100 * result.surface.r_squared:.0f} % of the "
        "variation of log10 leak."
    )
