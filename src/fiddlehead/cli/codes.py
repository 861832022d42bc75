"""Exit codes, for scripts that call fiddlehead."""

from __future__ import annotations

from fiddlehead.errors import FiddleheadError, StoreError

OK = 0
DOUBTS = 1
WRONG_INPUT = 2
STOPPED = 3
CANNOT_WRITE = 4
CRASHED = 70
CANCELLED = 130

EXIT_CODES = {
    OK: "done",
    DOUBTS: "done, but --strict was given and there are questions or advice",
    WRONG_INPUT: "the input is wrong; nothing was computed and nothing changed",
    STOPPED: "stopped before the last pressure; the part that was computed is kept",
    CANNOT_WRITE: "results cannot be written or read",
    CRASHED: "unexpected error; a crash file was written",
    CANCELLED: "cancelled with Ctrl-C; the pressure steps that were done are kept",
}


def code_of(error: FiddleheadError) -> int:
    """The exit code an error leads to."""
    return CANNOT_WRITE if isinstance(error, StoreError) else WRONG_INPUT
