"""What is left behind by an error nobody expected."""

from __future__ import annotations

import platform
import sys
import tempfile
import traceback
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from fiddlehead import __version__
from fiddlehead.errors import StoreError
from fiddlehead.files import write_text


def write_crash_file(error: BaseException, words: Sequence[str]) -> Path:
    """Write versions, the command line and the traceback; returns where."""
    now = datetime.now().strftime("%Y-%m-%d-%H%M%S")
    text = "\n".join(
        [
            f"fiddlehead {__version__}, Python {sys.version.split()[0]}, {platform.platform()}",
            f"command: fiddlehead {' '.join(words)}",
            "",
            "".join(traceback.format_exception(error)),
        ]
    )
    name = f"fiddlehead-crash-{now}.txt"
    try:
        return write_text(Path.cwd() / name, text)
    except StoreError:
        return write_text(Path(tempfile.gettempdir()) / name, text)
