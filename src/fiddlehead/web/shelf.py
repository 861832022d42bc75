"""The results of a project as they can be asked for: lists, sentences, scenes, tables, archives."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fiddlehead.errors import FiddleheadError, InputError, StoreError
from fiddlehead.web.desk import Desk

Asked = dict[str, Any]


class Shelf:
    """What lies in the results folder of a project."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    def results(self, asked: Asked) -> Asked:
        """All results that lie in the project, and the material card."""
        from fiddlehead.web.results import law_of_card, overview

        try:
            hashes = self.desk.view().hashes()
        except FiddleheadError:
            hashes = {}
        folder = self.desk.results
        return {"results": overview(folder, hashes), "card": law_of_card(folder)}

    def summary(self, asked: Asked) -> Asked:
        """A result in sentences.

        Raises
        ------
        StoreError : it cannot be read
        """
        from fiddlehead.web.results import summary

        return summary(self.desk.results, self._place(asked), self.desk.view().found)

    def scene(self, asked: Asked) -> bytes:
        """A result in space.

        Raises
        ------
        StoreError : there is none
        """
        from fiddlehead.web.scenes import scene

        return scene(self._place(asked))

    def table(self, asked: Asked) -> Asked:
        """A CSV of a result as columns.

        Raises
        ------
        StoreError : it cannot be read
        """
        from fiddlehead.web.results import table

        return table(self.file(str(asked.get("file"))))

    def keep(self, asked: Asked) -> Asked:
        """Put a copy of a result aside under a name.

        Raises
        ------
        InputError : an unusable name
        """
        from fiddlehead.web.results import keep

        self._place(asked)
        keep(self.desk.results, str(asked["place"]), str(asked.get("name", "")).strip())
        return self.results({})

    def file(self, name: str) -> Path:
        """A file of the project that may be shown.

        Raises
        ------
        InputError : outside the project, hidden, or not there
        """
        path = self.desk.inside(name)
        parts = path.relative_to(self.desk.folder).parts
        if not path.is_file() or any(part.startswith(".") for part in parts):
            raise InputError("there is no such file in this project", found=name[:200])
        return path

    def archive(self, place: str) -> tuple[str, bytes]:
        """A results folder, or all of them, as a ZIP with its name.

        Raises
        ------
        StoreError : there is none
        """
        from fiddlehead.web.results import zipped

        folder = self.desk.results if not place else self._place({"place": place})
        return f"{self.desk.folder.name}-{folder.name}.zip", zipped(folder)

    def _place(self, asked: Asked) -> Path:
        """The folder of a result."""
        place = str(asked.get("place", ""))
        folder = self.desk.inside(f"results/{place}")
        if not place or not folder.is_dir() or not folder.is_relative_to(self.desk.results):
            raise StoreError("there is no such result", where=place[:200])
        return folder
