"""The project's entries as the page needs them to draw forms, read off the schema."""

from __future__ import annotations

from typing import Any, get_args, get_origin

from pydantic import BaseModel

from fiddlehead.project.fields import Entry, entries
from fiddlehead.project.schema import REPEATED, tables
from fiddlehead.units import name_without_unit, written_unit


def forms() -> dict[str, Any]:
    """Every table of the project file by its dotted name: what it is, and its entries."""
    known = {name for name, _ in tables()}
    return {
        name: {
            "says": (model.__doc__ or "").strip().splitlines()[0],
            "repeated": name in REPEATED,
            "entries": [_field(e) for e in entries(model) if f"{name}.{e.name}" not in known],
        }
        for name, model in tables()
    }


def _field(entry: Entry) -> dict[str, Any]:
    low, high = entry.limits
    nothing = entry.required or entry.default is None
    default = None if nothing else entry.default
    return {
        "name": entry.name,
        "label": label(entry),
        "unit": written_unit(entry.unit) if entry.unit else "",
        "kind": entry.kind,
        "choices": list(entry.choices),
        "says": entry.says,
        "allowed": entry.allowed,
        "low": low,
        "high": high,
        "usual": list(entry.usual) if entry.usual else None,
        "usual_standing": entry.usual_standing,
        "required": entry.required,
        "open": get_origin(_bare(entry)) is dict,
        "example": entry.example,
        "default": _plain(default),
        "standing": "" if nothing else entry.standing,
    }


def label(entry: Entry) -> str:
    """The name of an entry in words: ``wall_thickness_mm`` is ``Wall thickness``."""
    words = name_without_unit(entry.name)
    words = words.replace("shore a", "Shore A")
    return words[:1].upper() + words[1:]


def _bare(entry: Entry) -> Any:
    """The type of an entry without its alternatives."""
    kind = entry.info.annotation
    return next((part for part in get_args(kind) if get_origin(part) is dict), kind)


def _plain(value: Any) -> Any:
    if isinstance(value, BaseModel):
        return value.model_dump(mode="json")
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return value
