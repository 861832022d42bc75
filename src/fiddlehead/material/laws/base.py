"""What a hyperelastic law is: an energy density and its constants, nothing else.

Stress, tangent, test curves and stability all follow from the energy by the lifts beside this
file, so a new law is one small class. Laws are frozen dataclasses registered as JAX pytrees:
their constants are leaves, so one compiled program serves every value (and a batch of values).

All energies are isochoric: they see the volume-preserving part of the deformation. The
volumetric part is ``K/2 (J - 1)^2`` for every law (K bulk modulus, J volume ratio).
"""

from __future__ import annotations

import dataclasses
from abc import abstractmethod
from collections.abc import Mapping
from typing import Any, ClassVar, TypeVar, dataclass_transform

import jax

LAWS: dict[str, type[Energy]] = {}

E = TypeVar("E", bound="Energy")


class Energy:
    """Base of every law: constants in MPa (or unitless, by their names), energy in MPa = mJ/mm³."""

    name: ClassVar[str]
    """Registry key and name in files, e.g. ``"yeoh"``."""
    source: ClassVar[str]
    """Publication the energy is taken from."""

    @property
    @abstractmethod
    def shear_modulus_mpa(self) -> Any:
        """Initial (small-strain) shear modulus, MPa."""


class InvariantEnergy(Energy):
    """A law in the isochoric invariants ``I1 = tr C̄`` and ``I2 = (I1² - tr C̄²)/2``."""

    @abstractmethod
    def density(self, i1: Any, i2: Any) -> Any:
        """Energy density, MPa, elementwise over arrays of invariants (both 3 at rest)."""


class StretchEnergy(Energy):
    """A law separable in the isochoric principal stretches, ``W = Σ w(λ̄ᵢ)`` (Valanis-Landel)."""

    @abstractmethod
    def density_of_stretch(self, stretch: Any) -> Any:
        """Contribution ``w(λ̄)`` of one principal stretch, MPa, elementwise (0 at rest)."""


@dataclass_transform(frozen_default=True)
def law(cls: type[E]) -> type[E]:
    """Class decorator: freeze, register as a JAX pytree and list under its name in ``LAWS``."""
    frozen: Any = dataclasses.dataclass(frozen=True)(cls)
    _register(frozen, [f.name for f in dataclasses.fields(frozen)])
    LAWS[cls.name] = frozen
    return frozen


def _register(cls: Any, names: list[str]) -> None:
    """Tell JAX how to take a law apart, its name among what makes two structures differ.

    ``jax.tree_util.register_dataclass`` will not do: in JAX 0.10.2 the structures it makes compare
    equal for different classes with as many fields, and a compiled program of one law is then now
    and then served for another.
    """

    def flatten(law: Any) -> tuple[list[tuple[Any, Any]], str]:
        keys = [(jax.tree_util.GetAttrKey(name), getattr(law, name)) for name in names]
        return keys, cls.name

    def unflatten(_: str, leaves: Any) -> Any:
        law = object.__new__(cls)  # leaves may be placeholders: no checks, no conversion
        for name, leaf in zip(names, leaves, strict=True):
            object.__setattr__(law, name, leaf)
        return law

    jax.tree_util.register_pytree_with_keys(cls, flatten, unflatten)


def law_from_constants(name: str, constants: Mapping[str, float]) -> Energy:
    """The law of this name with these constants, given by field name."""
    cls: Any = LAWS[name]
    return cls(**{key: float(value) for key, value in constants.items()})
