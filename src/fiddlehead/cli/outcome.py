"""The end of a trial: what was found, what to mind, where it is, and the exit code."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from fiddlehead.cli.codes import CANCELLED, OK, STOPPED
from fiddlehead.cli.output import Voice

if TYPE_CHECKING:
    from fiddlehead.report.results import Run, Written
    from fiddlehead.report.summary import Summary
    from fiddlehead.trials.records import RunHistory


def code_of_run(histories: Sequence[RunHistory]) -> int:
    """The exit code a run leads to; a cancelled part outweighs one that stopped by itself."""
    outcomes = {history.outcome for history in histories}
    if outcomes == {"complete"}:
        return OK
    return CANCELLED if "cancelled" in outcomes else STOPPED


def tell_outcome(
    voice: Voice,
    command: str,
    run: Run,
    histories: Sequence[RunHistory],
    written: Written,
    summary: Summary,
    **curves: Any,
) -> int:
    """Tell people and machines; returns the exit code."""
    code = code_of_run(histories)
    voice.say()
    for sentence in summary.sentences:
        voice.paragraph(sentence)
    for warning in summary.warnings:
        voice.paragraph(f"Mind: {warning}")
    series = sorted(written.folder.rglob("*.pvd"))
    voice.files(written.pictures, [*sorted(written.folder.rglob("*.csv"))[:1], *series])
    voice.caution()
    voice.document(
        command,
        code,
        project=run.project.name,
        input_hash_sha256=run.project.input_hash,
        law=run.card.law_name,
        outcomes=[history.outcome for history in histories],
        reasons=[history.reason for history in histories],
        elapsed_s=sum(history.elapsed_s for history in histories),
        summary=list(summary.sentences),
        warnings=list(summary.warnings),
        folder=str(written.folder),
        files=[str(file) for file in written.files],
        **{name: plain(value) for name, value in curves.items()},
    )
    return code


def plain(value: Any) -> Any:
    """Arrays and their scalars as JSON knows them."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return value.item() if hasattr(value, "item") else value
