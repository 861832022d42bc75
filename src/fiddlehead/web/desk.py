"""The project on the desk: its text, what the check says, changes and their undoing.

The file is the only truth. It is read whenever it is asked for; a change made in an editor appears
like one made on the page, and can be undone like one.
"""

from __future__ import annotations

import hashlib
import threading
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from fiddlehead.errors import FiddleheadError, InputError, ProjectFileError
from fiddlehead.files import write_text
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.project.check import Examination, examine_text
from fiddlehead.project.edit import Change, changed
from fiddlehead.project.load import assemble
from fiddlehead.project.material import material_hash
from fiddlehead.project.read import FILE_NAME, read_project_text

KEPT = 200
"""Steps of undo that are kept; they live as long as the server."""


@dataclass(frozen=True)
class View:
    """A project file as it stands, or as it would stand after some changes."""

    text: str
    found: Examination

    @property
    def etag(self) -> str:
        """Fingerprint of the text."""
        return hashlib.sha256(self.text.encode()).hexdigest()[:16]

    @property
    def entries(self) -> dict[str, Any]:
        """What stands in the file, as plain data."""
        return tomllib.loads(self.text)

    def hashes(self) -> dict[str, str]:
        """What results are held against to see whether they still hold; empty with mistakes."""
        if not self.found.usable:
            return {}
        try:
            project = assemble(self.found)
        except FiddleheadError:
            return {}
        return {"project": project.input_hash, "material": material_hash(project)}

    def finger(self) -> FingerParameters:
        """The finger that is described.

        Raises
        ------
        ProjectFileError : the file holds mistakes
        """
        return assemble(self.found).finger


class Desk:
    """One project folder.

    Parameters
    ----------
    folder : holds, or will hold, the project file; nothing outside it is read or written
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()
        self.path = self.folder / FILE_NAME
        self._lock = threading.RLock()
        self._last: str | None = None
        self._before: list[str] = []
        self._after: list[str] = []

    @property
    def results(self) -> Path:
        """Where results go."""
        return self.folder / "results"

    @property
    def exists(self) -> bool:
        """Whether there is a project file."""
        return self.path.is_file()

    def text(self) -> str:
        """The file as it stands now.

        Raises
        ------
        ProjectFileError : it is gone or unreadable
        """
        with self._lock:
            text = read_project_text(self.path)
            if self._last is not None and text != self._last:  # changed outside
                self._remember(self._last)
            self._last = text
            return text

    def view(self, changes: Sequence[Change] = ()) -> View:
        """The project, with some changes that are not written.

        Raises
        ------
        ProjectFileError : it is no TOML, or a change cannot be made
        """
        self._stay_inside(changes)
        text = changed(self.text(), changes)
        return View(text, examine_text(text, self.path))

    def write(self, changes: Sequence[Change], etag: str) -> View:
        """Write changes, unless the file was changed meanwhile or they make it wrong.

        Mistakes that stood there before do not hinder; a new one does.

        Raises
        ------
        ProjectFileError : the file is another one now; a change brings a mistake
        """
        with self._lock:
            before = self.view()
            if before.etag != etag:
                raise ProjectFileError(
                    "the file was changed meanwhile",
                    where=FILE_NAME,
                    remedy="The page shows it as it is now; make the change again.",
                )
            after = self.view(changes)
            known = {(f.field, f.message, f.found) for f in before.found.of_kind("mistake")}
            fresh = [
                f
                for f in after.found.of_kind("mistake")
                if (f.field, f.message, f.found) not in known
            ]
            if fresh:
                raise fresh[0].as_error()
            self._put(after.text)
            return after

    def undo(self) -> View:
        """Go back one change.

        Raises
        ------
        InputError : there is none
        """
        return self._step(self._before, self._after, "undo")

    def redo(self) -> View:
        """Take back an undo.

        Raises
        ------
        InputError : there is none
        """
        return self._step(self._after, self._before, "redo")

    @property
    def undoable(self) -> tuple[bool, bool]:
        """Whether there is something to undo, and to redo."""
        return bool(self._before), bool(self._after)

    def inside(self, name: str) -> Path:
        """A path in the project folder.

        Raises
        ------
        InputError : it leads elsewhere
        """
        path = (self.folder / name).resolve() if _relative(name) else None
        if path is None or not path.is_relative_to(self.folder):
            raise InputError(
                "this path leads out of the project",
                found=name[:200],
                allowed="files in the project's folder",
            )
        return path

    def _put(self, text: str) -> None:
        if self._last is not None and text != self._last:
            self._remember(self._last)
        write_text(self.path, text)
        self._last = text

    def _remember(self, text: str) -> None:
        self._before.append(text)
        del self._before[:-KEPT]
        self._after.clear()

    def _step(self, source: list[str], target: list[str], word: str) -> View:
        with self._lock:
            now = self.text()
            if not source:
                raise InputError(f"there is nothing to {word}")
            text = source.pop()
            target.append(now)
            write_text(self.path, text)
            self._last = text
            return self.view()

    def _stay_inside(self, changes: Sequence[Change]) -> None:
        """No entry written from the page names a file outside the project."""
        for change in changes:
            for name, value in _texts(change.path, change.value):
                if name in FILE_ENTRIES:
                    self.inside(value.replace("*", "x").replace("?", "x"))


FILE_ENTRIES = {
    "files",
    "file",
    "log",
    "table",
    "corrections",
    "lens_photos",
    "pressure_calibration",
    "force_calibration",
    "stl",
    "library",
    "path",
}
"""Entries of the project file that name files."""


def _texts(path: tuple[Any, ...], value: Any) -> list[tuple[str, str]]:
    """Every text in a value with the name of its entry."""
    name = next((str(key) for key in reversed(path) if isinstance(key, str)), "")
    if isinstance(value, str):
        return [(name, value)] if value else []
    if isinstance(value, dict):
        return [pair for key, item in value.items() for pair in _texts((*path, key), item)]
    if isinstance(value, list | tuple):
        return [pair for item in value for pair in _texts(path, item)]
    return []


def _relative(name: str) -> bool:
    windows = PureWindowsPath(name)
    absolute = PurePosixPath(name).is_absolute() or windows.is_absolute() or windows.drive
    return bool(name) and "\0" not in name and not absolute and not windows.root
