"""The commented example file and the handbook's table of entries, both read off the schema."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from pydantic import BaseModel

from fiddlehead.project.fields import Entry, entries
from fiddlehead.project.schema import REPEATED, tables
from fiddlehead.project.validate import written

HEAD = """\
# One file for the whole job. Entries left out take the default shown here; the words after
# "default" say where it comes from. Paths count from the folder of this file.
# What is wrong or unwise in it:  fiddlehead check
#
# CAUTION, COMPRESSED AIR. All pressures are gauge pressures. For a first inflation stand behind a
# screen, wear eye protection, and have a relief valve and a regulator you can shut off; never
# exceed the proof pressure. The energy stored in hoses and reservoirs is the greater danger.
# Predictions are no permission: follow the codes that apply where you work (ISO 4414 for
# pneumatic systems) and whoever answers for safety there.
"""

COMMENTED_OUT = {"pad", *REPEATED}
"""Sections the example shows as comments: their absence means something."""

WIDTH = 98


def example_text(name: str = "my gripper") -> str:
    """A complete project file with every entry, its explanation, range and standing."""
    parts = [HEAD]
    for table, model in tables():
        parts.append("\n".join(_section(table, model, name)) + "\n")
    return "\n".join(parts)


def _section(table: str, model: type[BaseModel], name: str) -> Iterator[str]:
    mute = "# " if table in COMMENTED_OUT else ""
    yield f"# {'-' * (WIDTH - 2)}"
    yield from _comment(_first_line(model))
    yield mute + _brackets(table)
    late: list[str] = []
    for entry in entries(model):
        if entry.kind == "a table":
            late += ["", *_comment(entry.says), f"# [{table}.{entry.name}]", entry.example]
        elif f"{table}.{entry.name}" not in dict(tables()):
            yield ""
            yield from _comment(explanation(entry))
            line = _assignment(entry, name if (table, entry.name) == _NAME else "")
            yield line if line.startswith("#") else mute + line
    yield from late


def _brackets(table: str) -> str:
    """The header of a table; some may come several times."""
    return f"[[{table}]]" if table in REPEATED else f"[{table}]"


_NAME = ("project", "name")


def _first_line(model: type[BaseModel]) -> str:
    return (model.__doc__ or "").strip().splitlines()[0]


def _comment(text: str) -> list[str]:
    return [f"# {line}" for line in wrap(text, WIDTH - 2)]


def _assignment(entry: Entry, name: str) -> str:
    value = written(name) if name else entry.example or written(entry.default)
    if value.startswith("# "):
        return f"# {entry.name} = {value[2:]}"
    return f"{entry.name} = {value}"


def explanation(entry: Entry) -> str:
    """One entry in words: what it is, what is allowed and usual, where the default is from."""
    text = f"{entry.says} [{entry.allowed}"
    if entry.usual:
        low, high = entry.usual
        text += f"; usual {low:g} to {high:g}"
        if entry.usual_standing != entry.standing:
            text += f" ({entry.usual_standing})"
    text += "]"
    if not entry.required and entry.default is not None:
        text += f" default: {entry.standing}"
    return text


def table_markdown() -> str:
    """All entries as tables for the handbook."""
    parts = []
    for table, model in tables():
        parts.append(
            f"### `{_brackets(table)}`\n\n{(model.__doc__ or '').strip().splitlines()[0]}\n"
        )
        rows = ["| entry | default | allowed | usual | what it is | standing |"]
        rows.append("|---|---|---|---|---|---|")
        for entry in entries(model):
            if f"{table}.{entry.name}" in dict(tables()):
                continue
            nothing = entry.required or entry.default is None
            default = "must be given" if entry.required else written(entry.default)
            usual = f"{entry.usual[0]:g} to {entry.usual[1]:g}" if entry.usual else ""
            cells = [
                f"`{entry.name}`",
                "none" if nothing and not entry.required else default,
                entry.allowed.replace("|", "or"),
                usual,
                entry.says,
                "" if nothing else entry.standing,
            ]
            rows.append("| " + " | ".join(cells) + " |")
        parts.append("\n".join(rows) + "\n")
    return "\n".join(parts)
