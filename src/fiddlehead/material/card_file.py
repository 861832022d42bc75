"""Material cards as TOML files: written whole, read with every mistake named."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomlkit

from fiddlehead.errors import ParameterError
from fiddlehead.files import write_text
from fiddlehead.material.card import MaterialCard
from fiddlehead.material.catalogue import law_entry
from fiddlehead.material.records import MODES
from fiddlehead.material.typed import checked_constants, in_our_convention

ORIGINS = ("tests", "constants", "hardness")


def write_card(path: Path, card: MaterialCard) -> Path:
    """Write a card as TOML; the same card always gives the same bytes.

    Raises
    ------
    StoreError : the place cannot be written
    """
    return write_text(path, card_text(card))


def card_text(card: MaterialCard) -> str:
    """The card as commented TOML."""
    entry = law_entry(card.law_name)
    document = tomlkit.document()
    document.add(tomlkit.comment("Material card. Stress in MPa, strain as fraction, nominal."))
    document.add(tomlkit.comment(f"Energy: {entry.title}, {entry.source}."))
    document["name"] = card.name
    document["law"] = card.law_name
    if entry.has_conventions:
        document["ogden_convention"] = "mu/alpha"
    document["origin"] = card.origin
    document["date"] = card.date
    document["reason"] = card.reason
    document["warnings"] = _lines(card.warnings)
    document["constants"] = dict(card.constants)
    if card.deviations:
        document["standard_deviations"] = dict(card.deviations)
    elastic = tomlkit.table()
    elastic["shear_modulus_mpa"] = card.shear_modulus_mpa
    elastic["bulk_to_shear_ratio"] = card.bulk_to_shear_ratio
    elastic["bulk_source"] = card.bulk_source
    elastic.add(tomlkit.comment(f"bulk modulus {card.bulk_modulus_mpa:.4g} MPa"))
    document["elastic"] = elastic
    document["density"] = {
        "density_g_per_cm3": card.density_g_per_cm3,
        "density_source": card.density_source,
    }
    document["range"] = _range(card)
    if card.relative_error is not None:
        document["fit"] = {
            "weighting": card.weighting,
            "relative_error": card.relative_error,
            "largest_relative_error": card.largest_relative_error or card.relative_error,
        }
    if card.files:
        provenance = tomlkit.table()
        provenance["cycle"] = card.cycle or ""
        provenance["specimens"] = dict(card.specimens)
        document["provenance"] = provenance
        files = tomlkit.aot()
        for name, digest in card.files:
            files.append(tomlkit.item({"file": name, "sha256": digest}))
        document["files"] = files
    return tomlkit.dumps(document)


def _lines(texts: tuple[str, ...]) -> tomlkit.items.Array:
    array = tomlkit.array()
    array.extend(texts)
    return array.multiline(len(texts) > 0)


def _range(card: MaterialCard) -> dict[str, Any]:
    table = tomlkit.table()
    table["use_strain"] = card.use_strain
    table["data_strain"] = {mode: list(span) for mode, span in card.data_strain.items()}
    limits = tomlkit.table()
    limits.add(tomlkit.comment("stretch at which a mode becomes unstable; none named = none found"))
    for mode, limit in card.stability_limits.items():
        limits[mode] = limit
    table["unstable_at_stretch"] = limits
    return table


def read_card(path: Path) -> MaterialCard:
    """Read a card; JAX is not loaded.

    Raises
    ------
    ParameterError : not readable, not TOML, an entry missing, unknown or of the wrong kind
    """
    table = _toml(path)
    reader = _Entries(path.name, table)
    law_name = reader.text("law")
    law_entry(law_name, where=f"{path.name}: law")
    constants = in_our_convention(
        law_name,
        checked_constants(law_name, reader.table("constants"), where=f"{path.name}: constants"),
        reader.text("ogden_convention", ""),
        where=f"{path.name}: ogden_convention",
    )
    elastic = _Entries(path.name, reader.table("elastic"), "elastic.")
    density = _Entries(path.name, reader.table("density"), "density.")
    span = _Entries(path.name, reader.table("range"), "range.")
    fit = _Entries(path.name, reader.table("fit", {}), "fit.")
    provenance = _Entries(path.name, reader.table("provenance", {}), "provenance.")
    return MaterialCard(
        name=reader.text("name"),
        law_name=law_name,
        constants=constants,
        deviations=reader.numbers("standard_deviations"),
        shear_modulus_mpa=elastic.number("shear_modulus_mpa", above=0.0),
        origin=reader.choice("origin", ORIGINS),
        date=reader.text("date"),
        bulk_to_shear_ratio=elastic.number("bulk_to_shear_ratio", above=2.0 / 3.0),
        bulk_source=elastic.text("bulk_source", ""),
        density_g_per_cm3=density.number("density_g_per_cm3", above=0.0),
        density_source=density.text("density_source", ""),
        use_strain=span.number("use_strain", above=-1e-12),
        data_strain=span.spans("data_strain"),
        stability_limits=span.numbers("unstable_at_stretch", by_mode=True),
        weighting=fit.text("weighting", ""),
        relative_error=fit.maybe_number("relative_error"),
        largest_relative_error=fit.maybe_number("largest_relative_error"),
        cycle=provenance.choice("cycle", ("first pull", "conditioned"), None),
        specimens={
            mode: int(n) for mode, n in provenance.numbers("specimens", by_mode=True).items()
        },
        files=reader.files("files"),
        reason=reader.text("reason", ""),
        warnings=tuple(reader.texts("warnings")),
    )


def _toml(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise ParameterError(
            f"cannot read this card: {error.strerror or error}", where=str(path)
        ) from error
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise ParameterError(
            "this card is not TOML",
            where=str(path),
            found=str(error),
            remedy="Make the card again with the fit command.",
        ) from error


class _Entries:
    """Entries of one table, each asked for by name and kind."""

    def __init__(self, file: str, table: Mapping[str, Any], prefix: str = "") -> None:
        self._file, self._table, self._prefix = file, table, prefix

    def _wrong(self, key: str, allowed: str) -> ParameterError:
        value = self._table.get(key)
        return ParameterError(
            "this entry is missing" if value is None else "this entry is of the wrong kind",
            where=f"{self._file}: {self._prefix}{key}",
            found="nothing" if value is None else repr(value),
            allowed=allowed,
            remedy="Mend the card, or make it again with the fit command.",
        )

    def text(self, key: str, default: str | None = None) -> str:
        value = self._table.get(key, default)
        if not isinstance(value, str):
            raise self._wrong(key, "text")
        return value

    def choice(self, key: str, allowed: tuple[str, ...], default: Any = ...) -> Any:
        if key not in self._table and default is not ...:
            return default
        if self._table.get(key) not in allowed:
            raise self._wrong(key, " or ".join(allowed))
        return self._table[key]

    def number(self, key: str, *, above: float) -> float:
        value = self.maybe_number(key)
        if value is None or not value > above:
            raise self._wrong(key, f"a number above {above:.3g}")
        return value

    def maybe_number(self, key: str) -> float | None:
        value = self._table.get(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or math.isnan(value):
            raise self._wrong(key, "a number")
        return float(value)

    def table(self, key: str, default: Mapping[str, Any] | None = None) -> Mapping[str, Any]:
        value = self._table.get(key, default)
        if not isinstance(value, dict):
            raise self._wrong(key, "a table")
        return value

    def numbers(self, key: str, *, by_mode: bool = False) -> dict[Any, float]:
        inner = _Entries(self._file, self.table(key, {}), f"{self._prefix}{key}.")
        inner._check_modes(by_mode)
        return {name: inner.number(name, above=-math.inf) for name in inner._table}

    def spans(self, key: str) -> dict[Any, tuple[float, float]]:
        inner = _Entries(self._file, self.table(key, {}), f"{self._prefix}{key}.")
        inner._check_modes(True)
        spans = {}
        for mode, value in inner._table.items():
            if not (isinstance(value, list) and len(value) == 2):
                raise inner._wrong(mode, "two strains: from, to")
            pair = _Entries(self._file, {"from": value[0], "to": value[1]}, f"{key}.{mode}.")
            low = pair.number("from", above=-1.0)
            spans[mode] = (low, pair.number("to", above=-1.0))
        return spans

    def _check_modes(self, wanted: bool) -> None:
        for name in self._table if wanted else ():
            if name not in MODES:
                raise self._wrong(name, "a test mode: " + ", ".join(MODES))

    def texts(self, key: str) -> list[str]:
        value = self._table.get(key, [])
        if not (isinstance(value, list) and all(isinstance(text, str) for text in value)):
            raise self._wrong(key, "a list of texts")
        return value

    def files(self, key: str) -> tuple[tuple[str, str], ...]:
        value = self._table.get(key, [])
        if not (isinstance(value, list) and all(isinstance(row, dict) for row in value)):
            raise self._wrong(key, "file and sha256 of each test file")
        rows = [_Entries(self._file, row, f"{key}.") for row in value]
        return tuple((row.text("file"), row.text("sha256")) for row in rows)
