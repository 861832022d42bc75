"""Recommendation: which of the fitted laws to use, why, and what to beware of."""

from __future__ import annotations

from collections.abc import Sequence

from fiddlehead.material.catalogue import CATALOGUE, law_entry
from fiddlehead.material.conditioning import reduce_curves
from fiddlehead.material.fit import fit_law
from fiddlehead.material.records import (
    Characterisation,
    Cycle,
    Fit,
    Recommendation,
    ReducedCurve,
    TensileCurve,
)
from fiddlehead.material.stability import use_limit

EQUALLY_GOOD = 2.0
"""Laws within this much of the lowest AICc have substantial support (Burnham & Anderson 2002,
Model Selection and Multimodel Inference, 2nd ed., section 2.6)."""

LOOSE_FIT = 0.10
"""A relative error above this is pointed out (common practice, no source)."""

UNTESTED = -0.02
"""Compressive strain short of this is a wobble about zero, not a test."""


def characterise(
    curves: Sequence[TensileCurve],
    *,
    cycle: Cycle = "conditioned",
    use_strain: float = 0.6,
    laws: Sequence[str] = tuple(CATALOGUE),
) -> Characterisation:
    """Reduce the tests, fit every law with relative-stress weighting and recommend one.

    Parameters
    ----------
    curves : specimens as tested, modes mixed as they come
    use_strain : largest nominal strain expected in use, fraction
    laws : names from the catalogue

    Raises
    ------
    CurveError : data that cannot be reduced
    ParameterError : unknown law name
    """
    entries = [law_entry(name) for name in laws]
    reduced = reduce_curves(curves, cycle=cycle, use_strain=use_strain)
    points = sum(len(curve.stretch) for curve in reduced)
    fits = tuple(
        fit_law(entry.name, reduced, use_strain=use_strain)
        for entry in entries
        if points > len(entry.constants)
    )
    return Characterisation(reduced, fits, recommend(fits, reduced, use_strain), use_strain)


def recommend(
    fits: Sequence[Fit], curves: Sequence[ReducedCurve], use_strain: float
) -> Recommendation:
    """The stable law of lowest corrected Akaike criterion; among equals the one with fewest
    constants.

    Returns
    -------
    Recommendation whose ``law_name`` is None when no fitted law is stable over the use range.
    """
    stable = [fit for fit in fits if fit.stability.stable]
    if not stable:
        return Recommendation(
            None,
            "No fitted law is stable over the use range. Test another mode, or lower the strain "
            "in use.",
            _warnings_on_data(curves, use_strain),
        )
    lowest = min(fit.aicc for fit in stable)
    equals = [fit for fit in stable if fit.aicc <= lowest + EQUALLY_GOOD]
    chosen = min(equals, key=lambda fit: (len(fit.constants), fit.aicc))
    warnings = _warnings_on_data(curves, use_strain) + _warnings_on_fit(chosen, stable, curves)
    return Recommendation(chosen.law_name, _reason(chosen, equals, fits), warnings)


def _reason(chosen: Fit, equals: Sequence[Fit], fits: Sequence[Fit]) -> str:
    title = law_entry(chosen.law_name).title
    text = (
        f"{title}: lowest corrected Akaike criterion among the laws that are stable over the use "
        f"range; relative stress error {100 * chosen.relative_error:.1f} % over the fitted range."
    )
    if len(equals) > 1:
        others = ", ".join(law_entry(f.law_name).title for f in equals if f is not chosen)
        text = (
            f"{title}: fewest constants among the stable laws that fit equally well (corrected "
            f"Akaike criterion within {EQUALLY_GOOD:g}: {others}); relative stress error "
            f"{100 * chosen.relative_error:.1f} % over the fitted range."
        )
    rejected = [f for f in fits if not f.stability.stable and f.aicc < chosen.aicc]
    if rejected:
        text += (
            " Closer to the data but not usable: " + "; ".join(map(why_unstable, rejected)) + "."
        )
    return text


def why_unstable(fit: Fit) -> str:
    """In words, where a fit fails: ``"Mooney-Rivlin, 2 constants (negative initial modulus)"``."""
    title, losses = law_entry(fit.law_name).title, fit.stability.losses
    where = losses if not fit.stability.positive_modulus else f"unstable in {losses}"
    return f"{title} ({where if losses else 'stable'})"


def _warnings_on_data(curves: Sequence[ReducedCurve], use_strain: float) -> tuple[str, ...]:
    warnings = [text for curve in curves for text in curve.warnings]
    tension = [c for c in curves if c.mode != "compression"]
    reach = max((c.strain_range[1] for c in tension), default=0.0)
    if reach < 0.98 * use_strain:
        warnings.append(
            f"The data reach {100 * reach:.0f} % strain, the use range {100 * use_strain:.0f} %: "
            "beyond the data the law is a guess. Test further, or lower the strain in use."
        )
    if any(curve.cycle == "first pull" for curve in curves):
        warnings.append(
            "Fitted on a first pull: the printed elastomer softens in service, so angles will be "
            "larger than predicted after a few inflations."
        )
    pressed = min(curve.strain_range[0] for curve in curves)
    furthest = use_limit("compression", use_strain) - 1.0
    if pressed > UNTESTED:
        warnings.append(
            "Compression was not tested, while the inner folds of bellows are compressed: that "
            "branch is extrapolated from tension."
        )
    elif pressed > 0.98 * furthest:
        warnings.append(
            f"Compression was tested to {-100 * pressed:.0f} %, the use range reaches "
            f"{-100 * furthest:.0f} %: beyond the data the law is a guess."
        )
    return tuple(warnings)


def _warnings_on_fit(
    chosen: Fit, stable: Sequence[Fit], curves: Sequence[ReducedCurve]
) -> tuple[str, ...]:
    warnings = []
    only_uniaxial = {curve.mode for curve in curves} <= {"uniaxial", "compression"}
    if only_uniaxial and not law_entry(chosen.law_name).first_invariant_only:
        safe = [f for f in stable if law_entry(f.law_name).first_invariant_only]
        best = min(safe, key=lambda fit: fit.aicc, default=None)
        advice = f" {law_entry(best.law_name).title} is the safer choice." if best else ""
        warnings.append(
            "Only uniaxial data: this law depends on more than the first invariant, so its planar "
            f"and equibiaxial stresses are not known.{advice}"
        )
    elif only_uniaxial:
        warnings.append(
            "Only uniaxial data: planar and equibiaxial stresses follow from the law, untested."
        )
    if chosen.relative_error > LOOSE_FIT:
        warnings.append(
            f"The best stable law misses the data by {100 * chosen.relative_error:.0f} % on "
            "average: expect the prediction to be no better."
        )
    return tuple(warnings)
