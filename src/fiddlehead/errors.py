"""The error tree: every mistake says where, what was found, what is allowed and how to mend it.

    FiddleheadError
    ├── InputError            something the user wrote or chose
    │   ├── ProjectFileError  fiddlehead.toml
    │   ├── CurveError        test data files
    │   └── ParameterError    a value out of range, or values that contradict each other
    ├── MeshError             a mesh that cannot be solved on
    ├── StoreError            results that cannot be written or read
    └── MissingExtra          an optional package is not installed

Faces (command line, page, JSON) format the fields; nobody parses the text.
"""

from __future__ import annotations


class FiddleheadError(Exception):
    """Base of all errors fiddlehead raises on purpose.

    Parameters
    ----------
    message : what is wrong, in plain words
    where : file, section or field (``"fiddlehead.toml line 12, finger.pitch_mm"``)
    found : the offending value as the user wrote it
    allowed : the range or the choices
    remedy : what to do about it
    """

    def __init__(
        self, message: str, *, where: str = "", found: str = "", allowed: str = "", remedy: str = ""
    ) -> None:
        self.message = message
        self.where = where
        self.found = found
        self.allowed = allowed
        self.remedy = remedy
        super().__init__(str(self))

    def __str__(self) -> str:
        text = f"{self.where}: {self.message}" if self.where else self.message
        if self.found:
            text += f" (found {self.found}"
            text += f"; allowed {self.allowed})" if self.allowed else ")"
        elif self.allowed:
            text += f" (allowed {self.allowed})"
        if self.remedy:
            text += f" {self.remedy}"
        return text

    def fields(self) -> dict[str, str]:
        """The parts of the message, for JSON and pages."""
        return {
            "error": type(self).__name__,
            "message": self.message,
            "where": self.where,
            "found": self.found,
            "allowed": self.allowed,
            "remedy": self.remedy,
        }


class InputError(FiddleheadError):
    """Something the user wrote or chose cannot be used."""


class ProjectFileError(InputError):
    """The project file cannot be read or holds a wrong entry."""


class CurveError(InputError):
    """A test data file cannot be read or reduced."""


class ParameterError(InputError):
    """A parameter is out of range or contradicts another."""


class MeshError(FiddleheadError):
    """A mesh that cannot be solved on."""


class StoreError(FiddleheadError):
    """Results cannot be written or read."""


class MissingExtra(FiddleheadError):
    """An optional package is not installed; the remedy gives the install line."""
