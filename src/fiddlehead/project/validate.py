"""Sections against their definitions: every wrong entry becomes one finding in plain words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeGuard, get_args, get_origin

from pydantic import BaseModel, ValidationError

from fiddlehead.project import slips
from fiddlehead.project.fields import Entry, entries
from fiddlehead.project.findings import Finding
from fiddlehead.project.locate import Path as KeyPath
from fiddlehead.project.locate import line_of
from fiddlehead.units import convert

_UNEVEN = {"greater_than", "greater_than_equal", "less_than", "less_than_equal"}


@dataclass(frozen=True)
class Source:
    """The text the entries come from: file name, and line per key path."""

    file: str
    lines: Mapping[KeyPath, int]

    def place(self, path: KeyPath) -> dict[str, Any]:
        """``file``, ``line`` and ``field`` of an entry, for a :class:`Finding`."""
        return {"file": self.file, "line": line_of(dict(self.lines), path), "field": dotted(path)}


def dotted(path: KeyPath) -> str:
    """``("material", "tests", 0, "mode")`` as ``"material.tests[1].mode"``: counted from 1."""
    text = ""
    for key in path:
        text += f"[{key + 1}]" if isinstance(key, int) else f".{key}" if text else key
    return text


def written(value: Any) -> str:
    """A value the way a project file writes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, list | tuple):
        return "[" + ", ".join(written(item) for item in value) + "]"
    if isinstance(value, dict) and value:
        return "{ " + ", ".join(f"{key} = {written(item)}" for key, item in value.items()) + " }"
    return str(value)


def validate(
    model: type[BaseModel], data: Any, path: KeyPath, source: Source
) -> tuple[BaseModel | None, list[Finding]]:
    """One section (``None`` if it is wrong) and its findings."""
    try:
        return model.model_validate(data), []
    except ValidationError as error:
        found: dict[KeyPath, Finding] = {}
        for part in error.errors():
            place = _path_in(data, part["loc"])
            found.setdefault(place, _explain(model, data, place, part, path, source))
        return None, list(found.values())


def questions(
    model: type[BaseModel], data: Any, path: KeyPath, source: Source
) -> Iterator[Finding]:
    """Entries that are allowed but unlikely, with the unit that may have been meant."""
    if not isinstance(data, Mapping):
        return
    for entry in entries(model):
        value = data.get(entry.name)
        inner = _inner_model(entry)
        if inner is not None:
            members = value if isinstance(value, list) else [value]
            for number, member in enumerate(members):
                step: KeyPath = (entry.name, number) if isinstance(value, list) else (entry.name,)
                yield from questions(inner, member, (*path, *step), source)
        elif entry.usual and _is_number(value):
            low, high = entry.usual
            if not _within(value, entry.limits):
                continue
            if not low <= value <= high:
                unit = f" {entry.unit}" if entry.unit else ""
                hint = slips.meant(value, entry.unit, entry.usual)
                yield Finding(
                    kind="question",
                    message="an unusual value; is the unit right?" if hint else "an unusual value",
                    found=f"{value:g}{unit}",
                    allowed=f"usual {low:g} to {high:g}{unit}",
                    remedy=hint or "Keep it if you mean it.",
                    standing=entry.usual_standing,
                    **source.place((*path, entry.name)),
                )


def _inner_model(entry: Entry) -> type[BaseModel] | None:
    """The section an entry holds, looked for inside ``X | None`` and ``tuple[X, ...]``."""
    waiting = [entry.info.annotation]
    while waiting:
        kind = waiting.pop()
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            return kind
        if get_origin(kind) is not dict:
            waiting += [part for part in get_args(kind) if part is not Ellipsis]
    return None


def _is_number(value: Any) -> TypeGuard[float]:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _within(value: float, limits: tuple[float | None, float | None]) -> bool:
    low, high = limits
    return (low is None or value >= low) and (high is None or value <= high)


