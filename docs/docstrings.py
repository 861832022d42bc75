"""Sets the ``name : meaning`` lines of our docstrings as a list, for the site's reference."""

from __future__ import annotations

import re
from typing import Any

from griffe import Extension

SECTION = re.compile(r"^\w[\w ]*\n-{3,}$", re.MULTILINE)
ENTRY = re.compile(r"^([A-Za-z_][\w.]*(?:, [A-Za-z_][\w.]*)*) : ", re.MULTILINE)


class ListedFields(Extension):
    """Rewrites what stands before the first numpy section of each docstring."""

    def on_object(self, *, obj: Any, **_: Any) -> None:
        """Called for every module, class, function and attribute."""
        if obj.docstring:
            obj.docstring.value = listed(obj.docstring.value)


def listed(text: str) -> str:
    """``name : meaning`` lines as Markdown list items; other text unchanged."""
    section = SECTION.search(text)
    head, rest = (text[: section.start()], text[section.start() :]) if section else (text, "")
    first = ENTRY.search(head)
    if first is None:
        return text
    before, entries = head[: first.start()], head[first.start() :]
    items = ENTRY.sub(r"- `\1`: ", entries)
    return f"{before.rstrip()}\n\n{items}{rest}"
