"""The process of one background job: ``python -m fiddlehead.cli.job FOLDER WORDS``.

It runs a command as from a terminal. Beside that it writes a sign of life into the folder, looks
there for the wish to stop, and leaves the exit code behind, so that nobody has to wait for it.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from pathlib import Path

from fiddlehead.cli.codes import CANCELLED
from fiddlehead.cli.main import main
from fiddlehead.files import write_text

BEAT_S = 0.5
PATIENCE_S = 20.0
"""How long after the wish to stop a step may go on before the process ends as it stands."""


def watch(folder: Path) -> None:
    """Show that this process lives; pass on the wish to stop, as Ctrl-C would."""
    wished = 0.0
    while folder.is_dir():
        os.utime(folder / "alive")
        if not wished and (folder / "cancel").exists():
            wished = time.monotonic()
            interrupt()
        if wished and time.monotonic() - wished > PATIENCE_S:
            write_text(folder / "ended", str(CANCELLED))
            os._exit(CANCELLED)
        time.sleep(BEAT_S)
    os._exit(CANCELLED)


def interrupt() -> None:
    """Ctrl-C for the main thread, also while it waits in a system call."""
    main_thread = threading.main_thread().ident
    if sys.platform == "win32" or main_thread is None:
        signal.raise_signal(signal.SIGINT)
    else:
        signal.pthread_kill(main_thread, signal.SIGINT)


def run(folder: Path, words: list[str]) -> int:
    """Run one command and leave its exit code in the folder."""
    # a server that a shell started in the background hands down a Ctrl-C that is ignored
    signal.signal(signal.SIGINT, signal.default_int_handler)
    write_text(folder / "alive", "")
    threading.Thread(target=watch, args=(folder,), daemon=True).start()
    code = main(words)
    write_text(folder / "ended", str(code))
    return code


if __name__ == "__main__":
    sys.exit(run(Path(sys.argv[1]), sys.argv[2:]))
