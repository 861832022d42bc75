"""Ctrl-C while something is computed: stop at the next safe place; twice: leave at once."""

from __future__ import annotations

import signal
import threading
from types import FrameType, TracebackType
from typing import Any

from fiddlehead.cli.output import Voice


class Interrupts:
    """Context in which the first Ctrl-C only raises a flag."""

    def __init__(self, voice: Voice) -> None:
        self.voice = voice
        self.requested = False
        self._before: Any = None

    def __enter__(self) -> Interrupts:
        if threading.current_thread() is threading.main_thread():
            self._before = signal.signal(signal.SIGINT, self._first)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._before is not None:
            signal.signal(signal.SIGINT, self._before)

    def _first(self, number: int, frame: FrameType | None) -> None:
        self.requested = True
        self.voice.say("Stopping; the finished steps are kept. Ctrl-C again leaves at once.")
        signal.signal(signal.SIGINT, signal.default_int_handler)
