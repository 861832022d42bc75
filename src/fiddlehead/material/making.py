"""Making a material card: from fitted tests, from constants typed by hand, or from hardness."""

from __future__ import annotations

from collections.abc import Mapping

from fiddlehead.errors import ParameterError
from fiddlehead.material.card import (
    COMMON_PRACTICE,
    DEFAULT_BULK_TO_SHEAR,
    DEFAULT_DENSITY_G_PER_CM3,
    FROM_MEMORY,
    MaterialCard,
)
from fiddlehead.material.catalogue import law_entry
from fiddlehead.material.hardness import estimate_from_hardness
from fiddlehead.material.records import (
    PLAUSIBLE_MODULUS_MPA,
    Characterisation,
    Fit,
    Mode,
    Stability,
)
from fiddlehead.material.typed import checked_constants, in_our_convention


def card_from_tests(
    found: Characterisation,
    *,
    name: str,
    date: str,
    law_name: str | None = None,
    bulk_to_shear_ratio: float = DEFAULT_BULK_TO_SHEAR,
    bulk_source: str = COMMON_PRACTICE,
    density_g_per_cm3: float = DEFAULT_DENSITY_G_PER_CM3,
    density_source: str = FROM_MEMORY,
) -> MaterialCard:
    """A card from fitted tests: the recommended law, or another by the user's choice.

    Raises
    ------
    ParameterError : no stable law to recommend and none chosen, or a choice that was not fitted
        or has no positive initial modulus
    """
    advice = found.recommendation
    chosen = law_name or advice.law_name
    if chosen is None:
        raise ParameterError("no law can be recommended", where="material", remedy=advice.reason)
    fits = {fit.law_name: fit for fit in found.fits}
    if chosen not in fits:
        raise ParameterError(
            "this law was not fitted",
            where="material law",
            found=repr(chosen),
            allowed=", ".join(fits),
        )
    fit = fits[chosen]
    warnings = advice.warnings
    if chosen != advice.law_name:
        warnings = (*warnings, *_warnings_on_choice(fit, advice.law_name))
    return MaterialCard(
        name=name,
        law_name=chosen,
        constants=fit.constants,
        deviations={key: value for key, value in fit.deviations.items() if value == value},
        shear_modulus_mpa=fit.shear_modulus_mpa,
        origin="tests",
        date=date,
        bulk_to_shear_ratio=bulk_to_shear_ratio,
        bulk_source=bulk_source,
        density_g_per_cm3=density_g_per_cm3,
        density_source=density_source,
        use_strain=found.use_strain,
        data_strain={curve.mode: curve.strain_range for curve in found.curves},
        stability_limits=_limits(fit.stability),
        weighting=fit.weighting,
        relative_error=fit.relative_error,
        largest_relative_error=fit.largest_relative_error,
        cycle=(
            "conditioned"
            if all(curve.cycle == "conditioned" for curve in found.curves)
            else "first pull"
        ),
        specimens={curve.mode: curve.specimens for curve in found.curves},
        files=tuple(file for curve in found.curves for file in curve.files),
        reason=advice.reason if chosen == advice.law_name else "Chosen by the user.",
        warnings=warnings,
    )


def _warnings_on_choice(fit: Fit, recommended: str | None) -> tuple[str, ...]:
    title = law_entry(fit.law_name).title
    if not fit.stability.positive_modulus:
        raise ParameterError(
            "this fit has a negative initial modulus and cannot be computed with",
            where="material law",
            found=title,
            remedy=f"Choose {recommended or 'another law'}.",
        )
    advice = f"{law_entry(recommended).title} was recommended" if recommended else "none was stable"
    texts = [f"{title} was chosen by the user; {advice}."]
    if not fit.stability.stable:
        texts.append(unstable_warning(fit.stability))
    return tuple(texts)


def unstable_warning(check: Stability) -> str:
    """In words, where a law loses stability within the use range."""
    return f"This law is not stable over the use range: {check.losses}. Solves may stop there."


def _limits(check: Stability) -> dict[Mode, float]:
    return {mode: limit for mode, limit in check.limits.items() if limit is not None}


