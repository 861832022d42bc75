"""The material card: test data with laws, constants, where they hold and where they came from."""

from __future__ import annotations

from fiddlehead.material.card import MaterialCard
from fiddlehead.material.card_file import read_card
from fiddlehead.material.catalogue import law_entry
from fiddlehead.report.document import Block, Note, Section, Table
from fiddlehead.report.job.parts import Job


def the_material(job: Job) -> Section | None:
    """The card with its plot."""
    if not job.has("material"):
        return None
    card = read_card(job.results / "material" / "card.toml")
    shows = "Test data and laws in four modes of loading; the thick line is the law in use."
    blocks: list[Block] = [
        *job.pictures("material", ("laws", shows, f"{shows} {card.reason}".strip())),
        Table(("quantity", "value", "rests on"), _card_rows(card)),
    ]
    if card.reason:
        blocks.append(card.reason)
    blocks += [Note(warning) for warning in card.warnings]
    if (job.results / "material" / "fits.json").is_file():
        blocks.append(_fits(job))
    if card.files:
        blocks.append(Table(("test file", "SHA-256"), card.files, "Test data"))
    return Section("Material card", tuple(blocks))


def _card_rows(card: MaterialCard) -> tuple[tuple[str, ...], ...]:
    law = law_entry(card.law_name)
    fit = f"{card.origin}" + (f", {card.cycle} curve" if card.cycle else "")
    rows = [("law", law.title, law.source)]
    for name, value in card.constants.items():
        spread = card.deviations.get(name)
        told = f"{value:.5g}" + (f" ± {spread:.2g} (1 SD)" if spread is not None else "")
        unit = " MPa" if name.endswith("_mpa") else ""
        rows.append((name.removesuffix("_mpa"), told + unit, fit))
    rows += [
        ("initial shear modulus", f"{card.shear_modulus_mpa:.4g} MPa", "from the constants"),
        ("initial Young's modulus", f"{card.youngs_modulus_mpa:.4g} MPa", "three shear moduli"),
        (
            "bulk modulus",
            f"{card.bulk_modulus_mpa:.4g} MPa ({card.bulk_to_shear_ratio:g} shear moduli)",
            card.bulk_source,
        ),
        ("density", f"{card.density_g_per_cm3:g} g/cm³", card.density_source),
        ("checked to", f"{100 * card.use_strain:.0f} % nominal strain", "stability in four modes"),
    ]
    if law.has_conventions:
        rows.insert(1, ("convention of the constants", "mu/alpha", "shear modulus ½ Σ μα"))
    for mode, (low, high) in card.data_strain.items():
        span = f"{100 * low:.0f} to {100 * high:.0f} % nominal strain"
        rows.append((f"tested: {mode}", span, f"{card.specimens.get(mode, 0)} specimens"))
    if card.relative_error is not None:
        rows.append(
            (
                "error of the fit",
                f"{100 * card.relative_error:.1f} % (largest "
                f"{100 * (card.largest_relative_error or card.relative_error):.1f} %)",
                f"{card.weighting} stress, root mean square",
            )
        )
    return tuple(rows)


def _fits(job: Job) -> Table:
    """All laws that were fitted."""
    rows = []
    for fit in job.document("material", "fits.json")["fits"]:
        entry = law_entry(fit["law_name"])
        stable = "stable" if fit["stable"] else "not stable in the use range"
        rows.append((entry.title, f"{100 * fit['relative_error']:.1f} %", stable))
    return Table(("law", "error", "over the use range"), tuple(rows), "Laws that were tried")
