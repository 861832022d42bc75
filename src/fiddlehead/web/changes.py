"""Changes of the project file as the page sends them."""

from __future__ import annotations

from typing import Any

from fiddlehead.errors import InputError
from fiddlehead.project.edit import Change
from fiddlehead.project.fields import entries
from fiddlehead.project.locate import Path
from fiddlehead.project.schema import tables
from fiddlehead.project.validate import dotted


def changes_of(asked: dict[str, Any]) -> list[Change]:
    """The changes of a request: ``{"changes": [{"path": ["finger", "pitch_mm"], "value": 12.0}]}``.

    Raises
    ------
    InputError : not as the page sends them
    """
    listed = asked.get("changes", [])
    return [_change(one) for one in (listed if isinstance(listed, list) else [None])]


def _change(one: Any) -> Change:
    path = one.get("path") if isinstance(one, dict) else None
    if isinstance(path, list) and path and isinstance(path[0], str) and all(map(_is_key, path)):
        return Change(tuple(path), _typed(tuple(path), one.get("value")))
    raise InputError("a change names an entry by its path")


def _typed(path: Path, value: Any) -> Any:
    """A whole number where the entry takes any: the page's language knows one kind of number."""
    if not isinstance(value, int) or isinstance(value, bool):
        return value
    table = dotted(tuple(key for key in path[:-1] if isinstance(key, str)))
    model = dict(tables()).get(table)
    kinds = {entry.name: entry.kind for entry in entries(model)} if model else {}
    return float(value) if kinds.get(str(path[-1])) == "a number" else value


def _is_key(key: Any) -> bool:
    return isinstance(key, str | int) and not isinstance(key, bool) and key != ""