def card_from_constants(
    law_name: str,
    constants: Mapping[str, float],
    *,
    name: str,
    date: str,
    ogden_convention: str | None = None,
    use_strain: float = 0.6,
    bulk_to_shear_ratio: float = DEFAULT_BULK_TO_SHEAR,
    bulk_source: str = COMMON_PRACTICE,
    density_g_per_cm3: float = DEFAULT_DENSITY_G_PER_CM3,
    density_source: str = FROM_MEMORY,
    unusual_modulus_confirmed: bool = False,
) -> MaterialCard:
    """A card from constants typed by hand, checked for stability over the use range.

    Raises
    ------
    ParameterError : unknown law or constant, one missing, an Ogden law without its convention,
        no positive initial modulus, or a modulus no elastomer has (until confirmed)
    """
    from fiddlehead.material.laws import law_from_constants
    from fiddlehead.material.stability import stability

    values = in_our_convention(law_name, checked_constants(law_name, constants), ogden_convention)
    law = law_from_constants(law_name, values)
    check = stability(law, use_strain=use_strain)
    modulus = float(law.shear_modulus_mpa)
    low, high = PLAUSIBLE_MODULUS_MPA
    if not modulus > 0.0:
        raise ParameterError(
            "these constants give no positive initial modulus",
            where="material constants",
            found=f"shear modulus {modulus:.4g} MPa",
            allowed="above 0",
            remedy="Check signs, and for Ogden constants the convention.",
        )
    if not low <= 3.0 * modulus <= high and not unusual_modulus_confirmed:
        raise ParameterError(
            "the initial modulus is not that of an elastomer; are the constants in MPa?",
            where="material constants",
            found=f"Young's modulus {3.0 * modulus:.4g} MPa",
            allowed=f"{low:g} to {high:g} MPa",
            remedy="Check the unit (MPa, not kPa). If it is right, set "
            "unusual_modulus_confirmed = true.",
        )
    warnings = ["Constants typed by hand: no test data stand behind this card."]
    if not check.stable:
        warnings.append(unstable_warning(check))
    return MaterialCard(
        name=name,
        law_name=law_name,
        constants=values,
        shear_modulus_mpa=modulus,
        origin="constants",
        date=date,
        bulk_to_shear_ratio=bulk_to_shear_ratio,
        bulk_source=bulk_source,
        density_g_per_cm3=density_g_per_cm3,
        density_source=density_source,
        use_strain=use_strain,
        stability_limits=_limits(check),
        reason="Typed by hand.",
        warnings=tuple(warnings),
    )


def card_from_hardness(
    shore_a: float,
    *,
    name: str,
    date: str,
    bulk_to_shear_ratio: float = DEFAULT_BULK_TO_SHEAR,
    bulk_source: str = COMMON_PRACTICE,
    density_g_per_cm3: float = DEFAULT_DENSITY_G_PER_CM3,
    density_source: str = FROM_MEMORY,
) -> MaterialCard:
    """A neo-Hookean card from Shore A hardness alone, good within a factor of 2 in modulus.

    Raises
    ------
    ParameterError : hardness outside 20 to 95 Shore A
    """
    guess = estimate_from_hardness(shore_a)
    return MaterialCard(
        name=name,
        law_name="neo_hookean",
        constants={"mu_mpa": guess.shear_modulus_mpa},
        shear_modulus_mpa=guess.shear_modulus_mpa,
        origin="hardness",
        date=date,
        bulk_to_shear_ratio=bulk_to_shear_ratio,
        bulk_source=bulk_source,
        density_g_per_cm3=density_g_per_cm3,
        density_source=density_source,
        reason=f"From {shore_a:g} Shore A; {guess.source}.",
        warnings=(
            f"Modulus from hardness alone: {guess.youngs_modulus_mpa:.3g} MPa, true value likely "
            f"between {guess.low_mpa:.3g} and {guess.high_mpa:.3g} MPa. Pressures for a given "
            "angle are off by the same factor.",
        ),
    )