def _path_in(data: Any, loc: tuple[str | int, ...]) -> KeyPath:
    """The part of pydantic's location that exists in the file (it adds names of types)."""
    path: KeyPath = ()
    for number, key in enumerate(loc):
        if isinstance(data, Mapping):
            if key not in data and number + 1 < len(loc):
                continue
            data = data.get(key)
        elif isinstance(data, list) and isinstance(key, int) and key < len(data):
            data = data[key]
        else:
            continue
        path = (*path, key)
    return path


def _model_at(model: type[BaseModel], path: KeyPath) -> tuple[type[BaseModel], Entry | None]:
    """The innermost section around ``path`` and the entry it ends in, if that is known."""
    entry: Entry | None = None
    for key in path:
        if isinstance(key, int):
            continue
        known = {item.name: item for item in entries(model)}
        if entry is not None:
            inner = _inner_model(entry)
            if inner is None:
                return model, entry
            model, known = inner, {item.name: item for item in entries(inner)}
        entry = known.get(key)
        if entry is None:
            return model, None
    return model, entry


def _explain(
    model: type[BaseModel],
    data: Any,
    place: KeyPath,
    part: Any,
    path: KeyPath,
    source: Source,
) -> Finding:
    kind, value = part["type"], part["input"]
    section, entry = _model_at(model, place)
    where = source.place((*path, *place))
    if kind == "extra_forbidden":
        message, remedy = "there is no such entry here", _known_instead(section, place, value)
        return Finding(
            kind="mistake", message=message, found=written(value), remedy=remedy, **where
        )
    if entry is None:
        message = "this must be a section with entries"
        remedy = f"Write [{dotted((*path, *place))}] and entries below it."
        return Finding(
            kind="mistake", message=message, found=written(value), remedy=remedy, **where
        )
    if kind == "missing":
        return Finding(
            kind="mistake",
            message=f"this entry is missing: {entry.says}",
            allowed=entry.allowed,
            remedy=f"Add {entry.name} = ...",
            **where,
        )
    message, remedy = _wrong_value(kind, value, entry)
    return Finding(
        kind="mistake",
        message=message,
        found=written(value),
        allowed=entry.allowed,
        remedy=remedy,
        standing=entry.usual_standing if kind in _UNEVEN and entry.usual else "",
        **where,
    )


def _known_instead(section: type[BaseModel], place: KeyPath, value: Any) -> str:
    name = str(place[-1])
    names = [entry.name for entry in entries(section)]
    candidate, unit = slips.other_unit_in_name(name, names)
    if candidate and _is_number(value):
        own = next(entry.unit for entry in entries(section) if entry.name == candidate)
        return f"Write {candidate} = {convert(float(value), unit, own):.6g}."
    near = slips.nearest(name, names)
    if near:
        return f"Did you mean {near}?"
    return f"Known here: {', '.join(names)}."


def _wrong_value(kind: str, value: Any, entry: Entry) -> tuple[str, str]:
    """Message and remedy for an entry that exists but holds the wrong thing."""
    if kind in _UNEVEN:
        hint = slips.meant(float(value), entry.unit, entry.usual) if entry.usual else ""
        usual = f"Usual values are {entry.usual[0]:g} to {entry.usual[1]:g}." if entry.usual else ""
        return "out of range", hint or usual or "Choose a value inside."
    if kind == "finite_number":
        return "not a finite number", "Write a number."
    if kind == "literal_error":
        near = slips.nearest(str(value), entry.choices)
        return "not one of the choices", f'Did you mean "{near}"?' if near else "Choose one."
    if kind in ("too_short", "string_too_short"):
        return "this must not be empty", entry.says
    if isinstance(value, str) and entry.kind.endswith("number"):
        try:
            float(value)
        except ValueError:
            return "text where a number is needed", "Write a number with a decimal point."
        return "a number in quotation marks", "Leave the quotation marks out."
    return f"this must be {entry.kind}", entry.says
