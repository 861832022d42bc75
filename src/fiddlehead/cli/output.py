"""How the command line talks: plain lines for people, one JSON document for machines.

With ``--json`` everything meant for people goes to the error stream, so that standard output
holds the document and nothing else.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any

import click

from fiddlehead.cli.codes import code_of
from fiddlehead.errors import FiddleheadError

if TYPE_CHECKING:
    from fiddlehead.project.findings import Finding

WIDTH = 96
AIR_CAUTION = (
    "Compressed air: first inflation behind a screen, with eye protection, a relief valve and a "
    "regulator you can shut off. A predicted pressure is not a permission; local codes come first "
    "(ISO 4414)."
)


@dataclass(frozen=True)
class Voice:
    """Where words go."""

    machine: bool = False

    def say(self, text: str = "") -> None:
        """A line for people."""
        click.echo(text, err=self.machine)

    def paragraph(self, text: str, indent: str = "") -> None:
        """Running text, wrapped."""
        for line in wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent):
            self.say(line)

    def files(self, pictures: Sequence[Path], others: Sequence[Path]) -> None:
        """Where the results are."""
        self.say()
        for path in (*pictures, *others):
            self.say(f"  {path}")

    def caution(self) -> None:
        """The caution that goes with every predicted pressure."""
        self.say()
        self.paragraph(AIR_CAUTION)

    def document(self, command: str, code: int, **content: Any) -> None:
        """The one JSON document, when machines listen."""
        if self.machine:
            whole = {"command": command, "exit_code": code, **content}
            click.echo(json.dumps(whole, indent=2, ensure_ascii=False, default=str))

    def findings(self, findings: Iterable[Finding]) -> None:
        """Findings as blocks, numbered within their kind."""
        told = list(findings)
        for kind in ("mistake", "question", "advice"):
            group = [finding for finding in told if finding.kind == kind]
            for number, finding in enumerate(group, 1):
                count = f" {number} of {len(group)}" if len(group) > 1 else ""
                self._block(f"{kind.capitalize()}{count}", finding)

    def _block(self, title: str, finding: Finding) -> None:
        self.say(f"{title}  {finding.where}")
        self.paragraph(finding.message, indent="    ")
        rows = [("found", finding.found), ("allowed", finding.allowed), ("mend", finding.remedy)]
        rows.append(("rests on", finding.standing))
        for label, text in rows:
            if text:
                for line in wrap(
                    text, WIDTH, initial_indent=f"    {label:<9}", subsequent_indent=" " * 13
                ):
                    self.say(line)
        self.say()


def tell_failure(error: FiddleheadError, words: Sequence[str]) -> None:
    """An error of ours, told whole: to people, or as the JSON document where one was asked for."""
    click.echo(str(error), err=True)
    Voice("--json" in words).document(
        words[0] if words else "", code_of(error), errors=[error.fields()]
    )
