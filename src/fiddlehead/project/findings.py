"""What a check has to tell: mistakes, questions and advice, each with its place and its mend."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Literal

from fiddlehead.errors import FiddleheadError, ProjectFileError

Kind = Literal["mistake", "question", "advice"]
"""A mistake stops the run; a question asks about something unlikely; advice warns of a design."""


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing found.

    file, line, field : where it stands (line from 1, ``None`` when nothing is written)
    found, allowed, remedy : as in the error tree
    standing : where the rule comes from
    """

    kind: Kind
    message: str
    file: str = ""
    line: int | None = None
    field: str = ""
    found: str = ""
    allowed: str = ""
    remedy: str = ""
    standing: str = ""

    @property
    def where(self) -> str:
        """``"fiddlehead.toml line 12, finger.pitch_mm"``."""
        place = f"{self.file} line {self.line}" if self.line else self.file
        return ", ".join(part for part in (place, self.field) if part)

    def fields(self) -> dict[str, str | int | None]:
        """All parts, for JSON and pages."""
        return asdict(self)

    def as_error(self) -> ProjectFileError:
        """The same as an exception."""
        return ProjectFileError(
            self.message,
            where=self.where,
            found=self.found,
            allowed=self.allowed,
            remedy=self.remedy,
        )


def from_error(
    error: FiddleheadError, *, file: str, line: int | None, field: str, kind: Kind = "mistake"
) -> Finding:
    """A finding from an error another room raised, placed in the project file."""
    elsewhere = "" if error.where in ("", field, field.rpartition(".")[2]) else error.where
    message = f"{error.message} [{elsewhere}]" if elsewhere else error.message
    return Finding(
        kind=kind,
        message=message,
        file=file,
        line=line,
        field=field,
        found=error.found,
        allowed=error.allowed,
        remedy=error.remedy,
    )


def ordered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Mistakes first, then questions, then advice; each in the order of the file."""
    rank = {"mistake": 0, "question": 1, "advice": 2}
    return tuple(sorted(findings, key=lambda f: (rank[f.kind], f.line or 10**9, f.field)))
