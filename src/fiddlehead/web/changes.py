"""Changes of the project file as the page sends them."""

from __future__ import annotations

from typing import Any

from fiddlehead.errors import InputError
from fiddlehead.project.edit import Change


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
        return Change(tuple(path), one.get("value"))
    raise InputError("a change names an entry by its path")


def _is_key(key: Any) -> bool:
    return isinstance(key, str | int) and not isinstance(key, bool) and key != ""
