"""One run of a study at a time: a lock that ends with the process that holds it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fiddlehead.errors import StoreError
from fiddlehead.study.pattern import fingerprint


@contextmanager
def only_run(store: Path, study: str) -> Iterator[None]:
    """Hold the right to run ``study``; other studies on the same store are free.

    The lock is SQLite's own on a small file beside the store: the operating system drops it when
    the process ends, however it ends.

    Raises
    ------
    StoreError : another process runs this study, or the folder cannot be written
    """
    place = store.with_name(f".{store.name}-{fingerprint(study)[:12]}.lock")
    connection: sqlite3.Connection | None = None
    try:
        store.parent.mkdir(parents=True, exist_ok=True)
        connection = sqlite3.connect(place, timeout=0.2, isolation_level=None)
        connection.execute("begin exclusive")
    except (sqlite3.Error, OSError) as error:
        if connection is not None:
            connection.close()
        busy = "locked" in str(error)
        raise StoreError(
            "another process is running this study" if busy else f"cannot write here: {error}",
            where=f"study {study!r} in {store}",
            remedy="Wait until it ends or stop it; what it finished is kept."
            if busy
            else "Choose a folder you may write to, with space left.",
        ) from error
    try:
        yield
    finally:
        connection.close()
        place.unlink(missing_ok=True)
