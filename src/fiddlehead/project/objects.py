"""From ``[tests.press]`` to the objects it names."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from fiddlehead.errors import FiddleheadError
from fiddlehead.objects.library import DEMO_LIBRARY, find_object
from fiddlehead.objects.records import ObjectRecord
from fiddlehead.project.findings import Finding, from_error
from fiddlehead.project.run_sections import PressSection
from fiddlehead.project.validate import Source


def library_path(section: PressSection, folder: Path) -> Path:
    """Where the objects are read from; paths count from the project's folder."""
    return DEMO_LIBRARY if section.library is None else folder / section.library


def pressed_objects(section: PressSection, folder: Path) -> tuple[ObjectRecord, ...]:
    """The objects a project wants pressed, in its order.

    Raises
    ------
    FiddleheadError : no such library, or no such object in it
    """
    path = library_path(section, folder)
    return tuple(find_object(name, path) for name in section.objects)


def press_mistakes(section: PressSection, folder: Path, source: Source) -> Iterator[Finding]:
    """Objects that are not in the library, or a library that cannot be read."""
    if section == PressSection():
        return
    try:
        pressed_objects(section, folder)
    except FiddleheadError as error:
        entry = "library" if section.library is not None else "objects"
        yield from_error(error, **source.place(("tests", "press", entry)))
