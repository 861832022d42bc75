"""How one entry of the project file is defined: value, range, standing, unit and explanation.

An entry is written once, in ``schema``; the commented example, the check, the table in the
handbook and the error texts are all read from it.
"""

from __future__ import annotations

import types
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt, MinLen
from pydantic import BaseModel, ConfigDict, Field
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from fiddlehead.units import unit_of_field, written_unit

COMMON = "common practice, no source"
MEMORY = "value from memory"
DEMO = "invented for the demo"
OURS = "our choice"


def published(source: str) -> str:
    """The standing of a number that can be looked up."""
    return f"published: {source}"


def entry(
    default: Any = ...,
    *,
    says: str,
    standing: str = OURS,
    usual: tuple[float, float] | None = None,
    usual_standing: str = COMMON,
    example: str = "",
    words: str = "",
    **limits: Any,
) -> Any:
    """Define one entry.

    Parameters
    ----------
    default : value used when the entry is left out; ``...`` for an entry that must be written
    says : one line, in plain words
    standing : where the default comes from (:data:`COMMON`, :data:`MEMORY`, :data:`DEMO`,
        :data:`OURS` or :func:`published`)
    usual : range in which nobody is surprised; outside it the check asks, but accepts
    usual_standing : where the usual range comes from
    example : what the example file shows for an entry that has no default, as it is written there;
        starting with ``#`` the whole line is commented out
    words : the allowed values in words, where limits do not say it
    limits : ``ge``, ``gt``, ``le``, ``lt``, ``min_length`` as pydantic knows them
    """
    extra: dict[str, Any] = {
        "standing": standing,
        "usual": usual,
        "usual_standing": usual_standing,
        "example": example,
        "words": words,
    }
    return Field(default, description=says, json_schema_extra=extra, **limits)


class Section(BaseModel):
    """Base of all sections: frozen, unknown names refused, no silent conversions, no NaN."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


@dataclass(frozen=True)
class Entry:
    """One entry as read back from the schema."""

    name: str
    info: FieldInfo

    @property
    def says(self) -> str:
        """The one-line explanation."""
        return self.info.description or ""

    @property
    def unit(self) -> str:
        """The unit its name carries, ``""`` for a pure number or text."""
        return unit_of_field(self.name)

    @property
    def required(self) -> bool:
        """Whether the file must write it."""
        return self.info.default is PydanticUndefined and self.info.default_factory is None

    @property
    def default(self) -> Any:
        """The value used when the file leaves it out."""
        return self.info.get_default(call_default_factory=True)

    @property
    def standing(self) -> str:
        """Where the default comes from."""
        return str(self._extra("standing"))

    @property
    def usual(self) -> tuple[float, float] | None:
        """The range that surprises nobody."""
        usual = self._extra("usual")
        return usual if isinstance(usual, tuple) else None

    @property
    def usual_standing(self) -> str:
        """Where the usual range comes from."""
        return str(self._extra("usual_standing"))

    @property
    def example(self) -> str:
        """What the example file shows when there is no default to show, as written there."""
        return str(self._extra("example"))

    def _extra(self, key: str) -> Any:
        extra = self.info.json_schema_extra
        return extra.get(key, "") if isinstance(extra, dict) else ""

    @property
    def choices(self) -> tuple[str, ...]:
        """The allowed words, empty when the entry is not a choice."""
        return tuple(_literals(self.info.annotation))

    @property
    def kind(self) -> str:
        """What may stand there: a number, a whole number, text, true or false, a list."""
        plain = _without_none(self.info.annotation)
        if get_origin(plain) in (tuple, list):
            return "a list"
        if get_origin(plain) is dict:
            return "a table"
        kinds = {float: "a number", int: "a whole number", bool: "true or false", str: "text"}
        return kinds.get(plain, "a table" if isinstance(plain, type) else "text")

    @property
    def limits(self) -> tuple[float | None, float | None]:
        """Lower and upper limit (``None`` where open)."""
        low = high = None
        for rule in self.info.metadata:
            if isinstance(rule, Ge | Gt):
                low = rule.ge if isinstance(rule, Ge) else rule.gt
            if isinstance(rule, Le | Lt):
                high = rule.le if isinstance(rule, Le) else rule.lt
        return low, high  # type: ignore[return-value]

    @property
    def allowed(self) -> str:
        """The allowed values in words, with the unit: ``"above 0 to 10 mm"``."""
        if self._extra("words"):
            return str(self._extra("words"))
        if self.choices:
            return " | ".join(f'"{word}"' for word in self.choices)
        lower = upper = ""
        for rule in self.info.metadata:
            if isinstance(rule, Gt):
                lower = f"above {rule.gt:g}"
            elif isinstance(rule, Ge):
                lower = f"{rule.ge:g}"
            elif isinstance(rule, Lt):
                upper = f"below {rule.lt:g}"
            elif isinstance(rule, Le):
                upper = f"{rule.le:g}"
            elif isinstance(rule, MinLen):
                lower = "not empty"
        unit = f" {written_unit(self.unit)}" if self.unit and self.limits != (None, None) else ""
        if lower and upper:
            return f"{lower} to {upper}{unit}"
        if upper:
            return f"up to {upper}{unit}"
        if lower and lower[0].isdigit():
            return f"{lower}{unit} or more"
        return f"{lower}{unit}" if lower else self.kind


def entries(section: type[BaseModel]) -> Iterator[Entry]:
    """All entries of a section, in the order of the example file."""
    for name, info in section.model_fields.items():
        yield Entry(name, info)


def _without_none(annotation: Any) -> Any:
    if get_origin(annotation) in (Union, types.UnionType):
        kept = [part for part in get_args(annotation) if part is not type(None)]
        return kept[0] if kept else annotation
    return annotation


def _literals(annotation: Any) -> Iterator[str]:
    if get_origin(annotation) is Literal:
        yield from (str(word) for word in get_args(annotation))
    elif get_origin(annotation) in (Union, types.UnionType):
        for part in get_args(annotation):
            yield from _literals(part)
