"""Work in the background: one process for each job, which outlives page and server.

A job is a folder. The process that does the work writes what it says and how it ended into it, and
a sign of life twice a second; whoever reads the folder knows how the job stands, this server or
the next one. To cancel is to put a file there: the process looks for it.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import threading
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fiddlehead.errors import InputError
from fiddlehead.files import write_text

JOB, SAID, DOCUMENT, ENDED, ALIVE, CANCEL = (
    "job.json",
    "said.txt",
    "document.json",
    "ended",
    "alive",
    "cancel",
)
SILENCE_S = 15.0
"""After so long without a sign of life a process is taken for gone; it may have been starting."""
PARTS = re.compile(r"(\d+) of (\d+)")
"""Every verb tells how far it is as ``3 of 10``."""
LOST = (
    "The process is gone, perhaps with the machine. Start it again: bending goes on from its last "
    "finished step."
)
TAIL = 4000
KEPT = 60


@dataclass(frozen=True)
class Tool:
    """The command line as the page uses it.

    command : starts a job's process: it is given the job's folder and the words of a command
    flags : options of every verb
    endings : what exit codes mean
    """

    command: tuple[str, ...]
    flags: Mapping[str, frozenset[str]]
    endings: Mapping[int, str]


class Jobs:
    """All jobs of a project.

    Parameters
    ----------
    folder : where they are kept
    at_once : how many run at the same time; the others wait
    """

    def __init__(self, folder: Path, tool: Tool, at_once: int | None = None) -> None:
        self.folder = folder
        self.tool = tool
        self.at_once = at_once or max(1, (os.cpu_count() or 2) - 1)
        self._lock = threading.RLock()
        self._children: dict[Path, subprocess.Popen[bytes]] = {}

    def start(self, verb: str, words: Sequence[str]) -> dict[str, Any]:
        """Put a job in the queue.

        Raises
        ------
        InputError : the same work is going on already
        """
        with self._lock:
            if any(j["verb"] == verb and j["state"] in ("waiting", "running") for j in self.all()):
                raise InputError(
                    "this is being done already",
                    found=verb,
                    remedy="Wait for it, or cancel it first.",
                )
            number = 1 + max((int(p.name) for p in self._places()), default=0)
            place = self.folder / f"{number:06d}"
            job = {"verb": verb, "words": list(words), "asked": time.time()}
            write_text(place / JOB, json.dumps(job))
            self.pump()
            return self.told(place)

    def cancel(self, number: str) -> None:
        """Ask a job to stop; what it has done is kept.

        Raises
        ------
        InputError : no such job
        """
        place = self._place(number)
        if self.told(place)["state"] == "waiting":
            write_text(place / ENDED, "130")
        write_text(place / CANCEL, "")

    def forget(self, number: str) -> None:
        """Take a job that has ended off the list; its results stay.

        Raises
        ------
        InputError : no such job, or it is still going on
        """
        place = self._place(number)
        if self.told(place)["state"] in ("waiting", "running"):
            raise InputError("this job is still going on", remedy="Cancel it first.")
        shutil.rmtree(place, ignore_errors=True)

    def all(self) -> list[dict[str, Any]]:
        """Every job, the latest first."""
        return [self.told(place) for place in reversed(self._places())]

    def pump(self) -> None:
        """Start waiting jobs while there is room; clear old ones away."""
        with self._lock:
            self._bury()
            jobs = {place: self.told(place)["state"] for place in self._places()}
            room = self.at_once - sum(state == "running" for state in jobs.values())
            for place, state in jobs.items():
                if state == "waiting" and room > 0:
                    self._run(place)
                    room -= 1
            for place in [p for p, s in jobs.items() if s not in ("waiting", "running")][:-KEPT]:
                shutil.rmtree(place, ignore_errors=True)

    def _bury(self) -> None:
        """Processes of ours that ended; one that left no word of it has crashed."""
        for place, child in list(self._children.items()):
            if child.poll() is None:
                continue
            del self._children[place]
            if place.is_dir() and not (place / ENDED).exists():
                write_text(place / ENDED, str(child.returncode))

    def _run(self, place: Path) -> None:
        words = json.loads((place / JOB).read_text(encoding="utf-8"))["words"]
        write_text(place / ALIVE, "")
        flags = os.O_WRONLY | os.O_CREAT | os.O_TRUNC
        out, said = os.open(place / DOCUMENT, flags, 0o644), os.open(place / SAID, flags, 0o644)
        try:
            self._children[place] = subprocess.Popen(
                [*self.tool.command, str(place), *words],
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=said,
                start_new_session=True,
            )
        finally:
            os.close(out)
            os.close(said)

    def told(self, place: Path) -> dict[str, Any]:
        """How one job stands."""
        job = _json(place / JOB)
        said = _text(place / SAID)
        code = _text(place / ENDED).strip()
        state = _state(place, code)
        parts = PARTS.findall(said)
        begun, done = _time(place / ALIVE, first=True), _time(place / ENDED)
        return {
            "id": place.name,
            "verb": job.get("verb", ""),
            "state": state,
            "cancelling": state == "running" and (place / CANCEL).exists(),
            "said": [line for line in said[-TAIL:].splitlines() if line.strip()],
            "done": int(parts[-1][0]) if parts else None,
            "parts": int(parts[-1][1]) if parts else None,
            "asked": job.get("asked", 0.0),
            "elapsed_s": round((done or time.time()) - begun, 1) if begun else 0.0,
            "ending": _ending(self.tool.endings, state, code),
            "document": _json(place / DOCUMENT) if state not in ("waiting", "running") else None,
        }

    def _places(self) -> list[Path]:
        return sorted(p.parent for p in self.folder.glob(f"*/{JOB}") if p.parent.name.isdigit())

    def _place(self, number: str) -> Path:
        place = self.folder / number
        if not (number.isdigit() and (place / JOB).is_file()):
            raise InputError("there is no such job", found=number[:40])
        return place


def _state(place: Path, code: str) -> str:
    if code:
        return {"0": "done", "1": "done", "3": "stopped", "130": "cancelled"}.get(code, "failed")
    if not (place / ALIVE).exists():
        return "waiting"
    return "running" if time.time() - _time(place / ALIVE) < SILENCE_S else "lost"


def _ending(endings: Mapping[int, str], state: str, code: str) -> str:
    if state == "lost":
        return LOST
    return endings.get(int(code), "") if code.lstrip("-").isdigit() else ""


def _time(path: Path, first: bool = False) -> float:
    try:
        return path.with_name(JOB).stat().st_mtime if first else path.stat().st_mtime
    except OSError:
        return 0.0


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""


def _json(path: Path) -> Any:
    try:
        return json.loads(_text(path) or "{}")
    except ValueError:
        return {}
