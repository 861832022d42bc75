"""What can be asked of the workbench: questions as plain values in, plain values or bytes out."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fiddlehead import __version__
from fiddlehead.errors import FiddleheadError, InputError
from fiddlehead.web.jobs import Jobs, Tool
from fiddlehead.web.verbs import words_of

if TYPE_CHECKING:
    from fiddlehead.project.edit import Change
    from fiddlehead.web.desk import Desk, View
    from fiddlehead.web.shelf import Shelf

Asked = dict[str, Any]


class Workbench:
    """One project folder with its jobs; its results stand on the ``shelf``.

    Parameters
    ----------
    beginnings : ways to begin a project where there is none, by name; each fills a folder
    """

    def __init__(
        self, folder: Path, tool: Tool, beginnings: dict[str, Callable[[Path], object]]
    ) -> None:
        self.folder = folder.resolve()
        self.tool = tool
        self.jobs = Jobs(self.folder / ".fiddlehead" / "jobs", tool)
        self.beginnings = beginnings

    @cached_property
    def desk(self) -> Desk:
        """The project file; loaded with what checks it, after the page has begun to load."""
        from fiddlehead.web.desk import Desk

        return Desk(self.folder)

    @cached_property
    def shelf(self) -> Shelf:
        """The results."""
        from fiddlehead.web.shelf import Shelf

        return Shelf(self.desk)

    def pump(self) -> None:
        """Start waiting jobs."""
        self.jobs.pump()

    def boot(self, asked: Asked) -> Asked:
        """What the page needs once: its forms, and which work there is."""
        from fiddlehead.web.forms import forms

        return {
            "version": __version__,
            "folder": self.folder.name,
            "verbs": sorted(self.tool.flags),
            "forms": forms(),
        }

    def state(self, asked: Asked) -> Asked:
        """What may change by itself: the file, the results, the jobs."""
        return {
            "exists": self.desk.exists,
            "file": _stamp(self.desk.path),
            "results": _stamp(self.desk.results)
            + "".join(_stamp(p) for p in sorted(self.desk.results.rglob("contents.json"))),
            "jobs": self.jobs.all(),
        }

    def project(self, asked: Asked) -> Asked:
        """The project file as it stands."""
        if not self.desk.exists:
            return {"exists": False}
        try:
            return self._told(self.desk.view())
        except FiddleheadError as error:
            return {"exists": True, "error": error.fields()}

    def begin(self, asked: Asked) -> Asked:
        """Write a first project file, or a copy of the example.

        Raises
        ------
        InputError : there is a project already, or no such way to begin
        """
        way = self.beginnings.get(str(asked.get("way")))
        if way is None or self.desk.exists:
            raise InputError("a project cannot be begun like this here")
        way(self.desk.folder)
        return self.project({})

    def try_changes(self, asked: Asked) -> Asked:
        """What the check says to changes that are not written, with section and sizes.

        Raises
        ------
        ProjectFileError : a change cannot be made
        """
        return _checked(self.desk.view(_changes(asked)))

    def shape(self, asked: Asked, **more: Any) -> bytes:
        """The same with the finger's surface at rest, when nothing is wrong, and with ``more``.

        Raises
        ------
        ProjectFileError : a change cannot be made
        """
        from fiddlehead.web.pack import packed
        from fiddlehead.web.shapes import solid_shape

        view = self.desk.view(_changes(asked))
        told = _checked(view) | more
        return solid_shape(view.finger(), told) if view.found.usable else packed(told, {})

    def design(self, asked: Asked) -> bytes:
        """The finger of a row of a study, with the changes that make it the project's.

        Raises
        ------
        InputError : no row
        """
        from fiddlehead.project.study import design_changes

        row = asked.get("row")
        if not isinstance(row, dict):
            raise InputError("a design of a study is a table of names and values")
        changes = [{"path": list(c.path), "value": c.value} for c in design_changes(row)]
        return self.shape({"changes": changes}, changes=changes)

    def change(self, asked: Asked) -> Asked:
        """Write changes.

        Raises
        ------
        ProjectFileError : the file was changed meanwhile, or would become wrong
        """
        return self._told(self.desk.write(_changes(asked), str(asked.get("etag"))))

    def undo(self, asked: Asked) -> Asked:
        """Go back one change.

        Raises
        ------
        InputError : there is none
        """
        return self._told(self.desk.undo())

    def redo(self, asked: Asked) -> Asked:
        """Take back an undo.

        Raises
        ------
        InputError : there is none
        """
        return self._told(self.desk.redo())

    def upload(self, drawer: str, name: str, data: bytes) -> Asked:
        """Take a file into the project.

        Raises
        ------
        InputError : not of a kind that is taken there
        """
        from fiddlehead.web.uploads import store

        return {"file": store(self.desk.folder, drawer, name, data)}

    def preview(self, asked: Asked) -> Asked:
        """The head of a table.

        Raises
        ------
        InputError : none can be seen
        """
        from fiddlehead.web.uploads import preview

        return preview(self.shelf.file(str(asked.get("file"))))

    def object_shape(self, asked: Asked) -> bytes:
        """An uploaded object.

        Raises
        ------
        InputError : no closed surface
        """
        from fiddlehead.web.uploads import object_shape

        return object_shape(self.shelf.file(str(asked.get("file"))))

    def start(self, asked: Asked) -> Asked:
        """Start work in the background.

        Raises
        ------
        InputError : no such work, a choice it does not have, or it is going on
        """
        verb, choices = str(asked.get("verb")), asked.get("choices") or {}
        if not isinstance(choices, dict):
            raise InputError("the choices are no JSON object")
        head, *rest = words_of(verb, choices, self.tool.flags, self.desk.inside)
        named = [head, *rest[: len(verb.split()) - 1]]
        return self.jobs.start(
            verb, [*named, str(self.desk.folder), *rest[len(named) - 1 :], "--json"]
        )

    def cancel(self, asked: Asked) -> Asked:
        """Ask a job to stop.

        Raises
        ------
        InputError : no such job
        """
        self.jobs.cancel(str(asked["id"]))
        return self.state({})

    def forget(self, asked: Asked) -> Asked:
        """Take a finished job off the list.

        Raises
        ------
        InputError : no such job, or it is still going on
        """
        self.jobs.forget(str(asked["id"]))
        return self.state({})

    def _told(self, view: View) -> Asked:
        undo, redo = self.desk.undoable
        return {
            "exists": True,
            "file": _stamp(self.desk.path),
            "etag": view.etag,
            "text": view.text,
            "entries": view.entries,
            "usable": view.found.usable,
            "undo": undo,
            "redo": redo,
            **_checked(view),
        }


def _checked(view: View) -> Asked:
    """What the check says, and the drawing with its sizes when nothing is wrong."""
    from fiddlehead.web.shapes import measures, section

    told: Asked = {"findings": [finding.fields() for finding in view.found.findings]}
    if view.found.usable:
        finger = view.finger()
        density = view.found.require().material.density_g_per_cm3
        told |= {"section": section(finger), "measures": measures(finger, density)}
    return told


def _changes(asked: Asked) -> list[Change]:
    from fiddlehead.web.changes import changes_of

    return changes_of(asked)


def _stamp(path: Path) -> str:
    """Changes whenever the file does."""
    try:
        about = path.stat()
    except OSError:
        return "-"
    return f"{about.st_mtime_ns}.{about.st_size};"
